//! PGN 126993, heartbeat: single frame, priority 7, every 60 s.
//!
//! The interval is in units of 1 ms (canboat; 29 of 30 recorded senders). Database versions before used 10 ms: such a
//! sender announces 6 s and sends every 60 s.

use super::macros::{codes, group};
use crate::field::{code, code_or_na, count, unsigned};

codes! {
    /// State of a CAN controller.
    pub enum ControllerState {
        /// Works.
        ErrorActive = 0,
        /// Many errors.
        ErrorPassive = 1,
        /// Off the bus.
        BusOff = 2,
    }
}

codes! {
    /// State of the device.
    pub enum EquipmentStatus {
        /// Works.
        Operational = 0,
        /// Does not work.
        Fault = 1,
    }
}

group! {
    /// Heartbeat.
    pub struct Heartbeat = 126993, 8 bytes {
        /// Interval announced, ms.
        interval_ms: f64 = unsigned(0, 16, 1.0, 1.0);
        /// Counter [0-252].
        sequence_counter: u8 = count(16, 8);
        /// State of the first CAN controller.
        controller_1: ControllerState = code_or_na(24, 2);
        /// State of the second CAN controller.
        controller_2: ControllerState = code_or_na(26, 2);
        /// State of the device.
        equipment: EquipmentStatus = code(28, 2);
    }
}
