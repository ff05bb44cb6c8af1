//! When garments that nobody has ordered yet could be ready, what they would push back, what would make it possible.

use clap::Args;
use serde_json::{Value, json};

use super::ahead::Stands;
use super::{Failure, Places, no_recipe, output};
use crate::figures::units::{Colour, Rectangle, bounds, spans, whole_reader};
use crate::forecast::habit::Habit;
use crate::forecast::outlook::{Ahead, SEED, changes};
use crate::forecast::workload::{Owner, Workload};
use crate::screen::words::day_and_clock;
use crate::shop::books::outlook::Ready;
use crate::shop::facts::ids::StationId;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::order::{OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::typed_due::typed_due;
use crate::shop::facts::when::Due;
use crate::shop::facts::words::counted;

/// What is asked for.
#[derive(Debug, Args)]
pub struct Options {
    /// How many garments
    #[arg(long, value_parser = whole_reader::<u32>("garments", 1, 5000))]
    garments: u32,
    /// The name of their recipe
    #[arg(long)]
    recipe: String,
    /// When they are wanted: "Thu 16:00", "16:00", "2026-12-04T16:00"
    #[arg(long, value_name = "TIME")]
    by: Option<String>,
    /// How large the print is: "10 in x 12 in"
    #[arg(long, value_name = "SIZE", value_parser = bounds::SIDE.reader::<Rectangle>())]
    print: Option<Rectangle>,
    /// As if nothing else were to be done
    #[arg(long)]
    from_nothing: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// What a change would do.
struct Change {
    words: String,
    /// Ready by then in nine of ten draws.
    surely: Wall,
}

/// What can be promised.
struct Promise {
    /// Whose orders have their number alone.
    own: StationId,
    half: Wall,
    nine_in_ten: Wall,
    /// When they are wanted, and how likely that is met.
    wanted: Option<(Wall, f64)>,
    /// Orders that would be ready later, by how many seconds: as they would be then.
    pushes_back: Vec<(Ready, f64)>,
    would_meet: Vec<Change>,
    hours: f64,
}

/// The place of the garments among the files of the command line: there is no other.
const ASKED: Owner = Owner::File(0);
/// What is later by less is not later.
const LEAST_S: f64 = 60.0;

/// Looks ahead with these garments and without them.
pub fn run(places: &Places, options: &Options) -> Result<(), Failure> {
    let stands = Stands::read(places, options.from_nothing)?;
    if !stands.profiles.recipes.contains_key(&options.recipe) {
        let known = stands.profiles.recipes.keys().map(String::as_str);
        let wrong = no_recipe(&options.recipe, known);
        return Err(Failure::Input(format!("--recipe: {wrong}")));
    }
    let by = options.by.as_ref().map(|text| typed_due(text, stands.now, &stands.zone));
    let by = by.transpose().map_err(|wrong| Failure::Input(format!("--by: {wrong}")))?;
    let promise = promise(&stands, options, by)?;
    if options.json {
        return output::json(&promise.json());
    }
    output::lines(promise.lines(&stands, options))
}

/// The work ahead with so many garments of these, of this rank.
fn with(
    stands: &Stands,
    options: &Options,
    (garments, rank, due): (u32, Rank, Option<Due>),
) -> Result<Workload, Failure> {
    let line = OrderLine {
        print: options.print,
        ..OrderLine::plain(garments, &options.recipe, Colour { red: 0, green: 0, blue: 0 })
    };
    let form = OrderForm { name: "these".to_owned(), due, rank, shared: false, lines: vec![line] };
    let work = stands.with(0, &form, None);
    work.map_err(|reason| Failure::Input(format!("--recipe {}: {reason}", options.recipe)))
}

fn promise(stands: &Stands, options: &Options, by: Option<Due>) -> Result<Promise, Failure> {
    let habit = Habit::of(&stands.work.past);
    let asked = (options.garments, Rank::USUAL, by);
    let work = with(stands, options, asked)?;
    work.problem.check().map_err(|reason| Failure::Input(reason.to_string()))?;
    let before = Ahead::of(&stands.work, &habit, stands.now, SEED);
    let after = Ahead::of(&work, &habit, stands.now, SEED);
    let finish = after.finish_of(ASKED).unwrap_or_else(|| after.foreseen.finish());
    let (half, nine_in_ten) = (after.at(finish.p50), after.at(finish.p90));
    let wanted = by.and_then(|by| by.at(&stands.zone));
    let mut would_meet = Vec::new();
    if let Some(wanted) = wanted.filter(|wanted| nine_in_ten > *wanted) {
        would_meet = changes_that_meet(stands, options, (&habit, &work), (by, wanted))?;
    }
    let pushed = |ready: Ready| {
        let was = before.ready().into_iter().find(|one| one.order == ready.order)?;
        let by_s = (ready.likely - was.likely).as_secs_f64();
        (ready.order.is_some() && by_s >= LEAST_S).then_some((ready, by_s))
    };
    Ok(Promise {
        own: stands.shop.id(),
        half,
        nine_in_ten,
        wanted: wanted.map(|by| (by, after.chance(ASKED, by))),
        pushes_back: after.ready().into_iter().filter_map(pushed).collect(),
        would_meet,
        hours: habit.hours,
    })
}

/// Each single change by which they would be ready in time in nine of ten draws; last, how many would be.
fn changes_that_meet(
    stands: &Stands,
    options: &Options,
    (habit, work): (&Habit, &Workload),
    (due, by): (Option<Due>, Wall),
) -> Result<Vec<Change>, Failure> {
    let surely = |work: &Workload| {
        let ahead = Ahead::of(work, habit, stands.now, SEED);
        ahead.finish_of(ASKED).map(|finish| ahead.at(finish.p90))
    };
    let mut all = Vec::new();
    let mut add = |words: String, work: &Workload| {
        if let Some(surely) = surely(work).filter(|surely| *surely <= by) {
            all.push(Change { words, surely });
        }
    };
    add("as a rush".to_owned(), &with(stands, options, (options.garments, Rank::RUSH, due))?);
    for (change, problem) in changes(&work.problem) {
        add(change.to_owned(), &Workload { problem, ..work.clone() });
    }
    // Fewer of them: the most that are ready in time, found by halving.
    let (mut least, mut most, mut found) = (0, options.garments, None);
    while most - least > 1 {
        let middle = least.midpoint(most);
        let fewer = with(stands, options, (middle, Rank::USUAL, due))?;
        match surely(&fewer).filter(|surely| *surely <= by) {
            Some(then) => (least, found) = (middle, Some(then)),
            None => most = middle,
        }
    }
    let fewer = |surely| Change { words: format!("only {}", counted(least, "garment")), surely };
    all.extend(found.map(fewer));
    Ok(all)
}

impl Promise {
    fn json(&self) -> Value {
        let pushed = |(ready, by_s): &(Ready, f64)| {
            json!({
                "order": ready.name, "no": ready.order.map(|id| id.written_at(self.own).to_string()), "by_s": by_s,
                "due": ready.due.map(rfc3339), "half": rfc3339(ready.likely), "late_s": ready.late(),
            })
        };
        let change = |change: &Change| json!({ "change": change.words, "nine_in_ten": rfc3339(change.surely) });
        json!({
            "half": rfc3339(self.half), "nine_in_ten": rfc3339(self.nine_in_ten),
            "by": self.wanted.map(|(by, _)| rfc3339(by)), "meets": self.wanted.map(|(_, meets)| meets),
            "pushes_back": self.pushes_back.iter().map(pushed).collect::<Vec<Value>>(),
            "would_meet": self.would_meet.iter().map(change).collect::<Vec<Value>>(),
            "history_hours": self.hours,
        })
    }

    fn lines(&self, stands: &Stands, options: &Options) -> Vec<String> {
        let clock = |at| day_and_clock(at, &stands.zone);
        let beside =
            if options.from_nothing { "nothing else to do" } else { "beside all open orders" };
        let mut lines = vec![
            format!("{} of {}, {beside}", counted(options.garments, "garment"), options.recipe),
            format!(
                "ready        {} (half of the time by then), {} (nine times in ten)",
                clock(self.half),
                clock(self.nine_in_ten)
            ),
        ];
        if let Some((by, meets)) = self.wanted {
            lines.push(format!(
                "wanted       {}: met {:.0} times in 100",
                clock(by),
                meets * 100.0
            ));
        }
        for (n, (order, by_s)) in self.pushes_back.iter().enumerate() {
            let head = if n == 0 { "pushes back" } else { "" };
            let late = order.late().map_or_else(String::new, |late| {
                format!(": ready {}, LATE by {}", clock(order.likely), spans::of_any_length(late))
            });
            lines.push(format!(
                "{head:<12} {} by {}{late}",
                order.name,
                spans::of_any_length(*by_s)
            ));
        }
        if self.pushes_back.is_empty() && !options.from_nothing {
            lines.push("pushes back  nothing".to_owned());
        }
        for (n, change) in self.would_meet.iter().enumerate() {
            let head = if n == 0 { "would meet" } else { "" };
            let (words, surely) = (&change.words, clock(change.surely));
            lines.push(format!("{head:<12} {words}: {surely} (nine times in ten)"));
        }
        if self.would_meet.is_empty()
            && let Some((by, _)) = self.wanted
            && self.nine_in_ten > by
        {
            lines.push("would meet   no single change".to_owned());
        }
        lines.push(if self.hours > 0.0 {
            format!("told by      the last {:.1} h of work", self.hours)
        } else {
            "told by      the profile alone: no history yet".to_owned()
        });
        lines
    }
}
