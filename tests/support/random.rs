//! A small generator of our own: the same seed, the same numbers, whatever library comes and goes.

pub struct Random(pub u64);

impl Random {
    /// A number from 0 to below the limit.
    pub fn below(&mut self, limit: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}
