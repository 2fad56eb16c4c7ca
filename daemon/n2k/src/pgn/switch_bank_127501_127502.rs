//! Switch banks: 127501 status, 127502 control. Single frames of 8 bytes, priority 3, 28 indicators of 2 bits.

use crate::field::{Codec, Reader, Writer, count, yes_no};

/// Indicators of one bank.
pub const INDICATORS: usize = 28;
/// Bit of the first indicator.
const FIRST_INDICATOR: u32 = 8;

/// A bank of switches. In a status, `None` is "error" or "not available"; in a control message it is "leave as it is".
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SwitchBank {
    /// Instance of the bank.
    pub instance: Option<u8>,
    /// Switches, first to last.
    pub on: [Option<bool>; INDICATORS],
}

impl SwitchBank {
    /// Number of the status group.
    pub const STATUS_PGN: u32 = 127501;
    /// Number of the control group.
    pub const CONTROL_PGN: u32 = 127502;

    /// Reads a payload of any length.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let from = Reader::new(payload);
        let mut on = [None; INDICATORS];
        for (bit, indicator) in (FIRST_INDICATOR..).step_by(2).zip(&mut on) {
            *indicator = yes_no(bit).read(&from).ok();
        }
        Self { instance: count(0, 8).read(&from).ok(), on }
    }

    /// Appends the payload.
    pub fn encode(&self, out: &mut Vec<u8>) {
        let mut to = Writer::append(out, 8);
        count(0, 8).write(&mut to, self.instance);
        for (bit, indicator) in (FIRST_INDICATOR..).step_by(2).zip(&self.on) {
            yes_no(bit).write(&mut to, *indicator);
        }
    }
}
