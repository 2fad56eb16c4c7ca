//! What the reader takes, what it refuses, and with which words.

use super::super::facts::Role;
use super::super::{Deciding, Position, parse};
use super::{sample, samples, with, without};
use crate::quantity_text::TEXT_CHARS_MAX;
use barrico_model::Quantity;
use serde_json::{Value, json};

fn problems(case: &Value) -> Vec<(String, String, String)> {
    match parse(&case.to_string()) {
        Ok(_) => vec![],
        Err(problems) => problems.0.into_iter().map(|p| (p.pointer, p.message, p.help)).collect(),
    }
}

/// Exactly one problem, at this place, with these words in message or remedy.
fn one(case: &Value, pointer: &str, part: &str) {
    let all = problems(case);
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(all[0].0, pointer, "{all:?}");
    assert!(all[0].1.contains(part) || all[0].2.contains(part), "no `{part}` in {all:?}");
    assert!(!all[0].2.is_empty());
}

#[test]
fn the_samples_hold() {
    for (path, case) in samples() {
        assert!(problems(&case).is_empty(), "{path}: {:?}", problems(&case));
    }
}

#[test]
fn readings_become_sets_by_time_and_keep_their_instruments() {
    let case = parse(&sample().to_string()).expect("it holds");
    assert_eq!((case.question.baseline.len(), case.question.readings.len()), (2, 1));
    let set = &case.question.readings[0];
    assert_eq!((set.readings.len(), set.by.as_str()), (5, "owner"));
    assert_eq!(set.readings[0].instrument.as_deref(), Some("feed-gauge"));
    assert_eq!(case.question.context.position, Some(Position::OpenSea));
    assert_eq!(case.expectations.causes, ["pump-worn"]);
    assert_eq!(case.expectations.deciding, [Deciding::Quantity(Quantity::ConcentrateFlow)]);
    // An instrument that is named by its bare kind is there without being described.
    assert!(case.question.settings.instruments.iter().any(|instrument| instrument.id == "jug"));
}

#[test]
fn readings_half_an_hour_apart_are_two_sets() {
    let later = |time: &str| with("/readings/4/time", json!(time));
    let sets = |case: &Value| parse(&case.to_string()).expect("it holds").question.readings.len();
    assert_eq!(sets(&later("2026-08-14T18:00:00Z")), 1);
    assert_eq!(sets(&later("2026-08-14T18:00:01Z")), 2);
    assert_eq!(sets(&later("2026-08-14T20:00:00+02:00")), 1, "the offset counts");
}

#[test]
fn wrong_keys_and_types_are_named_with_pointer_and_remedy() {
    one(&with("/partz", json!({})), "/partz", "unknown key");
    one(&without("/readings"), "/readings", "missing");
    one(
        &with("/readings/0/quantity", json!("feed_presure")),
        "/readings/0/quantity",
        "did you mean `feed_pressure`",
    );
    one(&with("/readings/0/value", json!(55)), "/readings/0/value", "with its unit");
    one(&with("/readings/0/value", json!("55")), "/readings/0/value", "the unit is missing");
    one(&with("/readings/0/value", json!("55,5 bar")), "/readings/0/value", "`55.5`");
    one(&with("/readings/0/value", json!("35 g/kg")), "/readings/0/value", "pressure");
    one(&with("/readings/0/value", json!("-1.2 bar")), "/readings/0/value", "below -1 bar");
    one(
        &with("/readings/0/value", json!("x".repeat(TEXT_CHARS_MAX + 1))),
        "/readings/0/value",
        "not a number",
    );
    one(
        &with("/readings/0/instrument", json!("feed-guage")),
        "/readings/0/instrument",
        "did you mean `feed-gauge`",
    );
    one(&with("/readings/0/time", json!("yesterday")), "/readings/0/time", "2026-03-03T14:05:00Z");
    one(&with("/readings/0/by", json!(null)), "/readings/0/by", "leave the key out");
    let mut nothing = with("/readings", json!([]));
    nothing["log"] = json!([]);
    one(&nothing, "/readings", "there is no reading");
    one(&with("/log/0/event", json!("filter-chnaged")), "/log/0/event", "did you mean `filter-changed`");
    one(&with("/context/position", json!("moon")), "/context/position", "open-sea");
    one(&with("/context/minutes_since_start", json!(-1)), "/context/minutes_since_start", "from 0 to");
    one(
        &with("/context/minutes_since_start", json!("60 min")),
        "/context/minutes_since_start",
        "its unit is in the key",
    );
    one(&with("/schema_version", json!(3)), "/schema_version", "version 1 and 2");
    one(&with("/decidable", json!("yes")), "/decidable", "without quotes");
    one(&with("/deciding_reading", json!("jug")), "/deciding_reading", "not a quantity");
    one(&with("/forbidden_claims", json!("membrane-fouled")), "/forbidden_claims", "a list");
    let twice = json!({ "quantity": "feed_pressure", "value": "56 bar", "time": "2026-08-14T17:30:00Z" });
    one(&with("/readings/1", twice), "/readings/1", "a second value of feed_pressure");
}

/// Parts are checked by the settings; the place is one in the case, and the remedy speaks of the case.
#[test]
fn wrong_parts_are_named_by_pointers_into_the_case() {
    one(&with("/parts/pump/flow", json!("6 bar")), "/parts/pump/flow", "flow");
    one(&with("/parts/pump/floww", json!("6 L/min")), "/parts/pump/floww", "unknown key");
    one(&without("/parts/pump/flow"), "/parts/pump/flow", "add to `parts.pump`");
    one(
        &with("/parts/elements/0/area", json!("2600 m2")),
        "/parts/elements/0/area",
        "outside what is possible",
    );
    one(&with("/parts/pressure_control", json!(null)), "/parts/pressure_control", "null");
    one(&with("/instruments/feed-gauge/kind", json!("guage")), "/instruments/feed-gauge/kind", "gauge");
    one(&with("/parts", json!("one 2540")), "/parts", "an object is expected");
}

#[test]
fn all_problems_are_reported_at_once() {
    let mut case = with("/readings/0/value", json!("55"));
    case["log"][0]["event"] = json!("picnic");
    case["parts"]["pump"]["kind"] = json!("steam");
    case["context"]["days_idle"] = json!("two");
    let places: Vec<String> = problems(&case).into_iter().map(|(pointer, ..)| pointer).collect();
    for place in ["/readings/0/value", "/log/0/event", "/parts/pump/kind", "/context/days_idle"] {
        assert!(places.iter().any(|found| found == place), "{place} not in {places:?}");
    }
}

#[test]
fn what_is_no_case_file_is_refused() {
    let refused = |text: &str| parse(text).expect_err("refused").to_string();
    assert!(refused("").contains("not JSON"));
    assert!(refused("[1]").contains("an object is expected"));
    assert!(refused("{").contains("1 problem in the case file"));
    assert!(refused(&format!("\"{}\"", "x".repeat(super::super::FILE_BYTES_MAX))).contains("larger than"));
    // JSON has no word for what is not finite; a number beyond the range of numbers is no JSON here.
    assert!(refused("{\"context\": {\"days_idle\": 1e999}}").contains("not JSON"));
}

/// A second value of the same quantity is evidence, not a present value; the engine gets one of each.
#[test]
fn what_stands_beside_is_kept_apart_from_the_readings() {
    let mut case = with("/observations", json!([{ "observation": "gauge-swings", "seen": false }]));
    let more = [
        json!({ "quantity": "feed_pressure", "value": "52 bar", "second_instrument": true }),
        json!({ "quantity": "product_conductivity", "value": "900 uS/cm", "element": 1 }),
        json!({ "quantity": "supply_voltage", "value": "229 V", "sender": "a" }),
        json!({ "quantity": "supply_voltage", "value": "12 V", "sender": "b", "unchanged_minutes": 40 }),
        json!({ "quantity": "inlet_pressure", "value": "0.4 bar", "sender": "a", "unchanged_minutes": 5 }),
        json!({ "quantity": "product_temperature", "value": "-50 C", "impossible": true }),
    ];
    case["readings"].as_array_mut().expect("a list").extend(more);
    let facts = parse(&case.to_string()).expect("it holds").question.facts;
    let roles: Vec<&Role> = facts.beside.iter().map(|beside| &beside.role).collect();
    let sender = |name: &str| Role::Sender(name.to_string());
    let wanted = [Role::SecondInstrument, Role::Element(1), sender("a"), sender("b"), Role::Impossible];
    assert_eq!(roles, wanted.iter().collect::<Vec<_>>());
    assert_eq!(facts.unchanged.len(), 2);
    assert!(!facts.observations[0].seen);
    assert!(facts.not_weighed().is_empty(), "every observation belongs to a cause");
    assert_eq!(facts.words().len(), 5 + 2 + 1);
    let sets = parse(&case.to_string()).expect("it holds").question.readings;
    assert_eq!(
        sets.iter().map(|set| set.readings.len()).sum::<usize>(),
        5 + 1,
        "the inlet pressure has one sender"
    );
}

#[test]
fn wrong_observations_details_and_roles_are_named() {
    one(
        &with("/observations", json!([{ "observation": "gauge-swing" }])),
        "/observations/0/observation",
        "did you mean `gauge-swings`",
    );
    one(&with("/log/0/details", json!({ "agent": "soap" })), "/log/0/details/agent", "detergent");
    one(&with("/log/0/details", json!({ "ph": 15 })), "/log/0/details/ph", "from 0 to 14");
    one(&with("/readings/0/element", json!(0)), "/readings/0/element", "from 1 to 8");
    one(&with("/readings/0/impossible", json!("yes")), "/readings/0/impossible", "without quotes");
    one(&with("/deciding_reading", json!(["inspection", "jug"])), "/deciding_reading/1", "not a quantity");
    one(&with("/tier", json!("rumour")), "/tier", "reported");
}

/// What was done stays in the log of the unit, in words.
#[test]
fn details_of_an_event_are_kept_in_its_note() {
    let details = json!({ "agent": "alkaline", "ph": 11, "temperature_c": 30, "minutes": 45 });
    let case = parse(&with("/log/0/details", details).to_string()).expect("it holds");
    assert_eq!(case.question.events[0].note, "agent: alkaline, pH 11, 30 °C, 45 min");
    assert_eq!(case.question.facts.details[0].1.agent, Some("alkaline"));
}
