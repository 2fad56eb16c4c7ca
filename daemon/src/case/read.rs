//! A case file read and checked: all that is wrong is reported at once.

use super::judge::{Context, Event, Position, Question, Set};
use super::parts;
use super::reading::{quantity, reading};
use super::sets::{Dated, sets};
use super::walk::{Object, Walk};
use super::{CaseProblem, CaseProblems};
use crate::engine::RestoredUnit;
use crate::settings::{Settings, UnitSettings};
use barrico_model::Quantity;
use barrico_model::records::EventKind;
use serde_json::{Map, Value, json};

/// Largest case file, bytes: some thousand readings with every key.
pub const FILE_BYTES_MAX: usize = 1 << 20;
/// Most readings in a list.
pub const READINGS_MAX: usize = 5_000;
/// Most events.
pub const EVENTS_MAX: usize = 1_000;
/// Longest list of names in the expectations of a test.
const NAMES_MAX: usize = 50;
/// Most minutes of a run: four weeks.
const MINUTES_MAX: f64 = 40_320.0;
/// Most days of a rest: ten years.
const DAYS_MAX: f64 = 3_650.0;

pub(super) const KEYS: [&str; 15] = [
    "$schema",
    "schema_version",
    "name",
    "story",
    "source",
    "parts",
    "instruments",
    "baseline",
    "readings",
    "log",
    "context",
    "expect_cause",
    "decidable",
    "deciding_reading",
    "forbidden_claims",
];
pub(super) const NEEDED: [&str; 2] = ["parts", "readings"];
pub(super) const BASELINE_KEYS: [&str; 1] = ["readings"];
pub(super) const READING_KEYS: [&str; 5] = ["quantity", "value", "time", "instrument", "by"];
pub(super) const READING_NEEDED: [&str; 2] = ["quantity", "value"];
pub(super) const EVENT_KEYS: [&str; 4] = ["event", "time", "by", "note"];
pub(super) const EVENT_NEEDED: [&str; 1] = ["event"];
pub(super) const CONTEXT_KEYS: [&str; 5] = ["time", "position", "minutes_since_start", "days_idle", "note"];
/// Kinds of instrument that a reading may name without describing one.
pub(super) const KINDS: [&str; 9] = [
    "gauge",
    "transmitter",
    "flow-meter",
    "conductivity-cell",
    "jug",
    "flow-tube",
    "hand-meter",
    "thermometer",
    "refractometer",
];
/// Version of the shape.
pub(super) const SCHEMA_VERSION: u32 = 1;

/// What a test expects of the judgement.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expectations {
    /// Codes of causes that may lead; empty: nothing is expected.
    pub causes: Vec<String>,
    /// Can it be decided from these readings?
    pub decidable: Option<bool>,
    /// The reading that would decide.
    pub deciding_reading: Option<Quantity>,
    /// Codes of causes, or actions, that must not be claimed.
    pub forbidden_claims: Vec<String>,
}

/// A case.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its name.
    pub name: Option<String>,
    /// What is asked.
    pub question: Question,
    /// What a test expects.
    pub expectations: Expectations,
}

/// Reads a case file.
///
/// # Errors
/// All that is wrong.
pub fn parse(text: &str) -> Result<Case, CaseProblems> {
    if FILE_BYTES_MAX < text.len() {
        let message = format!("the file is larger than {} kB", FILE_BYTES_MAX / 1024);
        return Err(CaseProblems(vec![CaseProblem::new("", message, "leave out the oldest readings")]));
    }
    let value: Value = serde_json::from_str(text).map_err(|error| {
        let message = format!("this is not JSON: {error}");
        CaseProblems(vec![CaseProblem::new(
            "",
            message,
            "compare with the samples in `daemon/examples/cases`",
        )])
    })?;
    let mut walk = Walk::default();
    let case = case(&mut walk, &value);
    match case.filter(|_| walk.problems.is_empty()) {
        Some(case) => Ok(case),
        None => Err(CaseProblems(walk.problems)),
    }
}

fn case(walk: &mut Walk, value: &Value) -> Option<Case> {
    let root = walk.object(value, "", &KEYS, &NEEDED)?;
    if walk.amount(&root, "schema_version", 1e6).is_some_and(|version| version != f64::from(SCHEMA_VERSION)) {
        walk.bad(
            "/schema_version",
            "this version is not known here",
            format!("this program reads version {SCHEMA_VERSION}"),
        );
    }
    let name = walk.text(&root, "name").map(str::to_string);
    walk.text(&root, "story");
    walk.text(&root, "source");
    let instruments = instruments(walk, &root, value);
    let settings = root.map.get("parts").and_then(|parts| parts::settings(walk, parts, &instruments));
    let context = root.map.get("context").map(|value| context(walk, value)).unwrap_or_default();
    let log = walk.list(&root, "log", EVENTS_MAX);
    let events =
        log.iter().enumerate().filter_map(|(at, value)| event(walk, value, &format!("/log/{at}"))).collect();
    let expectations = expectations(walk, &root);
    let fallback = Settings::unknown();
    let known = settings.as_ref().unwrap_or(&fallback);
    let unknown_unit = UnitSettings::unknown(parts::UNIT, parts::UNIT);
    let unit = known.units.first().unwrap_or(&unknown_unit);
    let readings = readings(walk, &root, known, unit, settings.is_some());
    if readings.is_empty()
        && root.map.get("readings").is_some_and(Value::is_array)
        && walk.problems.is_empty()
    {
        walk.bad(
            "/readings",
            "there is no reading",
            "add one: `{ \"quantity\": \"feed_pressure\", \"value\": \"55 bar\" }`",
        );
    }
    let baseline = match root.map.get("baseline") {
        None => vec![],
        Some(value) => match walk.object(value, "/baseline", &BASELINE_KEYS, &BASELINE_KEYS) {
            Some(object) => self::readings(walk, &object, known, unit, settings.is_some()),
            None => vec![],
        },
    };
    let question = Question {
        settings: settings?,
        unit: 0,
        history: RestoredUnit::default(),
        baseline,
        readings,
        events,
        context,
    };
    Some(Case { name, question, expectations })
}

/// The instruments described, and those of which a reading names the bare kind.
fn instruments(walk: &mut Walk, root: &Object<'_>, case: &Value) -> Map<String, Value> {
    let described = root.map.get("instruments").and_then(|value| walk.any_object(value, "/instruments"));
    let mut instruments = described.cloned().unwrap_or_default();
    let lists = [case.pointer("/readings"), case.pointer("/baseline/readings")];
    let readings = lists.into_iter().flatten().filter_map(Value::as_array).flatten();
    for kind in readings.filter_map(|reading| reading.get("instrument")?.as_str()) {
        if KINDS.contains(&kind) && !instruments.contains_key(kind) {
            instruments.insert(kind.to_string(), json!({ "kind": kind }));
        }
    }
    instruments
}

/// Readings under the key `readings` of an object, as sets. Instruments are looked up only if they could be read.
fn readings(
    walk: &mut Walk,
    object: &Object<'_>,
    settings: &Settings,
    unit: &UnitSettings,
    has_instruments: bool,
) -> Vec<Set> {
    let mut dated = Vec::new();
    for (at, value) in walk.list(object, "readings", READINGS_MAX).iter().enumerate() {
        let pointer = format!("{}/{at}", object.at("readings"));
        let Some(object) = walk.object(value, &pointer, &READING_KEYS, &READING_NEEDED) else { continue };
        let at = walk.time(&object, "time");
        let by = walk.text(&object, "by").unwrap_or("not named").to_string();
        let named = walk.text(&object, "instrument").filter(|_| has_instruments);
        let quantity = walk.text(&object, "quantity").map(quantity);
        let typed = walk.text(&object, "value");
        let quantity = match quantity {
            Some(Ok(quantity)) => quantity,
            Some(Err(fault)) => {
                walk.problems.push(CaseProblem::of(object.at("quantity"), fault));
                continue;
            }
            None => continue,
        };
        let Some(typed) = typed else { continue };
        match reading(settings, unit, quantity, typed, named) {
            Ok(reading) => dated.push(Dated { at, by, reading, pointer }),
            Err(fault) => {
                let key = if fault.message.contains("instrument `") { "instrument" } else { "value" };
                walk.problems.push(CaseProblem::of(object.at(key), fault));
            }
        }
    }
    sets(walk, dated)
}

fn event(walk: &mut Walk, value: &Value, pointer: &str) -> Option<Event> {
    let object = walk.object(value, pointer, &EVENT_KEYS, &EVENT_NEEDED)?;
    let at = walk.time(&object, "time");
    let by = walk.text(&object, "by").unwrap_or("not named").to_string();
    let note = walk.text(&object, "note").unwrap_or("").to_string();
    Some(Event { at, kind: walk.word(&object, "event", &EventKind::ALL)?, by, note })
}

fn context(walk: &mut Walk, value: &Value) -> Context {
    let Some(object) = walk.object(value, "/context", &CONTEXT_KEYS, &[]) else { return Context::default() };
    walk.text(&object, "note");
    Context {
        now: walk.time(&object, "time"),
        position: walk.word(&object, "position", &Position::ALL),
        minutes_since_start: walk.amount(&object, "minutes_since_start", MINUTES_MAX),
        days_idle: walk.amount(&object, "days_idle", DAYS_MAX),
    }
}

fn expectations(walk: &mut Walk, root: &Object<'_>) -> Expectations {
    let deciding = walk.text(root, "deciding_reading").map(quantity);
    let deciding_reading = match deciding {
        Some(Err(fault)) => {
            walk.problems.push(CaseProblem::of("/deciding_reading", fault));
            None
        }
        other => other.and_then(Result::ok),
    };
    Expectations {
        causes: match root.map.get("expect_cause") {
            Some(Value::String(_)) => {
                walk.text(root, "expect_cause").map(str::to_string).into_iter().collect()
            }
            _ => names(walk, root, "expect_cause"),
        },
        decidable: walk.yes_no(root, "decidable"),
        deciding_reading,
        forbidden_claims: names(walk, root, "forbidden_claims"),
    }
}

fn names(walk: &mut Walk, object: &Object<'_>, key: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, value) in walk.list(object, key, NAMES_MAX).iter().enumerate() {
        match value.as_str().map(str::trim).filter(|name| !name.is_empty()) {
            Some(name) => names.push(name.to_string()),
            None => walk.wrong_type(
                value,
                &format!("{}/{at}", object.at(key)),
                "a text",
                "write a name in quotes",
            ),
        }
    }
    names
}
