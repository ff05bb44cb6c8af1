//! A beginner's hand: water, cardboard, a rag shirt, then fluid. Line by line, at a terminal or through a pipe.

mod kept;
mod text;

use std::io::{BufRead, IsTerminal, Write};

use clap::Args;
use serde_json::json;

use self::kept::{Begun, Kept};
use super::{Failure, Places, no_recipe, output};
use crate::figures::coverage::Coverage;
use crate::figures::learn::{Lesson, NEAR, Said, Stage};
use crate::figures::spray::Task;
use crate::figures::strokes::{Aim, USUAL_MARGIN};
use crate::figures::units::table::GRAM;
use crate::figures::units::{Grams, GramsPerSquareMetre, Rectangle, Seconds, bounds};
use crate::screen::words::read_weight;
use crate::shell::profiles::Profiles;
use crate::shop::facts::words::clean;

/// What is practised.
#[derive(Debug, Args)]
pub struct Options {
    /// Whose coat is practised [default: dark-cotton]
    #[arg(long)]
    recipe: Option<String>,
    /// The print that is practised, "12 in x 14 in" [default: the recipe's area]
    #[arg(long, value_parser = bounds::SIDE.reader::<Rectangle>())]
    print: Option<Rectangle>,
    /// Begin again: what was learned before is set aside
    #[arg(long)]
    new: bool,
    /// What was learned so far, as JSON; asks nothing
    #[arg(long, conflicts_with = "new")]
    json: bool,
}

/// The sprayer, what is aimed for, and the recipe's window.
struct Ground {
    task: Task,
    coverage: Coverage,
    window: (GramsPerSquareMetre, GramsPerSquareMetre),
}

impl Ground {
    fn of(profiles: &Profiles, begun: &Begun) -> Result<Self, Failure> {
        let recipe = profiles.recipes.get(&begun.recipe).ok_or_else(|| {
            let known = profiles.recipes.keys().map(String::as_str);
            Failure::Input(no_recipe(&begun.recipe, known))
        })?;
        let sprayer = profiles.station.sprayer.ok_or_else(|| {
            let text = "the station's profile has no sprayer: add one, such as sprayer: Some((flow: \"1.9 g/s\", fan: \"6 in\"))";
            Failure::Input(text.to_owned())
        })?;
        let print = |size| Aim::Print { size, margin: USUAL_MARGIN };
        let aim = begun.print.map_or(Aim::Area(recipe.area), print);
        Ok(Self {
            task: sprayer.task(aim, recipe.coat.target),
            coverage: Coverage::of(aim, Some(&sprayer.motion())),
            window: (recipe.coat.low, recipe.coat.high),
        })
    }

    fn lesson(&self, said: &[Said]) -> Result<Lesson, Failure> {
        let lesson = Lesson::of(self.task, self.coverage, self.window, said);
        lesson.map_err(|wrong| Failure::Input(wrong.to_string()))
    }
}

/// Goes on where the last lesson ended.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let (profiles, data) = (places.profiles()?, places.data()?);
    if options.new
        && let Some(aside) = Kept::set_aside(&data)?
    {
        output::complain(&format!("what was learned before is kept: {}", aside.display()));
    }
    let mut kept = Kept::open(&data)?;
    let recipe = options.recipe.clone().unwrap_or_else(|| "dark-cotton".to_owned());
    let asked = Begun { recipe, print: options.print };
    let begun = kept.begun.get_or_insert(asked).clone();
    let ground = Ground::of(&profiles, &begun)?;
    if options.json {
        return output::json(&as_json(&begun, &ground.lesson(&kept.said)?));
    }
    let is_other = |given: bool, same: bool| given && !same;
    if is_other(options.print.is_some(), options.print == begun.print)
        || is_other(options.recipe.is_some(), options.recipe.as_ref() == Some(&begun.recipe))
    {
        let text = format!("a lesson of {} runs: --new begins another", begun.recipe);
        return Err(Failure::Input(text));
    }
    let stdin = std::io::stdin();
    let dialogue = Dialogue {
        out: std::io::stdout().lock(),
        lines: stdin.lock(),
        echoes: !stdin.is_terminal(),
        ground,
        kept,
    };
    dialogue.run(&begun)
}

fn as_json(begun: &Begun, lesson: &Lesson) -> serde_json::Value {
    let pace = lesson.pace().ok();
    json!({
        "recipe": begun.recipe, "print": begun.print, "stage": lesson.stage,
        "flow_g_s": lesson.flow(), "catches": lesson.catches,
        "seconds": pace.map(|pace| pace.seconds), "speed_cm_s": pace.map(|pace| pace.speed_cm_s),
        "grams_scale": lesson.grams_right().0, "near": NEAR,
        "tries": lesson.tries, "spread": lesson.spread(),
        "in_a_row": lesson.in_a_row, "wanted": lesson.stage.wanted(),
        "done": lesson.stage == Stage::Done,
    })
}

/// What came of a question.
enum Answer<T> {
    Given(T),
    Undo,
    Stop,
}

/// Questions out, one line in for each.
struct Dialogue<O, I> {
    out: O,
    lines: I,
    /// What comes through a pipe does not stand on the screen by itself.
    echoes: bool,
    ground: Ground,
    kept: Kept,
}

impl<O: Write, I: BufRead> Dialogue<O, I> {
    fn say<S: AsRef<str>>(&mut self, lines: impl IntoIterator<Item = S>) -> Result<(), Failure> {
        for line in lines {
            writeln!(self.out, "{}", crate::shop::facts::words::harmless(line.as_ref()))?;
        }
        Ok(())
    }

    /// Asks; a line that is longer than anybody types is cut.
    fn ask(&mut self, question: &str) -> Result<Answer<String>, Failure> {
        const LONGEST: u64 = 200;
        write!(self.out, "{question}: ")?;
        self.out.flush()?;
        let mut line = String::new();
        let mut limited = std::io::Read::take(&mut self.lines, LONGEST);
        let read = limited.read_line(&mut line);
        if read.map_err(|_| Failure::Input("a line that is no text: expected figures".into()))? == 0
        {
            writeln!(self.out)?;
            return Ok(Answer::Stop);
        }
        let text = clean(line.trim(), 60);
        if self.echoes {
            writeln!(self.out, "{text}")?;
        }
        Ok(match text.to_ascii_lowercase().as_str() {
            "stop" => Answer::Stop,
            "undo" => Answer::Undo,
            _ => Answer::Given(text),
        })
    }

    fn run(mut self, begun: &Begun) -> Result<(), Failure> {
        // What is practised is kept from the first word on.
        self.kept.keep()?;
        let lesson = self.ground.lesson(&self.kept.said)?;
        self.say(text::welcome(begun, &lesson))?;
        loop {
            let lesson = self.ground.lesson(&self.kept.said)?;
            if lesson.stage == Stage::Done {
                return self.say(text::done(&lesson));
            }
            self.say(text::what_to_do(&lesson))?;
            let said = match lesson.stage {
                Stage::Catch => self.catch()?,
                _ => self.weigh(&lesson)?,
            };
            let Some(said) = said else { break };
            self.kept.said.push(said);
            match self.ground.lesson(&self.kept.said) {
                Ok(after) => {
                    self.kept.keep()?;
                    self.say(text::answer(&lesson, &after, said))?;
                }
                Err(wrong) => {
                    self.kept.said.pop();
                    self.say([format!("! {wrong}")])?;
                }
            }
        }
        let path = self.kept.path();
        let kept = !self.kept.said.is_empty();
        let text = format!("kept in {}: dwell learn goes on from here", path.display());
        self.say(kept.then_some(text))
    }

    /// Seconds and grams of a catch; None: enough for today.
    fn catch(&mut self) -> Result<Option<Said>, Failure> {
        loop {
            let seconds = match self.ask("seconds (undo, stop)")? {
                Answer::Stop => return Ok(None),
                Answer::Undo => return Ok(Some(Said::TakenBack)),
                Answer::Given(text) => bounds::CATCHING.read::<Seconds>(&text),
            };
            let seconds = match seconds {
                Ok(seconds) => seconds.0,
                Err(wrong) => {
                    self.say([format!("! {wrong}")])?;
                    continue;
                }
            };
            let caught = |grams: Grams| bounds::CAUGHT.holds(grams.0);
            let expected = "0.1 g to 5 kg, such as 18.4";
            match self.grams("grams in the cup", caught, expected)? {
                Answer::Given(grams) => return Ok(Some(Said::Caught { seconds, grams })),
                Answer::Undo => {}
                Answer::Stop => return Ok(None),
            }
        }
    }

    /// The two weights; None: enough for today. Taken back between the two, the first is asked again.
    fn weigh(&mut self, lesson: &Lesson) -> Result<Option<Said>, Failure> {
        let weight = |grams: Grams| bounds::WEIGHED.holds(grams.0);
        let expected = "0.1 g to 5 kg, such as 152.4";
        loop {
            let before = match self.grams("grams before (undo, stop)", weight, expected)? {
                Answer::Given(before) => before,
                Answer::Undo => return Ok(Some(Said::TakenBack)),
                Answer::Stop => return Ok(None),
            };
            self.say(text::spray(lesson))?;
            match self.grams("grams after", weight, expected)? {
                Answer::Given(after) => return Ok(Some(Said::Weighed { before, after })),
                Answer::Undo => {}
                Answer::Stop => return Ok(None),
            }
        }
    }

    /// A weight, asked for until it is one.
    fn grams(
        &mut self,
        question: &str,
        fits: impl Fn(Grams) -> bool,
        expected: &str,
    ) -> Result<Answer<Grams>, Failure> {
        loop {
            let text = match self.ask(question)? {
                Answer::Given(text) => text,
                Answer::Undo => return Ok(Answer::Undo),
                Answer::Stop => return Ok(Answer::Stop),
            };
            match read_weight(&text, &GRAM) {
                Ok(grams) if fits(grams) => return Ok(Answer::Given(grams)),
                Ok(grams) => self.say([format!("! {grams}: expected {expected}")])?,
                Err(wrong) => self.say([format!("! {wrong}")])?,
            }
        }
    }
}
