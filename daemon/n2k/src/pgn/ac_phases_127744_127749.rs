//! AC power and current (127744, 127745, 127746: phases A, B, C), AC voltage and frequency (127747, 127748, 127749).
//! Single frames of 8 bytes, priority 6, about every 1.5 s. Source: canboat's database, which marks the interval unknown.

use super::macros::group;
use crate::field::{count, signed, unsigned};

/// One of three phases.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Phase {
    /// Phase A.
    A,
    /// Phase B.
    B,
    /// Phase C.
    C,
}

impl Phase {
    /// Phase of a group, counted from the group of phase A.
    pub(super) fn from_index(index: u32) -> Option<Self> {
        [Self::A, Self::B, Self::C].get(index as usize).copied()
    }

    /// Place in the order A, B, C.
    pub(super) const fn index(self) -> u32 {
        self as u32
    }
}

group! {
    /// AC power and current of one phase, PGN 127744 to 127746.
    pub struct AcPowerCurrent, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Number of the connection.
        connection: u8 = count(8, 8);
        /// Current, A.
        current_a: f64 = unsigned(16, 16, 1.0, 10.0);
        /// Power, W.
        power_w: f64 = signed(32, 32, 1.0, 1.0);
    }
}

group! {
    /// AC voltage and frequency of one phase, PGN 127747 to 127749.
    pub struct AcVoltageFrequency, 8 bytes {
        /// Sequence identifier.
        sid: u8 = count(0, 8);
        /// Number of the connection.
        connection: u8 = count(8, 8);
        /// Voltage between line and neutral, V.
        voltage_line_neutral_v: f64 = unsigned(16, 16, 1.0, 10.0);
        /// Voltage between lines, V.
        voltage_line_line_v: f64 = unsigned(32, 16, 1.0, 10.0);
        /// Frequency, Hz.
        frequency_hz: f64 = unsigned(48, 16, 1.0, 10.0);
    }
}
