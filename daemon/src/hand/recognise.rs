//! What a person meant: a number with or without its unit, held against what is expected.
//!
//! Clear answers are taken, and a number alone where there is only one unit. Another number alone, a bare `gal` or `ppm`, and a value that fits only in another unit are asked about, with the
//! readings of it that fit. Kept apart from the wording: the terminal asks one by one, the page all at once.

use super::{Remembered, Window};
use crate::case::{self, Fault};
use crate::quantity_text::{self, AskedScale, Convention, Measure, QuantityError};
use crate::settings::{Gallon, PpmScale, Settings, UnitSettings};
use barrico_model::Quantity;
use barrico_model::records::HandReading;

/// One way to read the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The reading, with its unit.
    pub reading: HandReading,
    /// The person's own words, unchanged.
    pub as_typed: bool,
}

/// What became of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Recognised {
    /// Clear.
    Clear(HandReading),
    /// To be asked: the choices, the first of which is probable if `first_is_usual`.
    Ask {
        /// Why, as a whole sentence.
        why: String,
        /// At least one; most probable first.
        choices: Vec<Choice>,
        /// The first may be taken by pressing Enter: it is the only one that fits, or what this instrument showed last.
        first_is_usual: bool,
    },
    /// No reading: what is wrong and how to write it.
    Wrong(Fault),
}

/// Units that one number may have been read in, the commonest first.
const fn units(quantity: Quantity, measure: Measure) -> &'static [&'static str] {
    match (quantity, measure) {
        (Quantity::InletPressure | Quantity::PrefilterInletPressure | Quantity::ProductPressure, _) => {
            &["bar", "psi", "inHg vac", "kPa"]
        }
        (_, Measure::Pressure) => &["bar", "psi", "MPa", "kPa"],
        (_, Measure::PressureDifference) => &["bar", "psi", "mbar", "kPa"],
        (_, Measure::Flow) => &["L/h", "US gal/h", "imp gal/h", "L/min", "US gal/min", "US gal/day"],
        (_, Measure::Temperature) => &["C", "F"],
        (Quantity::FeedConductivity, _) => &["mS/cm", "uS/cm"],
        (_, Measure::Conductivity) => &["uS/cm", "ppm NaCl", "ppm 442", "mS/cm"],
        (_, Measure::Salinity) => &["g/kg", "psu", "g/L"],
        (_, Measure::Solids) => &["mg/L", "g/L"],
        (_, Measure::Power) => &["W", "kW"],
        (_, Measure::Duration) => &["h"],
        (_, Measure::Voltage) => &["V"],
        (_, Measure::Current) => &["A"],
        (_, Measure::Frequency) => &["Hz"],
        (_, Measure::Speed) => &["rpm"],
        (_, Measure::Percent) => &["%"],
        _ => &[],
    }
}

/// What `typed` means for this quantity. An instrument may follow behind an `@`. `last`: what was written down before.
pub fn recognise(
    settings: &Settings,
    unit: &UnitSettings,
    quantity: Quantity,
    typed: &str,
    window: Option<&Window>,
    last: Option<&Remembered>,
) -> Recognised {
    let asked = Asked { settings, unit, quantity, window, last };
    let (typed, instrument) = match typed.rsplit_once('@') {
        Some((typed, instrument)) => (typed.trim(), Some(instrument.trim())),
        None => (typed.trim(), None),
    };
    let reading = match asked.reading(typed, instrument) {
        Ok(reading) => reading,
        Err(fault) => return asked.not_clear(typed, instrument, fault),
    };
    match window {
        Some(window) if !window.fits(reading.value) => asked.surprising(reading, window),
        _ => Recognised::Clear(reading),
    }
}

/// A value for people, to three digits, in the unit of the quantity's JSON key.
pub(super) fn shown(value: f64, quantity: Quantity) -> String {
    let digits = match value.abs() {
        size if size < 1.0 => 2,
        size if size < 100.0 => 1,
        _ => 0,
    };
    format!("{value:.digits$} {}", quantity.unit())
}

struct Asked<'a> {
    settings: &'a Settings,
    unit: &'a UnitSettings,
    quantity: Quantity,
    window: Option<&'a Window>,
    last: Option<&'a Remembered>,
}

impl Asked<'_> {
    fn reading(&self, typed: &str, instrument: Option<&str>) -> Result<HandReading, Fault> {
        case::reading(self.settings, self.unit, self.quantity, typed, instrument)
    }

    /// The number in each of these units, as far as that is possible at all.
    fn in_units(&self, number: &str, units: &[String], instrument: Option<&str>) -> Vec<Choice> {
        let mut choices: Vec<Choice> = Vec::new();
        for unit in units {
            let Ok(reading) = self.reading(&format!("{number} {unit}"), instrument) else { continue };
            if !choices.iter().any(|choice| choice.reading.value == reading.value) {
                choices.push(Choice { reading, as_typed: false });
            }
        }
        choices
    }

    /// The units worth trying. An instrument whose gallon or scale the settings name has no other.
    fn usual_units(&self, instrument: Option<&str>) -> Vec<String> {
        let Some(measure) = Measure::of(self.quantity) else { return vec![] };
        let instrument = match instrument {
            Some(name) => self.settings.instruments.iter().find(|known| known.id == name),
            None => case::usual_instrument(self.settings, self.unit, self.quantity),
        };
        let other_gallon = match instrument.and_then(|i| i.gallon) {
            Some(Gallon::Us) => "imp gal",
            Some(Gallon::Imperial) => "US gal",
            None => "none",
        };
        let other_scale = match instrument.and_then(|i| i.ppm) {
            Some(PpmScale::Nacl) => "ppm 442",
            Some(PpmScale::Scale442) => "ppm NaCl",
            None => "none",
        };
        let possible = |unit: &&str| !unit.starts_with(other_gallon) && !unit.starts_with(other_scale);
        let last = self.last.map(|last| last.unit.clone());
        let new = |unit: &&str| possible(unit) && last.as_deref() != Some(*unit);
        let listed: Vec<String> =
            units(self.quantity, measure).iter().copied().filter(new).map(str::to_owned).collect();
        last.into_iter().chain(listed).collect()
    }

    fn fitting(&self, choices: &[Choice]) -> Vec<Choice> {
        let fits = |choice: &&Choice| self.window.is_none_or(|window| window.fits(choice.reading.value));
        choices.iter().filter(fits).cloned().collect()
    }

    /// Not a reading yet. A number alone, a bare scale and an impossible value may be one in another unit.
    fn not_clear(&self, typed: &str, instrument: Option<&str>, fault: Fault) -> Recognised {
        let number = quantity_text::number_of(typed);
        let error = quantity_text::parse(typed, self.quantity, &Convention::default()).err();
        let (why, units) = match (error, number) {
            (Some(QuantityError::NoUnit { .. }), Some(number)) => {
                (format!("{number} in which unit?"), self.usual_units(instrument))
            }
            (Some(QuantityError::AskScale { unit, scale }), Some(number)) => {
                let last = self.last.map(|last| last.unit.clone());
                let scales = match scale {
                    AskedScale::Gallon => vec![format!("US {unit}"), format!("imp {unit}")],
                    AskedScale::Ppm => vec!["ppm NaCl".to_owned(), "ppm 442".to_owned()],
                };
                let remembered = last.filter(|last| scales.contains(last));
                let units = remembered.into_iter().chain(scales).collect();
                (format!("{number} {unit} on which scale? The instrument or its manual says it."), units)
            }
            (Some(QuantityError::Impossible { .. }), Some(_)) => {
                return self.impossible(typed, instrument, fault);
            }
            _ => return Recognised::Wrong(fault),
        };
        let Some(number) = number else { return Recognised::Wrong(fault) };
        let mut all = self.in_units(number, &units, instrument);
        // Hours, volts, amperes: nothing else is read there, and the question names the unit.
        if units.len() == 1
            && let Some(only) = all.pop()
        {
            return Recognised::Clear(only.reading);
        }
        let fitting = self.fitting(&all);
        let choices = if fitting.is_empty() { all } else { fitting.clone() };
        let remembered = self.last.is_some_and(|last| {
            fitting.first().is_some_and(|first| first.reading.typed == format!("{number} {}", last.unit))
        });
        let only = fitting.len() == 1 && (self.window.is_some() || choices.len() == 1);
        if choices.is_empty() {
            Recognised::Wrong(fault)
        } else {
            Recognised::Ask { why, choices, first_is_usual: only || remembered }
        }
    }

    fn impossible(&self, typed: &str, instrument: Option<&str>, fault: Fault) -> Recognised {
        let number = quantity_text::number_of(typed).unwrap_or_default();
        let fitting = self.fitting(&self.in_units(number, &self.usual_units(instrument), instrument));
        if fitting.is_empty() || self.window.is_none() {
            return Recognised::Wrong(fault);
        }
        let why = format!("{typed} is not possible here. Another unit?");
        Recognised::Ask { why, choices: fitting, first_is_usual: false }
    }

    /// A reading far from what is expected, which in another unit would fit. If none would, it is taken: it may be a fault.
    fn surprising(&self, reading: HandReading, window: &Window) -> Recognised {
        let number = quantity_text::number_of(&reading.typed).unwrap_or_default().to_owned();
        let others = self.fitting(&self.in_units(
            &number,
            &self.usual_units(reading.instrument.as_deref()),
            reading.instrument.as_deref(),
        ));
        if others.is_empty() {
            return Recognised::Clear(reading);
        }
        let expected = match window.about {
            Some(about) => format!("about {}", shown(about, self.quantity)),
            None => format!("{} to {}", shown(window.low, self.quantity), shown(window.high, self.quantity)),
        };
        let why = format!(
            "{} is far from what is expected here ({expected}); in another unit it would fit.",
            reading.typed
        );
        let choices = others.into_iter().chain([Choice { reading, as_typed: true }]).collect();
        Recognised::Ask { why, choices, first_is_usual: false }
    }
}
