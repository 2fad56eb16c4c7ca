//! Engine: 127488 rapid update (single, 100 ms), 127489 dynamic parameters (fast, 500 ms). Priority 2.
//!
//! Instance 0 is the only or the port engine, 1 starboard; generators use others. Codes of the wrong sign occur: FF in
//! load or torque reads as -1 %.

use super::macros::group;
use crate::field::{count, plain, signed, unsigned};

group! {
    /// Engine parameters, rapid update, PGN 127488.
    pub struct EngineRapid = 127488, 8 bytes {
        /// Instance.
        instance: u8 = count(0, 8);
        /// Speed, revolutions per minute.
        speed_rpm: f64 = unsigned(8, 16, 1.0, 4.0);
        /// Boost pressure, Pa.
        boost_pressure_pa: f64 = unsigned(24, 16, 100.0, 1.0);
        /// Tilt or trim, %.
        tilt_trim_percent: f64 = signed(40, 8, 1.0, 1.0);
    }
}

group! {
    /// Engine parameters, dynamic, PGN 127489, 26 bytes.
    ///
    /// Bits of `status_1`, from 0: check engine, over temperature, low oil pressure, low oil level, low fuel pressure, low
    /// system voltage, low coolant level, water flow, water in fuel, charge indicator, preheat, high boost, rev limit,
    /// exhaust gas recirculation, throttle position sensor, emergency stop. Bits of `status_2`: warning level 1, warning
    /// level 2, power reduction, maintenance needed, communication error, secondary throttle, neutral start protect,
    /// shutting down.
    pub struct EngineDynamic = 127489, 26 bytes {
        /// Instance.
        instance: u8 = count(0, 8);
        /// Oil pressure, Pa.
        oil_pressure_pa: f64 = unsigned(8, 16, 100.0, 1.0);
        /// Oil temperature, K.
        oil_temperature_k: f64 = unsigned(24, 16, 1.0, 10.0);
        /// Coolant temperature, K.
        coolant_temperature_k: f64 = unsigned(40, 16, 1.0, 100.0);
        /// Alternator voltage, V.
        alternator_voltage_v: f64 = signed(56, 16, 1.0, 100.0);
        /// Fuel rate, L/h.
        fuel_rate_l_h: f64 = signed(72, 16, 1.0, 10.0);
        /// Engine hours, s.
        total_hours_s: f64 = unsigned(88, 32, 1.0, 1.0);
        /// Coolant pressure, Pa.
        coolant_pressure_pa: f64 = unsigned(120, 16, 100.0, 1.0);
        /// Fuel pressure, Pa.
        fuel_pressure_pa: f64 = unsigned(136, 16, 1000.0, 1.0);
        /// Status bits, first word.
        status_1: u16 = plain(160, 16);
        /// Status bits, second word.
        status_2: u16 = plain(176, 16);
        /// Load, %.
        load_percent: f64 = signed(192, 8, 1.0, 1.0);
        /// Torque, %.
        torque_percent: f64 = signed(200, 8, 1.0, 1.0);
    }
}
