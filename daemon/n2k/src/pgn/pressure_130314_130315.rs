//! Pressure: 130314 actual (every 2 s), 130315 set (on event). Single frames of 8 bytes, priority 5.

use super::macros::{codes, group};
use crate::field::{code, count, signed};

codes! {
    /// What pressure it is.
    pub enum PressureSource {
        /// Atmosphere.
        Atmospheric = 0,
        /// Water.
        Water = 1,
        /// Steam.
        Steam = 2,
        /// Compressed air.
        CompressedAir = 3,
        /// Hydraulic.
        Hydraulic = 4,
        /// Filter.
        Filter = 5,
        /// Altimeter setting.
        AltimeterSetting = 6,
        /// Oil.
        Oil = 7,
        /// Fuel.
        Fuel = 8,
    }
}

group! {
    /// Actual pressure, PGN 130314.
    pub struct ActualPressure = 130314, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// What pressure it is.
        source: PressureSource = code(16, 8);
        /// Pressure, Pa.
        pressure_pa: f64 = signed(24, 32, 1.0, 10.0);
    }
}

group! {
    /// Pressure wanted, PGN 130315.
    pub struct SetPressure = 130315, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// What pressure it is.
        source: PressureSource = code(16, 8);
        /// Pressure, Pa.
        pressure_pa: f64 = signed(24, 32, 1.0, 10.0);
    }
}
