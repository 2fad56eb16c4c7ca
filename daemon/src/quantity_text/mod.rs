//! Quantities as people type them: `55 bar`, `800 psi`, `5.4 L/min`, `33 g/kg`, `420 uS/cm`.
//!
//! One number with a decimal point, then its unit. The answer is in the unit of the quantity's JSON key. What is not clear is
//! not guessed: a bare `gal` or `ppm`, a decimal comma, grouped digits, an absolute pressure, a specific gravity without its
//! temperature are errors that say how to write it. Spellings of units are in `units`, the special cases (gallons, ppm,
//! vacuum, absolute pressure, salinity by volume, specific gravity) in `special`.

mod error;
mod measure;
mod number;
mod salinity;
mod special;
#[cfg(test)]
mod tests;
mod units;

pub use error::{AskedScale, QuantityError};
pub use measure::Measure;
pub(crate) use units::{PSI_BAR, US_GALLON_L};

use crate::settings::{Gallon, PpmScale};
use barrico_model::Quantity;
use barrico_model::records::{OperatingState, ProductRoute};

/// Most characters that a quantity may have; the longest sensible one has about 30.
pub const TEXT_CHARS_MAX: usize = 80;

/// What a person or an instrument means by a bare `gal` or `ppm`, as asked once and remembered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Convention {
    /// Which gallon; `None`: not known, and a bare `gal` is an error that asks.
    pub gallon: Option<Gallon>,
    /// Which scale a meter's `ppm` has; `None`: not known, and a bare `ppm` is an error that asks.
    pub ppm: Option<PpmScale>,
}

/// Value of `text` as `quantity`, in the unit of the quantity's JSON key.
///
/// States and routes are given by name and come back as their code (product route: 0 tank, 1 discard).
///
/// # Errors
/// [`QuantityError`] when the text is no number with a unit, when the unit belongs to something else or is not clear, and when the
/// value is not physically possible aboard.
pub fn parse(text: &str, quantity: Quantity, convention: &Convention) -> Result<f64, QuantityError> {
    let Some(measure) = Measure::of(quantity) else { return parse_name(text, quantity) };
    let value = parse_measure(text, measure, convention).map_err(|error| error.about(quantity))?;
    check_range(value, quantity)?;
    Ok(value)
}

/// Value of `text` as `measure`, in the measure's own unit (see [`Measure::unit`]). The range is not checked, except that no gauge
/// pressure lies below -1 bar and no temperature below absolute zero.
///
/// # Errors
/// As [`parse`], without the range of a quantity.
pub fn parse_measure(text: &str, measure: Measure, convention: &Convention) -> Result<f64, QuantityError> {
    let (number, unit) = number::split(text, measure)?;
    let value = special::convert(number, unit, measure, convention)
        .unwrap_or_else(|| units::convert(number, unit, measure))?;
    match measure {
        _ if !value.is_finite() => Err(QuantityError::NotANumber { text: text.trim().to_string(), measure }),
        Measure::Pressure if value < -1.0 => Err(QuantityError::BelowVacuum { bar: value }),
        Measure::Temperature if value < ABSOLUTE_ZERO_C => Err(QuantityError::BelowAbsoluteZero),
        _ => Ok(value),
    }
}

/// Size of an error or a difference: `0.5 K`, `0.9 F`, `1 bar`. In the measure's own unit; zero or more.
///
/// # Errors
/// As [`parse_measure`]; a negative size, and units that are no size (vacuum, specific gravity), are refused.
pub fn parse_size(text: &str, measure: Measure, convention: &Convention) -> Result<f64, QuantityError> {
    let (number, unit) = number::split(text, measure)?;
    if number < 0.0 {
        return Err(QuantityError::NegativeSize);
    }
    let value = special::convert_size(number, unit, measure, convention)
        .unwrap_or_else(|| units::convert_size(number, unit, measure))?;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(QuantityError::NotANumber { text: text.trim().to_string(), measure })
    }
}

/// The number at the start of a text, without its unit.
pub fn number_of(text: &str) -> Option<&str> {
    let text = text.trim();
    let (_, unit) = number::split(text, Measure::Flow).ok()?;
    // The unit is the end of the text.
    Some(text[..text.len() - unit.len()].trim_end())
}

/// The unit of a text that is a quantity with a clear unit; as typed.
pub fn unit_of(text: &str, quantity: Quantity) -> Option<&str> {
    let (_, unit) = number::split(text, Measure::of(quantity)?).ok()?;
    parse(text, quantity, &Convention::default()).ok().map(|_| unit)
}

/// Absolute zero in °C; by definition of the Celsius temperature (BIPM, SI Brochure, 9th edition, 2.3.1).
const ABSOLUTE_ZERO_C: f64 = -273.15;

fn check_range(value: f64, quantity: Quantity) -> Result<(), QuantityError> {
    if quantity.is_possible(value) {
        return Ok(());
    }
    let (low, high) = quantity.possible_range();
    Err(QuantityError::Impossible { value, unit: quantity.unit(), label: quantity.label(), low, high })
}

fn parse_name(text: &str, quantity: Quantity) -> Result<f64, QuantityError> {
    let name = text.trim();
    let code = match quantity {
        Quantity::ProductRoute => [ProductRoute::Tank, ProductRoute::Discard]
            .iter()
            .position(|route| route.name() == name)
            .map(|at| if at == 0 { 0.0 } else { 1.0 }),
        _ => OperatingState::from_name(name).map(|state| f64::from(state.code())),
    };
    code.ok_or_else(|| {
        let names: Vec<&str> = match quantity {
            Quantity::ProductRoute => vec![ProductRoute::Tank.name(), ProductRoute::Discard.name()],
            _ => OperatingState::ALL.iter().map(|(_, state)| state.name()).collect(),
        };
        QuantityError::NotAName { text: name.to_string(), label: quantity.label(), names: names.join(", ") }
    })
}
