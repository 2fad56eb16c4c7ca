//! The form for hand readings and events: what it shows, and how it is read.
//!
//! All errors are shown at once, each beside its field, and what was typed stays. Nothing is written unless everything is right.

use super::limits::{NAME_CHARS_MAX, NOTE_CHARS_MAX};
use super::posted::Fields;
use super::site::random_text;
use crate::engine::{Command, NewEntry};
use crate::publish::words;
use crate::quantity_text::{self, Convention};
use crate::settings::{Instrument, Settings, Source};
use barrico_model::records::{EventKind, HandReading, LogBody};
use barrico_model::{Dimension, Quantity, WallMs};

/// The form as shown.
#[derive(Clone, Debug)]
pub(super) struct LogForm {
    pub unit: String,
    /// Makes each form one of its own, so that sending it twice is noticed.
    pub once: String,
    /// What does not belong to one field.
    pub errors: Vec<String>,
    pub usual: Vec<Field>,
    pub more: Vec<Field>,
    pub more_open: bool,
    pub events: Vec<EventOption>,
    pub event_error: Option<String>,
    pub at: String,
    pub at_error: Option<String>,
    pub by: String,
    pub by_error: Option<String>,
    pub note: String,
    pub note_error: Option<String>,
}

/// One quantity.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub name: &'static str,
    pub label: String,
    pub example: &'static str,
    pub typed: String,
    pub error: Option<String>,
}

/// One choice of event.
#[derive(Clone, Debug)]
pub(super) struct EventOption {
    pub name: &'static str,
    pub label: &'static str,
    pub chosen: bool,
}

/// What a boat with gauges, a jug, a thermometer and a hand meter can read.
const USUAL: [Quantity; 6] = [
    Quantity::FeedPressure,
    Quantity::ProductFlow,
    Quantity::ProductConductivity,
    Quantity::FeedTemperature,
    Quantity::ConcentrateFlow,
    Quantity::FeedSalinity,
];

/// A clock that is this much ahead of ours may still be right; a reading further ahead was typed wrongly.
const FUTURE_MAX_MS: i64 = 10 * 60 * 1000;

impl LogForm {
    pub fn empty(unit: &str) -> Self {
        Self::filled(unit, &Fields::default())
    }

    /// With what was typed, without judging it.
    pub fn filled(unit: &str, fields: &Fields) -> Self {
        let field = |quantity: &Quantity| Field {
            name: quantity.name(),
            label: words::sentence(quantity.label()),
            example: example(*quantity),
            typed: fields.get(quantity.name()).to_string(),
            error: None,
        };
        let more: Vec<Field> =
            Quantity::ALL.iter().filter(|q| !USUAL.contains(q) && !words::is_named(**q)).map(field).collect();
        let chosen = fields.get("event");
        Self {
            unit: unit.to_string(),
            once: random_text().unwrap_or_default().chars().take(16).collect(),
            errors: Vec::new(),
            usual: USUAL.iter().map(field).collect(),
            more_open: more.iter().any(|field| !field.typed.is_empty()),
            more,
            events: EventKind::ALL
                .iter()
                .map(|(name, kind)| EventOption { name, label: words::event(*kind), chosen: *name == chosen })
                .collect(),
            event_error: None,
            at: fields.get("at").to_string(),
            at_error: None,
            by: fields.get("by").to_string(),
            by_error: None,
            note: fields.get("note").to_string(),
            note_error: None,
        }
    }

    fn has_errors(&self) -> bool {
        let fields = self.usual.iter().chain(&self.more).any(|field| field.error.is_some());
        let others = [&self.event_error, &self.at_error, &self.by_error, &self.note_error];
        fields || !self.errors.is_empty() || others.iter().any(|error| error.is_some())
    }
}

/// Reads a form. `now`: the date, if one is trusted.
///
/// # Errors
/// The form with what was typed and every error.
pub(super) fn read(
    unit: &str,
    fields: &Fields,
    settings: &Settings,
    now: Option<WallMs>,
) -> Result<Command, Box<LogForm>> {
    let mut form = LogForm::filled(unit, fields);
    let mut readings = Vec::new();
    for field in form.usual.iter_mut().chain(&mut form.more).filter(|field| !field.typed.is_empty()) {
        match reading(field.name, &field.typed, unit, settings) {
            Ok(reading) => readings.push(reading),
            Err(error) => field.error = Some(error),
        }
    }
    let event = event(&mut form, fields.get("event"));
    let at = at(&mut form, now);
    too_long(&form.by, NAME_CHARS_MAX, &mut form.by_error);
    too_long(&form.note, NOTE_CHARS_MAX, &mut form.note_error);
    let nothing_typed = form.usual.iter().chain(&form.more).all(|field| field.typed.is_empty());
    if nothing_typed && event.is_none() && form.event_error.is_none() {
        form.errors.push(nothing_to_write(&form.note));
    }
    if event == Some(EventKind::Note) && form.note.is_empty() {
        form.note_error = Some("Say in the note what happened.".to_string());
    }
    if form.has_errors() {
        form.errors.insert(0, "Nothing has been written yet: please look at what is marked.".to_string());
        return Err(Box::new(form));
    }
    let by = if form.by.is_empty() { "somebody at the page".to_string() } else { form.by.clone() };
    let entry = |body| NewEntry {
        at,
        time_invented: false,
        by: by.clone(),
        body,
        note: form.note.clone(),
        elements: vec![],
    };
    let readings = (!readings.is_empty()).then_some(LogBody::Readings(readings));
    let entries = readings.into_iter().chain(event.map(LogBody::Event)).map(entry).collect();
    Ok(Command::AddEntries { unit: unit.to_string(), entries })
}

fn nothing_to_write(note: &str) -> String {
    if note.is_empty() {
        "There is nothing to write down: fill in a reading or choose what happened.".to_string()
    } else {
        "For a note alone choose \"note\" under what happened.".to_string()
    }
}

fn reading(name: &str, typed: &str, unit: &str, settings: &Settings) -> Result<HandReading, String> {
    let quantity = Quantity::from_name(name).ok_or("This quantity is not known.")?;
    let instrument = hand_instrument(settings, unit, quantity);
    let convention =
        instrument.map_or_else(Convention::default, |i| Convention { gallon: i.gallon, ppm: i.ppm });
    let value = quantity_text::parse(typed, quantity, &convention)
        .map_err(|error| format!("{}. Remedy: {}.", words::sentence(&error.to_string()), error.help()))?;
    if !quantity.is_possible(value) {
        return Err("This value is not possible here; check number and unit.".to_string());
    }
    let instrument = instrument.map(|instrument| instrument.id.clone());
    Ok(HandReading { quantity, value, typed: typed.to_string(), instrument })
}

/// The instrument that the settings name for reading this quantity by hand.
fn hand_instrument<'a>(settings: &'a Settings, unit: &str, quantity: Quantity) -> Option<&'a Instrument> {
    let unit = settings.units.iter().find(|known| known.id == unit)?;
    let rule = unit.sources.iter().find(|rule| rule.quantity == quantity && rule.source == Source::Hand)?;
    // Index 0 is the instrument that nobody named.
    (rule.instrument != 0).then(|| settings.instruments.get(usize::from(rule.instrument))).flatten()
}

fn event(form: &mut LogForm, name: &str) -> Option<EventKind> {
    if name.is_empty() {
        return None;
    }
    let kind = EventKind::from_name(name);
    if kind.is_none() {
        form.event_error = Some("This event is not known; choose one of the list.".to_string());
    }
    kind
}

fn at(form: &mut LogForm, now: Option<WallMs>) -> Option<WallMs> {
    if form.at.is_empty() {
        return None;
    }
    match parse_date(&form.at) {
        None => {
            form.at_error = Some("Not a date. Write it like 2026-03-03 14:05, in UTC.".to_string());
            None
        }
        Some(at) if now.is_some_and(|now| now + FUTURE_MAX_MS < at) => {
            form.at_error =
                Some("This lies in the future. The time is UTC, not the clock in the saloon.".to_string());
            None
        }
        Some(at) => Some(at),
    }
}

/// `2026-03-03 14:05`, `2026-03-03T14:05:30` as UTC, or with its own offset as in `2026-03-03 14:05+02:00`.
fn parse_date(text: &str) -> Option<WallMs> {
    let with_seconds = |text: &str| text.parse::<jiff::Timestamp>().ok().map(|at| at.as_millisecond());
    let text = text.trim().trim_end_matches("UTC").trim_end();
    with_seconds(text).or_else(|| {
        let civil: jiff::civil::DateTime = text.parse().ok()?;
        // A day alone is not a time of reading.
        if !text.contains(':') {
            return None;
        }
        civil.to_zoned_datetime(jiff::tz::TimeZone::UTC).ok().map(|at| at.timestamp().as_millisecond())
    })
}

fn too_long(text: &str, most: usize, error: &mut Option<String>) {
    let chars = text.chars().count();
    if most < chars {
        *error = Some(format!("{chars} characters; at most {most} fit."));
    }
}

/// Not to be taken for a value that is already there, so it begins with "like".
fn example(quantity: Quantity) -> &'static str {
    match quantity.dimension() {
        Dimension::Flow if quantity == Quantity::ProductFlow => "like 1.2 L/min",
        Dimension::Flow => "like 290 L/h",
        Dimension::Temperature => "like 22 C",
        Dimension::Salinity => "like 37 g/kg",
        Dimension::Solids => "like 250 mg/L",
        Dimension::Conductivity if quantity == Quantity::FeedConductivity => "like 54 mS/cm",
        Dimension::Conductivity => "like 420 uS/cm",
        Dimension::Pressure if quantity == Quantity::InletPressure => "like 5 inHg vac",
        Dimension::Pressure => "like 800 psi",
        Dimension::PressureDifference => "like 0.4 bar",
        Dimension::Voltage => "like 230 V",
        Dimension::Current => "like 8.5 A",
        Dimension::Power => "like 1500 W",
        Dimension::Frequency => "like 50 Hz",
        Dimension::Speed => "like 1450 rpm",
        Dimension::Level => "like 60 %",
        Dimension::Duration => "like 812 h",
        Dimension::State | Dimension::Route => "",
    }
}
