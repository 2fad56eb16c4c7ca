//! PGN 130567, "Watermaker Input Setting and Status": fast packet, 24 bytes, priority 6, about every 2.5 s.
//!
//! | offset | bits | field | raw type, unit | no value |
//! |---|---|---|---|---|
//! | 0 | 6 | operating state | 0 stopped, 1 starting, 2 running, 3 stopping, 4 flushing, 5 rinsing, 6 initiating, 7 manual | 62 error, 63 not available |
//! | 6 | 2 | production start/stop | 0 no, 1 yes | 2 error, 3 not available |
//! | 8 | 2 | rinse start/stop | 0 no, 1 yes | 2, 3 |
//! | 10 | 2 | low pressure pump status | 0 no, 1 yes | 2, 3 |
//! | 12 | 2 | high pressure pump status | 0 no, 1 yes | 2, 3 |
//! | 14 | 2 | emergency stop | 0 no, 1 yes | 2, 3 |
//! | 16 | 2 | product solenoid valve status | 0 OK, 1 warning | 2, 3 |
//! | 18 | 2 | flush mode status | 0 no, 1 yes | 2, 3 |
//! | 20 | 2 | salinity status | 0 OK, 1 warning | 2, 3 |
//! | 22 | 2 | sensor status | 0 OK, 1 warning | 2, 3 |
//! | 24 | 2 | oil change indicator status | 0 OK, 1 warning | 2, 3 |
//! | 26 | 2 | filter status | 0 OK, 1 warning | 2, 3 |
//! | 28 | 2 | system status | 0 OK, 1 warning | 2, 3 |
//! | 30 | 2 | reserved, sent as 3 | | |
//! | 32 | 16 | salinity of the product water | u16, 1 ppm | FFFF, FFFE error, FFFD reserved |
//! | 48 | 16 | product water temperature | u16, 0.01 K | as above |
//! | 64 | 16 | pre-filter pressure | u16, 100 Pa | as above |
//! | 80 | 16 | post-filter pressure | u16, 100 Pa | as above |
//! | 96 | 16 | feed pressure | i16, 1000 Pa | 7FFF, 7FFE error, 7FFD reserved |
//! | 112 | 16 | system high pressure | u16, 1000 Pa | FFFF, FFFE, FFFD |
//! | 128 | 16 | product water flow | i16, 0.1 L/h | 7FFF, 7FFE, 7FFD |
//! | 144 | 16 | brine water flow | i16, 0.1 L/h | as above |
//! | 160 | 32 | run time | u32, 1 s | FFFFFFFF, FFFFFFFE, FFFFFFFD |
//!
//! Source: the canboat PGN database (8.0.0-beta3, commit 01d0dc3), reverse engineered, which marks the interval of this
//! group as unknown. Priority and interval: the source of ttlappalainen/NMEA2000. The standard itself was not read.
//!
//! Doubts.
//! * "ppm" is not defined further; a mass ratio of dissolved solids is assumed.
//! * Whether the pressures are gauge or absolute is not said.
//! * No instance field: two units on one boat differ only by their sender.
//! * A brine flow above 3276.4 L/h does not fit and is sent as "out of range".
//! * In five recorded messages, fields the sender does not measure come as 0, both pumps are "no" while the unit runs,
//!   the solenoid bit is 1 exactly while it produces, and the run time moves in whole hours. So a field is to be
//!   believed only after it has been seen to change, and a status bit alone proves nothing.

use super::macros::{codes, group};
use crate::field::{code, signed, unsigned, yes_no};

codes! {
    /// What the unit is doing.
    pub enum OperatingState {
        /// Stopped.
        Stopped = 0,
        /// Starting.
        Starting = 1,
        /// Running.
        Running = 2,
        /// Stopping.
        Stopping = 3,
        /// Flushing.
        Flushing = 4,
        /// Rinsing.
        Rinsing = 5,
        /// Initiating.
        Initiating = 6,
        /// Manual.
        Manual = 7,
    }
}

group! {
    /// State and measurements of a watermaker.
    pub struct WatermakerStatus = 130567, 24 bytes {
        /// What the unit is doing.
        operating_state: OperatingState = code(0, 6);
        /// Production is on.
        production: bool = yes_no(6);
        /// Rinse is on.
        rinse: bool = yes_no(8);
        /// Low pressure pump is on.
        low_pressure_pump: bool = yes_no(10);
        /// High pressure pump is on.
        high_pressure_pump: bool = yes_no(12);
        /// Emergency stop is active.
        emergency_stop: bool = yes_no(14);
        /// Product solenoid valve reports a warning (one recorded sender: it is open).
        product_solenoid_valve_warning: bool = yes_no(16);
        /// Flush mode is on.
        flush_mode: bool = yes_no(18);
        /// Salinity reports a warning.
        salinity_warning: bool = yes_no(20);
        /// A sensor reports a warning.
        sensor_warning: bool = yes_no(22);
        /// Oil change is due.
        oil_change_warning: bool = yes_no(24);
        /// Filter reports a warning.
        filter_warning: bool = yes_no(26);
        /// System reports a warning.
        system_warning: bool = yes_no(28);
        /// Salinity of the product water, ppm [0-65532].
        salinity_ppm: f64 = unsigned(32, 16, 1.0, 1.0);
        /// Product water temperature, K [0-655.32].
        product_water_temperature_k: f64 = unsigned(48, 16, 1.0, 100.0);
        /// Pressure before the pre-filter, Pa [0-6553200].
        pre_filter_pressure_pa: f64 = unsigned(64, 16, 100.0, 1.0);
        /// Pressure after the pre-filter, Pa [0-6553200].
        post_filter_pressure_pa: f64 = unsigned(80, 16, 100.0, 1.0);
        /// Feed pressure, Pa [-32767000 to 32764000].
        feed_pressure_pa: f64 = signed(96, 16, 1000.0, 1.0);
        /// System high pressure, Pa [0-65532000].
        system_high_pressure_pa: f64 = unsigned(112, 16, 1000.0, 1.0);
        /// Product water flow, L/h [-3276.7 to 3276.4].
        product_water_flow_l_h: f64 = signed(128, 16, 1.0, 10.0);
        /// Brine water flow, L/h [-3276.7 to 3276.4].
        brine_water_flow_l_h: f64 = signed(144, 16, 1.0, 10.0);
        /// Run time, s.
        run_time_s: f64 = unsigned(160, 32, 1.0, 1.0);
    }
}
