//! DC: 127506 detailed status (fast, 11 bytes, old 9), 127508 battery status (single), 127751 voltage and current (single).
//!
//! A negative battery current is discharge by convention, but depends on the installation. 127751 is in doubt: canboat
//! has it as a single frame with an unsigned voltage, ttlappalainen/NMEA2000 writes 9 bytes, which no single frame holds.

use super::macros::{codes, group};
use crate::field::{code, count, signed, unsigned};

codes! {
    /// Kind of DC source.
    pub enum DcType {
        /// Battery.
        Battery = 0,
        /// Alternator.
        Alternator = 1,
        /// Converter.
        Converter = 2,
        /// Solar cell.
        SolarCell = 3,
        /// Wind generator.
        WindGenerator = 4,
    }
}

group! {
    /// DC detailed status, PGN 127506.
    pub struct DcDetailedStatus = 127506, 11 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Instance.
        instance: u8 = count(8, 8);
        /// Kind of source.
        dc_type: DcType = code(16, 8);
        /// State of charge, %.
        state_of_charge_percent: f64 = unsigned(24, 8, 1.0, 1.0);
        /// State of health, %.
        state_of_health_percent: f64 = unsigned(32, 8, 1.0, 1.0);
        /// Time remaining, s.
        time_remaining_s: f64 = unsigned(40, 16, 60.0, 1.0);
        /// Ripple voltage, V.
        ripple_voltage_v: f64 = unsigned(56, 16, 1.0, 1000.0);
        /// Remaining capacity, Ah.
        remaining_capacity_ah: f64 = unsigned(72, 16, 1.0, 1.0);
    }
}

group! {
    /// Battery status, PGN 127508.
    pub struct BatteryStatus = 127508, 8 bytes {
        /// Instance.
        instance: u8 = count(0, 8);
        /// Voltage, V.
        voltage_v: f64 = signed(8, 16, 1.0, 100.0);
        /// Current, A.
        current_a: f64 = signed(24, 16, 1.0, 10.0);
        /// Temperature, K.
        temperature_k: f64 = unsigned(40, 16, 1.0, 100.0);
        /// Sequence identifier.
        sid: u8 = count(56, 8);
    }
}

group! {
    /// DC voltage and current, PGN 127751.
    pub struct DcVoltageCurrent = 127751, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Number of the connection.
        connection: u8 = count(8, 8);
        /// Voltage, V.
        voltage_v: f64 = unsigned(16, 16, 1.0, 10.0);
        /// Current, A.
        current_a: f64 = signed(32, 24, 1.0, 100.0);
    }
}
