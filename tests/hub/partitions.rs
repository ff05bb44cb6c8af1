//! A station and its hub over random stories: cut lines, lost answers, crashes, fail-overs to a standby that lags, an old
//! primary that comes back, dumps, restores, a second machine under one id. After each step the laws hold; once all is
//! healed, whoever may send has sent everything, and the others say what a hand has to do.
//!
//! `DWELL_STEPS=1000000 cargo test --test hub partitions` takes so many steps instead of the usual ones.

use std::collections::HashMap;

use dwell::shell::hub::agreement::Verdict;
use support::random::Random;

use crate::model::{Cut, Held, Machine, Row, Server};

/// Steps of a story, and of all stories together.
const STORY: usize = 120;
const ALL: usize = 40_000;

/// What happens, with the numbers that it needs.
type Step = (u64, [u64; 3]);

struct World {
    /// Every row that a machine ever wrote, by its sum.
    written: HashMap<i64, (u64, Row)>,
    machines: Vec<Machine>,
    primary: Server,
    /// What the primary was after each write: a standby has one of them.
    history: Vec<Server>,
    /// Those that were replaced by a fail-over, and still answer.
    old: Vec<Server>,
    /// Which server each machine's address leads to; None: cut off.
    leads_to: Vec<Option<usize>>,
    made: i64,
}

impl World {
    fn new() -> Self {
        let primary = Server { cluster: 1, timeline: 1, held: Held::default() };
        Self {
            written: HashMap::new(),
            machines: vec![Machine::new("m0")],
            history: vec![primary.clone()],
            primary,
            old: Vec::new(),
            leads_to: vec![Some(0)],
            made: 0,
        }
    }

    /// The server that a machine reaches: 0 the primary, else one of the old ones.
    fn with<T>(
        &mut self,
        machine: usize,
        work: impl FnOnce(&mut Machine, Option<&mut Server>) -> T,
    ) -> T {
        let server = match self.leads_to[machine] {
            None => None,
            Some(0) => Some(&mut self.primary),
            Some(n) => self.old.get_mut(n - 1),
        };
        let done = work(&mut self.machines[machine], server);
        self.history.push(self.primary.clone());
        done
    }

    fn take(&mut self, (what, [a, b, c]): Step) {
        let m = usize::try_from(a).unwrap() % self.machines.len();
        let many = usize::try_from(b % 5).unwrap() + 1;
        match what % 100 {
            0..30 => {
                for _ in 0..many {
                    self.made += 1;
                    let machine = &mut self.machines[m];
                    let row = machine.act(self.made);
                    self.written.insert(self.made, (machine.journal.len() as u64, row));
                }
            }
            30..62 => {
                let cut = if c % 4 == 0 { Cut::BeforeTheAnswer } else { Cut::Never };
                self.with(m, |machine, server| {
                    server.map(|server| machine.courier(server, many, c % 3 == 0, cut))
                });
            }
            62..70 => self.with(m, |machine, server| machine.start(server)),
            70..76 => self.leads_to[m] = None,
            76..84 => self.leads_to[m] = Some(0),
            84..88 => self.fail_over(b, c),
            88..90 if !self.old.is_empty() => {
                self.leads_to[m] = Some(1 + usize::try_from(b).unwrap() % self.old.len());
            }
            90..92 => self.restore_dump(b),
            92..95 => {
                let rows = self.machines[m].journal.len();
                self.machines[m].goes_back_to(rows - rows.min(many));
                if c % 2 == 0 {
                    self.with(m, |machine, server| machine.start(server));
                }
            }
            95..97 if self.machines.len() < 3 => {
                // A new machine; or a copy of one, which starts like any other.
                let mut machine = match c % 2 {
                    0 => Machine::new(&format!("m{}", self.made + 1_000)),
                    _ => self.machines[m].clone(),
                };
                machine.start(None);
                self.machines.push(machine);
                self.leads_to.push(Some(0));
                let newest = self.machines.len() - 1;
                self.with(newest, |machine, server| machine.start(server));
            }
            _ => {
                let name = format!("h{}-{a}-{b}", self.history.len());
                self.with(m, |machine, server| {
                    if let Some(server) = server {
                        machine.new_life(server, &name);
                    }
                });
            }
        }
    }

    /// A standby that lags takes the primary's place.
    fn fail_over(&mut self, back: u64, stays: u64) {
        let lag = usize::try_from(back % 8).unwrap();
        let standby = self.history[self.history.len().saturating_sub(1 + lag)].clone();
        // One that follows another cluster is none.
        if standby.cluster != self.primary.cluster || standby.timeline != self.primary.timeline {
            return;
        }
        let promoted = Server { timeline: standby.timeline + 1, ..standby };
        let old = std::mem::replace(&mut self.primary, promoted);
        self.history = vec![self.primary.clone()];
        if stays.is_multiple_of(2) {
            self.old.push(old);
        }
    }

    /// An older dump on new servers: their timelines begin anew.
    fn restore_dump(&mut self, back: u64) {
        let lag = usize::try_from(back % 20).unwrap();
        let held = self.history[self.history.len().saturating_sub(1 + lag)].held.clone();
        self.primary = Server { cluster: self.primary.cluster + 1, timeline: 1, held };
        self.history = vec![self.primary.clone()];
        self.old.clear();
        self.leads_to.fill(Some(0));
    }

    /// What must hold at every moment, on every server.
    fn laws(&self) -> Result<(), String> {
        if let Some(machine) = self.machines.iter().find(|machine| machine.sent_backwards) {
            return Err(format!("{} has sent to a server that was replaced", machine.name));
        }
        for server in std::iter::once(&self.primary).chain(&self.old) {
            let held = &server.held;
            let mut before = 0;
            for seq in 1..=held.upto.0 {
                let row = held.at(seq).ok_or(format!("row {seq} is missing"))?;
                let (wrote_seq, wrote) =
                    self.written.get(&row.sum).ok_or(format!("nobody wrote row {seq}"))?;
                if (*wrote_seq, *wrote) != (seq, row) || row.before != before {
                    return Err(format!("row {seq} does not follow the row before it"));
                }
                before = row.sum;
            }
            // Each life is a prefix of what its machine wrote: its rows chain, from the row that it began behind.
            for (life, begun) in (1..).zip(&held.lives) {
                let mut before = begun.after.1;
                for (at, row) in held.rows.range((life, 0)..(life + 1, 0)) {
                    if row.before != before {
                        return Err(format!("life {life} breaks at row {}", at.1));
                    }
                    before = row.sum;
                }
                // Whoever did not begin a life sends nothing in it; the first is that of whoever came first.
                let mut senders = held.senders.range((life, 0)..(life + 1, 0)).map(|sent| sent.1);
                let first = senders.clone().next().map_or("", |name| name.as_ref());
                let owner = if life == 1 { first } else { begun.by.as_str() };
                if let Some(other) = senders.find(|name| name.as_ref() != owner) {
                    return Err(format!("{other} has sent in life {life} of {owner}"));
                }
            }
        }
        Ok(())
    }

    /// All lines are whole: whoever may send has soon sent everything, and no two may.
    fn healed(&mut self) -> Result<(), String> {
        let mut senders = Vec::new();
        for m in 0..self.machines.len() {
            self.leads_to[m] = Some(0);
        }
        for round in 0..60 {
            senders.clear();
            for m in 0..self.machines.len() {
                let verdict = self.with(m, |machine, server| {
                    let server = server.expect("it is reached");
                    let verdict = machine.courier(server, 50, true, Cut::Never);
                    if verdict == Verdict::Fetch {
                        // The banner asks for a start.
                        machine.start(Some(server));
                    }
                    verdict
                });
                let whole = self.machines[m].journal.len() as u64 == self.primary.held.upto.0;
                if verdict == Verdict::Send && whole {
                    senders.push(m);
                }
            }
            self.laws().map_err(|law| format!("{law}, in round {round} of healing"))?;
        }
        if senders.len() > 1 {
            let journals: Vec<&Vec<Row>> =
                senders.iter().map(|m| &self.machines[*m].journal).collect();
            if journals.iter().any(|journal| *journal != journals[0]) {
                return Err(format!("machines {senders:?} both send"));
            }
        }
        for m in 0..self.machines.len() {
            let (verdict, _) = self.machines[m].verdict(&self.primary);
            let waits_for_hand =
                matches!(verdict, Verdict::Apart | Verdict::Replaced | Verdict::OtherHub);
            if !waits_for_hand && !senders.contains(&m) {
                return Err(format!("machine {m} is left at {verdict:?}"));
            }
        }
        Ok(())
    }
}

/// Why a story is none of ours; None where all laws held.
fn fault(story: &[Step]) -> Option<String> {
    let mut world = World::new();
    for (n, step) in story.iter().enumerate() {
        world.take(*step);
        if let Err(law) = world.laws() {
            return Some(format!("after step {n}: {law}"));
        }
    }
    world.healed().err()
}

/// The same with as few steps as still break a law.
fn shrunk(mut story: Vec<Step>) -> Vec<Step> {
    let mut length = story.len() / 2;
    while length > 0 {
        let mut at = 0;
        while at < story.len() {
            let mut shorter = story.clone();
            shorter.drain(at..(at + length).min(story.len()));
            if fault(&shorter).is_some() {
                story = shorter;
            } else {
                at += length;
            }
        }
        length /= 2;
    }
    story
}

#[test]
fn a_station_and_its_hub_never_mix_two_histories_and_end_with_one() {
    let asked = std::env::var("DWELL_STEPS").ok();
    let steps = asked.map_or(ALL, |steps| steps.parse().expect("DWELL_STEPS is a number"));
    for seed in 0..(steps / STORY) as u64 {
        let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let story: Vec<Step> = (0..STORY)
            .map(|_| (random.below(100), [0; 3].map(|_| random.below(1 << 20))))
            .collect();
        if let Some(law) = fault(&story) {
            let short = shrunk(story);
            let told = fault(&short).unwrap_or_default();
            panic!("seed {seed}: {law}\nin short, {told}:\n{short:#?}");
        }
    }
}
