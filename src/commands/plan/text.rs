//! A plan's answer in words.

use super::{Answer, Options};
use crate::figures::units::spans;
use crate::forecast::jobshop::seconds;
use crate::forecast::plan::Dwell;
use crate::screen::words;
use crate::shop::books::hands::{ENOUGH, Work};
use crate::shop::books::outlook::Ready;
use crate::shop::facts::moment::Wall;
use crate::shop::facts::words::counted;

/// Plans that are less apart are as good as each other.
const NEXT_TO_NOTHING: f64 = 0.05;

impl Answer<'_> {
    pub(super) fn lines(&self, options: &Options) -> Vec<String> {
        let mut lines = Vec::new();
        if self.garments() == 0 {
            lines.push("nothing is left to be done".to_owned());
            lines.extend(self.kept());
            return lines;
        }
        lines.push(self.planned());
        lines.extend(self.ready());
        let (bottleneck, share) = self.busy.bottleneck();
        lines.push(format!("rate         {} by the plan", spans::an_hour(self.per_hour())));
        lines.push(format!("bottleneck   {bottleneck}, busy {:.0} %", share * 100.0));
        lines.push(format!(
            "busy         operators {:.0} %, presses {:.0} %, printer {:.0} %",
            self.busy.operators * 100.0,
            self.busy.presses * 100.0,
            self.busy.printers * 100.0
        ));
        lines.extend(self.what_if.iter().map(|one| {
            let saves = if one.saves_s < 1.0 {
                "nothing".to_owned()
            } else {
                spans::of_any_length(one.saves_s)
            };
            format!("{:<18} would save {saves}", one.change)
        }));
        lines.extend(self.due());
        lines.extend(self.kept());
        if let Some((surely, likely)) = self.done_by(options) {
            lines.push(format!(
                "until then   {likely} done (half of all draws), {surely} (nine of ten)"
            ));
        }
        let dwell = seconds(self.asked.work.problem.longest_dwell(&self.plan));
        if let Dwell::Limited(most) = self.asked.work.problem.dwell
            && dwell > seconds(most)
        {
            lines.push(format!(
                "! no plan was found that keeps every press within its longest time: one stays shut {dwell:.0} s past its target"
            ));
        }
        lines.extend(self.left_out().map(|what| format!("left out     {what}")));
        for (n, line) in self.hands().into_iter().enumerate() {
            lines.push(format!("{:<12} {line}", if n == 0 { "hand times" } else { "" }));
        }
        if options.steps {
            lines.extend(self.steps().iter().map(|step| {
                let turned = step["turned_to_c"].as_f64().map_or_else(String::new, |celsius| {
                    format!("; press {} is turned to {celsius:.0} C before", step["press"])
                });
                format!(
                    "  {:>9} to {:>9}  garment {} {} {}{turned}",
                    step["start_s"],
                    step["end_s"],
                    step["garment"],
                    step["part"].as_str().unwrap_or_default(),
                    step["step"].as_str().unwrap_or_default()
                )
            }));
        }
        lines
    }

    /// What there is, how long the plan takes, and how good it is.
    fn planned(&self) -> String {
        let problem = &self.asked.work.problem;
        let presses = if problem.presses == 1 { "press" } else { "presses" };
        let (best, bound) = (seconds(self.plan.makespan), seconds(problem.lower_bound()));
        let good = if self.gap() < NEXT_TO_NOTHING {
            "none can be shorter".to_owned()
        } else {
            format!("none can be under {}, {:.1} % less", spans::of_any_length(bound), self.gap())
        };
        format!(
            "{}, {} {presses}, {}, {}: the plan takes {}; {good}",
            counted(self.garments(), "garment"),
            problem.presses,
            counted(problem.printers, "printer"),
            counted(problem.operators, "operator"),
            spans::of_any_length(best),
        )
    }

    /// When all of it is done, and what that rests on.
    fn ready(&self) -> Vec<String> {
        let clock = |after: f64| {
            self.at(after).map_or_else(
                || format!("after {}", spans::of_any_length(after)),
                |at| self.clock(at),
            )
        };
        let (half, most) = (clock(self.finish.p50), clock(self.finish.p90));
        let mut lines =
            vec![format!("ready        {half} (half of all draws), {most} (nine of ten)")];
        lines.extend(self.habit.map(|habit| {
            let share = (habit.factor() - 1.0) * 100.0;
            let longer = if share < 0.0 { "shorter" } else { "longer" };
            let source = if habit.hours > 0.0 {
                format!("as the last {:.1} h of work and rehearsals were", habit.hours)
            } else {
                "as rehearsals were, for want of a history".to_owned()
            };
            format!("             by the plain rule, {:.0} % {longer}, {source}", share.abs())
        }));
        lines
    }

    /// Each order against its due time.
    fn due(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.orders.len() > 1 {
            lines.push("each order by its turn: rush first, then what is due earlier:".to_owned());
        }
        lines.extend(self.orders.iter().map(|order| {
            let due =
                order.due.map_or("never due".to_owned(), |due| format!("due {}", self.clock(due)));
            format!(
                "{:<28} {due}, ready {}{}{}",
                order.name,
                self.clock(order.likely),
                without(order),
                order.late().map_or_else(String::new, |late| format!(
                    ", LATE by {}",
                    spans::of_any_length(late)
                ))
            )
        }));
        if let Some(late) = &self.late
            && let Some(order) = self.orders.get(late.order)
        {
            let meets = late.meets.map_or("no single change meets it".to_owned(), |change| {
                format!("{change} meets it")
            });
            lines.push(format!(
                "! {} is late by {}; {meets}",
                order.name,
                spans::of_any_length(late.late_s)
            ));
        }
        lines
    }

    /// What stays on the shelf.
    fn kept(&self) -> Option<String> {
        match self.asked.work.kept {
            0 => None,
            kept => {
                Some(format!("on the shelf {kept} of orders without a due time: they stay there"))
            }
        }
    }

    /// A moment as day and clock.
    fn clock(&self, at: Wall) -> String {
        format!("{} {}", words::day(at, &self.asked.zone), words::clock(at, &self.asked.zone))
    }

    /// Where the hand times come from, in words.
    pub(super) fn hands(&self) -> Vec<String> {
        let Some(known) = self.known else { return vec!["as given".to_owned()] };
        let mut lines: Vec<String> = known
            .learned
            .iter()
            .map(|one| {
                format!(
                    "{} {:.1} s, learned from {}",
                    one.work.words(),
                    one.typical.as_seconds(),
                    one.gaps
                )
            })
            .collect();
        let others: Vec<&str> = Work::ALL
            .into_iter()
            .filter(|work| known.learned.iter().all(|one| one.work != *work))
            .map(Work::words)
            .collect();
        if !others.is_empty() {
            lines.push(format!(
                "{}: the station's, fewer than {ENOUGH} to learn from",
                others.join(", ")
            ));
        }
        let out = known.left_out;
        for (count, why) in [
            (out.clock, "a clock was set or the machine started again"),
            (out.pause, "a pause lay between"),
            (out.shared, "several people were at the bench"),
        ] {
            if count > 0 {
                lines.push(format!("{count} left out: {why}"));
            }
        }
        lines
    }
}

/// What an order will be ready without.
fn without(order: &Ready) -> String {
    if order.short == 0 { String::new() } else { format!(", without {} short", order.short) }
}
