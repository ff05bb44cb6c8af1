//! A robot with the sixteen keys of a keypad, that knows no trade: it reads what NEXT, a question or a form says, and
//! strikes the keys that are named there. What happens around it, a test tells it: an order comes in, a print is spoilt,
//! somebody goes home.

use std::collections::BTreeMap;
use std::time::Duration;

use serde_json::Value;

use crate::bench::Bench;
use crate::pty::Pty;
use crate::waiting::wait_within;

/// What can be struck: a word for Enter, else the key itself.
const KEYPAD: &str = "0123456789+-*/.";
/// Of 24 rows: NEXT, and the line of the question.
const NEXT: std::ops::Range<usize> = 15..18;
const QUESTION: usize = 22;
/// What a dry garment weighs, and what it weighs with a coat on, both in grams.
const DRY: &str = "150";
const COATED: &str = "179";
/// On a free machine what follows a key, or the end of a press, is seen within this.
const SOON: Duration = Duration::from_secs(4);
/// The bottle that stands there.
pub const LOT: &str = "118";

/// What stands on the screen.
struct Sight {
    rows: Vec<String>,
}

impl Sight {
    fn of(pty: &Pty) -> Self {
        Self { rows: pty.contents().lines().map(str::to_owned).collect() }
    }

    fn row(&self, n: usize) -> &str {
        self.rows.get(n).map_or("", String::as_str)
    }

    /// The words of NEXT: the big ones, and the small ones beside them. What could be done as well is left out.
    fn next(&self) -> (String, String) {
        let own: Vec<&str> = NEXT.map(|n| self.row(n).trim()).collect();
        let (big, first) = own[0].split_once("   ").unwrap_or((own[0], ""));
        let also = own[1..].iter().position(|row| row.starts_with("or ")).map_or(3, |n| n + 1);
        let words: Vec<&str> = [first].into_iter().chain(own[1..also].iter().copied()).collect();
        (big.trim().to_owned(), words.join(" "))
    }

    fn question(&self) -> Option<&str> {
        Some(self.row(QUESTION)).filter(|row| row.starts_with(" ? "))
    }

    /// The title and the rows of a form.
    fn form(&self) -> Option<(&str, String)> {
        let at = self.rows.iter().position(|row| row.starts_with("══ "))?;
        Some((self.row(at), self.rows[at + 1..].join("\n")))
    }
}

fn is_key(word: &str) -> bool {
    word == "Enter" || (word.chars().count() == 1 && KEYPAD.contains(word))
}

/// The keys that a text names for what it says first: behind "then", behind a colon, or at its beginning.
fn keys_in(text: &str) -> Option<Vec<&str>> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let named = |n: usize| n == 0 || words[n - 1] == "then" || words[n - 1].ends_with(':');
    let first = (0..words.len()).find(|n| is_key(words[*n]) && named(*n))?;
    Some(words[first..].iter().copied().take_while(|word| is_key(word)).collect())
}

/// The keys that stand before a word of a list, or of a question's answers.
fn keys_before(text: &str, words: &str) -> Option<Vec<String>> {
    let before = &text[..text.find(&format!(" {words}"))?];
    let mut keys: Vec<String> = before
        .split_whitespace()
        .rev()
        .take_while(|word| is_key(word))
        .map(str::to_owned)
        .collect();
    keys.reverse();
    (!keys.is_empty()).then_some(keys)
}

/// The robot at its board.
pub struct Robot {
    pub pty: Pty,
    /// What it has been told: the keys of each act that NEXT has named.
    learned: BTreeMap<String, Vec<String>>,
    /// Each act that NEXT has said, in turn.
    pub said: Vec<String>,
}

impl Robot {
    pub fn at(bench: &Bench) -> Self {
        Self { pty: Pty::board(bench), learned: BTreeMap::new(), said: Vec::new() }
    }

    fn strike(&mut self, keys: &[impl AsRef<str>]) {
        for key in keys {
            let key = key.as_ref();
            self.pty.key(if key == "Enter" { b"\r" } else { key.as_bytes() });
        }
    }

    /// Waits until a text stands on the screen; returns the screen.
    pub fn sees(&self, text: &str) -> String {
        let vain = || format!("{text:?}:\n{}", self.pty.contents());
        wait_within(SOON, vain, || Some(self.pty.contents()).filter(|all| all.contains(text)));
        // The moment of the look counts: a key struck sooner than a person can would mean what stood there before.
        self.pty.wait_for(text)
    }

    /// Types what a field takes.
    fn types(&mut self, text: &str) {
        for letter in text.chars() {
            self.strike(&[letter.to_string()]);
        }
    }

    /// Chooses from a list by what stands there.
    pub fn choose(&mut self, words: &str) {
        let text = self.sees(&format!(" {words}"));
        let keys =
            keys_before(&text, words).unwrap_or_else(|| panic!("{words} has no key:\n{text}"));
        self.strike(&keys[keys.len() - 1..]);
    }

    /// Opens what the list of all acts has.
    pub fn opens(&mut self, words: &[&str]) {
        self.strike(&["+"]);
        self.sees("All acts");
        words.iter().for_each(|words| self.choose(words));
    }

    /// Does what the screen says, until NEXT says what is waited for.
    pub fn works_until(&mut self, end: impl Fn(&str) -> bool) {
        // More than any of these shops has acts.
        for _act in 0..400 {
            let sight = Sight::of(&self.pty);
            if let Some((title, rows)) = sight.form() {
                let (title, rows) = (title.to_owned(), rows.clone());
                self.fills_in(&title, &rows);
                continue;
            }
            let (act, words) = sight.next();
            if end(&act) {
                return;
            }
            self.does(&sight, &act, &words);
        }
        panic!("it comes to no end:\n{}\n{:?}", self.pty.contents(), self.said);
    }

    fn does(&mut self, sight: &Sight, act: &str, words: &str) {
        let verb = act.split(' ').next().unwrap_or_default().to_owned();
        let calls = ["OPEN", "UNLOAD", "CHECK"].contains(&verb.as_str());
        let asked = sight.question().filter(|text| !calls && !text.contains("on the scale"));
        if act.ends_with('?') {
            self.said.push(act.to_owned());
        }
        if let Some(text) = asked {
            // The steam was gone; a reject is replaced, what an artwork wants is white.
            let answers = if text.contains("steaming") { ["no", "no"] } else { ["read", "yes"] };
            let answer = answers.iter().find_map(|word| keys_before(text, word));
            let keys = answer.unwrap_or_else(|| panic!("a question without keys: {text}"));
            self.strike(&keys);
            return self.waits_for_another(sight);
        }
        if verb == "WAIT" {
            return self.waits_for_another(sight);
        }
        self.said.push(act.to_owned());
        if let Some(keys) = keys_in(words) {
            let keys = keys.into_iter().map(str::to_owned).collect();
            // A digit is the press's own: the next one has another.
            self.learned.insert(verb.clone(), keys);
        }
        let own = ["OPEN", "UNLOAD", "CHECK", "LOAD"].contains(&verb.as_str());
        let keys = match self.learned.get(&verb) {
            Some(_) if own => vec![act.split(' ').next_back().unwrap_or_default().to_owned()],
            Some(keys) => keys.clone(),
            None => panic!("NEXT names no key: {act}: {words}\n{}", self.pty.contents()),
        };
        self.strike(&keys);
        self.waits_for_another(sight);
    }

    /// What was done is seen: NEXT, the question or the form is another.
    fn waits_for_another(&self, before: &Sight) {
        let of = |sight: &Sight| {
            (sight.next(), sight.question().map(str::to_owned), sight.form().is_some())
        };
        let was = of(before);
        let vain = || format!("another NEXT than {was:?}:\n{}", self.pty.contents());
        let is_list = |sight: &Sight| sight.form().is_some_and(|(title, _)| title.contains("acts"));
        wait_within(SOON, vain, || {
            let sight = Sight::of(&self.pty);
            // The list that it has opened itself stands until the key after it has come through.
            (!is_list(&sight) && of(&sight) != was).then_some(())
        });
    }

    /// Fills in the field that the form asks for, by what stands there.
    fn fills_in(&mut self, title: &str, rows: &str) {
        if title.contains("On the scale") {
            self.types(if rows.contains("before it is dried") { COATED } else { DRY });
            self.strike(&["Enter"]);
        } else if title.contains("Filling the sprayer") {
            self.types(LOT);
            self.strike(&["Enter"]);
            self.sees("PRETREATMENT FLUID?");
            self.choose("it does");
            self.choose("it was");
            self.types("90");
            self.strike(&["+"]);
        } else {
            panic!("a form that nobody told it of:\n{}", self.pty.contents());
        }
        let vain = || format!("{title} to close:\n{}", self.pty.contents());
        wait_within(SOON, vain, || Sight::of(&self.pty).form().is_none().then_some(()));
    }
}

/// Three orders: one is pushed before the others, one is cancelled halfway; a weighing, a fill, a wipe, a reject that is
/// replaced, a shelf.
#[test]
fn a_robot_that_reads_what_next_says_brings_three_orders_to_their_end() {
    let bench = Bench::new(2, 1);
    let station = std::fs::read_to_string(bench.station()).unwrap();
    let station = station.replace("wipe_at: 10, wipe_by: 12", "wipe_at: 3, wipe_by: 5");
    std::fs::write(bench.station(), station).unwrap();
    let recipe = std::fs::read_to_string(bench.recipe()).unwrap();
    let recipe = recipe.replace("basis:", "weigh_every: 8,\n    basis:");
    std::fs::write(bench.recipe(), recipe).unwrap();
    let mut robot = Robot::at(&bench);

    // A bottle is registered from its label.
    robot.opens(&["more", "lot"]);
    robot.sees("A bottle's label");
    robot.types(LOT);
    robot.strike(&["Enter"]);
    robot.choose("pretreatment fluid");
    robot.strike(&["Enter", "Enter"]);
    robot.types("7");
    robot.strike(&["+"]);
    robot.sees("lot 118: pretreatment fluid");
    robot.opens(&["more", "fill"]);
    robot.sees("Filling the sprayer");
    robot.works_until(|act| act.ends_with("ORDER"));

    // Three orders of two each.
    for n in 1..=3 {
        robot.opens(&["new order"]);
        robot.sees("A new order");
        robot.types("2");
        robot.strike(&["+", "1", "+"]);
        robot.sees(&format!("order {n} "));
    }
    // The last one is a rush.
    robot.opens(&["more", "change an order"]);
    robot.choose("order 3");
    robot.choose("rush from now on");
    robot.sees("order 3 \"Order 3\": rush");
    robot.works_until(|act| act == "PRINT A3-01");
    // Printed wrongly: it is a reject.
    robot.strike(&["0"]);
    robot.sees("printed A3-01");
    robot.strike(&["."]);
    robot.choose("misprint");
    robot.choose("a reject");
    robot.sees("A3-01: misprint: a reject");
    robot.works_until(|act| act == "REPLACE 1?");
    robot.works_until(|act| act == "PRINT A1-02");
    // Lunch: what is dry goes to the shelf. Then a customer calls.
    robot.opens(&["store"]);
    robot.sees("stored ");
    robot.opens(&["more", "change an order"]);
    robot.choose("order 2");
    robot.choose("cancel it");
    robot.choose("finish them");
    robot.sees("order 2 \"Order 2\" cancelled");
    let stored = robot.said.len();
    robot.works_until(|act| act.ends_with("ORDER"));
    robot.pty.wait_saved();
    assert!(robot.said[stored..].iter().any(|act| act.starts_with("LOAD")), "{:?}", robot.said);

    let count = |kind: &str| bench.past_of(kind).len();
    for kind in ["coat-weighed", "sprayer-filled", "sheet-wiped", "blank-added", "stored"] {
        assert!(count(kind) > 0, "{kind}: {:?}", robot.said);
    }
    assert_eq!(robot.pty.leave(), 0);
    let pace: Value = serde_json::from_str(&bench.run(&["pace", "--json"]).out).unwrap();
    // Both of the rush and of the first order; what was under way of the cancelled one is finished too.
    assert!(pace["finished"].as_u64().unwrap() >= 4, "{pace}");
    assert_eq!((&pace["out"], &pace["in_progress"]), (&1.into(), &0.into()), "{pace}");
    bench.assert_sound();
}
