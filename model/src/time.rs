//! Time as a number that tests and recordings can write down.

/// Milliseconds on a clock that never steps back: since start in the daemon, the sum of stamp differences in replay.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Monotonic(pub u64);

impl Monotonic {
    /// This time plus so many milliseconds.
    pub const fn plus_ms(self, ms: u64) -> Self {
        Self(self.0.saturating_add(ms))
    }

    /// Seconds since `earlier`; zero if that lies ahead.
    pub fn seconds_since(self, earlier: Self) -> f64 {
        self.0.saturating_sub(earlier.0) as f64 / 1000.0
    }
}

/// Milliseconds since 1970-01-01 UTC, as far as anybody aboard knows.
pub type WallMs = i64;

/// When something happened: boot, monotonic time within it, and the date if one was known.
///
/// A boat computer has no battery clock. A record made before the date was known keeps `wall_ms` empty until a later dating
/// of the same boot fills it in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    /// Random number of this start of the program.
    pub boot: u64,
    /// Monotonic time within that boot.
    pub monotonic: Monotonic,
    /// Date, if one was trusted.
    pub wall_ms: Option<WallMs>,
}
