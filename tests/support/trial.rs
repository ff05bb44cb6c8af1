//! A trial of a garment whose edges are known: low edge 160 g/m2, high edge 280.

use dwell::figures::trial::Seen;
use dwell::figures::units::{Grams, GramsPerSquareMetre};
use dwell::shop::facts::fact::Event;
use dwell::shop::floor::trial::TrialStep;
use dwell::shop::rules::command::Command;

use crate::world::World;

/// Half a grade for each 12 % of coat.
fn grade(inside: f64) -> Seen {
    let grade = ((2.0 * (3.75 + 4.5 * inside)).round() / 2.0).clamp(1.0, 5.0);
    grade.to_string().parse().unwrap()
}

/// Says what the trial wants next; None once it is over.
pub fn next(world: &mut World) -> Option<Vec<Event>> {
    let run = world.shop.trial()?;
    let command = match run.next() {
        TrialStep::WeighDry { .. } => Command::WeighTrial(Grams(150.0)),
        TrialStep::WeighCoated { aim, .. } => {
            let on = world.shop.trial_coverage()?.grams(GramsPerSquareMetre(aim.0.round()));
            Command::WeighTrial(Grams(150.0 + on.0))
        }
        TrialStep::Grade { no, after } => {
            let coat = run.garments[usize::try_from(no).unwrap() - 1].coat?.0;
            let is_wash = after.to_string() == "wash";
            let inside = if is_wash { 280.0 / coat } else { coat / 160.0 };
            Command::GradeTrial(Some(grade(inside.ln())))
        }
        TrialStep::Over(_) => return None,
    };
    world.wait(30.0);
    Some(world.must(command))
}
