//! The date, as far as anybody aboard knows it.
//!
//! A boat computer has no battery clock. Durations never use this; only labels do. The date is an offset to the monotonic clock that a
//! trusted source sets: GNSS on the bus, a synchronised system clock, or the stamps of a recording. It may step; a
//! step moves labels and nothing else.

use super::ClockChange;
use barrico_model::{Monotonic, Stamp, WallMs};

/// A difference up to this is drift, not a step.
const DRIFT_MS: i64 = 2_000;

/// Dates before this are receivers with a week roll-over or clocks without a battery: 2026-01-01.
pub const EARLIEST_LIVE_MS: WallMs = 1_767_225_600_000;

/// Whom the date is taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockMode {
    /// From the bus and the system; dates before [`EARLIEST_LIVE_MS`] are refused.
    Live,
    /// From the stamps of a recording alone, whatever they are.
    Recorded,
}

/// Monotonic time to date.
#[derive(Clone, Debug)]
pub struct WallClock {
    mode: ClockMode,
    boot: u64,
    offset_ms: Option<i64>,
    /// Dates refused because they lie before the program was made.
    pub refused: u64,
}

impl WallClock {
    /// A clock that knows no date yet.
    pub fn new(mode: ClockMode) -> Self {
        Self { mode, boot: 0, offset_ms: None, refused: 0 }
    }

    /// The number of this start of the program.
    pub fn set_boot(&mut self, boot: u64) {
        self.boot = boot;
    }

    /// A date from the source that leads in this mode.
    pub fn set(&mut self, now: Monotonic, wall_ms: WallMs) -> Option<ClockChange> {
        if self.mode == ClockMode::Live && wall_ms < EARLIEST_LIVE_MS {
            self.refused += 1;
            return None;
        }
        let offset = wall_ms - now.0 as i64;
        let before = self.offset_ms.replace(offset);
        match before {
            None => Some(ClockChange::Known(self.stamp(now))),
            Some(old) if DRIFT_MS < (offset - old).abs() => {
                Some(ClockChange::Stepped { from: old + now.0 as i64, to: wall_ms })
            }
            Some(_) => None,
        }
    }

    /// A date seen on the bus. Counts only live.
    pub fn set_from_bus(&mut self, now: Monotonic, wall_ms: WallMs) -> Option<ClockChange> {
        if self.mode == ClockMode::Live { self.set(now, wall_ms) } else { None }
    }

    /// The stamp for this moment.
    pub fn stamp(&self, now: Monotonic) -> Stamp {
        Stamp { boot: self.boot, monotonic: now, wall_ms: self.wall(now) }
    }

    /// The date of this moment.
    pub fn wall(&self, now: Monotonic) -> Option<WallMs> {
        self.offset_ms.map(|offset| now.0 as i64 + offset)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOON: WallMs = EARLIEST_LIVE_MS + 43_200_000;

    #[test]
    fn a_week_roll_over_is_refused_and_counted() {
        let mut clock = WallClock::new(ClockMode::Live);
        let rolled = NOON - 1024 * 7 * 86_400_000;
        assert_eq!(clock.set_from_bus(Monotonic(5), rolled), None);
        assert_eq!((clock.refused, clock.wall(Monotonic(5))), (1, None));
    }

    #[test]
    fn a_step_is_told_and_drift_is_not() {
        let mut clock = WallClock::new(ClockMode::Live);
        assert!(matches!(clock.set(Monotonic(0), NOON), Some(ClockChange::Known(_))));
        assert_eq!(clock.set(Monotonic(1_000), NOON + 2_900), None);
        let change = clock.set(Monotonic(2_000), NOON + 600_000);
        assert_eq!(change, Some(ClockChange::Stepped { from: NOON + 3_900, to: NOON + 600_000 }));
    }

    #[test]
    fn a_recording_keeps_its_own_dates() {
        let mut clock = WallClock::new(ClockMode::Recorded);
        clock.set(Monotonic(0), 1_400_000_000_000);
        assert_eq!(clock.set_from_bus(Monotonic(10), NOON), None);
        assert_eq!(clock.wall(Monotonic(10)), Some(1_400_000_000_010));
    }
}
