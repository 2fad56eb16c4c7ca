//! Random numbers from a seed: the caller brings the chance, so that a replay repeats itself.

/// SplitMix64 (Steele, Lea, Flood 2014, "Fast splittable pseudorandom number generators"). Not for secrets.
#[derive(Clone, Copy, Debug)]
pub(super) struct Random(u64);

impl Random {
    pub(super) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A number below `limit`, which is not 0. The bias is below one in 2^40 for the limits used here.
    pub(super) fn below(&mut self, limit: u64) -> u64 {
        self.next() % limit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // First outputs for seed 1234567, as in the test vectors of the public reference implementation of SplitMix64.
    #[test]
    fn known_numbers() {
        let mut random = Random::new(1_234_567);
        let expected = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!([random.next(), random.next(), random.next()], expected);
    }
}
