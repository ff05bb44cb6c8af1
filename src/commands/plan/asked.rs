//! What a plan is asked for: the shop as it stands with order files beside it, and what is due when.

use jiff::tz::TimeZone;

use super::{MOST, Options};
use crate::commands::ahead::Stands;
use crate::commands::{Failure, Places};
use crate::forecast::plan::{Group, Problem};
use crate::forecast::workload::{Source, Workload};
use crate::shell::profiles as orders;
use crate::shop::books::hands::Known;
use crate::shop::facts::moment::Moment;

/// What is planned, and what of the shop's it is planned by.
pub struct Asked {
    pub work: Workload,
    pub known: Option<Known>,
    /// None for a bare problem, which has no clock.
    pub now: Option<Moment>,
    pub zone: TimeZone,
}

/// The shop as it stands, with the orders of the files.
pub fn real(places: &Places, options: &Options) -> Result<Asked, Failure> {
    let mut stands = Stands::read(places, options.from_nothing)?;
    let arrives = options.arrive.and_then(|time| time.at(stands.now, &stands.zone));
    for (n, path) in options.orders.iter().enumerate() {
        let form = orders::read_order(path, &stands.profiles.recipes)?;
        stands
            .add(n, &form, arrives)
            .map_err(|reason| Failure::Input(format!("{}: {reason}", path.display())))?;
    }
    let known = stands.hands();
    let Stands { mut work, now, zone, .. } = stands;
    let problem = &mut work.problem;
    if let Some(presses) = options.presses.map(usize::from) {
        problem.presses = presses.max(problem.held(Group::Press));
    }
    if let Some(printers) = options.printers.map(usize::from) {
        problem.printers = printers.max(problem.held(Group::Printer));
    }
    if let Some(operators) = options.operators {
        problem.operators = usize::from(operators).min(MOST);
    }
    Ok(Asked { work, known: Some(known), now: Some(now), zone })
}

impl Asked {
    pub fn bare(problem: Problem) -> Self {
        let sources = vec![Source::File(0); problem.kinds.len()];
        let work = Workload { problem, sources, ..Workload::empty(0) };
        Self { work, known: None, now: None, zone: TimeZone::UTC }
    }
}
