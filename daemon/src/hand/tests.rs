//! The order of the questions, what a number is taken for, and whole rounds as a person sees them.

use super::*;
use crate::settings::{Settings, UnitSettings};
use barrico_model::records::{HandReading, LogBody, LogEntry};
use barrico_model::{Quantity, Stamp};
use std::collections::BTreeMap;
use std::path::Path;

/// 2026-03-03 14:05 UTC; checked with `date -u -d @1772546700`.
const NOW: i64 = 1_772_546_700_000;

fn sample(name: &str) -> Settings {
    let file = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    crate::settings::load(Path::new(&file)).unwrap_or_else(|problems| panic!("{problems}"))
}

fn order(settings: &Settings) -> Vec<&'static str> {
    let nothing = BTreeMap::new();
    questions(settings, &settings.units[0], &nothing)
        .iter()
        .map(|question| question.quantity.name())
        .collect()
}

#[test]
fn a_unit_set_to_a_mark_by_hand_is_asked_for_its_flow_first() {
    // A check of our own rule: the crew sets the pressure, so a fault shows in the flow.
    let expected = [
        "product_flow",
        "feed_pressure",
        "feed_temperature",
        "product_conductivity",
        "concentrate_flow",
        "feed_salinity",
        "inlet_pressure",
        "run_time",
    ];
    assert_eq!(order(&sample("gauges-only-hand-set")), expected);
}

#[test]
fn a_fixed_valve_is_asked_for_its_pressure_first_and_live_sensors_are_not_asked() {
    // Temperature and engine speed come from the bus.
    let expected = [
        "feed_pressure",
        "product_flow",
        "product_conductivity",
        "concentrate_flow",
        "feed_salinity",
        "run_time",
    ];
    assert_eq!(order(&sample("one-2521-belt-fixed-valve")), expected);
}

#[test]
fn energy_recovery_is_asked_for_no_concentrate_flow() {
    // Product over feed is fixed by the pump; voltage, current and temperature come from the bus.
    let expected = [
        "feed_pressure",
        "product_flow",
        "product_conductivity",
        "feed_salinity",
        "low_side_pressure",
        "run_time",
    ];
    assert_eq!(order(&sample("one-2540-12v-energy-recovery")), expected);
}

#[test]
fn a_unit_with_sensors_is_asked_for_what_no_sensor_tells() {
    let expected = ["product_conductivity", "concentrate_flow", "feed_salinity"];
    assert_eq!(order(&sample("two-2540-ac-regulated")), expected);
}

#[test]
fn a_round_has_an_end() {
    use crate::settings::{Source, SourceRule};
    let mut settings = sample("gauges-only-hand-set");
    for quantity in Quantity::ALL {
        let rule =
            SourceRule { quantity: *quantity, source: Source::Hand, instrument: 0, stale_after_s: None };
        settings.units[0].sources.push(rule);
    }
    assert_eq!(order(&settings).len(), QUESTIONS_MAX);
}

fn unit(settings: &Settings) -> &UnitSettings {
    &settings.units[0]
}

fn ask(settings: &Settings, quantity: Quantity, typed: &str, answered: &[(Quantity, f64)]) -> Recognised {
    let answered: Answered = answered.iter().copied().collect();
    let window = window(unit(settings), quantity, &answered, None);
    recognise(settings, unit(settings), quantity, typed, window.as_ref(), None)
}

fn choices(recognised: &Recognised) -> Vec<(&str, f64)> {
    match recognised {
        Recognised::Ask { choices, .. } => {
            choices.iter().map(|c| (c.reading.typed.as_str(), c.reading.value)).collect()
        }
        other => panic!("not asked: {other:?}"),
    }
}

fn close(value: f64, expected: f64) {
    assert!((value / expected - 1.0).abs() < 1e-6, "{value} is not {expected}");
}

/// A temperature that makes the expectation one figure.
const WARM: (Quantity, f64) = (Quantity::FeedTemperature, 24.0);

#[test]
fn a_pressure_without_unit_is_psi_where_bar_cannot_be() {
    let settings = sample("gauges-only-hand-set");
    let asked = ask(&settings, Quantity::FeedPressure, "800", &[]);
    let found = choices(&asked);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "800 psi");
    // Pound-force per square inch: 6.894757 kPa (NIST SP 811, B.8).
    close(found[0].1, 800.0 * 0.068_947_57);
    assert!(matches!(asked, Recognised::Ask { first_is_usual: true, .. }));
    let asked = ask(&settings, Quantity::FeedPressure, "55", &[]);
    assert_eq!(choices(&asked), [("55 bar", 55.0)]);
    // 5.5 MPa is 55 bar; 5.5 bar and 5.5 psi are no working pressures.
    let asked = ask(&settings, Quantity::FeedPressure, "5.5", &[]);
    assert_eq!(choices(&asked), [("5.5 MPa", 55.0)]);
    let asked = ask(&settings, Quantity::FeedPressure, "800 bar", &[]);
    assert_eq!(choices(&asked)[0].0, "800 psi", "a wrong unit is asked about, not only refused");
}

#[test]
fn hours_without_unit_are_hours() {
    let settings = sample("gauges-only-hand-set");
    let last = super::Remembered { unit: "h".to_owned(), value: 600.0 * 3600.0 };
    for last in [None, Some(&last)] {
        let told = recognise(&settings, unit(&settings), Quantity::RunTime, "652", None, last);
        let Recognised::Clear(reading) = told else { panic!("{told:?}") };
        assert_eq!((reading.typed.as_str(), reading.value), ("652 h", 652.0 * 3600.0));
    }
}

#[test]
fn gallons_and_litres_are_told_apart_by_what_the_model_expects() {
    let settings = sample("gauges-only-hand-set");
    // The flow tube of the sample means US gallons; 650 US gal/day nominal is about 100 L/h.
    let asked = ask(&settings, Quantity::ProductFlow, "20", &[WARM]);
    let found = choices(&asked);
    assert_eq!(found.len(), 1, "20 L/h would be a fifth of what is expected: {found:?}");
    assert_eq!(found[0].0, "20 US gal/h");
    // US gallon 3.785412 L, imperial gallon 4.54609 L (NIST SP 811, B.8).
    close(found[0].1, 20.0 * 3.785_412);
    let mut no_gallon = sample("gauges-only-hand-set");
    no_gallon.instruments.iter_mut().for_each(|instrument| instrument.gallon = None);
    let asked = ask(&no_gallon, Quantity::ProductFlow, "20", &[WARM]);
    let found = choices(&asked);
    assert_eq!(found.iter().map(|(typed, _)| *typed).collect::<Vec<_>>(), ["20 US gal/h", "20 imp gal/h"]);
    close(found[1].1, 20.0 * 4.546_09);
    assert!(matches!(asked, Recognised::Ask { first_is_usual: false, .. }));
    assert_eq!(choices(&ask(&settings, Quantity::ProductFlow, "75", &[WARM]))[0], ("75 L/h", 75.0));
    let asked = ask(&settings, Quantity::ProductFlow, "1.4", &[WARM]);
    assert_eq!(choices(&asked)[0].0, "1.4 L/min", "84 L/h");
    // Typed with a unit that does not fit: asked, and what was typed can be kept.
    let asked = ask(&settings, Quantity::ProductFlow, "20 L/h", &[WARM]);
    assert_eq!(choices(&asked).last().map(|c| c.0), Some("20 L/h"));
    assert!(matches!(asked, Recognised::Ask { first_is_usual: false, .. }));
    assert!(matches!(ask(&settings, Quantity::ProductFlow, "75 L/h", &[WARM]), Recognised::Clear(_)));
}

#[test]
fn without_a_model_both_ways_to_read_a_number_are_asked() {
    let settings = sample("gauges-only-hand-set");
    let asked = recognise(&settings, unit(&settings), Quantity::ProductFlow, "120", None, None);
    let found = choices(&asked);
    assert!(found.contains(&("120 L/h", 120.0)));
    assert!(found.iter().any(|(typed, _)| *typed == "120 US gal/h"));
    assert!(matches!(asked, Recognised::Ask { first_is_usual: false, .. }));
}

#[test]
fn a_bare_gallon_and_a_bare_ppm_are_asked_unless_the_instrument_says() {
    let mut settings = sample("gauges-only-hand-set");
    assert!(matches!(
        ask(&settings, Quantity::ProductConductivity, "210 ppm", &[WARM]),
        Recognised::Clear(HandReading { value, .. }) if (value - 420.0).abs() < 1e-9
    ));
    settings.instruments.iter_mut().for_each(|instrument| (instrument.ppm, instrument.gallon) = (None, None));
    // 0.5 and 0.7 of the conductivity: the two scales of hand meters (common practice, no source).
    let asked = ask(&settings, Quantity::ProductConductivity, "210 ppm", &[WARM]);
    assert_eq!(choices(&asked), [("210 ppm NaCl", 420.0), ("210 ppm 442", 300.0)]);
    let asked = ask(&settings, Quantity::ProductFlow, "20 gph", &[WARM]);
    let found = choices(&asked);
    assert_eq!(found.len(), 2, "{found:?}");
    close(found[0].1, 20.0 * 3.785_412);
    close(found[1].1, 20.0 * 4.546_09);
}

#[test]
fn fahrenheit_is_recognised_where_celsius_cannot_be() {
    let settings = sample("gauges-only-hand-set");
    for typed in ["77", "77 C"] {
        let asked = ask(&settings, Quantity::FeedTemperature, typed, &[]);
        let found = choices(&asked);
        assert_eq!(found[0].0, "77 F");
        // (77 - 32) / 1.8 (NIST SP 811, B.8: temperature).
        close(found[0].1, 25.0);
    }
}

#[test]
fn a_fault_is_not_talked_away() {
    let settings = sample("gauges-only-hand-set");
    // Half the expected output and three times its salt are taken as they are.
    assert!(matches!(ask(&settings, Quantity::ProductFlow, "45 L/h", &[WARM]), Recognised::Clear(_)));
    // Sea water in the product: no other unit would explain it.
    let torn = ask(&settings, Quantity::ProductConductivity, "9000 uS/cm", &[WARM]);
    assert!(matches!(torn, Recognised::Clear(_)), "{torn:?}");
}

#[test]
fn the_unit_last_written_comes_first_and_a_struck_out_entry_is_forgotten() {
    let settings = sample("gauges-only-hand-set");
    let entry = |typed: &str, value: f64, voided: bool| LogEntry {
        id: 1,
        revision: 0,
        at: Stamp::default(),
        time_invented: false,
        by: "mate".to_owned(),
        body: LogBody::Readings(vec![HandReading {
            quantity: Quantity::ProductFlow,
            value,
            typed: typed.to_owned(),
            instrument: Some("flow-tube".to_owned()),
        }]),
        note: String::new(),
        reason: String::new(),
        voided,
        elements: vec![],
    };
    let log = [entry("18 imp gal/h", 81.8, false), entry("80 L/h", 80.0, true)];
    let known = remembered(&settings, unit(&settings), &log);
    assert_eq!(known[&Quantity::ProductFlow].unit, "imp gal/h");
    assert_eq!(questions(&settings, unit(&settings), &known)[0].unit, "imp gal/h");
    let mut settings = settings;
    settings.instruments.iter_mut().for_each(|instrument| instrument.gallon = None);
    let window = window(unit(&settings), Quantity::ProductFlow, &Answered::from([WARM]), None);
    let last = known.get(&Quantity::ProductFlow);
    let asked = recognise(&settings, unit(&settings), Quantity::ProductFlow, "20", window.as_ref(), last);
    assert_eq!(choices(&asked)[0].0, "20 imp gal/h");
    assert!(matches!(asked, Recognised::Ask { first_is_usual: true, .. }));
}

/// The round as it stands on the terminal, and how it ended.
fn session(settings: &Settings, lines: &[&str]) -> (String, Option<Outcome>) {
    let mut round = Round::new(settings, unit(settings), BTreeMap::new(), "mate", NOW);
    let mut screen = round.greeting();
    for line in lines {
        screen.push_str(&format!("{}{line}\n", round.prompt()));
        let (text, outcome) = round.hear(line);
        screen.push_str(&text);
        if outcome.is_some() {
            return (screen, outcome);
        }
    }
    (screen, None)
}

#[test]
fn a_round_with_gauges_only() {
    let settings = sample("gauges-only-hand-set");
    let lines = [
        "20 gal/h",
        "?",
        "800",
        "",
        "fresh",
        "76",
        "",
        "210 ppm",
        "5,4 L/min",
        "5.4 L/min",
        "35",
        "1",
        "6 inHg vac",
        "652 h",
        "Ines",
        "tomorrow",
        "20 min ago",
        "",
    ];
    let (screen, outcome) = session(&settings, &lines);
    insta::assert_snapshot!("round_gauges_only", screen);
    let Some(Outcome::Write { readings, by, at }) = outcome else { panic!("{outcome:?}") };
    assert_eq!((by.as_str(), at), ("Ines", Some(NOW - 20 * 60_000)));
    assert!(
        readings.iter().any(|r| r.typed == "800 psi" && r.instrument.as_deref() == Some("pressure-gauge"))
    );
}

#[test]
fn a_round_for_energy_recovery_corrected_at_the_end() {
    let settings = sample("one-2540-12v-energy-recovery");
    let lines = ["40 bar", "42", "", "520", "1", "", "8 bar", "", "", "tomorrow", "", "2", "43 L/h", "n"];
    let (screen, outcome) = session(&settings, &lines);
    insta::assert_snapshot!("round_energy_recovery", screen);
    assert_eq!(outcome, Some(Outcome::Nothing));
}

#[test]
fn a_round_where_nothing_is_read_writes_nothing() {
    let settings = sample("two-2540-ac-regulated");
    let (screen, outcome) = session(&settings, &["", "", ""]);
    insta::assert_snapshot!("round_nothing_read", screen);
    assert_eq!(outcome, Some(Outcome::Nothing));
}
