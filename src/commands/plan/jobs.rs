//! A published job shop from a file, planned by the same search as the shop's own orders.

use std::path::Path;

use serde_json::{Value, json};

use super::Options;
use crate::commands::{Failure, output};
use crate::forecast::jobshop::seconds;
use crate::forecast::jobshop::text::{self, Published};
use crate::forecast::jobshop::{EFFORT, Millis, Run, Schedule};

/// The largest file that is read.
const MOST_BYTES: u64 = 10_000_000;

/// Plans the file's jobs and prints the schedule.
pub fn run(path: &Path, options: &Options) -> Result<(), Failure> {
    let wrong =
        |what: &dyn std::fmt::Display| Failure::Input(format!("{}: {what}", path.display()));
    let size = std::fs::metadata(path).map_err(|error| wrong(&error))?.len();
    if size > MOST_BYTES {
        return Err(wrong(&format!("{size} bytes, expected at most {MOST_BYTES}")));
    }
    let bytes = std::fs::read(path).map_err(|error| wrong(&error))?;
    let file = String::from_utf8(bytes).map_err(|_| wrong(&"expected a text of numbers"))?;
    let published = text::read(&file).map_err(|error| wrong(&error))?;
    let stuck = || wrong(&"no order of the operations was found");
    let work = EFFORT * usize::from(options.effort);
    let schedule = published.instance.solve(work, options.seed).ok_or_else(stuck)?;
    let mut run = Run::<Millis>::new(&published.instance);
    if !run.go(&published.instance, &schedule, |number| schedule.takes(number)) {
        return Err(stuck());
    }
    let answer = Answer { published, schedule, run };
    if options.json {
        return output::json(&answer.json(options.steps));
    }
    output::lines(answer.lines(options.steps))
}

/// A schedule with all that is told of it. Times are in the file's unit, which is read in thousandths.
struct Answer {
    published: Published,
    schedule: Schedule,
    run: Run<Millis>,
}

impl Answer {
    fn bound(&self) -> f64 {
        seconds(self.published.instance.lower_bound())
    }

    fn makespan(&self) -> f64 {
        seconds(self.run.makespan)
    }

    fn gap(&self) -> f64 {
        if self.bound() > 0.0 { (self.makespan() / self.bound() - 1.0) * 100.0 } else { 0.0 }
    }

    /// The operations in the order of their starts; jobs and operations from 1, machines as the file counts them.
    fn steps(&self) -> Vec<Value> {
        let instance = &self.published.instance;
        let mut order = self.schedule.order.clone();
        order.sort_by_key(|number| self.run.start[*number]);
        let step = |number: usize| {
            let machine = self.schedule.machine(instance, number);
            json!({
                "job": instance.operations()[number].job + 1,
                "operation": instance.place(number) + 1,
                "machine": machine.map(|machine| machine + self.published.first_machine),
                "start": seconds(self.run.start[number]),
                "end": seconds(self.run.end[number]),
            })
        };
        order.into_iter().map(step).collect()
    }

    fn json(&self, steps: bool) -> Value {
        let instance = &self.published.instance;
        let mut answer = json!({
            "jobs": instance.jobs(), "machines": self.published.machines,
            "operations": instance.operations().len(),
            "makespan": self.makespan(), "lower_bound": self.bound(), "gap": self.gap(),
        });
        if steps {
            answer["steps"] = self.steps().into();
        }
        answer
    }

    fn lines(&self, steps: bool) -> Vec<String> {
        let mut lines = vec![format!(
            "{} jobs, {} machines, {} operations: planned in {}, no plan can be under {} ({:.1} % apart)",
            self.published.instance.jobs(),
            self.published.machines,
            self.published.instance.operations().len(),
            self.makespan(),
            self.bound(),
            self.gap()
        )];
        if steps {
            lines.extend(self.steps().iter().map(|step| {
                format!(
                    "  {:>9} to {:>9}  job {} operation {} on machine {}",
                    step["start"], step["end"], step["job"], step["operation"], step["machine"]
                )
            }));
        }
        lines
    }
}
