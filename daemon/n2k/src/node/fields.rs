//! Where the fields of our groups lie, for the pairs of 126208: a pair holds the number of a field and its value.
//!
//! Only groups that this project sends are here. Numbers count from 1 and include reserved fields, as in the field tables of the
//! canboat database (8.0.0-beta3, commit 01d0dc3). The value of a pair takes whole bytes.

use crate::field::{Reader, read_fixed, read_lau};
use crate::pgn::{Pair, PairWidth, pairs};

/// Parameter errors of 126208 (canboat database).
pub(super) mod error {
    /// Nothing is wrong.
    pub const NONE: u8 = 0;
    /// No such field.
    pub const INVALID_FIELD: u8 = 1;
    /// Temporarily unable: comes after a field whose length is not known.
    pub const UNABLE: u8 = 2;
    /// Not in range; in a request: not the value of the message.
    pub const OUT_OF_RANGE: u8 = 3;
    /// Not to be changed.
    pub const ACCESS_DENIED: u8 = 4;
    /// Not supported.
    pub const NOT_SUPPORTED: u8 = 5;
}

/// An error per pair, as many as were announced.
pub(super) type PairErrors = Vec<u8>;

/// Fields of a group: widths in bits of the fixed ones, then texts with length.
struct Table {
    bits: &'static [u16],
    texts: u8,
}

const NAME: Table = Table { bits: &[21, 11, 3, 5, 8, 1, 7, 4, 3, 1], texts: 0 };
const PGN_LIST: Table = Table { bits: &[8, 24], texts: 0 };
const HEARTBEAT: Table = Table { bits: &[16, 8, 2, 2, 2, 34], texts: 0 };
const PRODUCT: Table = Table { bits: &[16, 16, 256, 256, 256, 256, 8, 8], texts: 0 };
const CONFIGURATION: Table = Table { bits: &[], texts: 3 };
const ALERT: Table =
    Table { bits: &[4, 4, 8, 8, 16, 64, 8, 8, 8, 1, 1, 1, 1, 1, 1, 2, 64, 4, 4, 8, 8], texts: 0 };
const ALERT_TEXT: Table = Table { bits: &[4, 4, 8, 8, 16, 64, 8, 8, 8, 8], texts: 2 };
const PRESSURE: Table = Table { bits: &[8, 8, 8, 32, 8], texts: 0 };
const TEMPERATURE: Table = Table { bits: &[8, 8, 8, 24, 16], texts: 0 };
const WATERMAKER: Table =
    Table { bits: &[6, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 16, 16, 16, 16, 16, 16, 16, 16, 32], texts: 0 };

const fn table(pgn: u32) -> Option<Table> {
    Some(match pgn {
        60_928 => NAME,
        126_464 => PGN_LIST,
        126_983 => ALERT,
        126_985 => ALERT_TEXT,
        126_993 => HEARTBEAT,
        126_996 => PRODUCT,
        126_998 => CONFIGURATION,
        130_314 => PRESSURE,
        130_316 => TEMPERATURE,
        130_567 => WATERMAKER,
        _ => return None,
    })
}

/// A field found.
enum Place {
    Bits {
        offset: u32,
        bits: u32,
    },
    FixedText {
        start: usize,
        bytes: usize,
    },
    /// The text with this index after the fixed fields, which end at byte `start`.
    Text {
        start: usize,
        index: u8,
    },
}

fn place(pgn: u32, field: u8) -> Option<Place> {
    let table = table(pgn)?;
    let index = usize::from(field.checked_sub(1)?);
    let offset: u32 = table.bits.iter().take(index).map(|bits| u32::from(*bits)).sum();
    match table.bits.get(index) {
        Some(bits) if *bits <= 64 => Some(Place::Bits { offset, bits: u32::from(*bits) }),
        Some(bits) => Some(Place::FixedText { start: offset as usize / 8, bytes: usize::from(*bits) / 8 }),
        None => {
            let index = (index - table.bits.len()) as u8;
            (index < table.texts).then_some(Place::Text { start: offset as usize / 8, index })
        }
    }
}

/// How long the value of a field is in a pair.
pub(super) fn width(pgn: u32, field: u8) -> Option<PairWidth> {
    Some(match place(pgn, field)? {
        Place::Bits { bits, .. } => PairWidth::Bytes(bits.div_ceil(8) as usize),
        Place::FixedText { bytes, .. } => PairWidth::Bytes(bytes),
        Place::Text { .. } => PairWidth::Text,
    })
}

/// Takes pairs apart and asks `judge` about each that has a known field. As many errors as pairs were announced, but never more than
/// there are bytes: an answer is not to grow beyond the question.
pub(super) fn each(
    pgn: u32,
    announced: u8,
    bytes: &[u8],
    mut judge: impl FnMut(Pair<'_>) -> u8,
) -> PairErrors {
    let mut errors = PairErrors::new();
    for pair in pairs(bytes, announced, |field| width(pgn, field)) {
        let known = width(pgn, pair.field).is_some();
        errors.push(if known { judge(pair) } else { error::INVALID_FIELD });
    }
    errors.resize(count(announced, bytes), error::UNABLE);
    errors
}

/// The same error for every pair.
pub(super) fn all(announced: u8, bytes: &[u8], error: u8) -> PairErrors {
    vec![error; count(announced, bytes)]
}

fn count(announced: u8, bytes: &[u8]) -> usize {
    usize::from(announced).min(bytes.len())
}

/// Compares pairs with a payload: no error where the value is the same.
pub(super) fn compare(pgn: u32, payload: &[u8], announced: u8, bytes: &[u8]) -> PairErrors {
    each(pgn, announced, bytes, |pair| {
        let same = match place(pgn, pair.field) {
            Some(Place::Bits { offset, bits }) => {
                Reader::new(payload).unsigned(offset, bits).ok() == Some(number(pair.value))
            }
            Some(Place::FixedText { start, bytes }) => payload
                .get(start..start + bytes)
                .is_some_and(|text| read_fixed(text) == read_fixed(pair.value)),
            Some(Place::Text { start, index }) => {
                nth_text(payload, start, index) == read_lau(pair.value, 0).0
            }
            None => false,
        };
        if same { error::NONE } else { error::OUT_OF_RANGE }
    })
}

/// The value of a pair of at most 8 bytes.
pub(super) fn number(value: &[u8]) -> u64 {
    value.iter().rev().fold(0, |number, byte| number << 8 | u64::from(*byte))
}

fn nth_text(payload: &[u8], start: usize, index: u8) -> Option<String> {
    let mut at = Some(start);
    for _ in 0..index {
        at = read_lau(payload, at?).1;
    }
    read_lau(payload, at?).0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pgn::{AlertHead, ProductInformation, WatermakerStatus};

    #[test]
    fn tables_are_as_long_as_their_groups() {
        let bytes = |table: Table| table.bits.iter().map(|bits| usize::from(*bits)).sum::<usize>() / 8;
        assert_eq!(bytes(NAME), 8);
        assert_eq!(bytes(HEARTBEAT), 8);
        assert_eq!(bytes(PRODUCT), ProductInformation::LENGTH);
        assert_eq!(bytes(ALERT), 28);
        assert_eq!(bytes(ALERT_TEXT), AlertHead::LENGTH + 1);
        assert_eq!(bytes(PRESSURE), 8);
        assert_eq!(bytes(TEMPERATURE), 8);
        assert_eq!(bytes(WATERMAKER), WatermakerStatus::LENGTH);
    }

    #[test]
    fn an_unknown_field_leaves_the_rest_unable() {
        let payload = [0; 8];
        assert_eq!(compare(60_928, &payload, 3, &[3, 0, 77, 5, 4, 0]), [0, 1, 2]);
        assert_eq!(compare(60_928, &payload, 2, &[3, 1, 4, 0]), [3, 0]);
        assert_eq!(compare(60_928, &payload, 200, &[3, 0]), [0, 2], "no more errors than bytes");
    }
}
