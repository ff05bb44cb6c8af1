//! What a garment of an order is made of, and what its cloth weighs.

use crate::figures::units::GramsPerSquareMetre;
use crate::shop::Shop;
use crate::shop::facts::cloth::Cloth;
use crate::shop::facts::order::OrderLine;

use super::garment::Garment;

impl Shop {
    fn line_of(&self, garment: &Garment) -> Option<&OrderLine> {
        self.order(garment.order())?.form.lines.get(garment.line)
    }

    /// What a garment is made of: as its order says, else as its recipe does. None where neither says.
    pub fn cloth(&self, garment: &Garment) -> Option<Cloth> {
        let its_own = self.line_of(garment).and_then(|line| line.cloth);
        its_own.or_else(|| self.recipe_of(garment)?.1.cloth)
    }

    /// What a garment is made of and what its recipe is for, where these are two.
    pub fn other_cloth(&self, garment: &Garment) -> Option<(Cloth, Cloth)> {
        let (cloth, wanted) = (self.cloth(garment)?, self.recipe_of(garment)?.1.cloth?);
        (cloth != wanted).then_some((cloth, wanted))
    }

    /// "polyester: Dark cotton is for cotton; try one first".
    pub fn says_other_cloth(&self, garment: &Garment) -> Option<String> {
        let (cloth, wanted) = self.other_cloth(garment)?;
        let title = &self.recipe_of(garment)?.1.title;
        Some(format!("{}: {title} is for {}; try one first", cloth.words(), wanted.words()))
    }

    /// What the cloth of a garment weighs: by the scale where it was laid on it dry, else as is usual for its kind.
    pub fn cloth_weight(&self, garment: &Garment) -> Option<GramsPerSquareMetre> {
        let (_, recipe) = self.recipe_of(garment)?;
        let line = self.line_of(garment);
        let weights = recipe.weights(line.and_then(|line| line.cloth));
        let mark = line.map_or("", |line| line.mark.as_str());
        let weighed = garment.weighed.map(|weighing| weights.by_scale(weighing.before, mark));
        Some(weighed.unwrap_or(weights.cloth))
    }
}
