//! What may happen in a simulated shop: acts, clocks, and what a store does to what is written.

use dwell::shop::rules::command::Command;
use proptest::prelude::*;
use proptest::strategy::{BoxedStrategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::deeds::{Deed, deed};

/// One thing that happens.
#[derive(Debug, Clone)]
pub enum Step {
    /// The made-up operator takes a turn, sensibly.
    Turn,
    /// Somebody does something, sensible or not.
    Deed(Deed),
    /// What a turn or a deed came to: a run that is played again holds only these.
    Say(Command),
    /// Seconds go by on both clocks. Nobody asks whether the process ran meanwhile.
    Wait(f64),
    /// The wall clock alone is set, by so many seconds.
    Wall(i64),
    Store(Fault),
    /// The process is killed and started again. Of what was never reported as saved, so many of a hundred acts
    /// are in the store all the same.
    Crash {
        kept: u8,
    },
    /// The machine is off for some seconds and starts again; its wall clock may be unset then.
    Reboot {
        off: u32,
        unset: bool,
        kept: u8,
    },
}

/// What a store does that is no good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// It answers nothing until it heals.
    Late,
    /// Every commit fails until it heals.
    Fails,
    /// Every commit fails by what it says; at the end of the trouble the last one is in the file all the same.
    FailsButLands,
    /// The directory is gone until it heals.
    Away,
    Heals,
}

const YEAR: i64 = 31_557_600;

fn clock() -> impl Strategy<Value = Step> {
    let spans = [1, 59, 3600, 43_200, 86_400, 30 * 86_400, YEAR, 30 * YEAR];
    let spans = proptest::sample::select(spans.to_vec());
    (spans, any::<bool>()).prop_map(|(s, back)| Step::Wall(if back { -s } else { s }))
}

fn store() -> impl Strategy<Value = Step> {
    use Fault::{Away, Fails, FailsButLands, Heals, Late};
    let faults = [Late, Fails, FailsButLands, Away, Heals, Heals, Heals, Heals];
    proptest::sample::select(faults.to_vec()).prop_map(Step::Store)
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        90 => Just(Step::Turn),
        90 => deed().prop_map(Step::Deed),
        3 => (1u32..40_000).prop_map(|seconds| Step::Wait(seconds.into())),
        3 => clock(),
        6 => store(),
        2 => (0u8..=100).prop_map(|kept| Step::Crash { kept }),
        1 => (1u32..200_000, proptest::bool::weighted(0.3), 0u8..=100)
            .prop_map(|(off, unset, kept)| Step::Reboot { off, unset, kept }),
    ]
}

/// Steps without end; the same seed gives the same ones.
pub struct Steps {
    runner: TestRunner,
    step: BoxedStrategy<Step>,
}

impl Steps {
    pub fn new(seed: u64) -> Self {
        let mut bytes = [0; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
        Self { runner: TestRunner::new_with_rng(Config::default(), rng), step: step().boxed() }
    }
}

impl Iterator for Steps {
    type Item = Step;
    fn next(&mut self) -> Option<Step> {
        Some(self.step.new_tree(&mut self.runner).ok()?.current())
    }
}
