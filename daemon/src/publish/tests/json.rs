//! The shape of JSON and metrics: keys, siblings, reasons beside nulls.

use super::views;
use crate::engine::view::ReadingStatus;
use crate::publish::{json, metrics};
use serde_json::{Value, json};

#[test]
fn a_fresh_value_stands_under_its_key_with_its_error_beside() {
    let state = json::state(&views::healthy());
    assert_eq!(state["schema"], "barrico-state");
    assert_eq!(state["schema_version"], json::SCHEMA_VERSION);
    assert_eq!(state["time"], "2026-03-03T14:05:12.000Z");
    let values = &state["units"][0]["values"];
    assert_eq!(values["feed_pressure_bar_gauge"], 55.2);
    assert_eq!(values["uncertainty"]["feed_pressure_bar_gauge"], 0.55);
    assert_eq!(values["product_route"], "tank");
    assert_eq!(state["units"][0]["performance"]["expected_product_flow_l_h"], 74.0);
    assert_eq!(state["units"][0]["state"], "running");
}

#[test]
fn a_value_that_is_not_fresh_is_null_with_a_reason() {
    let state = json::state(&views::findings());
    let values = &state["units"][0]["values"];
    assert_eq!(values["feed_pressure_bar_gauge"], Value::Null);
    assert_eq!(values["reasons"]["feed_pressure_bar_gauge"], "stale: last reading 44 min ago");
    let readings = state["units"][0]["readings"].as_array().unwrap();
    let pressure = readings.iter().find(|reading| reading["quantity"] == "feed_pressure").unwrap();
    assert_eq!((&pressure["value"], &pressure["last_value"]), (&Value::Null, &json!(55.2)));
}

/// Every null among values has a reason, whatever the state.
#[test]
fn no_null_is_without_a_reason() {
    fn check(value: &Value, path: &str) {
        let Value::Object(map) = value else {
            value.as_array().into_iter().flatten().for_each(|item| check(item, path));
            return;
        };
        if let (Some(reasons), Some(_)) = (map.get("reasons"), map.get("uncertainty")) {
            for key in map
                .keys()
                .filter(|key| key.contains("_l_h") || key.contains("_bar") || key.contains("_us_cm"))
            {
                assert_eq!(map[key].is_null(), reasons.get(key).is_some(), "{path}/{key}");
                assert!(map["uncertainty"].get(key).is_some(), "{path}/{key}");
            }
        }
        map.iter().for_each(|(key, value)| check(value, &format!("{path}/{key}")));
    }
    let mut not_numbers = views::healthy();
    not_numbers.units[0].readings[2].value = Some(f64::NAN);
    not_numbers.units[0].readings[2].status = ReadingStatus::Fresh;
    for view in [views::healthy(), views::findings(), views::nothing_known(), views::hostile(), not_numbers] {
        check(&json::state(&view), "");
    }
}

#[test]
fn findings_carry_everything_a_person_needs() {
    let state = json::state(&views::findings());
    let finding = &state["units"][0]["findings"][0];
    for key in
        ["code", "severity", "title", "evidence", "causes", "next_measurement", "do", "do_not", "caution"]
    {
        assert!(finding.get(key).is_some(), "{key}");
    }
    assert_eq!(finding["causes"][0]["probability"], 0.55);
    assert_eq!(finding["alert"]["state"], "raised");
}

#[test]
fn metrics_have_a_gap_where_a_reading_is_not_fresh() {
    let text = metrics::text(&views::findings());
    assert!(text.contains("barrico_reading{unit=\"main\",key=\"product_flow_l_h\"} 54\n"));
    assert!(!text.contains("key=\"feed_pressure_bar_gauge\""));
    assert!(text.contains("barrico_unit_state{unit=\"main\",state=\"running\"} 1\n"));
    assert!(text.contains("barrico_findings{unit=\"main\",severity=\"advice\"} 1\n"));
    assert!(!metrics::text(&views::nothing_known()).contains("barrico_unit_state{"));
}
