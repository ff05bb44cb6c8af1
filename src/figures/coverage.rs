//! What of a coat counts: the scale weighs all that is on the cloth, a recipe's window means what lies under the
//! print. Whoever judges, plans or foresees a coat turns the one into the other here.

use super::coat;
use super::strokes::{Aim, Motion, Onto, Strokes};
use super::units::{Centimetres, Grams, GramsPerSquareMetre, Rectangle, SquareCentimetres};

/// What a coat is counted over, and the share of the fluid on the cloth that lies there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    pub aim: Aim,
    /// Grams under the print over grams on the cloth, above 0 to 1.
    pub share: f64,
}

impl Coverage {
    /// By the strokes of a sprayer; all of it where no print is known.
    pub fn by_strokes(aim: Aim, motion: &Motion) -> Self {
        match aim {
            Aim::Area(_) => Self { aim, share: 1.0 },
            Aim::Print { .. } => {
                let strokes = Strokes::covering(aim, motion);
                Self { aim, share: strokes.way_counted() / strokes.way_on_cloth() }
            }
        }
    }

    /// By areas, where no sprayer is known: as if fluid lay evenly on all that is sprayed, half of it by strokes
    /// across, half by strokes up and down, and by each as far past the edge as the strokes run on the garment.
    pub fn by_areas(aim: Aim, onto: Onto, past: Centimetres) -> Self {
        let size = aim.counted();
        let (width, height) = aim.sprayed();
        let run = match onto {
            Onto::Garment => 2.0 * past.0,
            Onto::Mask | Onto::Board => 0.0,
        };
        let on_cloth = ((width + run) * height + width * (height + run)) / 2.0;
        let share = match aim {
            Aim::Area(_) => 1.0,
            Aim::Print { .. } => size.area().0 / on_cloth,
        };
        Self { aim, share }
    }

    /// By the strokes where there is a sprayer, else by areas: the print, and its margin around it.
    pub fn of(aim: Aim, motion: Option<&Motion>) -> Self {
        match motion {
            Some(motion) => Self::by_strokes(aim, motion),
            None => Self::by_areas(aim, Onto::Mask, Centimetres(0.0)),
        }
    }

    /// What the coat is counted over.
    pub fn counted(&self) -> Rectangle {
        self.aim.counted()
    }

    /// The print and its margin.
    pub fn sprayed(&self) -> SquareCentimetres {
        let (width, height) = self.aim.sprayed();
        SquareCentimetres(width * height)
    }

    /// The coat under the print, of so many grams on the scale.
    pub fn per_area(&self, on_scale: Grams) -> GramsPerSquareMetre {
        coat::per_area(Grams(on_scale.0 * self.share), self.counted().area())
    }

    /// The grams that the scale shows for a coat under the print: the other way round.
    pub fn grams(&self, coat: GramsPerSquareMetre) -> Grams {
        Grams(coat::over(coat, self.counted().area()).0 / self.share)
    }
}
