//! Checks the schedule of a published instance from its file and its steps: nothing here is shared with the
//! planner, which reads the files by itself.

use std::collections::BTreeMap;

use serde_json::Value;

/// The choices (machine, time) of each operation of each job. Every number of the file is looked at in turn, line
/// ends as well.
pub fn jobs(text: &str) -> Vec<Vec<Vec<(u64, f64)>>> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    let head: Vec<f64> = numbers(lines.next().unwrap());
    let all: Vec<Vec<f64>> = lines.map(numbers).collect();
    assert_eq!(all.len() as f64, head[0]);
    let pairs_alone = all.iter().all(|line| line.len() as f64 == 2.0 * head[1]);
    let jobs = all.iter().map(|line| {
        if pairs_alone {
            return line.chunks(2).map(|pair| vec![(pair[0] as u64, pair[1])]).collect();
        }
        let (mut at, mut operations) = (1, Vec::new());
        for _ in 0..line[0] as usize {
            let choices = line[at] as usize;
            let pairs = &line[at + 1..at + 1 + 2 * choices];
            operations.push(pairs.chunks(2).map(|pair| (pair[0] as u64, pair[1])).collect());
            at += 1 + 2 * choices;
        }
        assert_eq!(at, line.len());
        operations
    });
    jobs.collect()
}

fn numbers(line: &str) -> Vec<f64> {
    line.split_whitespace().map(|word| word.parse().unwrap()).collect()
}

/// Holds a schedule to its file: every operation once, on a machine that it may have, for as long as it takes
/// there, after the one before it; no machine with two at once; the makespan the last end.
pub fn check(text: &str, plan: &Value) {
    const HAIR: f64 = 1e-9;
    let jobs = jobs(text);
    let mut done: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
    let mut busy: BTreeMap<u64, Vec<(f64, f64)>> = BTreeMap::new();
    for step in plan["steps"].as_array().unwrap() {
        let whole = |name: &str| step[name].as_u64().unwrap();
        let (job, operation, machine) =
            (whole("job") as usize, whole("operation") as usize, whole("machine"));
        let (start, end) = (step["start"].as_f64().unwrap(), step["end"].as_f64().unwrap());
        let choices = &jobs[job - 1][operation - 1];
        let takes = choices.iter().filter(|(no, _)| *no == machine).map(|(_, takes)| *takes);
        assert!(takes.into_iter().any(|takes| (end - start - takes).abs() < HAIR), "{step}");
        assert!(start >= 0.0);
        assert_eq!(done.insert((job, operation), (start, end)), None, "{step} twice");
        busy.entry(machine).or_default().push((start, end));
    }
    for (job, operations) in jobs.iter().enumerate() {
        let mut before = 0.0;
        for operation in 1..=operations.len() {
            let (start, end) = done[&(job + 1, operation)];
            assert!(start >= before - HAIR, "job {} operation {operation} is early", job + 1);
            before = end;
        }
    }
    assert_eq!(done.len(), jobs.iter().map(Vec::len).sum::<usize>());
    for (machine, mut spans) in busy {
        spans.sort_by(|a, b| a.partial_cmp(b).unwrap());
        for two in spans.windows(2) {
            assert!(two[0].1 <= two[1].0 + HAIR, "machine {machine}: {two:?}");
        }
    }
    let last = done.values().map(|(_, end)| *end).fold(0.0, f64::max);
    assert!((plan["makespan"].as_f64().unwrap() - last).abs() < HAIR);
    assert!(plan["lower_bound"].as_f64().unwrap() <= last + HAIR);
}
