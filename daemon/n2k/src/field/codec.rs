//! How one field is coded. Each kind reads to a value or a reason, and writes a value or its absence.

use super::{
    Missing, Reader, Writer, codes_without_value, mask, missing_signed, missing_top, missing_unsigned,
};
use crate::name::Name;

/// A kind of field that carries a `T`.
pub trait Codec<T> {
    /// Reads the field.
    ///
    /// # Errors
    /// The reason if the field has no value.
    fn read(&self, from: &Reader<'_>) -> Result<T, Missing>;

    /// Writes the field; `None` becomes the not-available code where there is one.
    fn write(&self, to: &mut Writer<'_>, value: Option<T>);
}

/// A number with a resolution: value = raw * multiplier / divisor + addend.
///
/// Multiplier and divisor are whole numbers, so that 29115 * 0.01 is read as 291.15 and not as 291.15000000000003.
#[derive(Clone, Copy, Debug)]
pub struct Scaled {
    offset: u32,
    bits: u32,
    signed: bool,
    multiplier: f64,
    divisor: f64,
    addend: f64,
}

/// An unsigned number at bit `offset`: value = raw * multiplier / divisor.
#[must_use]
pub const fn unsigned(offset: u32, bits: u32, multiplier: f64, divisor: f64) -> Scaled {
    Scaled { offset, bits, signed: false, multiplier, divisor, addend: 0.0 }
}

/// A two's complement number at bit `offset`: value = raw * multiplier / divisor.
#[must_use]
pub const fn signed(offset: u32, bits: u32, multiplier: f64, divisor: f64) -> Scaled {
    Scaled { offset, bits, signed: true, multiplier, divisor, addend: 0.0 }
}

impl Scaled {
    /// The same field with a number to add to every value.
    #[must_use]
    pub const fn plus(mut self, addend: f64) -> Self {
        self.addend = addend;
        self
    }

    /// Raw codes of the lowest and highest value and of "not available".
    fn limits(&self) -> (f64, f64, u64) {
        let bits = if self.signed { self.bits - 1 } else { self.bits };
        let top = mask(bits);
        let lowest = if self.signed { -(top as f64) } else { 0.0 };
        (lowest, (top - codes_without_value(self.bits)) as f64, top)
    }
}

impl Codec<f64> for Scaled {
    #[inline(always)]
    fn read(&self, from: &Reader<'_>) -> Result<f64, Missing> {
        let raw = if self.signed {
            let raw = from.signed(self.offset, self.bits)?;
            match missing_signed(raw, self.bits) {
                Some(missing) => return Err(missing),
                None => raw as f64,
            }
        } else {
            let raw = from.unsigned(self.offset, self.bits)?;
            match missing_unsigned(raw, self.bits) {
                Some(missing) => return Err(missing),
                None => raw as f64,
            }
        };
        Ok(raw * self.multiplier / self.divisor + self.addend)
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<f64>) {
        let (lowest, highest, top) = self.limits();
        let raw = match value {
            Some(value) if !value.is_nan() => {
                let raw = ((value - self.addend) * self.divisor / self.multiplier).round();
                if raw < lowest || highest < raw {
                    if codes_without_value(self.bits) > 1 { top - 1 } else { top }
                } else if self.signed {
                    raw as i64 as u64
                } else {
                    raw as u64
                }
            }
            _ => top,
        };
        to.unsigned(self.offset, self.bits, raw);
    }
}

/// A whole number without unit: an instance, a counter, an identifier.
#[derive(Clone, Copy, Debug)]
pub struct Count {
    offset: u32,
    bits: u32,
}

/// A whole number at bit `offset`, with the usual codes for "no value".
#[must_use]
pub const fn count(offset: u32, bits: u32) -> Count {
    Count { offset, bits }
}

impl Count {
    #[inline(always)]
    fn raw(&self, from: &Reader<'_>) -> Result<u64, Missing> {
        let raw = from.unsigned(self.offset, self.bits)?;
        match missing_unsigned(raw, self.bits) {
            Some(missing) => Err(missing),
            None => Ok(raw),
        }
    }

    fn put(&self, to: &mut Writer<'_>, value: Option<u64>) {
        let top = mask(self.bits);
        let without_value = codes_without_value(self.bits);
        let raw = match value {
            Some(value) if value <= top - without_value => value,
            Some(_) if without_value > 1 => top - 1,
            _ => top,
        };
        to.unsigned(self.offset, self.bits, raw);
    }
}

/// Bits without any code for "no value": group numbers, bit sets.
#[derive(Clone, Copy, Debug)]
pub struct Plain {
    offset: u32,
    bits: u32,
}

/// Bits at bit `offset` that always carry a value.
#[must_use]
pub const fn plain(offset: u32, bits: u32) -> Plain {
    Plain { offset, bits }
}

macro_rules! whole_numbers {
    ($($number:ty),*) => { $(
        impl Codec<$number> for Count {
            #[inline(always)]
            fn read(&self, from: &Reader<'_>) -> Result<$number, Missing> {
                debug_assert!(self.bits <= <$number>::BITS);
                self.raw(from).map(|raw| raw as $number)
            }

            fn write(&self, to: &mut Writer<'_>, value: Option<$number>) {
                self.put(to, value.map(u64::from));
            }
        }

        impl Codec<$number> for Plain {
            #[inline(always)]
            fn read(&self, from: &Reader<'_>) -> Result<$number, Missing> {
                debug_assert!(self.bits <= <$number>::BITS);
                from.unsigned(self.offset, self.bits).map(|raw| raw as $number)
            }

            fn write(&self, to: &mut Writer<'_>, value: Option<$number>) {
                let top = mask(self.bits);
                to.unsigned(self.offset, self.bits, value.map_or(top, |value| u64::from(value).min(top)));
            }
        }
    )* };
}

whole_numbers!(u8, u16, u32, u64);

/// An enumeration that keeps the codes it does not know.
pub trait Code: Copy {
    /// The meaning of a code.
    fn from_raw(raw: u8) -> Self;
    /// The code of a meaning.
    fn to_raw(self) -> u8;
}

/// A field that holds a [`Code`].
#[derive(Clone, Copy, Debug)]
pub struct Codes {
    offset: u32,
    bits: u32,
    without_value: u64,
}

/// A code at bit `offset`, with the usual codes for "no value".
#[must_use]
pub const fn code(offset: u32, bits: u32) -> Codes {
    Codes { offset, bits, without_value: codes_without_value(bits) }
}

/// A code at bit `offset` all of whose values have a meaning (acceptability of an AC line, for instance).
#[must_use]
pub const fn plain_code(offset: u32, bits: u32) -> Codes {
    Codes { offset, bits, without_value: 0 }
}

/// A code at bit `offset` where only all ones means "not available" and the code below it has a meaning of its own.
#[must_use]
pub const fn code_or_na(offset: u32, bits: u32) -> Codes {
    Codes { offset, bits, without_value: 1 }
}

impl<T: Code> Codec<T> for Codes {
    #[inline(always)]
    fn read(&self, from: &Reader<'_>) -> Result<T, Missing> {
        let raw = from.unsigned(self.offset, self.bits)?;
        match missing_top(mask(self.bits), raw, self.without_value) {
            Some(missing) => Err(missing),
            None => Ok(T::from_raw(raw as u8)),
        }
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<T>) {
        let top = mask(self.bits);
        let raw = match value.map(|value| u64::from(value.to_raw())) {
            Some(raw) if raw <= top - self.without_value => raw,
            Some(_) if self.without_value > 1 => top - 1,
            _ => top,
        };
        to.unsigned(self.offset, self.bits, raw);
    }
}

/// Two bits: 0 no, 1 yes, 2 error, 3 not available.
#[derive(Clone, Copy, Debug)]
pub struct YesNo {
    offset: u32,
}

/// Two bits at bit `offset`: no, yes (or OK, warning).
#[must_use]
pub const fn yes_no(offset: u32) -> YesNo {
    YesNo { offset }
}

impl Codec<bool> for YesNo {
    #[inline(always)]
    fn read(&self, from: &Reader<'_>) -> Result<bool, Missing> {
        count(self.offset, 2).raw(from).map(|raw| raw == 1)
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<bool>) {
        count(self.offset, 2).put(to, value.map(u64::from));
    }
}

/// One bit. It has no code for "not available": an absent value is written as 0.
#[derive(Clone, Copy, Debug)]
pub struct Flag {
    offset: u32,
}

/// One bit at bit `offset`.
#[must_use]
pub const fn flag(offset: u32) -> Flag {
    Flag { offset }
}

impl Codec<bool> for Flag {
    #[inline(always)]
    fn read(&self, from: &Reader<'_>) -> Result<bool, Missing> {
        from.unsigned(self.offset, 1).map(|raw| raw == 1)
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<bool>) {
        to.unsigned(self.offset, 1, u64::from(value.unwrap_or(false)));
    }
}

/// A NAME. All ones means that there is none (canboat gives no value there too).
#[derive(Clone, Copy, Debug)]
pub struct Names {
    offset: u32,
}

/// A NAME at bit `offset`.
#[must_use]
pub const fn name(offset: u32) -> Names {
    Names { offset }
}

impl Codec<Name> for Names {
    #[inline(always)]
    fn read(&self, from: &Reader<'_>) -> Result<Name, Missing> {
        match from.unsigned(self.offset, 64)? {
            u64::MAX => Err(Missing::NotAvailable),
            raw => Ok(Name(raw)),
        }
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<Name>) {
        to.unsigned(self.offset, 64, value.map_or(u64::MAX, |name| name.0));
    }
}

/// An IEEE 754 number of 32 bits; not a number means not available.
#[derive(Clone, Copy, Debug)]
pub struct Float {
    offset: u32,
}

/// An IEEE 754 number of 32 bits at bit `offset`.
#[must_use]
pub const fn float(offset: u32) -> Float {
    Float { offset }
}

impl Codec<f64> for Float {
    fn read(&self, from: &Reader<'_>) -> Result<f64, Missing> {
        let value = f32::from_bits(from.unsigned(self.offset, 32)? as u32);
        if value.is_finite() { Ok(f64::from(value)) } else { Err(Missing::NotAvailable) }
    }

    fn write(&self, to: &mut Writer<'_>, value: Option<f64>) {
        let raw = value.map_or(u32::MAX, |value| (value as f32).to_bits());
        to.unsigned(self.offset, 32, u64::from(raw));
    }
}
