//! The form for hand readings and events: what it shows, and how it is read.
//!
//! All errors are shown at once, each beside its field, and what was typed stays. Nothing is written unless everything is right.

use super::limits::{NAME_CHARS_MAX, NOTE_CHARS_MAX};
use super::posted::Fields;
use super::site::random_text;
use crate::engine::{Command, NewEntry};
use crate::hand::{self, Answered, Choice, FUTURE_MAX_MS, Recognised};
use crate::publish::words;
use crate::settings::{Settings, UnitSettings};
use barrico_model::records::{EventKind, HandReading, LogBody};
use barrico_model::{Dimension, Quantity, WallMs};
use std::borrow::Cow;
use std::collections::BTreeMap;

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
    /// What was typed although it is far from what is expected: sent once more unchanged, it is taken.
    pub asked: Option<String>,
}

/// One choice of event.
#[derive(Clone, Debug)]
pub(super) struct EventOption {
    pub name: &'static str,
    pub label: &'static str,
    pub chosen: bool,
}

impl LogForm {
    pub fn empty(settings: &Settings, unit: &str) -> Self {
        Self::filled(settings, unit, &Fields::default())
    }

    /// With what was typed, without judging it. First stand the questions that the terminal asks too, in their order.
    pub fn filled(settings: &Settings, unit: &str, fields: &Fields) -> Self {
        let asked = hand::questions(settings, &known_unit(settings, unit), &BTreeMap::new());
        let usual: Vec<Field> = asked
            .iter()
            .map(|question| Field {
                name: question.quantity.name(),
                label: question.words.clone(),
                example: example(question.quantity),
                typed: fields.get(question.quantity.name()).to_string(),
                error: None,
                asked: None,
            })
            .collect();
        let field = |quantity: &Quantity| Field {
            name: quantity.name(),
            label: words::sentence(quantity.label()),
            example: example(*quantity),
            typed: fields.get(quantity.name()).to_string(),
            error: None,
            asked: None,
        };
        let is_asked = |quantity: &Quantity| asked.iter().any(|question| question.quantity == *quantity);
        let more: Vec<Field> =
            Quantity::ALL.iter().filter(|q| !is_asked(q) && !words::is_named(**q)).map(field).collect();
        let chosen = fields.get("event");
        Self {
            unit: unit.to_string(),
            once: random_text().unwrap_or_default().chars().take(16).collect(),
            errors: Vec::new(),
            usual,
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
    let mut form = LogForm::filled(settings, unit, fields);
    let readings = readings(&mut form, unit, fields, settings);
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

/// The unit's settings; of a unit that is not in them nothing is known, and the engine refuses its entry.
fn known_unit<'s>(settings: &'s Settings, id: &str) -> Cow<'s, UnitSettings> {
    match settings.units.iter().find(|known| known.id == id) {
        Some(known) => Cow::Borrowed(known),
        None => Cow::Owned(UnitSettings::unknown(id, id)),
    }
}

/// The readings; what is wrong or has to be asked stands in its field. A value that was asked about and comes again unchanged is taken.
fn readings(form: &mut LogForm, unit: &str, fields: &Fields, settings: &Settings) -> Vec<HandReading> {
    let unit = &*known_unit(settings, unit);
    let (mut readings, mut answered) = (Vec::new(), water(form, unit, settings));
    for field in form.usual.iter_mut().chain(&mut form.more).filter(|field| !field.typed.is_empty()) {
        let Some(quantity) = Quantity::from_name(field.name) else { continue };
        let window = hand::window(unit, quantity, &answered, None);
        let kept = fields.get(&format!("asked-{}", field.name)) == field.typed;
        let window = window.as_ref().filter(|_| !kept);
        match hand::recognise(settings, unit, quantity, &field.typed, window, None) {
            Recognised::Clear(reading) => {
                answered.insert(quantity, reading.value);
                readings.push(reading);
            }
            Recognised::Wrong(fault) => {
                field.error = Some(format!("{}. Remedy: {}.", words::sentence(&fault.message), fault.help));
            }
            Recognised::Ask { why, choices, .. } => {
                field.error = Some(question(&why, &choices));
                field.asked = choices.iter().any(|choice| choice.as_typed).then(|| field.typed.clone());
            }
        }
    }
    readings
}

/// The water as typed, wherever it stands in the form: what is expected of the rest depends on it.
fn water(form: &LogForm, unit: &UnitSettings, settings: &Settings) -> Answered {
    let mut water = Answered::new();
    for quantity in [Quantity::FeedTemperature, Quantity::FeedSalinity] {
        let named = |field: &&Field| field.name == quantity.name();
        let Some(field) = form.usual.iter().chain(&form.more).find(named) else { continue };
        let window = hand::window(unit, quantity, &water, None);
        if let Recognised::Clear(reading) =
            hand::recognise(settings, unit, quantity, &field.typed, window.as_ref(), None)
        {
            water.insert(quantity, reading.value);
        }
    }
    water
}

/// What to ask under a field.
fn question(why: &str, choices: &[Choice]) -> String {
    let others: Vec<String> = choices
        .iter()
        .filter(|choice| !choice.as_typed)
        .map(|choice| format!("\"{}\"", choice.reading.typed))
        .collect();
    let keep = if choices.iter().any(|choice| choice.as_typed) {
        " If it is right as it stands, send it again unchanged."
    } else {
        ""
    };
    format!("{} Write {}.{keep}", words::sentence(why), others.join(" or "))
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
