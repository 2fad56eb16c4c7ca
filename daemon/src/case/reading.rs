//! One reading as a person gives it: quantity, value with unit, perhaps an instrument.

use crate::quantity_text::{self, Convention, Measure, QuantityError};
use crate::settings::nearest::nearest;
use crate::settings::{Instrument, Settings, Source, UnitSettings};
use barrico_model::Quantity;
use barrico_model::records::HandReading;

/// What is wrong, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What is wrong.
    pub message: String,
    /// The remedy.
    pub help: String,
}

impl Fault {
    pub(crate) fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into() }
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}; {}", self.message, self.help)
    }
}

/// The quantity of this name.
///
/// # Errors
/// [`Fault`] with the nearest name, or with all.
pub fn quantity(name: &str) -> Result<Quantity, Fault> {
    Quantity::from_name(name).ok_or_else(|| {
        let names = || Quantity::ALL.iter().map(|quantity| quantity.name());
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("one of: {}", names().collect::<Vec<_>>().join(", ")),
        };
        Fault::new(format!("`{}` is not a quantity", shown(name)), help)
    })
}

/// The reading, if the text is a possible value with a clear unit and the instrument is known.
///
/// Without a named instrument it is the one that the unit's settings name for reading this quantity by hand.
///
/// # Errors
/// [`Fault`].
pub fn reading(
    settings: &Settings,
    unit: &UnitSettings,
    quantity: Quantity,
    typed: &str,
    instrument: Option<&str>,
) -> Result<HandReading, Fault> {
    taken(settings, unit, quantity, typed, instrument, quantity_text::parse)
}

/// The same for what an instrument shows although it cannot be, such as a thermometer at the end of its scale.
///
/// # Errors
/// [`Fault`]: the text is no number with a clear unit.
pub fn impossible(
    settings: &Settings,
    unit: &UnitSettings,
    quantity: Quantity,
    typed: &str,
    instrument: Option<&str>,
) -> Result<HandReading, Fault> {
    let parse = |text: &str, quantity: Quantity, convention: &Convention| match Measure::of(quantity) {
        Some(measure) => quantity_text::parse_measure(text, measure, convention),
        None => quantity_text::parse(text, quantity, convention),
    };
    taken(settings, unit, quantity, typed, instrument, parse)
}

fn taken(
    settings: &Settings,
    unit: &UnitSettings,
    quantity: Quantity,
    typed: &str,
    instrument: Option<&str>,
    parse: impl Fn(&str, Quantity, &Convention) -> Result<f64, QuantityError>,
) -> Result<HandReading, Fault> {
    let instrument = match instrument {
        Some(name) => Some(named_instrument(settings, name)?),
        None => usual_instrument(settings, unit, quantity),
    };
    let convention =
        instrument.map_or_else(Convention::default, |i| Convention { gallon: i.gallon, ppm: i.ppm });
    let value =
        parse(typed, quantity, &convention).map_err(|error| Fault::new(error.to_string(), error.help()))?;
    let instrument = instrument.map(|instrument| instrument.id.clone());
    Ok(HandReading { quantity, value, typed: typed.trim().to_string(), instrument })
}

/// The reading in a text such as `feed_pressure=800 psi@feed-gauge`; the instrument may be left out.
///
/// # Errors
/// [`Fault`].
pub fn named(settings: &Settings, unit: &UnitSettings, text: &str) -> Result<HandReading, Fault> {
    let Some((name, value)) = text.split_once('=') else {
        let help = "write name, `=` and the value with its unit: 'feed_pressure=800 psi'";
        return Err(Fault::new("this is no reading", help));
    };
    let (value, instrument) = match value.rsplit_once('@') {
        Some((value, instrument)) => (value, Some(instrument.trim())),
        None => (value, None),
    };
    reading(settings, unit, quantity(&name.trim().replace('-', "_"))?, value, instrument)
}

/// The instrument that the settings name for reading this quantity by hand.
pub fn usual_instrument<'s>(
    settings: &'s Settings,
    unit: &UnitSettings,
    quantity: Quantity,
) -> Option<&'s Instrument> {
    let rule = unit.sources.iter().find(|rule| rule.quantity == quantity && rule.source == Source::Hand)?;
    // Index 0 is the instrument that nobody named.
    (rule.instrument != 0).then(|| settings.instruments.get(usize::from(rule.instrument))).flatten()
}

fn named_instrument<'s>(settings: &'s Settings, name: &str) -> Result<&'s Instrument, Fault> {
    let known = || settings.instruments.iter().skip(1);
    known().find(|instrument| instrument.id == name).ok_or_else(|| {
        let names: Vec<&str> = known().map(|instrument| instrument.id.as_str()).collect();
        let help = match (nearest(name, names.iter().copied()), names.is_empty()) {
            (Some(near), _) => format!("did you mean `{near}`?"),
            (None, true) => "no instrument is described; describe it, or leave it out".to_string(),
            (None, false) => format!("one of: {}", names.join(", ")),
        };
        Fault::new(format!("there is no instrument `{}`", shown(name)), help)
    })
}

/// A text from outside as it may stand in a message: short, without control characters.
pub(crate) fn shown(text: &str) -> String {
    let plain: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if plain.chars().count() < text.chars().count() { format!("{plain}…") } else { plain }
}
