//! The shape of a press step: the platen may hover before it closes, and be lifted half-way. The key is struck once, as the
//! step begins; what is to be done from then on follows from the time.

use std::time::Duration;

use super::check::{Senseless, check_size};
use super::step::{Cover, Pressure, Timing};
use crate::figures::units::{Span, Temperature, bounds};

/// So long it is said that the platen is to be closed.
const CLOSES: Duration = Duration::from_secs(5);

/// What is done at a press now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// The platen hovers, for so much longer.
    Hover(Duration),
    /// It is to be closed: after the hover, or after the lift.
    Close,
    /// It is lifted, for so much longer.
    Lift(Duration),
    /// It is shut, and nothing is to be done.
    Shut,
}

/// What a press does to a garment for one step, with everything that the recipe says of it. Its times are of the whole
/// step, from the moment at which the platen hovers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressing {
    pub shortest: Span,
    pub target: Span,
    pub longest: Span,
    pub steam_gone_by: Option<Span>,
    pub set_point: Temperature,
    pub pressure: Pressure,
    pub cover: Option<Cover>,
    pub hover: Span,
    pub lift: Span,
}

impl Pressing {
    /// How a press that was shut for so long lies to these times; None: its time is not known.
    pub fn timing(&self, shut: Option<Duration>) -> Timing {
        match shut {
            None => Timing::NotTimed,
            Some(shut) if shut < self.shortest.0 => Timing::Early,
            Some(shut) if shut > self.longest.0 => Timing::Late,
            Some(_) => Timing::InTime,
        }
    }

    /// The same with a hover and a lift: the step takes so much longer.
    pub(super) fn shaped(mut self, hover: Option<Span>, lift: Option<Span>) -> Self {
        (self.hover, self.lift) = (hover.unwrap_or_default(), lift.unwrap_or_default());
        let longer = |span: Span| Span(span.0 + self.hover.0 + self.lift.0);
        (self.shortest, self.target) = (longer(self.shortest), longer(self.target));
        self.longest = longer(self.longest);
        self.steam_gone_by = self.steam_gone_by.map(|Span(by)| Span(self.after_shut(by)));
        self
    }

    /// How long after its key the platen has been shut for so long: the hover comes before, and past the half the lift.
    fn after_shut(&self, shut: Duration) -> Duration {
        let closed = self.hover.0 + shut;
        match self.lifted() {
            Some((from, _)) if closed > from => closed + self.lift.0,
            _ => closed,
        }
    }

    /// The second after its key at which steam stops that takes so many under a shut platen. Past the lift that is from
    /// memory: the cloth cools a little meanwhile, and some steam gets away by itself.
    pub fn steam_from_key(&self, shut: f64) -> f64 {
        Duration::try_from_secs_f64(shut).map_or(shut, |shut| self.after_shut(shut).as_secs_f64())
    }

    /// How many seconds the platen had been shut when the steam stopped, so many after the key. None where it had not
    /// closed yet, or where the lift moved that second: what stops during a lift or after it was not boiled off alone.
    pub fn steamed(&self, from_key: f64) -> Option<f64> {
        let shut = from_key - self.hover.as_seconds();
        let lifted = self.lifted().is_some_and(|(from, _)| from_key > from.as_secs_f64());
        (shut > 0.0 && !lifted).then_some(shut)
    }

    /// From when until when it is lifted.
    fn lifted(&self) -> Option<(Duration, Duration)> {
        let Span(lift) = self.lift;
        let shut = self.target.0.saturating_sub(self.hover.0 + lift);
        let from = self.hover.0 + shut / 2;
        (!lift.is_zero()).then_some((from, from + lift))
    }

    /// What is done at the press once so much of the step has gone by.
    pub fn phase(&self, gone: Duration) -> Phase {
        let Span(hover) = self.hover;
        let closes = |from: Duration| !from.is_zero() && gone < from + CLOSES;
        match self.lifted() {
            _ if gone < hover => Phase::Hover(hover - gone),
            Some((from, until)) if (from..until).contains(&gone) => Phase::Lift(until - gone),
            Some((_, until)) if gone >= until && closes(until) => Phase::Close,
            Some((from, _)) if gone >= from => Phase::Shut,
            _ if closes(hover) => Phase::Close,
            _ => Phase::Shut,
        }
    }

    /// When something else is to be done, from the beginning of the step.
    pub fn turns(&self) -> impl Iterator<Item = Duration> {
        let hover = Some(self.hover.0).filter(|hover| !hover.is_zero());
        let (from, until) = self.lifted().unzip();
        let closed = [hover, until].map(|from| from.map(|from| from + CLOSES));
        [hover, from, until].into_iter().chain(closed).flatten()
    }

    /// What is said of its shape when a garment is laid in; nothing of a press that is only shut.
    pub fn shape_in_words(&self) -> Option<String> {
        let hover = (!self.hover.0.is_zero()).then(|| format!("hover {}, then close", self.hover));
        let lift = (!self.lift.0.is_zero()).then(|| format!("lift it half-way for {}", self.lift));
        let both: Vec<String> = hover.into_iter().chain(lift).collect();
        (!both.is_empty()).then(|| both.join("; "))
    }
}

/// Whether somebody can hover and lift so.
pub(super) fn check_shape(
    name: &str,
    hover: Option<Span>,
    lift: Option<Span>,
) -> Result<(), Senseless> {
    for (part, span) in [("hover", hover), ("lift", lift)] {
        if let Some(span) = span {
            check_size(format!("{name}.{part}"), span, bounds::HOVER)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::facts::step::Pressure;

    fn pressing() -> Pressing {
        Pressing {
            shortest: Span::seconds(12),
            target: Span::seconds(20),
            longest: Span::seconds(45),
            steam_gone_by: None,
            set_point: crate::figures::units::Temperature::celsius(171.0),
            pressure: Pressure::Medium,
            cover: None,
            hover: Span::default(),
            lift: Span::default(),
        }
    }

    #[test]
    fn a_step_hovers_is_pressed_lifted_and_pressed_again() {
        let s = Duration::from_secs;
        let plain = pressing();
        assert_eq!(plain.phase(s(0)), Phase::Shut);
        assert_eq!(plain.turns().count(), 0);
        let shaped = plain.shaped(Some(Span::seconds(6)), Some(Span::seconds(4)));
        assert_eq!((shaped.target, shaped.longest), (Span::seconds(30), Span::seconds(55)));
        let phases = [0, 6, 11, 16, 19, 20, 25].map(|second| shaped.phase(s(second)));
        let (hover, lift) = (Phase::Hover(s(6)), Phase::Lift(s(4)));
        let last = Phase::Lift(s(1));
        assert_eq!(
            phases,
            [hover, Phase::Close, Phase::Shut, lift, last, Phase::Close, Phase::Shut]
        );
    }

    #[test]
    fn a_hover_moves_the_second_of_the_steam_and_a_lift_hides_it() {
        let plain = Pressing { steam_gone_by: Some(Span::seconds(18)), ..pressing() };
        assert_eq!((plain.steamed(18.0), plain.steam_from_key(18.0)), (Some(18.0), 18.0));
        let hovers = plain.shaped(Some(Span::seconds(6)), None);
        assert_eq!(hovers.steam_gone_by, Some(Span::seconds(24)));
        assert_eq!((hovers.steamed(24.0), hovers.steamed(5.0)), (Some(18.0), None));
        // Shut from 6 to 16, lifted until 20, shut again until 30.
        let shaped = plain.shaped(Some(Span::seconds(6)), Some(Span::seconds(4)));
        assert_eq!(shaped.steam_gone_by, Some(Span::seconds(28)));
        assert_eq!((shaped.steam_from_key(9.0), shaped.steam_from_key(12.0)), (15.0, 22.0));
        assert_eq!(shaped.steamed(15.0), Some(9.0));
        assert_eq!([17.0, 20.0, 25.0].map(|second| shaped.steamed(second)), [None; 3]);
    }
}
