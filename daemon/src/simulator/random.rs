//! Numbers by chance that are the same on every machine: a small seeded generator.

/// Generator after Steele, Lea & Flood 2014 ("splitmix64"): one addition and three mixing steps.
#[derive(Clone, Debug)]
pub(super) struct Random(u64);

impl Random {
    /// A row of numbers of its own for each purpose of one seed.
    pub fn new(seed: u64, purpose: u64) -> Self {
        let mut random = Self(seed ^ purpose.wrapping_mul(0xD134_2543_DE82_EF95));
        // The first numbers of neighbouring seeds look alike.
        random.next();
        random
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Even, from 0 to 1.
    pub fn uniform(&mut self) -> f64 {
        // The upper 53 bits are what a double holds exactly.
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even, from -1 to 1.
    pub fn signed(&mut self) -> f64 {
        2.0 * self.uniform() - 1.0
    }

    /// Close to normal with mean 0 and standard deviation 1: twelve even numbers less six. No tail beyond 6.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A number that wanders about zero and returns (Ornstein-Uhlenbeck): what averaging over a minute does not remove.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wander {
    value: f64,
    deviation: f64,
    memory_s: f64,
}

impl Wander {
    pub fn new(deviation: f64, memory_s: f64) -> Self {
        Self { value: 0.0, deviation, memory_s }
    }

    /// The number so many seconds later.
    pub fn after(&mut self, seconds: f64, random: &mut Random) -> f64 {
        let keep = barrico_model::math::exp(-seconds / self.memory_s);
        self.value = keep * self.value + self.deviation * (1.0 - keep * keep).sqrt() * random.normal();
        self.value
    }
}
