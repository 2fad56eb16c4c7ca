//! Position: 129025 rapid update (single, priority 2, every 0.1 s), 129029 GNSS position data (fast, priority 3, 1 s).
//!
//! Of 129029 the first 43 bytes are read; reference stations, which may follow, are not. Source: canboat's database.

use super::macros::{codes, group};
use super::time_126992_129033::unix_time_us;
use crate::field::{code, count, signed, unsigned};

group! {
    /// Position, rapid update, PGN 129025.
    pub struct PositionRapid = 129025, 8 bytes {
        /// Latitude, degrees, north positive.
        latitude_deg: f64 = signed(0, 32, 1.0, 1e7);
        /// Longitude, degrees, east positive.
        longitude_deg: f64 = signed(32, 32, 1.0, 1e7);
    }
}

codes! {
    /// Satellite system.
    pub enum GnssType {
        /// GPS.
        Gps = 0,
        /// GLONASS.
        Glonass = 1,
        /// GPS and GLONASS.
        GpsGlonass = 2,
        /// GPS with SBAS.
        GpsSbas = 3,
        /// GPS with SBAS and GLONASS.
        GpsSbasGlonass = 4,
        /// Chayka.
        Chayka = 5,
        /// Integrated.
        Integrated = 6,
        /// Surveyed.
        Surveyed = 7,
        /// Galileo.
        Galileo = 8,
    }
}

codes! {
    /// How the position was found.
    pub enum GnssMethod {
        /// No fix: position and time are not to be used.
        NoFix = 0,
        /// GNSS.
        Gnss = 1,
        /// Differential.
        Differential = 2,
        /// Precise.
        Precise = 3,
        /// Real-time kinematic, fixed.
        RtkFixed = 4,
        /// Real-time kinematic, float.
        RtkFloat = 5,
        /// Dead reckoning.
        Estimated = 6,
        /// Entered by hand.
        Manual = 7,
        /// Simulated.
        Simulated = 8,
    }
}

group! {
    /// GNSS position data, PGN 129029.
    pub struct GnssPosition = 129029, 43 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Days since 1970-01-01.
        date_days: u16 = count(8, 16);
        /// Seconds since midnight UTC, s.
        time_s: f64 = unsigned(24, 32, 1.0, 10_000.0);
        /// Latitude, degrees, north positive.
        latitude_deg: f64 = signed(56, 64, 1.0, 1e16);
        /// Longitude, degrees, east positive.
        longitude_deg: f64 = signed(120, 64, 1.0, 1e16);
        /// Altitude, m.
        altitude_m: f64 = signed(184, 64, 1.0, 1e6);
        /// Satellite system.
        gnss_type: GnssType = code(248, 4);
        /// How the position was found.
        method: GnssMethod = code(252, 4);
        /// Integrity: 0 not checked, 1 safe.
        integrity: u8 = count(256, 2);
        /// Satellites used.
        satellites: u8 = count(264, 8);
        /// Horizontal dilution of precision.
        horizontal_dilution: f64 = signed(272, 16, 1.0, 100.0);
        /// Dilution of precision.
        position_dilution: f64 = signed(288, 16, 1.0, 100.0);
        /// Geoidal separation, m.
        geoidal_separation_m: f64 = signed(304, 32, 1.0, 100.0);
        /// Number of reference stations that follow.
        reference_stations: u8 = count(336, 8);
    }
}

impl GnssPosition {
    /// Microseconds since 1970-01-01 UTC.
    #[must_use]
    pub fn unix_time_us(&self) -> Option<i64> {
        unix_time_us(self.date_days, self.time_s)
    }
}
