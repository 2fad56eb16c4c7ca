//! AC input 127503 and AC output 127504: fast packets, priority 6, every 1.5 s, 18 bytes per line.
//!
//! Real senders get "not available" wrong here: 65535 in a 32-bit power, FF in the signed power factor (reads as -0.01),
//! and powers of a million watts at 5 A occur in recordings. Nothing here judges that.

use super::macros::{codes, group};
use crate::field::{Codec, Reader, code, code_or_na, count, plain_code, signed, unsigned};

codes! {
    /// Which line.
    pub enum AcLineNumber {
        /// Line 1.
        Line1 = 0,
        /// Line 2.
        Line2 = 1,
        /// Line 3.
        Line3 = 2,
    }
}

codes! {
    /// Whether a line can be used. Every code has a meaning.
    pub enum Acceptability {
        /// Voltage is bad.
        BadLevel = 0,
        /// Frequency is bad.
        BadFrequency = 1,
        /// Being looked at.
        BeingQualified = 2,
        /// Good.
        Good = 3,
    }
}

codes! {
    /// Form of the wave.
    pub enum Waveform {
        /// Sine.
        Sine = 0,
        /// Modified sine.
        ModifiedSine = 1,
    }
}

macro_rules! ac_line {
    ($(#[$meta:meta])* $Line:ident, $(#[$own_meta:meta])* $own:ident : $Own:ty = $codec:expr) => {
        group! {
            $(#[$meta])*
            pub struct $Line, 18 bytes {
                /// Which line.
                line: AcLineNumber = code_or_na(0, 2);
                $(#[$own_meta])*
                $own: $Own = $codec;
                /// Voltage, V.
                voltage_v: f64 = unsigned(8, 16, 1.0, 100.0);
                /// Current, A.
                current_a: f64 = unsigned(24, 16, 1.0, 10.0);
                /// Frequency, Hz.
                frequency_hz: f64 = unsigned(40, 16, 1.0, 100.0);
                /// Size of the breaker, A.
                breaker_size_a: f64 = unsigned(56, 16, 1.0, 10.0);
                /// Real power, W.
                real_power_w: f64 = unsigned(72, 32, 1.0, 1.0);
                /// Reactive power, VAr.
                reactive_power_var: f64 = unsigned(104, 32, 1.0, 1.0);
                /// Power factor.
                power_factor: f64 = signed(136, 8, 1.0, 100.0);
            }
        }
    };
}

ac_line! {
    /// One line of an AC input.
    AcInputLine,
    /// Whether the line can be used.
    acceptability: Acceptability = plain_code(2, 2)
}

ac_line! {
    /// One line of an AC output.
    AcOutputLine,
    /// Form of the wave.
    waveform: Waveform = code(2, 3)
}

/// First byte of the first line.
const FIRST_LINE: usize = 2;
/// Lines that fit a fast packet: (223 - 2) / 18.
pub const MAX_LINES: usize = 12;

macro_rules! ac_lines {
    ($(#[$meta:meta])* $Lines:ident, $Line:ident, $pgn:literal) => {
        $(#[$meta])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $Lines {
            /// Instance.
            pub instance: Option<u8>,
            /// Number of lines announced.
            pub line_count: Option<u8>,
            /// Lines that are in the payload; the last one may be cut short.
            pub lines: Vec<$Line>,
        }

        impl $Lines {
            /// Number of this parameter group.
            pub const PGN: u32 = $pgn;

            /// Reads a payload of any length.
            #[must_use]
            pub fn decode(payload: &[u8]) -> Self {
                let from = Reader::new(payload);
                let line_count: Option<u8> = count(8, 8).read(&from).ok();
                let lines = payload.get(FIRST_LINE..).unwrap_or(&[]).chunks($Line::LENGTH);
                Self {
                    instance: count(0, 8).read(&from).ok(),
                    line_count,
                    lines: lines.take(usize::from(line_count.unwrap_or(0))).map($Line::decode).collect(),
                }
            }

            /// Appends the payload with as many lines as there are; those beyond [`MAX_LINES`] are left out.
            pub fn encode(&self, out: &mut Vec<u8>) {
                let lines = &self.lines[..self.lines.len().min(MAX_LINES)];
                let mut to = crate::field::Writer::append(out, FIRST_LINE);
                count(0, 8).write(&mut to, self.instance);
                count(8, 8).write(&mut to, Some(lines.len() as u8));
                for line in lines {
                    line.encode(out);
                }
            }
        }
    };
}

ac_lines! {
    /// AC input status, PGN 127503.
    AcInput, AcInputLine, 127503
}

ac_lines! {
    /// AC output status, PGN 127504.
    AcOutput, AcOutputLine, 127504
}
