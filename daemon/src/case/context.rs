//! Context, events and observations of a case.

use super::facts::{Details, Observed};
use super::judge::{Context, Event, Position, Tide};
use super::reading::shown;
use super::walk::{Object, Walk};
use crate::settings::nearest::nearest;
use barrico_model::judgement::observation_list;
use barrico_model::records::EventKind;
use serde_json::Value;

/// Most minutes of a run: four weeks.
const MINUTES_MAX: f64 = 40_320.0;
/// Most days of a rest: ten years.
const DAYS_MAX: f64 = 3_650.0;
/// Most months of a lay-up: twenty years.
const MONTHS_MAX: f64 = 240.0;
/// Most running hours: half a century.
const HOURS_MAX: f64 = 438_000.0;
/// Most litres that a flush may need.
const LITRES_MAX: f64 = 10_000.0;
/// Most runs of a bilge pump during one run of the unit.
const COUNT_MAX: f64 = 100_000.0;

pub(super) const EVENT_KEYS: [&str; 5] = ["event", "time", "by", "note", "details"];
pub(super) const EVENT_NEEDED: [&str; 1] = ["event"];
pub(super) const DETAILS_KEYS: [&str; 8] =
    ["agent", "ph", "temperature_c", "minutes", "litres", "strength_percent", "run_hours", "reason"];
pub(super) const OBSERVATION_KEYS: [&str; 4] = ["observation", "seen", "time", "by"];
pub(super) const OBSERVATION_NEEDED: [&str; 1] = ["observation"];
pub(super) const CONTEXT_KEYS: [&str; 13] = [
    "time",
    "position",
    "tide",
    "under_way",
    "commanded_on",
    "minutes_since_start",
    "days_idle",
    "lay_up_months",
    "element_hours",
    "bilge_pump_runs",
    "flush_litres",
    "hours_to_automatic_flush",
    "note",
];
/// Kinds of agent for cleaning, rest and tank.
pub(super) const AGENTS: [(&str, &str); 7] = [
    ("alkaline", "alkaline"),
    ("acid", "acid"),
    ("detergent", "detergent"),
    ("bisulfite", "bisulfite"),
    ("propylene-glycol", "propylene glycol"),
    ("chlorine", "chlorine"),
    ("other", "other"),
];

/// What is known beside the readings.
pub(super) fn context(walk: &mut Walk, value: &Value) -> Context {
    let Some(object) = walk.object(value, "/context", &CONTEXT_KEYS, &[]) else { return Context::default() };
    walk.text(&object, "note");
    Context {
        now: walk.time(&object, "time"),
        position: walk.word(&object, "position", &Position::ALL),
        tide: walk.word(&object, "tide", &Tide::ALL),
        under_way: walk.yes_no(&object, "under_way"),
        commanded_on: walk.yes_no(&object, "commanded_on"),
        minutes_since_start: walk.amount(&object, "minutes_since_start", MINUTES_MAX),
        days_idle: walk.amount(&object, "days_idle", DAYS_MAX),
        lay_up_months: walk.amount(&object, "lay_up_months", MONTHS_MAX),
        element_hours: walk.amount(&object, "element_hours", HOURS_MAX),
        bilge_pump_runs: walk.amount(&object, "bilge_pump_runs", COUNT_MAX),
        flush_litres: walk.amount(&object, "flush_litres", LITRES_MAX),
        hours_to_automatic_flush: walk.amount(&object, "hours_to_automatic_flush", HOURS_MAX),
    }
}

/// An event, with how it was done.
pub(super) fn event(walk: &mut Walk, value: &Value, pointer: &str) -> Option<(Event, Option<Details>)> {
    let object = walk.object(value, pointer, &EVENT_KEYS, &EVENT_NEEDED)?;
    let at = walk.time(&object, "time");
    let by = walk.text(&object, "by").unwrap_or("not named").to_string();
    let mut note = walk.text(&object, "note").unwrap_or("").to_string();
    let details = object.map.get("details").and_then(|value| details(walk, value, &object));
    if let Some(text) = details.as_ref().map(Details::text).filter(|text| !text.is_empty()) {
        note = if note.is_empty() { text } else { format!("{note} ({text})") };
    }
    Some((Event { at, kind: walk.word(&object, "event", &EventKind::ALL)?, by, note }, details))
}

fn details(walk: &mut Walk, value: &Value, event: &Object<'_>) -> Option<Details> {
    let object = walk.object(value, &event.at("details"), &DETAILS_KEYS, &[])?;
    Some(Details {
        agent: walk.word(&object, "agent", &AGENTS),
        ph: walk.amount(&object, "ph", 14.0),
        temperature_c: walk.amount(&object, "temperature_c", 100.0),
        minutes: walk.amount(&object, "minutes", MINUTES_MAX),
        litres: walk.amount(&object, "litres", LITRES_MAX),
        strength_percent: walk.amount(&object, "strength_percent", 100.0),
        run_hours: walk.amount(&object, "run_hours", HOURS_MAX),
        reason: walk.text(&object, "reason").map(str::to_string),
    })
}

/// One observation.
pub(super) fn observation(walk: &mut Walk, value: &Value, pointer: &str) -> Option<Observed> {
    let object = walk.object(value, pointer, &OBSERVATION_KEYS, &OBSERVATION_NEEDED)?;
    let at = walk.time(&object, "time");
    let by = walk.text(&object, "by").unwrap_or("not named").to_string();
    let seen = walk.yes_no(&object, "seen").unwrap_or(true);
    let code = walk.text(&object, "observation")?;
    let Some(what) = observation_list::of(code) else {
        let codes = observation_list::ALL.iter().map(|known| known.code);
        let help = match nearest(code, codes) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "the observations are listed in `daemon/docs/case.schema.json`".to_string(),
        };
        walk.bad(object.at("observation"), format!("`{}` is not an observation", shown(code)), help);
        return None;
    };
    Some(Observed { what, seen, at, by })
}
