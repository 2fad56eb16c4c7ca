//! Temperature: 130312, and 130316 with extended range. Single frames of 8 bytes, priority 5, every 2 s.
//!
//! A value of 0 K is sent by devices without a sensor. Source codes 129 to 143 are used as "user defined".

use super::macros::{codes, group};
use crate::field::{code, count, unsigned};

codes! {
    /// What temperature it is.
    pub enum TemperatureSource {
        /// Sea.
        Sea = 0,
        /// Outside air.
        Outside = 1,
        /// Inside air.
        Inside = 2,
        /// Engine room.
        EngineRoom = 3,
        /// Main cabin.
        MainCabin = 4,
        /// Live well.
        LiveWell = 5,
        /// Bait well.
        BaitWell = 6,
        /// Refrigeration.
        Refrigeration = 7,
        /// Heating system.
        HeatingSystem = 8,
        /// Dew point.
        DewPoint = 9,
        /// Apparent wind chill.
        ApparentWindChill = 10,
        /// Theoretical wind chill.
        TheoreticalWindChill = 11,
        /// Heat index.
        HeatIndex = 12,
        /// Freezer.
        Freezer = 13,
        /// Exhaust gas.
        ExhaustGas = 14,
        /// Shaft seal.
        ShaftSeal = 15,
    }
}

group! {
    /// Temperature, PGN 130312.
    pub struct Temperature = 130312, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// What temperature it is.
        source: TemperatureSource = code(16, 8);
        /// Temperature, K.
        actual_temperature_k: f64 = unsigned(24, 16, 1.0, 100.0);
        /// Temperature wanted, K.
        set_temperature_k: f64 = unsigned(40, 16, 1.0, 100.0);
    }
}

group! {
    /// Temperature with extended range, PGN 130316.
    pub struct TemperatureExtended = 130316, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// What temperature it is.
        source: TemperatureSource = code(16, 8);
        /// Temperature, K.
        actual_temperature_k: f64 = unsigned(24, 24, 1.0, 1000.0);
        /// Temperature wanted, K.
        set_temperature_k: f64 = unsigned(48, 16, 1.0, 10.0);
    }
}
