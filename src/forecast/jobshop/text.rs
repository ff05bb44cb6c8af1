//! Instances in the text format in which they are published.
//!
//! The first line has the number of jobs and of machines (a third number, the mean of choices, may follow). Then
//! a line a job: the number of its operations, and for each the number of its choices and that many pairs of
//! machine and time. Where there is no choice a line may have pairs alone, one for each machine. Machines are
//! numbered from 0 or from 1.

use super::{Choice, Instance, Millis};

/// An instance as its file has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Published {
    pub instance: Instance,
    pub machines: usize,
    /// The number of the first machine in the file.
    pub first_machine: usize,
}

/// What is wrong with a file, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct NoInstance {
    pub line: usize,
    pub what: String,
}

/// The most jobs, machines and operations that are read.
const MOST: usize = 1000;
const MOST_OPERATIONS: usize = 10_000;
/// The longest time, in the file's unit.
const LONGEST: f64 = 1e9;

/// The operations of a job, each with its choices (machine, time).
type Job = Vec<Vec<(usize, Millis)>>;

/// Reads an instance.
///
/// # Errors
/// A number that is missing, too much or none at all, with its line and what was expected there.
pub fn read(text: &str) -> Result<Published, NoInstance> {
    let lines = text.lines().enumerate().map(|(no, line)| (no + 1, line.trim()));
    let mut lines = lines.filter(|(_, line)| !line.is_empty());
    let (line, head) = lines
        .next()
        .ok_or_else(|| wrong(1, "expected the number of jobs and of machines, found nothing"))?;
    let mut head = Words { line, words: head.split_whitespace() };
    let jobs = head.count("the number of jobs", 1, MOST)?;
    let machines = head.count("the number of machines", 1, MOST)?;
    let lines: Vec<(usize, &str)> = lines.collect();
    let after = |lines: &[(usize, &str)]| lines.last().map_or(line, |(no, _)| *no) + 1;
    if lines.len() < jobs {
        let found = lines.len();
        return Err(wrong(
            after(&lines),
            &format!("expected {jobs} jobs, a line each, found {found}"),
        ));
    }
    if let Some((line, _)) = lines.get(jobs) {
        return Err(wrong(*line, &format!("expected nothing after {jobs} jobs")));
    }
    // A line of pairs alone has twice as many numbers as there are machines, and so have all the others.
    let pairs = |(_, line): &(usize, &str)| line.split_whitespace().count() == 2 * machines;
    let flexible: Result<Vec<Job>, NoInstance> =
        lines.iter().map(|(no, line)| job(*no, line, machines)).collect();
    let read = match flexible {
        Err(_) if lines.iter().all(pairs) => {
            lines.iter().map(|(no, line)| job_of_pairs(*no, line, machines)).collect()
        }
        flexible => flexible,
    }?;
    published(&read, machines, &lines)
}

fn published(
    jobs: &[Job],
    machines: usize,
    lines: &[(usize, &str)],
) -> Result<Published, NoInstance> {
    let numbers = |job: &Job| job.iter().flatten().map(|(machine, _)| *machine).collect::<Vec<_>>();
    let from_zero = jobs.iter().flat_map(numbers).any(|machine| machine == 0);
    for (job, (line, _)) in jobs.iter().zip(lines) {
        if from_zero && numbers(job).contains(&machines) {
            let what = format!(
                "machine {machines}: machines are numbered from 0 in this file, so expected 0 to {}",
                machines - 1
            );
            return Err(wrong(*line, &what));
        }
    }
    let operations: usize = jobs.iter().map(Vec::len).sum();
    if operations > MOST_OPERATIONS {
        return Err(wrong(
            1,
            &format!("{operations} operations: expected at most {MOST_OPERATIONS}"),
        ));
    }
    let first_machine = usize::from(!from_zero);
    let mut instance = Instance::new(&vec![1; machines]);
    for job in jobs {
        instance.job(0);
        for choices in job {
            let choice = |(machine, takes): &(usize, Millis)| Choice {
                pool: machine - first_machine,
                takes: Some(*takes),
            };
            instance.operation(0, 0, [(choices.iter().map(choice).collect(), 1)]);
        }
    }
    Ok(Published { instance, machines, first_machine })
}

/// A job whose operations have choices.
fn job(line: usize, text: &str, machines: usize) -> Result<Job, NoInstance> {
    let mut words = Words { line, words: text.split_whitespace() };
    let count = words.count("the number of operations", 1, MOST_OPERATIONS)?;
    let mut operations = Vec::new();
    for operation in 1..=count {
        let what = format!("the number of choices of operation {operation} of {count}");
        let choices = words.count(&what, 1, machines)?;
        let pairs = (0..choices).map(|_| words.pair(operation, machines));
        operations.push(pairs.collect::<Result<_, _>>()?);
    }
    words.end(&format!("{count} operations"))?;
    Ok(operations)
}

/// A job without choices: a pair for each machine.
fn job_of_pairs(line: usize, text: &str, machines: usize) -> Result<Job, NoInstance> {
    let mut words = Words { line, words: text.split_whitespace() };
    (1..=machines).map(|operation| Ok(vec![words.pair(operation, machines)?])).collect()
}

/// The numbers of a line.
struct Words<'a> {
    line: usize,
    words: std::str::SplitWhitespace<'a>,
}

impl Words<'_> {
    fn count(&mut self, what: &str, least: usize, most: usize) -> Result<usize, NoInstance> {
        let word = self.words.next();
        let found = word.and_then(|word| word.parse().ok());
        found
            .filter(|n| (least..=most).contains(n))
            .ok_or_else(|| self.missing(word, &format!("{what}, {least} to {most}")))
    }

    /// A machine and the time on it, in thousandths of the file's unit.
    fn pair(&mut self, operation: usize, machines: usize) -> Result<(usize, Millis), NoInstance> {
        let machine = self.count(&format!("a machine of operation {operation}"), 0, machines)?;
        let word = self.words.next();
        let time = word.and_then(|word| word.parse::<f64>().ok());
        let time = time.filter(|time| (0.0..=LONGEST).contains(time)).ok_or_else(|| {
            let what =
                format!("the time of operation {operation} on machine {machine}, 0 to {LONGEST}");
            self.missing(word, &what)
        })?;
        let thousandths = time * 1000.0;
        if (thousandths - thousandths.round()).abs() > 1e-6 * thousandths.max(1.0) {
            return Err(self.missing(word, "at most three decimals"));
        }
        #[expect(clippy::cast_possible_truncation, reason = "at most a billion")]
        Ok((machine, thousandths.round() as Millis))
    }

    fn end(&mut self, of: &str) -> Result<(), NoInstance> {
        match self.words.next() {
            None => Ok(()),
            Some(word) => {
                let word = crate::shop::facts::words::clean(word, 20);
                Err(wrong(self.line, &format!("found \"{word}\", expected nothing after {of}")))
            }
        }
    }

    fn missing(&self, found: Option<&str>, expected: &str) -> NoInstance {
        let found = found.map_or("the end of the line".to_owned(), |word| {
            format!("\"{}\"", crate::shop::facts::words::clean(word, 20))
        });
        wrong(self.line, &format!("found {found}, expected {expected}"))
    }
}

fn wrong(line: usize, what: &str) -> NoInstance {
    NoInstance { line, what: what.to_owned() }
}
