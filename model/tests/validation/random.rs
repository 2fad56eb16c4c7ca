//! Random numbers from a seed: SplitMix64 (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators").

use barrico_model::math;

pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        // 53 bits are all that a share between 0 and 1 can hold.
        let share = (self.bits() >> 11) as f64 / 9_007_199_254_740_992.0;
        low + share * (high - low)
    }

    /// One of so many, from 0.
    pub fn below(&mut self, count: usize) -> usize {
        (self.bits() % count as u64) as usize
    }

    /// Evenly in the logarithm.
    pub fn between_ln(&mut self, low: f64, high: f64) -> f64 {
        math::exp(self.between(math::ln(low), math::ln(high)))
    }

    /// Normal, mean 0 and standard deviation 1 (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * math::ln(self.between(1e-300, 1.0))).sqrt();
        radius * math::cos(core::f64::consts::TAU * self.between(0.0, 1.0))
    }
}
