//! A case file read and checked: all that is wrong is reported at once.

use super::context::{context, event, observation};
use super::expectations::{Expectations, expectations};
use super::facts::Facts;
use super::judge::Question;
use super::parts;
use super::readings::{Readings, readings};
use super::walk::{Object, Walk};
use super::{CaseProblem, CaseProblems};
use crate::engine::RestoredUnit;
use crate::settings::{Settings, UnitSettings};
use serde_json::{Map, Value, json};

/// Largest case file, bytes: some thousand readings with every key.
pub const FILE_BYTES_MAX: usize = 1 << 20;
/// Most readings in a list.
pub const READINGS_MAX: usize = 5_000;
/// Most events.
pub const EVENTS_MAX: usize = 1_000;
/// Most observations.
pub const OBSERVATIONS_MAX: usize = 100;

pub(super) const KEYS: [&str; 18] = [
    "$schema",
    "schema_version",
    "id",
    "name",
    "story",
    "source",
    "tier",
    "parts",
    "instruments",
    "baseline",
    "readings",
    "observations",
    "log",
    "context",
    "expect_cause",
    "decidable",
    "deciding_reading",
    "forbidden_claims",
];
pub(super) const NEEDED: [&str; 2] = ["parts", "readings"];
pub(super) const BASELINE_KEYS: [&str; 1] = ["readings"];
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
/// Versions of the shape that are read. The second added observations, readings that stand beside others, details of events and more context; a file of the
/// first is one of the second too.
pub(super) const SCHEMA_VERSIONS: [u32; 2] = [1, 2];

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
    let version = walk.amount(&root, "schema_version", 1e6);
    if version.is_some_and(|version| SCHEMA_VERSIONS.iter().all(|known| f64::from(*known) != version)) {
        let [first, last] = SCHEMA_VERSIONS;
        walk.bad(
            "/schema_version",
            "this version is not known here",
            format!("this program reads version {first} and {last}"),
        );
    }
    walk.text(&root, "id");
    let name = walk.text(&root, "name").map(str::to_string);
    walk.text(&root, "story");
    walk.text(&root, "source");
    let instruments = instruments(walk, &root, value);
    let settings = root.map.get("parts").and_then(|parts| parts::settings(walk, parts, &instruments));
    let context = root.map.get("context").map(|value| context(walk, value)).unwrap_or_default();
    let (mut events, mut facts) = (vec![], Facts::default());
    for (at, value) in walk.list(&root, "log", EVENTS_MAX).iter().enumerate() {
        let Some((event, details)) = event(walk, value, &format!("/log/{at}")) else { continue };
        facts.details.extend(details.map(|details| (at, details)));
        events.push(event);
    }
    for (at, value) in walk.list(&root, "observations", OBSERVATIONS_MAX).iter().enumerate() {
        facts.observations.extend(observation(walk, value, &format!("/observations/{at}")));
    }
    let expectations = expectations(walk, &root);
    let fallback = Settings::unknown();
    let known = settings.as_ref().unwrap_or(&fallback);
    let unknown_unit = UnitSettings::unknown(parts::UNIT, parts::UNIT);
    let unit = known.units.first().unwrap_or(&unknown_unit);
    let latest = readings(walk, &root, known, unit, settings.is_some());
    let empty = |key: &str| root.map.get(key).and_then(Value::as_array).is_none_or(Vec::is_empty);
    if ["readings", "observations", "log"].into_iter().all(empty) && walk.problems.is_empty() {
        walk.bad(
            "/readings",
            "there is no reading, nor an observation or an event",
            "add one: `{ \"quantity\": \"feed_pressure\", \"value\": \"55 bar\" }`",
        );
    }
    let baseline = match root.map.get("baseline") {
        None => Readings::default(),
        Some(value) => match walk.object(value, "/baseline", &BASELINE_KEYS, &BASELINE_KEYS) {
            Some(object) => readings(walk, &object, known, unit, settings.is_some()),
            None => Readings::default(),
        },
    };
    facts.beside = latest.beside;
    facts.unchanged = latest.unchanged;
    let question = Question {
        settings: settings?,
        unit: 0,
        history: RestoredUnit::default(),
        baseline: baseline.sets,
        readings: latest.sets,
        events,
        context,
        facts,
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
