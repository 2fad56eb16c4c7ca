//! `expect` on the samples: every key is there, every `null` has its reason, what was assumed is said.

use super::*;
use crate::settings::{Settings, load};

fn sample(name: &str) -> Settings {
    let file = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    load(Path::new(&file)).expect("the sample holds")
}

fn given(settings: &Settings, values: &[(Quantity, &str)]) -> Vec<HandReading> {
    let read = |(quantity, typed): &(Quantity, &str)| {
        crate::case::reading(settings, &settings.units[0], *quantity, typed, None).expect("a reading")
    };
    values.iter().map(read).collect()
}

/// As with `--from-parts-list`: whatever history the machine of the test may have.
fn sheets(settings: &Settings) -> Ground {
    Ground::of(settings, &settings.units[0], true).expect("from sheets")
}

const KEYS: [&str; 13] = [
    "product_flow_l_h",
    "product_tds_mg_l",
    "product_conductivity_us_cm_25c",
    "recovery",
    "feed_flow_l_h",
    "feed_pressure_bar_gauge",
    "concentrate_flow_l_h",
    "concentrate_salinity_g_kg",
    "shaft_power_w",
    "supply_power_w",
    "supply_current_a",
    "specific_energy_wh_l",
    "elements",
];

#[test]
fn every_key_is_there_with_its_uncertainty_or_a_reason() {
    for (name, elements) in [
        ("two-2540-ac-regulated", 2),
        ("one-2521-belt-fixed-valve", 1),
        ("one-2540-12v-energy-recovery", 1),
        ("gauges-only-hand-set", 1),
    ] {
        let settings = sample(name);
        let given = given(&settings, &[(Quantity::FeedTemperature, "20 C")]);
        let json = Answer::new(&settings.units[0], &given, sheets(&settings)).expect(name).json();
        for key in KEYS {
            let value = json.get(key).unwrap_or_else(|| panic!("{name}: {key}"));
            if value.is_null() {
                assert!(json["reasons"][key].is_string(), "{name}: no reason for {key}");
            } else if key != "elements" {
                let sd = json["uncertainty"][key].as_f64().unwrap_or_else(|| panic!("{name}: sd of {key}"));
                assert!(0.0 <= sd && sd < value.as_f64().expect("a number"), "{name}: {key} ± {sd}");
            }
        }
        let list = json["elements"].as_array().expect("a list");
        assert_eq!(list.len(), elements, "{name}");
        assert!(list.iter().all(|element| KEYS[..8].iter().all(|key| element[*key].is_f64())), "{name}");
        assert!(
            json["specific_energy_boundary"].as_str().is_some_and(|text| text.contains("pump")),
            "{name}"
        );
        assert!(!json["notes"].as_array().expect("a list").is_empty(), "{name}");
    }
}

/// A belt has no current; the energy is then counted at the shaft.
#[test]
fn without_an_electric_motor_current_and_supply_power_have_a_reason_and_no_number() {
    let settings = sample("one-2521-belt-fixed-valve");
    let given = given(&settings, &[(Quantity::FeedTemperature, "20 C")]);
    let json = Answer::new(&settings.units[0], &given, sheets(&settings)).expect("computed").json();
    assert!(json["supply_current_a"].is_null() && json["supply_power_w"].is_null());
    assert!(json["reasons"]["supply_current_a"].as_str().expect("a reason").contains("no electric motor"));
    assert!(json["specific_energy_boundary"].as_str().expect("a text").contains("shaft"));
}

#[test]
fn a_salinity_that_was_not_given_is_assumed_and_said_and_widens_the_answer() {
    let settings = sample("two-2540-ac-regulated");
    let unit = &settings.units[0];
    let base = [(Quantity::FeedTemperature, "20 C"), (Quantity::FeedPressure, "55 bar")];
    let usual = given(&settings, &base);
    let known = given(&settings, &[base[0], base[1], (Quantity::FeedSalinity, "37 g/kg")]);
    let (usual, known) = (
        Answer::new(unit, &usual, sheets(&settings)).expect("a"),
        Answer::new(unit, &known, sheets(&settings)).expect("b"),
    );
    assert!(
        usual.assumed.iter().any(|text| text.contains("37.0 ± 2.9 g/kg") && text.contains("usual")),
        "{:?}",
        usual.assumed
    );
    assert!(!known.assumed.iter().any(|text| text.contains("salinity")));
    assert!(known.expected.uncertainty.product_flow_l_h < usual.expected.uncertainty.product_flow_l_h);

    let mut elsewhere = unit.clone();
    elsewhere.usual_feed_salinity = None;
    let open = Answer::new(&elsewhere, usual.given, sheets(&settings)).expect("c");
    assert!(open.assumed[0].contains("open sea"), "{:?}", open.assumed);
    assert_eq!(open.json()["uncertainty"]["feed_salinity_g_kg"], 3.0);
}

#[test]
fn without_a_temperature_nothing_is_computed_and_the_option_is_named() {
    let settings = sample("two-2540-ac-regulated");
    let error = Answer::new(&settings.units[0], &[], sheets(&settings)).err().expect("refused").to_string();
    assert!(error.contains("--feed-temperature '20 C'"), "{error}");
}

#[test]
fn the_text_fits_a_terminal_and_says_what_the_numbers_are() {
    let settings = sample("two-2540-ac-regulated");
    let given = given(&settings, &[(Quantity::FeedTemperature, "28 C"), (Quantity::FeedSalinity, "5 g/kg")]);
    let text =
        Answer::new(&settings.units[0], &given, sheets(&settings)).expect("computed").text(Units::Metric);
    for line in text.lines() {
        assert!(line.chars().count() <= super::super::print::WIDTH, "{line}");
    }
    // Brackish water in a unit made for the sea: the limit of the element is what matters.
    for part in ["Product flow", "product limit", "microbes", "unit's manual", "Energy is counted"] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(part), "no {part} in\n{text}");
    }
}
