//! PGN 130313, humidity: single frame, priority 5, every 2 s.

use super::macros::{codes, group};
use crate::field::{code, count, signed};

codes! {
    /// What humidity it is.
    pub enum HumiditySource {
        /// Inside.
        Inside = 0,
        /// Outside.
        Outside = 1,
    }
}

group! {
    /// Humidity.
    pub struct Humidity = 130313, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// What humidity it is.
        source: HumiditySource = code(16, 8);
        /// Relative humidity, %.
        actual_humidity_percent: f64 = signed(24, 16, 4.0, 1000.0);
        /// Humidity wanted, %.
        set_humidity_percent: f64 = signed(40, 16, 4.0, 1000.0);
    }
}
