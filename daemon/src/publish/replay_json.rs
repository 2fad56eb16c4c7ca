//! What a replay prints with `--json`: one object per line, `kind` says what it is.
//!
//! Kinds: `sender`, `reading` (the first value of a source, then once a minute; the unit's own state each time it is sent), `state`, `run`, `finding`, `remark` (clock, source, others), and `summary` as the last line. `time` is the
//! stamp of the log, RFC 3339 in UTC.

use super::{format, json, words};
use crate::engine::view::View;
use crate::engine::{ClockChange, Engine, Event};
use crate::sources::candump_log::Counts;
use barrico_model::records::{Reading, RunRecord, SenderId};
use barrico_model::{Monotonic, WallMs};
use serde_json::{Map, Value, json};
use std::io::Write;

/// Prints events as JSON lines.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReplayJson;

impl ReplayJson {
    /// One event.
    ///
    /// # Errors
    /// The output is closed or full.
    pub fn event(
        self,
        out: &mut impl Write,
        engine: &Engine,
        wall: Option<WallMs>,
        event: &Event,
    ) -> std::io::Result<()> {
        let (kind, unit, body) = match event {
            Event::Sender(sender) => (
                "sender",
                None,
                json!({
                    "address": sender.address,
                    "name": name(sender.sender),
                    "product": sender.product,
                    "remark": sender.remark,
                }),
            ),
            Event::Reading { unit, reading } => ("reading", Some(*unit), self::reading(reading)),
            Event::State { unit, from, to, inferred } => (
                "state",
                Some(*unit),
                json!({
                    "from": from.map(|state| state.name()),
                    "to": to.map(|state| state.name()),
                    "inferred": inferred,
                }),
            ),
            Event::Run { unit, run } => ("run", Some(*unit), self::run(run)),
            Event::Finding { unit, alert, finding } => {
                ("finding", Some(*unit), json::finding(alert, finding.as_ref()))
            }
            Event::Clock(ClockChange::Known(_)) => return Ok(()),
            Event::Clock(ClockChange::Stepped { from, to }) => (
                "remark",
                None,
                json!({
                    "about": "clock",
                    "text": "the clock of the log steps; no time is added",
                    "from": format::rfc3339(*from),
                    "to": format::rfc3339(*to),
                }),
            ),
            Event::Store { text, .. } => ("remark", None, json!({ "about": "store", "text": text })),
            Event::Source { text, .. } => ("remark", None, json!({ "about": "source", "text": text })),
            Event::Remark { unit, text } => ("remark", *unit, json!({ "about": "unit", "text": text })),
        };
        let mut object = Map::new();
        object.insert("kind".into(), kind.into());
        object.insert("time".into(), wall.and_then(format::rfc3339).into());
        if let Some(unit) = unit {
            object.insert("unit".into(), engine.unit_id(unit).into());
        }
        if let Value::Object(body) = body {
            object.extend(body);
        }
        line(out, &Value::Object(object))
    }

    /// The last line.
    ///
    /// # Errors
    /// The output is closed or full.
    pub fn summary(
        self,
        out: &mut impl Write,
        counts: &Counts,
        now: Monotonic,
        view: &View,
    ) -> std::io::Result<()> {
        let units: Vec<&str> = view.units.iter().map(|unit| unit.id.as_str()).collect();
        line(
            out,
            &json!({
                "kind": "summary",
                "lines": counts.lines,
                "frames": counts.frames,
                "readings": view.readings,
                "duration_s": now.0 as f64 / 1000.0,
                "damaged_lines": counts.damaged,
                "first_damaged_line": (0 < counts.damaged).then_some(counts.first_damaged),
                "other_lines": counts.others,
                "damaged_messages": view.damaged - counts.damaged.min(view.damaged),
                "clock_steps": counts.clock_steps,
                "units": units,
            }),
        )
    }
}

fn line(out: &mut impl Write, value: &Value) -> std::io::Result<()> {
    serde_json::to_writer(&mut *out, value)?;
    out.write_all(b"\n")
}

fn name(sender: SenderId) -> Option<String> {
    match sender {
        SenderId::Name(name) => Some(format!("{name:016X}")),
        SenderId::Address(_) => None,
    }
}

fn reading(reading: &Reading) -> Value {
    let mut object = Map::new();
    object.insert("quantity".into(), reading.quantity.name().into());
    let value = match words::named_value(reading.quantity, reading.value) {
        Some(name) => Value::from(name),
        None => rounded(reading.value),
    };
    object.insert(reading.quantity.json_key().into(), value);
    object.insert("origin".into(), words::origin(reading.origin).into());
    Value::Object(object)
}

fn run(run: &RunRecord) -> Value {
    let mut means = Map::new();
    for mean in &run.means {
        means.insert(mean.quantity.json_key().into(), rounded(mean.value));
    }
    json!({
        "id": run.id,
        "revision": run.revision,
        "start": run.start.wall_ms.and_then(format::rfc3339),
        "duration_s": rounded(run.duration_s),
        "steady_s": rounded(run.steady_s),
        "product_l": run.product_l.map(rounded),
        "means": means,
    })
}

/// Bus values have at most four decimals; the rest is the rounding of binary numbers.
fn rounded(value: f64) -> Value {
    Value::from((value * 1e4).round() / 1e4)
}
