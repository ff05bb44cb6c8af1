//! A hub and its stations' machines as a model: the tables of `schema.sql` in memory, and the steps of courier, start and
//! hand, each of which can be cut off. What is decided is decided by the program's own rules.

use std::collections::BTreeMap;
use std::sync::Arc;

use dwell::shell::hub::agreement::{Relation, Verdict};
use dwell::shell::hub::head::Head;
use dwell::shell::hub::memory::Known;

/// A row: its sum, which no other row has, and the sum of the row before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    pub sum: i64,
    pub before: i64,
}

#[derive(Debug, Clone)]
pub struct Life {
    pub after: (u64, i64),
    pub by: String,
}

/// What a server holds of one station.
#[derive(Debug, Clone)]
pub struct Held {
    pub lives: Vec<Life>,
    pub rows: BTreeMap<(usize, u64), Row>,
    /// Which machine sent each.
    pub senders: BTreeMap<(usize, u64), Arc<str>>,
    pub upto: (u64, i64),
}

/// What a push was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    Ok,
    Elsewhere,
}

impl Default for Held {
    fn default() -> Self {
        let first = Life { after: (0, 0), by: String::new() };
        Self { lives: vec![first], rows: BTreeMap::new(), senders: BTreeMap::new(), upto: (0, 0) }
    }
}

impl Held {
    fn life(&self) -> usize {
        self.lives.len()
    }

    /// The row of the current history with a number: that of the newest life which began before it.
    pub fn at(&self, seq: u64) -> Option<Row> {
        let life = self.lives.iter().rposition(|life| life.after.0 < seq)? + 1;
        self.rows.get(&(life, seq)).copied()
    }

    fn sum_at(&self, seq: u64) -> Option<i64> {
        if seq == 0 { Some(0) } else { self.at(seq).map(|row| row.sum) }
    }

    fn push(&mut self, life: usize, after: (u64, i64), rows: &[Row], by: &Arc<str>) -> Answer {
        if life != self.life() || after != self.upto {
            return Answer::Elsewhere;
        }
        for (row, seq) in rows.iter().zip(after.0 + 1..) {
            assert_eq!(row.before, self.upto.1, "the chain is checked by the function");
            self.rows.insert((life, seq), *row);
            self.senders.insert((life, seq), Arc::clone(by));
            self.upto = (seq, row.sum);
        }
        Answer::Ok
    }

    /// As the function of that name.
    fn begin_life(&mut self, life: usize, after: (u64, i64), by: &str) -> Option<usize> {
        let newest = self.lives.last().unwrap();
        if life + 1 == self.life() && newest.after == after && newest.by == by {
            return Some(self.life());
        }
        if life != self.life() || self.sum_at(after.0) != Some(after.1) {
            return None;
        }
        self.lives.push(Life { after, by: by.to_owned() });
        self.upto = after;
        Some(self.life())
    }
}

/// A server that holds the hub of one station.
#[derive(Debug, Clone)]
pub struct Server {
    pub cluster: u32,
    pub timeline: u32,
    pub held: Held,
}

impl Server {
    fn head(&self) -> Head {
        Head {
            hub: "the hub".into(),
            cluster: self.cluster.to_string(),
            timeline: self.timeline,
            station: "b".into(),
            life: i32::try_from(self.held.life()).unwrap(),
            begun_by: self.held.lives.last().unwrap().by.clone(),
            upto: self.held.upto.0,
            sum: self.held.upto.1,
        }
    }
}

/// Where a step is cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cut {
    Never,
    /// What was asked is done, and the answer is lost.
    BeforeTheAnswer,
}

/// A machine with a board of the station.
#[derive(Debug, Clone)]
pub struct Machine {
    pub name: Arc<str>,
    pub journal: Vec<Row>,
    /// What is remembered, in mind and in the file: the file may lag behind.
    mind: Option<Known>,
    file: Option<Known>,
    /// The highest timeline of each cluster that has confirmed something to it, for the laws alone.
    seen: BTreeMap<u32, u32>,
    /// Something was sent to a server of a lower one.
    pub sent_backwards: bool,
}

impl Machine {
    pub fn new(name: &str) -> Self {
        Self {
            name: name.into(),
            journal: Vec::new(),
            mind: None,
            file: None,
            seen: BTreeMap::new(),
            sent_backwards: false,
        }
    }

    fn last(&self) -> (u64, i64) {
        (self.journal.len() as u64, self.journal.last().map_or(0, |row| row.sum))
    }

    fn sum_of(&self, seq: u64) -> Option<i64> {
        match seq {
            0 => Some(0),
            _ => self.journal.get(usize::try_from(seq).unwrap() - 1).map(|row| row.sum),
        }
    }

    /// An act is saved.
    pub fn act(&mut self, sum: i64) -> Row {
        let row = Row { sum, before: self.last().1 };
        self.journal.push(row);
        row
    }

    fn relation(&self, head: &Head, held: &Held) -> Relation {
        let last = self.last();
        let theirs = if head.upto > last.0 { held.sum_at(last.0) } else { None };
        Relation::of(head, last, self.sum_of(head.upto), theirs)
    }

    pub fn verdict(&self, server: &Server) -> (Verdict, Head) {
        let head = server.head();
        let relation = self.relation(&head, &server.held);
        (Verdict::of(self.mind.as_ref(), &self.name, &head, relation), head)
    }

    fn confirmed(&mut self, head: &Head, writes: bool) {
        let known = Known::of(head);
        let same = |file: &Known| {
            Known { seq: 0, sum: 0, ..file.clone() } == Known { seq: 0, sum: 0, ..known.clone() }
        };
        let is_other = !self.file.as_ref().is_some_and(same);
        self.mind = Some(known.clone());
        if writes || is_other {
            self.file = Some(known);
        }
    }

    /// The courier asks and sends at most so many rows; the verdict by which it went.
    pub fn courier(&mut self, server: &mut Server, most: usize, writes: bool, cut: Cut) -> Verdict {
        let (verdict, mut head) = self.verdict(server);
        match verdict {
            Verdict::Send => {}
            Verdict::BeginLife => {
                self.file.clone_from(&self.mind);
                let life = usize::try_from(head.life).unwrap();
                let begun = server.held.begin_life(life, (head.upto, head.sum), &self.name);
                let (Some(begun), Cut::Never) = (begun, cut) else { return verdict };
                head.life = i32::try_from(begun).unwrap();
            }
            Verdict::Fetch => {
                if let Some(known) = &mut self.mind {
                    known.ask_at_start = true;
                }
                self.file.clone_from(&self.mind);
                return verdict;
            }
            _ => return verdict,
        }
        self.confirmed(&head, writes);
        let from = usize::try_from(head.upto).unwrap();
        let rows: Vec<Row> = self.journal.iter().skip(from).take(most).copied().collect();
        let life = usize::try_from(head.life).unwrap();
        let seen = self.seen.entry(server.cluster).or_default();
        self.sent_backwards |= server.timeline < *seen;
        *seen = server.timeline.max(*seen);
        let answer = server.held.push(life, (head.upto, head.sum), &rows, &self.name);
        if answer == Answer::Ok && cut == Cut::Never {
            self.confirmed(&server.head(), writes);
        }
        verdict
    }

    /// The program ends and starts again; a server that is reached is asked where the rules of a start say so.
    pub fn start(&mut self, server: Option<&mut Server>) {
        self.mind.clone_from(&self.file);
        let asks = match &self.mind {
            None => true,
            Some(known) => known.ask_at_start || self.sum_of(known.seq) != Some(known.sum),
        };
        let (true, Some(server)) = (asks, server) else { return };
        let (verdict, mut head) = self.verdict(server);
        match verdict {
            Verdict::BeginLife => {}
            Verdict::Fetch => {
                while self.last().0 < head.upto {
                    let row = server.held.at(self.last().0 + 1).expect("no row is missing");
                    assert_eq!(row.before, self.last().1, "a chain that is fetched is checked");
                    self.journal.push(row);
                }
            }
            _ => return,
        }
        self.begins_life(server, &mut head);
    }

    fn begins_life(&mut self, server: &mut Server, head: &mut Head) {
        let life = usize::try_from(head.life).unwrap();
        let begun = server.held.begin_life(life, (head.upto, head.sum), &self.name);
        if let Some(begun) = begun {
            head.life = i32::try_from(begun).unwrap();
            self.mind = Some(Known::of(head));
            self.file.clone_from(&self.mind);
        }
    }

    /// A hand says that this machine is the station.
    pub fn new_life(&mut self, server: &mut Server, name: &str) {
        let (verdict, mut head) = self.verdict(server);
        if matches!(verdict, Verdict::Send | Verdict::Fetch | Verdict::OldServer) {
            return;
        }
        self.name = name.into();
        let common = (0..=head.upto.min(self.last().0))
            .rev()
            .find(|seq| self.sum_of(*seq) == server.held.sum_at(*seq))
            .unwrap();
        (head.upto, head.sum) = (common, self.sum_of(common).unwrap());
        self.begins_life(server, &mut head);
    }

    /// A backup is put in the journal's place; the next start asks.
    pub fn goes_back_to(&mut self, rows: usize) {
        self.journal.truncate(rows);
        for known in [&mut self.mind, &mut self.file].into_iter().flatten() {
            known.ask_at_start = true;
        }
    }
}
