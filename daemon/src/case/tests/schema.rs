//! The committed schema against the code, the settings document and the samples.
//!
//! A small reader of the few schema words used here (JSON Schema 2020-12); a word it does not know fails, so the schema cannot say more than is tested.

use super::super::context::{
    AGENTS, CONTEXT_KEYS, DETAILS_KEYS, EVENT_KEYS, EVENT_NEEDED, OBSERVATION_KEYS, OBSERVATION_NEEDED,
};
use super::super::expectations::Tier;
use super::super::read::{BASELINE_KEYS, EVENTS_MAX, KEYS, KINDS, NEEDED, OBSERVATIONS_MAX, READINGS_MAX};
use super::super::readings::{READING_KEYS, READING_NEEDED};
use super::super::walk::TEXT_CHARS_MAX;
use super::super::{Deciding, Position, Tide, parse};
use super::{sample, samples, with, without};
use barrico_model::Quantity;
use barrico_model::judgement::observation_list;
use barrico_model::records::EventKind;
use serde_json::{Value, json};
use std::collections::BTreeSet;

fn schema() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/case.schema.json");
    serde_json::from_str(&std::fs::read_to_string(path).expect("readable")).expect("JSON")
}

/// Why a value does not meet a schema; empty: it does.
fn faults(root: &Value, schema: &Value, value: &Value, place: &str) -> Vec<String> {
    let mut out = Vec::new();
    for (word, rule) in schema.as_object().expect("a schema is an object") {
        let holds = match word.as_str() {
            "$schema" | "title" | "description" | "$defs" | "properties" | "format" => true,
            "$ref" => {
                let pointer =
                    rule.as_str().and_then(|text| text.strip_prefix('#')).expect("a local reference");
                out.extend(faults(root, root.pointer(pointer).expect("it is defined"), value, place));
                true
            }
            "type" => match rule {
                Value::Array(types) => types.iter().any(|one| is_type(value, one)),
                one => is_type(value, one),
            },
            "const" => value == rule,
            "enum" => rule.as_array().expect("a list").contains(value),
            "anyOf" => {
                rule.as_array().expect("a list").iter().any(|one| faults(root, one, value, place).is_empty())
            }
            "minLength" => {
                value.as_str().is_none_or(|text| rule.as_u64() <= Some(text.trim().chars().count() as u64))
            }
            "maxLength" => {
                value.as_str().is_none_or(|text| Some(text.chars().count() as u64) <= rule.as_u64())
            }
            "minimum" => value.as_f64().is_none_or(|number| rule.as_f64() <= Some(number)),
            "maximum" => value.as_f64().is_none_or(|number| Some(number) <= rule.as_f64()),
            "minItems" => value.as_array().is_none_or(|list| rule.as_u64() <= Some(list.len() as u64)),
            "maxItems" => value.as_array().is_none_or(|list| Some(list.len() as u64) <= rule.as_u64()),
            "required" => {
                let wanted = rule.as_array().expect("a list");
                value.as_object().is_none_or(|map| {
                    wanted.iter().all(|key| map.contains_key(key.as_str().expect("a name")))
                })
            }
            "items" => {
                for (at, item) in value.as_array().into_iter().flatten().enumerate() {
                    out.extend(faults(root, rule, item, &format!("{place}/{at}")));
                }
                true
            }
            "additionalProperties" => true,
            other => panic!("the schema word `{other}` is not tested"),
        };
        if !holds {
            out.push(format!("{place}: {word}"));
        }
    }
    for (key, item) in value.as_object().into_iter().flatten() {
        let place = format!("{place}/{key}");
        match (schema.get("properties").and_then(|known| known.get(key)), schema.get("additionalProperties"))
        {
            (Some(rule), _) => out.extend(faults(root, rule, item, &place)),
            (None, Some(Value::Bool(false))) => out.push(format!("{place}: additionalProperties")),
            (None, Some(rule)) => out.extend(faults(root, rule, item, &place)),
            (None, None) => {}
        }
    }
    out
}

fn is_type(value: &Value, name: &Value) -> bool {
    match name.as_str().expect("a name") {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        other => panic!("the type `{other}` is not tested"),
    }
}

#[test]
fn samples_meet_the_schema() {
    let schema = schema();
    for (path, case) in samples() {
        assert_eq!(faults(&schema, &schema, &case, ""), Vec::<String>::new(), "{path}");
    }
}

/// What breaks the schema breaks the reader. The reader is stricter: units, ranges and times are beyond a schema.
#[test]
fn what_the_schema_refuses_the_reader_refuses_too() {
    let schema = schema();
    let broken = [
        with("/partz", json!({})),
        without("/parts"),
        without("/readings"),
        with("/readings/0/quantity", json!("wind")),
        with("/readings/0/value", json!(55)),
        with("/readings/0/colour", json!("red")),
        without("/readings/0/value"),
        with("/log/0/event", json!("picnic")),
        without("/log/0/event"),
        with("/context/position", json!("moon")),
        with("/context/days_idle", json!(3651)),
        with("/context/minutes_since_start", json!(-1)),
        with("/schema_version", json!(3)),
        with("/observations", json!([{ "observation": "gauge-swing" }])),
        with("/observations", json!([{ "seen": true }])),
        with("/readings/0/element", json!(9)),
        with("/log/0/details", json!({ "agent": "soap" })),
        with("/context/tide", json!("high")),
        with("/deciding_reading", json!(["jug"])),
        with("/tier", json!("rumour")),
        with("/name", json!("")),
        with("/name", json!("x".repeat(TEXT_CHARS_MAX + 1))),
        with("/decidable", json!("yes")),
        with("/expect_cause", json!([""])),
        with("/forbidden_claims", json!("membrane-fouled")),
        with("/baseline", json!({})),
        with("/parts/pump/kind", json!("steam")),
        with("/parts/elements", json!([])),
        without("/parts/elements/0/area"),
        without("/parts/drive"),
        with("/parts/parallel_trains", json!(9)),
        with("/parts/limits/feed_pressure", json!(65)),
        with("/instruments/feed-gauge/kind", json!("guage")),
        with("/instruments/feed-gauge/range", json!("100 bar")),
    ];
    let mut empty = with("/readings", json!([]));
    empty["log"] = json!([]);
    for case in broken.into_iter().chain([empty]) {
        assert!(!faults(&schema, &schema, &case, "").is_empty(), "the schema takes {case}");
        assert!(parse(&case.to_string()).is_err(), "the reader takes {case}");
    }
    assert!(parse(&sample().to_string()).is_ok());
}

fn names<'a>(list: impl IntoIterator<Item = &'a str>) -> BTreeSet<String> {
    list.into_iter().map(str::to_string).collect()
}

fn keys(schema: &Value, pointer: &str) -> BTreeSet<String> {
    let map = schema.pointer(pointer).and_then(Value::as_object).unwrap_or_else(|| panic!("{pointer}"));
    map.keys().cloned().collect()
}

fn list(schema: &Value, pointer: &str) -> BTreeSet<String> {
    let list = schema.pointer(pointer).and_then(Value::as_array).unwrap_or_else(|| panic!("{pointer}"));
    list.iter().map(|item| item.as_str().expect("a text").to_string()).collect()
}

#[test]
fn keys_words_and_limits_are_those_of_the_code() {
    let schema = schema();
    assert_eq!(keys(&schema, "/properties"), names(KEYS));
    assert_eq!(list(&schema, "/required"), names(NEEDED));
    assert_eq!(keys(&schema, "/properties/baseline/properties"), names(BASELINE_KEYS));
    assert_eq!(keys(&schema, "/$defs/reading/properties"), names(READING_KEYS));
    assert_eq!(list(&schema, "/$defs/reading/required"), names(READING_NEEDED));
    assert_eq!(keys(&schema, "/$defs/event/properties"), names(EVENT_KEYS));
    assert_eq!(list(&schema, "/$defs/event/required"), names(EVENT_NEEDED));
    assert_eq!(keys(&schema, "/$defs/context/properties"), names(CONTEXT_KEYS));
    assert_eq!(list(&schema, "/$defs/quantity/enum"), names(Quantity::ALL.iter().map(|q| q.name())));
    assert_eq!(
        list(&schema, "/$defs/event/properties/event/enum"),
        names(EventKind::ALL.iter().map(|(name, _)| *name))
    );
    assert_eq!(
        list(&schema, "/$defs/context/properties/position/enum"),
        names(Position::ALL.iter().map(|(name, _)| *name))
    );
    assert_eq!(keys(&schema, "/$defs/event/properties/details/properties"), names(DETAILS_KEYS));
    assert_eq!(keys(&schema, "/$defs/observation/properties"), names(OBSERVATION_KEYS));
    assert_eq!(list(&schema, "/$defs/observation/required"), names(OBSERVATION_NEEDED));
    assert_eq!(
        list(&schema, "/$defs/observation/properties/observation/enum"),
        names(observation_list::ALL.iter().map(|known| known.code))
    );
    let words = |pointer: &str, known: &[&'static str]| {
        assert_eq!(list(&schema, pointer), names(known.iter().copied()), "{pointer}");
    };
    words("/$defs/event/properties/details/properties/agent/enum", &AGENTS.map(|(word, _)| word));
    words("/$defs/context/properties/tide/enum", &Tide::ALL.map(|(word, _)| word));
    words("/$defs/deciding/anyOf/1/enum", &Deciding::WORDS.map(|(word, _)| word));
    words("/properties/tier/enum", &Tier::ALL.map(|(word, _)| word));
    assert_eq!(schema["properties"]["observations"]["maxItems"], OBSERVATIONS_MAX);
    assert_eq!(list(&schema, "/$defs/instrument/properties/kind/enum"), names(KINDS));
    assert_eq!(schema["$defs"]["readings"]["maxItems"], READINGS_MAX);
    assert_eq!(schema["properties"]["log"]["maxItems"], EVENTS_MAX);
    assert_eq!(schema["$defs"]["text"]["maxLength"], TEXT_CHARS_MAX);
}

/// Parts and instruments against the document of the settings, which a test of the settings holds against their code.
#[test]
fn parts_have_the_keys_of_the_settings() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/settings.md");
    let text = std::fs::read_to_string(path).expect("readable");
    let mut documented: BTreeSet<String> = BTreeSet::new();
    let mut table = String::new();
    for line in text.lines() {
        if let Some(header) = line.strip_prefix("## `") {
            table = header.trim_matches(|c| matches!(c, '[' | ']' | '`')).to_string();
        } else if line.starts_with("| `") && line.matches('|').count() == 5 {
            let key = line.split('`').nth(1).expect("a key in quotes");
            documented.insert(format!("{table}.{key}"));
        }
    }
    let schema = schema();
    let mut described = BTreeSet::new();
    describe(&schema, &schema["$defs"]["parts"], "units.<id>", &mut described);
    describe(&schema, &schema["$defs"]["instrument"], "instruments.<id>", &mut described);
    let wanted: BTreeSet<String> = documented
        .into_iter()
        .filter(|key| key.starts_with("units.") || key.starts_with("instruments."))
        .collect();
    assert_eq!(described, wanted);
}

/// Every key below a schema that holds a value and not more keys.
fn describe(root: &Value, schema: &Value, prefix: &str, out: &mut BTreeSet<String>) {
    for (key, rule) in schema["properties"].as_object().into_iter().flatten() {
        let rule = match rule.get("$ref").and_then(Value::as_str) {
            Some(reference) => root.pointer(reference.trim_start_matches('#')).expect("it is defined"),
            None => rule,
        };
        let prefix = format!("{prefix}.{key}");
        let below = [rule, &rule["items"], &rule["additionalProperties"]]
            .into_iter()
            .find(|below| below["properties"].is_object());
        match below {
            Some(below) if std::ptr::eq(below, &rule["additionalProperties"]) => {
                describe(root, below, &format!("{prefix}.<id>"), out)
            }
            Some(below) => describe(root, below, &prefix, out),
            None => {
                out.insert(prefix);
            }
        }
    }
}
