//! The state as JSON for other programs: a promise to strangers, so its types are its own.
//!
//! Keys carry their unit (the list of quantities in the model). `uncertainty` is a sibling object with the same keys and one standard
//! deviation each. A number that is not known is `null`, and the reason stands under the same key in `reasons`. Keys may be
//! added; a key that changes its meaning or goes raises [`SCHEMA_VERSION`].

use super::{format, words};
use crate::engine::view::{Health, ReadingStatus, ReadingView, RunRow, UnitView, View};
use crate::engine::{AlertRecord, UnitHistory};
use barrico_model::findings::{Finding, registry};
use barrico_model::performance::standardised::FORM;
use barrico_model::plant::Estimate;
use barrico_model::records::Baseline;
use barrico_model::{Dimension, Stamp};
use serde_json::{Map, Value, json};

/// Version of the shape.
pub const SCHEMA_VERSION: u32 = 1;

/// The whole state.
pub fn state(view: &View) -> Value {
    json!({
        "schema": "barrico-state",
        "schema_version": SCHEMA_VERSION,
        "boat": view.boat,
        "time": view.wall_ms.and_then(format::rfc3339),
        "uptime_s": view.at.0 as f64 / 1000.0,
        "reasons": if view.wall_ms.is_none() { json!({ "time": "no trusted clock aboard has told the date" }) } else { json!({}) },
        "store": health(&view.store),
        "source": health(&view.source),
        "source_impaired": view.source_impaired,
        "bus": {
            "frames_lost": view.bus.lost,
            "error_frames": view.bus.errors,
            "other_frames": view.bus.others,
            "frames_sent": view.bus.sent,
            "messages_given_up": view.bus.given_up,
            "messages_refused": view.bus.refused,
        },
        "frames": view.frames,
        "readings_taken": view.readings,
        "damaged": view.damaged,
        "units": view.units.iter().map(unit).collect::<Vec<_>>(),
    })
}

/// A baseline. The water permeability stands only where the feed flow was measured; it would be no membrane figure otherwise.
pub fn baseline(baseline: &Baseline) -> Value {
    let mut means = Map::new();
    for mean in &baseline.means {
        means.insert(mean.quantity.json_key().into(), mean.value.into());
    }
    json!({
        "id": baseline.id,
        "kind": baseline.kind.name(),
        "taken": stamp(baseline.taken),
        "by": baseline.by,
        "runs": baseline.runs,
        "means": means,
        "water_permeability_25c_m_s_pa": baseline.flow_measured.then_some(baseline.a25),
        "salt_permeability_25c_m_s": baseline.b25,
        "pump_delivery_share": baseline.delivery,
        "flow_measured": baseline.flow_measured,
        "elements": baseline.elements,
        "retired": baseline.retired.as_ref().map(|(at, reason)| json!({ "at": stamp(*at), "reason": reason })),
    })
}

/// Elements, valve and change of the train. `uncertainty` is one standard deviation.
pub fn history(history: &UnitHistory) -> Value {
    let estimate = |of: Estimate| json!({ "value": finite(of.value), "uncertainty": finite(of.deviation) });
    json!({
        "elements": history.elements.iter().map(|element| json!({
            "element": element.mark,
            "position": element.position,
            "by_passed": history.by_passed.contains(&element.mark),
            "run_time_h": finite(element.hours),
            "product_l": finite(element.product_l),
        })).collect::<Vec<_>>(),
        "valve": history.valve.map(|law| json!({
            "exponent": estimate(law.exponent),
            "windows": law.windows,
            "own_share": finite(law.own_share),
        })),
        "train_change": history.train_change.map(|change| json!({
            "old_baseline": change.old_baseline,
            "elements_before": change.before,
            "elements_now": change.now,
            "product_before_l_h": estimate(change.product_before_l_h),
            "gain_predicted_nominal_l_h": estimate(change.gain_nominal_l_h),
            "gain_predicted_minimum_l_h": estimate(change.gain_minimum_l_h),
            "gain_achieved_l_h": change.gain_achieved_l_h.map(estimate),
        })),
        "settles_in_h": finite(history.settles_in_h),
    })
}

fn health(health: &Health) -> Value {
    json!({ "working": health.working, "text": health.text })
}

fn unit(unit: &UnitView) -> Value {
    json!({
        "id": unit.id,
        "name": unit.name,
        "state": unit.state.map(|state| state.name()),
        "state_inferred": unit.state_inferred,
        "state_s": finite(unit.state_s),
        "idle_h": unit.idle_h.and_then(finite),
        "product_today_l": unit.product_today_l.and_then(finite),
        "product_conductivity_limit_us_cm_25c": unit.product_conductivity_limit.and_then(finite),
        "values": values(unit),
        "readings": unit.readings.iter().map(reading).collect::<Vec<_>>(),
        "performance": performance(unit),
        "findings": unit.findings.iter().map(|(alert, finding)| self::finding(alert, finding.as_ref())).collect::<Vec<_>>(),
        "not_computable": unit.not_computable,
        "bus_address": unit.bus_address,
        "baseline": unit.baseline.as_ref().map(baseline),
        "runs": unit.runs.iter().map(|row| run(unit, row)).collect::<Vec<_>>(),
        "history": history(&unit.history),
        "tank_rise": unit.tank_flow_l_h.map(|(value, sd)| json!({ "product_flow_l_h": finite(value), "uncertainty": { "product_flow_l_h": finite(sd) } })),
    })
}

/// JSON has no NaN: what is not a number is not known.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// Numbers under their keys with their errors and, where they are not known, the reason.
#[derive(Default)]
struct Keyed {
    values: Map<String, Value>,
    uncertainty: Map<String, Value>,
    reasons: Map<String, Value>,
}

impl Keyed {
    fn known(&mut self, key: &str, value: f64, sd: f64) {
        self.values.insert(key.to_string(), json!(finite(value)));
        self.uncertainty.insert(key.to_string(), json!(finite(sd)));
    }

    fn unknown(&mut self, key: &str, reason: &str) {
        self.values.insert(key.to_string(), Value::Null);
        self.uncertainty.insert(key.to_string(), Value::Null);
        self.reasons.insert(key.to_string(), json!(reason));
    }

    fn into_json(self) -> Value {
        let mut all = self.values;
        all.insert("uncertainty".to_string(), Value::Object(self.uncertainty));
        all.insert("reasons".to_string(), Value::Object(self.reasons));
        Value::Object(all)
    }
}

fn values(unit: &UnitView) -> Value {
    let mut keyed = Keyed::default();
    for reading in &unit.readings {
        let key = reading.quantity.json_key();
        match (reading.status, reading.value.and_then(finite)) {
            (ReadingStatus::Fresh, Some(value)) => {
                keyed.known(key, value, reading.sd);
                if words::is_named(reading.quantity) {
                    keyed.values.insert(key.to_string(), json!(words::named_value(reading.quantity, value)));
                    keyed.uncertainty.insert(key.to_string(), Value::Null);
                }
            }
            (status, value) => keyed.unknown(key, &reason(status, value.is_some(), reading.age_s)),
        }
    }
    keyed.into_json()
}

fn reason(status: ReadingStatus, had_value: bool, age_s: f64) -> String {
    match (status, had_value) {
        (ReadingStatus::Stale, _) => format!("stale: last reading {}", format::age(age_s)),
        (ReadingStatus::Doubted, _) => "doubted: stuck, contradicted or not plausible".to_string(),
        (ReadingStatus::Fresh, _) => "the sender says not available".to_string(),
    }
}

/// The reading as it stands in the table, a doubted or stale one with what it last said.
fn reading(reading: &ReadingView) -> Value {
    let fresh = reading.status == ReadingStatus::Fresh;
    let last = reading.value.and_then(finite);
    json!({
        "quantity": reading.quantity.name(),
        "key": reading.quantity.json_key(),
        "unit": unit_name(reading),
        "value": if fresh { last } else { None },
        "last_value": last,
        "uncertainty": finite(reading.sd),
        "age_s": finite(reading.age_s),
        "origin": words::origin(reading.origin),
        "status": status_name(reading.status),
        "reason": (!fresh || last.is_none()).then(|| reason(reading.status, last.is_some(), reading.age_s)),
    })
}

fn unit_name(reading: &ReadingView) -> &'static str {
    match reading.quantity.dimension() {
        Dimension::Conductivity => "µS/cm at 25 °C",
        Dimension::Pressure => "bar gauge",
        _ => reading.quantity.unit(),
    }
}

/// The word for how far a reading can be trusted.
pub fn status_name(status: ReadingStatus) -> &'static str {
    match status {
        ReadingStatus::Fresh => "fresh",
        ReadingStatus::Stale => "stale",
        ReadingStatus::Doubted => "doubted",
    }
}

/// What this sea allows.
fn performance(unit: &UnitView) -> Value {
    const FLOW: &str = "expected_product_flow_l_h";
    const CONDUCTIVITY: &str = "expected_product_conductivity_us_cm_25c";
    const ENERGY: &str = "expected_specific_energy_wh_l";
    let mut keyed = Keyed::default();
    match unit.expected {
        Some(expected) => {
            keyed.known(FLOW, expected.product_flow_l_h.0, expected.product_flow_l_h.1);
            let (value, sd) = expected.product_conductivity_us_cm;
            keyed.known(CONDUCTIVITY, value, sd);
            match expected.specific_energy_wh_l {
                Some((value, sd)) => keyed.known(ENERGY, value, sd),
                None => keyed.unknown(ENERGY, "the power of the motor is not known"),
            }
        }
        None => {
            let why = if unit.expected_missing.is_empty() {
                "not computed".to_string()
            } else {
                unit.expected_missing.join("; ")
            };
            [FLOW, CONDUCTIVITY, ENERGY].iter().for_each(|key| keyed.unknown(key, &why));
        }
    }
    let mut value = keyed.into_json();
    value["from_specification"] = json!(unit.expected.map(|expected| expected.from_specification));
    value
}

fn stamp(stamp: Stamp) -> Value {
    json!(stamp.wall_ms.and_then(format::rfc3339))
}

/// An alert with its finding.
pub fn finding(alert: &AlertRecord, finding: Option<&Finding>) -> Value {
    let texts = registry::of(alert.code);
    json!({
        "code": texts.name,
        "number": alert.code as u8,
        "about": alert.about.map(|quantity| quantity.name()),
        "severity": alert.severity.name(),
        "title": alert.title,
        "alert": {
            "state": alert.state.name(), "occurrence": alert.occurrence, "raised": stamp(alert.raised),
            "changed": stamp(alert.changed), "by": alert.by,
        },
        "measured_since_start": finding.is_some(),
        "evidence": finding.map_or_else(Vec::new, |f| f.evidence.iter().map(|e| {
            json!({ "what": e.what, "seen": e.seen, "against": e.against })
        }).collect()),
        "causes": finding.map_or_else(Vec::new, |f| f.causes.iter().map(|cause| {
            json!({ "code": cause.code, "title": cause.title, "probability": finite(cause.probability) })
        }).collect()),
        "next_measurement": finding.and_then(|f| f.next_measurement.as_ref()).map(|next| {
            json!({ "quantity": next.quantity.map(|q| q.name()), "how": next.how, "meaning": next.meaning })
        }),
        "do": texts.act.iter().map(|act| act.text).collect::<Vec<_>>(),
        "do_not": texts.act_not,
        "caution": texts.caution,
    })
}

fn run(unit: &UnitView, row: &RunRow) -> Value {
    let mut keyed = Keyed::default();
    for mean in &row.run.means {
        keyed.known(mean.quantity.json_key(), mean.value, super::page::mean_sd(mean));
    }
    match row.expected_product_flow_l_h {
        Some((value, sd)) => keyed.known("expected_product_flow_l_h", value, sd),
        None => keyed.unknown("expected_product_flow_l_h", "not computable for this run"),
    }
    json!({
        "id": row.run.id,
        "revision": row.run.revision,
        "start": stamp(row.run.start),
        "time_invented": row.run.time_invented,
        "end": end_name(row.run.end),
        "duration_s": finite(row.run.duration_s),
        "steady_s": finite(row.run.steady_s),
        "product_l": row.run.product_l.and_then(finite),
        "element_hours": row.run.element_hours.and_then(finite),
        "valve_moved": row.run.valve_moved,
        "means": keyed.into_json(),
        "standardised": standardised(unit, row),
    })
}

/// For comparison with other people's records, marked so.
fn standardised(unit: &UnitView, row: &RunRow) -> Value {
    match unit.standardised(&row.run) {
        Ok(values) => json!({
            "form": FORM,
            "product_flow_l_h": finite(values.product_flow_l_h),
            "product_flow_ratio": finite(values.flow_ratio),
            "salt_passage": finite(values.salt_passage),
            "salt_passage_ratio": finite(values.salt_passage_ratio),
        }),
        Err(why) => json!({ "form": FORM, "product_flow_l_h": null, "salt_passage": null,
            "reasons": { "product_flow_l_h": why, "salt_passage": why } }),
    }
}

fn end_name(end: barrico_model::records::RunEnd) -> &'static str {
    use barrico_model::records::RunEnd;
    match end {
        RunEnd::Open => "open",
        RunEnd::Stopped => "stopped",
        RunEnd::PowerLost => "power lost",
        RunEnd::ReadingSet => "reading set",
    }
}
