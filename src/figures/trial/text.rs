//! What a trial knows, as people read it.

use super::answer::{Answer, EdgeKnown, Found, LEAST, Stop};
use super::{Asked, ROUND};
use crate::figures::units::GramsPerSquareMetre;

/// One row: what it is about, and what is said.
pub type Row = (&'static str, String);

/// A row below others.
pub fn in_a_line((name, text): &Row) -> String {
    format!("{name:<12} {text}")
}

impl Answer {
    /// What to do now, and why: an act comes first.
    pub fn advice(&self) -> String {
        match self.stop {
            Some(stop) => format!("{}.", stop.advice()),
            None if self.garments < LEAST => format!(
                "Spray the next round: no answer before {LEAST} garments, {} are graded.",
                self.garments
            ),
            None => "Spray the next round: the answer is not sure enough yet.".to_owned(),
        }
    }

    /// The coats of the next round.
    pub fn next_round(&self) -> String {
        let aims: Vec<String> = self.next.iter().map(|aim| format!("{:.0}", aim.0)).collect();
        format!("spray {} g/m2: {ROUND} garments, in this order", aims.join(", "))
    }

    /// All that may be said by now, row by row: a target and a window only where they were found, an edge only where the
    /// grades follow the coat.
    pub fn rows(&self, asked: Asked, cycles: u32) -> Vec<Row> {
        let mut rows = vec![("now", self.advice())];
        match self.stop {
            Some(stop) => rows.push(("stop", stop.words().to_owned())),
            None => rows.push(("next round", self.next_round())),
        }
        if self.stop != Some(Stop::Contradictory) {
            let so_far = if self.stop.is_none() { "so far " } else { "" };
            rows.push(("low edge", format!("{so_far}{}", self.low.text())));
            rows.push(("high edge", format!("{so_far}{}", self.high.text())));
        }
        if self.stop.is_some_and(Stop::is_found) {
            rows.push(("target", format!("{:.0} g/m2, between the edges", self.target.0)));
            rows.push(("window", self.window_told()));
            rows.push(("comes right", self.share_told()));
            rows.push(("holds for", held_for(asked, cycles)));
        }
        let doubtful = self.doubtful.iter();
        rows.extend(
            doubtful
                .map(|no| ("doubtful", format!("no. {no} does not fit: swapped or misweighed?"))),
        );
        rows
    }

    fn window_told(&self) -> String {
        match self.window() {
            Some((low, high)) => {
                format!("{:.0} to {:.0} g/m2, each end good nine times in ten", low.0, high.0)
            }
            None => "none: aim at the target, it has no room to either side".to_owned(),
        }
    }

    fn share_told(&self) -> String {
        let (share, scatter) = (self.share * 100.0, self.scatter * 100.0);
        let hardly =
            if self.is_hardly_any() { "; hardly any coat does both with this sprayer" } else { "" };
        format!("{share:.0} % at the target, by a sprayer that scatters by {scatter:.0} %{hardly}")
    }
}

/// What a found window may be trusted for, and no further.
fn held_for(asked: Asked, cycles: u32) -> String {
    format!(
        "grade {} or better after the cure and after {cycles} washes, no more; this garment, fluid, dilution, cure and eye",
        asked.limit()
    )
}

impl EdgeKnown {
    fn text(&self) -> String {
        let coat = |coat: GramsPerSquareMetre| format!("{:.0}", coat.0);
        let (from, upto) = (coat(self.from), coat(self.upto));
        match self.found {
            Found::Found => {
                format!("{} g/m2; {from} to {upto} (nine times in ten)", coat(self.at))
            }
            Found::Below => format!("not found; below {upto} g/m2"),
            Found::Above => format!("not found; above {from} g/m2"),
            Found::Unseen => "not found: too few garments on either side of it".to_owned(),
        }
    }
}
