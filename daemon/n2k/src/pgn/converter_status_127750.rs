//! PGN 127750, status of a converter (inverter, charger): single frame, every 1.5 s.

use super::macros::{codes, group};
use crate::field::{code, code_or_na, count};

codes! {
    /// What the converter is doing.
    pub enum ConverterState {
        /// Off.
        Off = 0,
        /// Low power mode.
        LowPower = 1,
        /// Fault.
        Fault = 2,
        /// Charging, bulk.
        Bulk = 3,
        /// Charging, absorption.
        Absorption = 4,
        /// Charging, float.
        Float = 5,
        /// Storage.
        Storage = 6,
        /// Equalise.
        Equalize = 7,
        /// Passing through.
        PassThrough = 8,
        /// Inverting.
        Inverting = 9,
        /// Assisting.
        Assisting = 10,
    }
}

codes! {
    /// Good, warning or error.
    pub enum ConverterCondition {
        /// Good.
        Good = 0,
        /// Warning.
        Warning = 1,
        /// Error.
        Error = 2,
    }
}

group! {
    /// Converter status.
    pub struct ConverterStatus = 127750, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Number of the connection.
        connection: u8 = count(8, 8);
        /// What the converter is doing.
        operating_state: ConverterState = code(16, 8);
        /// Temperature.
        temperature: ConverterCondition = code_or_na(24, 2);
        /// Overload.
        overload: ConverterCondition = code_or_na(26, 2);
        /// Low DC voltage.
        low_dc_voltage: ConverterCondition = code_or_na(28, 2);
        /// Ripple.
        ripple: ConverterCondition = code_or_na(30, 2);
    }
}
