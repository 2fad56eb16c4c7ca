//! Fields of a payload: bits in, numbers out, and the other way round.
//!
//! Little-endian, bit 0 is the lowest bit of byte 0. The highest codes of a field do not carry a value:
//!
//! | width | not available | error, out of range | reserved |
//! |---|---|---|---|
//! | 8 bits and more, unsigned | all ones | all ones - 1 | all ones - 2 |
//! | 8 bits and more, signed | largest positive | largest - 1 | largest - 2 |
//! | 4 to 7 bits | all ones | all ones - 1 | none |
//! | 3 bits | 7 | none | none |
//! | 2 bits | 3 | 2 | none |
//! | 1 bit, NAMEs, group numbers | none | none | none |
//!
//! Source: canboat's documentation of its database, checked against two decoders (golden vectors). The most negative
//! code of a signed field (8000) is not legal, but both decoders pass it on as a number, and so does this one.
//!
//! Failure: a field that is not fully inside the payload is [`Missing::Short`]; nothing here panics on any payload.
//! What does not fit when writing becomes the out-of-range code (never a wrapped number), a missing value the
//! not-available code.

mod codec;
mod text;

pub use codec::{Code, Codec, Codes, Count, Flag, Float, Names, Plain, Scaled, YesNo};
pub use codec::{code, code_or_na, count, flag, float, name, plain, plain_code, signed, unsigned, yes_no};
pub use text::{read_fixed, read_lau, write_fixed, write_lau};

/// Why a field has no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, thiserror::Error)]
pub enum Missing {
    /// The sender says it has none.
    #[error("not available")]
    NotAvailable,
    /// The sender says the value is out of range or its sensor is in error.
    #[error("error or out of range")]
    Error,
    /// A code the standard keeps for itself.
    #[error("reserved code")]
    Reserved,
    /// The payload ends before the field does.
    #[error("payload too short")]
    Short,
}

/// All ones in `bits` bits [1-64].
#[inline(always)]
#[must_use]
pub const fn mask(bits: u32) -> u64 {
    if bits >= 64 { u64::MAX } else { (1 << bits) - 1 }
}

/// What the highest codes of an unsigned field of `bits` bits mean; `None` for an ordinary value.
#[inline(always)]
#[must_use]
pub const fn missing_unsigned(raw: u64, bits: u32) -> Option<Missing> {
    above(mask(bits), raw, bits)
}

/// What the highest codes of a signed field of `bits` bits mean, given its value with the sign extended.
#[inline(always)]
#[must_use]
pub const fn missing_signed(raw: i64, bits: u32) -> Option<Missing> {
    if raw < 0 { None } else { above(mask(bits - 1), raw as u64, bits) }
}

/// Number of codes at the top of a field that carry no value.
#[inline(always)]
const fn codes_without_value(bits: u32) -> u64 {
    match bits {
        0 | 1 => 0,
        3 => 1,
        2 | 4..=7 => 2,
        _ => 3,
    }
}

#[inline(always)]
const fn above(top: u64, raw: u64, bits: u32) -> Option<Missing> {
    missing_top(top, raw, codes_without_value(bits))
}

/// What `raw` means if the `without_value` highest codes up to `top` carry no value.
#[inline(always)]
const fn missing_top(top: u64, raw: u64, without_value: u64) -> Option<Missing> {
    let below_top = top.wrapping_sub(raw);
    if below_top >= without_value {
        return None;
    }
    match below_top {
        0 => Some(Missing::NotAvailable),
        1 => Some(Missing::Error),
        _ => Some(Missing::Reserved),
    }
}

/// Reads bits from a payload of any length.
#[derive(Clone, Copy, Debug)]
pub struct Reader<'a> {
    payload: &'a [u8],
}

impl<'a> Reader<'a> {
    /// A reader over an assembled payload.
    #[inline]
    #[must_use]
    pub const fn new(payload: &'a [u8]) -> Self {
        Self { payload }
    }

    /// The whole payload.
    #[must_use]
    pub const fn payload(&self) -> &'a [u8] {
        self.payload
    }

    /// `bits` bits [1-64] from bit `offset` on, unsigned.
    ///
    /// # Errors
    /// [`Missing::Short`] if the field is not fully inside the payload.
    #[inline(always)]
    pub fn unsigned(&self, offset: u32, bits: u32) -> Result<u64, Missing> {
        let first = (offset / 8) as usize;
        let shift = offset % 8;
        let bytes = (shift + bits).div_ceil(8) as usize;
        let Some(window) = self.payload.get(first..first + bytes) else { return Err(Missing::Short) };
        if bytes <= 8 {
            let mut value = 0u64;
            for (index, byte) in window.iter().enumerate() {
                value |= u64::from(*byte) << (8 * index);
            }
            Ok((value >> shift) & mask(bits))
        } else {
            let value = window.iter().rev().fold(0u128, |value, byte| value << 8 | u128::from(*byte));
            Ok((value >> shift) as u64 & mask(bits))
        }
    }

    /// `bits` bits [1-64] from bit `offset` on, two's complement.
    ///
    /// # Errors
    /// [`Missing::Short`] if the field is not fully inside the payload.
    #[inline(always)]
    pub fn signed(&self, offset: u32, bits: u32) -> Result<i64, Missing> {
        let unused = 64 - bits;
        Ok((self.unsigned(offset, bits)? << unused) as i64 >> unused)
    }
}

/// Writes bits into a payload of fixed length.
#[derive(Debug)]
pub struct Writer<'a> {
    payload: &'a mut [u8],
}

impl<'a> Writer<'a> {
    /// A writer over bytes that are already there, usually all ones (reserved bits are sent as ones).
    pub fn new(payload: &'a mut [u8]) -> Self {
        Self { payload }
    }

    /// Appends `length` bytes of all ones to `out` and writes there.
    pub fn append(out: &'a mut Vec<u8>, length: usize) -> Self {
        let start = out.len();
        out.resize(start + length, 0xFF);
        Self { payload: &mut out[start..] }
    }

    /// Puts the lowest `bits` bits [1-64] of `raw` at bit `offset`. Bits beyond the end of the payload are dropped.
    pub fn unsigned(&mut self, offset: u32, bits: u32, raw: u64) {
        let shift = offset % 8;
        let mask = u128::from(mask(bits)) << shift;
        let value = (u128::from(raw) << shift) & mask;
        let first = (offset / 8) as usize;
        let count = (shift + bits).div_ceil(8) as usize;
        for (index, byte) in self.payload.iter_mut().skip(first).take(count).enumerate() {
            let keep = !((mask >> (8 * index)) as u8);
            *byte = (*byte & keep) | (value >> (8 * index)) as u8;
        }
    }
}

#[cfg(test)]
mod tests;
