//! Time: 126992 system time, 129033 time and date. Both single frames of 8 bytes, priority 3, every second.
//!
//! Dates are days since 1970-01-01, times 0.0001 s since midnight UTC. A sender may be wrong by 1024 weeks (GPS week
//! rollover) or by its lack of a battery; nothing here judges that.

use super::macros::{codes, group};
use crate::field::{code, count, signed, unsigned};

codes! {
    /// Where a time comes from.
    pub enum TimeSource {
        /// GPS.
        Gps = 0,
        /// GLONASS.
        Glonass = 1,
        /// A radio station.
        RadioStation = 2,
        /// A local caesium clock.
        LocalCaesiumClock = 3,
        /// A local rubidium clock.
        LocalRubidiumClock = 4,
        /// A local crystal clock: not to be trusted.
        LocalCrystalClock = 5,
    }
}

group! {
    /// System time, PGN 126992.
    pub struct SystemTime = 126992, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Where the time comes from.
        source: TimeSource = code(8, 4);
        /// Days since 1970-01-01.
        date_days: u16 = count(16, 16);
        /// Seconds since midnight UTC, s.
        time_s: f64 = unsigned(32, 32, 1.0, 10_000.0);
    }
}

group! {
    /// Time and date, PGN 129033.
    pub struct TimeDate = 129033, 8 bytes {
        /// Days since 1970-01-01.
        date_days: u16 = count(0, 16);
        /// Seconds since midnight UTC, s.
        time_s: f64 = unsigned(16, 32, 1.0, 10_000.0);
        /// Local time minus UTC, minutes.
        local_offset_min: f64 = signed(48, 16, 1.0, 1.0);
    }
}

impl SystemTime {
    /// Microseconds since 1970-01-01 UTC.
    #[must_use]
    pub fn unix_time_us(&self) -> Option<i64> {
        unix_time_us(self.date_days, self.time_s)
    }
}

impl TimeDate {
    /// Microseconds since 1970-01-01 UTC.
    #[must_use]
    pub fn unix_time_us(&self) -> Option<i64> {
        unix_time_us(self.date_days, self.time_s)
    }
}

/// Microseconds of a day.
const DAY_US: i64 = 86_400_000_000;

/// Microseconds since 1970-01-01 from a date and a time of day; `None` if one is missing.
pub(super) fn unix_time_us(date_days: Option<u16>, time_s: Option<f64>) -> Option<i64> {
    Some(i64::from(date_days?) * DAY_US + (time_s? * 1e6).round() as i64)
}
