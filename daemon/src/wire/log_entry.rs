//! Entries of the log.

use super::element::ElementMoveJson;
use super::keyed::quantity_of_key;
use super::stamp::StampJson;
use super::{WireError, number};
use barrico_model::records::{EventKind, HandReading, LogBody, LogEntry};
use serde::{Deserialize, Serialize};

/// One value read by a person.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandReadingJson {
    /// Quantity with its unit, such as `feed_pressure_bar_gauge`.
    pub key: String,
    /// Value in that unit.
    #[serde(with = "number")]
    pub value: f64,
    /// What was typed, such as `800 psi`.
    pub typed: String,
    /// Instrument by its name in the settings.
    #[serde(default)]
    pub instrument: Option<String>,
}

/// What an entry says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LogBodyJson {
    /// One set of readings.
    Readings(Vec<HandReadingJson>),
    /// An event, by the name that people type.
    Event(String),
}

impl From<&LogBody> for LogBodyJson {
    fn from(body: &LogBody) -> Self {
        match body {
            LogBody::Readings(readings) => Self::Readings(readings.iter().map(hand_reading).collect()),
            LogBody::Event(kind) => Self::Event(kind.name().to_owned()),
        }
    }
}

fn hand_reading(reading: &HandReading) -> HandReadingJson {
    HandReadingJson {
        key: reading.quantity.json_key().to_owned(),
        value: reading.value,
        typed: reading.typed.clone(),
        instrument: reading.instrument.clone(),
    }
}

impl TryFrom<LogBodyJson> for LogBody {
    type Error = WireError;

    fn try_from(json: LogBodyJson) -> Result<Self, WireError> {
        match json {
            LogBodyJson::Readings(readings) => {
                let readings = readings.into_iter().map(|reading| {
                    Ok(HandReading {
                        quantity: quantity_of_key(&reading.key)?,
                        value: reading.value,
                        typed: reading.typed,
                        instrument: reading.instrument,
                    })
                });
                Ok(Self::Readings(readings.collect::<Result<_, WireError>>()?))
            }
            LogBodyJson::Event(name) => {
                EventKind::from_name(&name).map(Self::Event).ok_or_else(|| WireError::word("event", &name))
            }
        }
    }
}

/// One revision of one entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LogEntryJson {
    /// Number in its store.
    pub id: u64,
    /// Raised by each amendment.
    pub revision: u32,
    /// When it happened.
    pub at: StampJson,
    /// The date was made up at import.
    pub time_invented: bool,
    /// Who wrote it.
    pub by: String,
    /// What it says.
    pub body: LogBodyJson,
    /// Free text.
    pub note: String,
    /// Why this revision was made.
    pub reason: String,
    /// Struck out.
    pub voided: bool,
    /// Which elements went where.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elements: Vec<ElementMoveJson>,
}

impl From<&LogEntry> for LogEntryJson {
    fn from(entry: &LogEntry) -> Self {
        Self {
            id: entry.id,
            revision: entry.revision,
            at: entry.at.into(),
            time_invented: entry.time_invented,
            by: entry.by.clone(),
            body: (&entry.body).into(),
            note: entry.note.clone(),
            reason: entry.reason.clone(),
            voided: entry.voided,
            elements: entry.elements.iter().map(Into::into).collect(),
        }
    }
}

impl TryFrom<LogEntryJson> for LogEntry {
    type Error = WireError;

    fn try_from(json: LogEntryJson) -> Result<Self, WireError> {
        Ok(Self {
            id: json.id,
            revision: json.revision,
            at: json.at.into(),
            time_invented: json.time_invented,
            by: json.by,
            body: json.body.try_into()?,
            note: json.note,
            reason: json.reason,
            voided: json.voided,
            elements: json.elements.into_iter().map(Into::into).collect(),
        })
    }
}
