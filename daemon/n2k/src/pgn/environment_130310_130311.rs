//! Environmental parameters, the two old combined groups: 130310 and 130311. Single frames, priority 5, every 0.5 s.
//!
//! Many senders give the same sea temperature here and again in 130312 and 130316.

use super::humidity_130313::HumiditySource;
use super::macros::group;
use super::temperature_130312_130316::TemperatureSource;
use crate::field::{code, count, signed, unsigned};

group! {
    /// Environmental parameters, PGN 130310.
    pub struct EnvironmentSea = 130310, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Sea temperature, K.
        sea_temperature_k: f64 = unsigned(8, 16, 1.0, 100.0);
        /// Outside air temperature, K.
        outside_temperature_k: f64 = unsigned(24, 16, 1.0, 100.0);
        /// Atmospheric pressure, Pa.
        atmospheric_pressure_pa: f64 = unsigned(40, 16, 100.0, 1.0);
    }
}

group! {
    /// Environmental parameters, PGN 130311.
    pub struct Environment = 130311, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// What temperature it is.
        temperature_source: TemperatureSource = code(8, 6);
        /// What humidity it is.
        humidity_source: HumiditySource = code(14, 2);
        /// Temperature, K.
        temperature_k: f64 = unsigned(16, 16, 1.0, 100.0);
        /// Relative humidity, %.
        humidity_percent: f64 = signed(32, 16, 4.0, 1000.0);
        /// Atmospheric pressure, Pa.
        atmospheric_pressure_pa: f64 = unsigned(48, 16, 100.0, 1.0);
    }
}
