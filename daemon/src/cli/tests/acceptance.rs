//! The acceptance record from a case and from a log: what is read is what was written, and every document stands alone.

use super::*;
use crate::publish::sheet::Document;
use crate::publish::sheet::tests::assert_self_contained;
use barrico_model::{Monotonic, Stamp};

#[derive(clap::Parser)]
struct Line {
    #[command(flatten)]
    arguments: Arguments,
}

fn options(arguments: &[&str]) -> Options {
    let line = ["report", "--acceptance"].into_iter().chain(arguments.iter().copied());
    <Line as clap::Parser>::try_parse_from(line).unwrap_or_else(|error| panic!("{error}")).arguments.with
}

fn sample(arguments: &[&str]) -> Source {
    let file = format!("{}/examples/cases/acceptance.json", env!("CARGO_MANIFEST_DIR"));
    from_case(Path::new(&file), &options(arguments)).expect("the sample holds")
}

/// 2026-04-15 09:00 UTC; checked with `date -u -d @1776243600`.
const NINE: WallMs = 1_776_243_600_000;

#[test]
fn the_sample_is_valid_and_its_record_has_everything_a_surveyor_asks_for() {
    let source = sample(&[]);
    assert_eq!(source.sets.len(), SETS);
    assert_eq!(source.sets[0].at, Some(NINE));
    let (acceptance, record) = source.judged(Some(NINE));
    assert_eq!(acceptance.obstacles, []);
    let (text, html) = (text(&record), record.html().unwrap());
    assert_self_contained(&html);
    for shown in [&text, &html] {
        let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [
            "E-0101",
            "E-0102",
            "test-gauge",
            "2026-03-20",
            "A. Mate",
            "54.5 mS/cm",
            "138 L/h",
            sheet::D4516,
            "99.20 %",
            "microbes",
        ] {
            assert!(shown.contains(part), "no {part} in\n{shown}");
        }
    }
    assert!(html.contains("Signatures"));
    assert!(text.lines().all(|line| line.chars().count() <= crate::cli::print::WIDTH), "{text}");
}

#[test]
fn the_json_keeps_raw_readings_units_and_reasons() {
    let source = sample(&[]);
    let (acceptance, record) = source.judged(None);
    let json = source.json(&acceptance, &record);
    assert_eq!(json["schema"], "barrico-acceptance");
    assert_eq!(json["sets"].as_array().map(Vec::len), Some(3));
    assert_eq!(json["sets"][0]["readings"].as_array().map(Vec::len), Some(6));
    let flow = &json["product_flow"];
    let number = |key: &str| flow[key].as_f64().unwrap_or_else(|| panic!("{key} in {flow}"));
    // Mean of 138, 140 and 137 L/h.
    assert!((number("read_l_h") - 138.333).abs() < 0.01);
    assert!((number("ratio_to_minimum") - number("read_l_h") / number("minimum_l_h")).abs() < 1e-4);
    assert!(
        number("ratio_low_95") < number("ratio_to_minimum") && number("minimum_l_h") < number("nominal_l_h")
    );
    assert!(
        json["standardised"]["product_flow_l_h"].is_f64() && json["standardised"]["form"] == sheet::D4516
    );
}

#[test]
fn an_event_or_the_option_tells_of_the_rinse_and_nothing_else_does() {
    let event = |kind, at| Event { at, kind, by: "mate".to_owned(), note: String::new() };
    let told = |said, events: &[Event]| rinse(said, events, Some(NINE)).0;
    assert!(told(true, &[]) && !told(false, &[]));
    assert!(told(false, &[event(EventKind::Flushed, Some(NINE - RINSE_MS))]));
    assert!(!told(false, &[event(EventKind::Flushed, Some(NINE - RINSE_MS - 1))]), "too long ago");
    assert!(!told(false, &[event(EventKind::Flushed, Some(NINE + 1))]), "after the readings");
    let preserved = event(EventKind::Preserved, Some(NINE - 60_000));
    assert!(!told(false, &[event(EventKind::Flushed, Some(NINE - 120_000)), preserved]));
    assert!(!told(false, &[event(EventKind::FilterChanged, Some(NINE - 60_000))]));
}

fn entry(id: u64, minute: i64, readings: &[(Quantity, f64)]) -> LogEntry {
    let readings = readings.iter().map(|(quantity, value)| HandReading {
        quantity: *quantity,
        value: *value,
        typed: value.to_string(),
        instrument: None,
    });
    LogEntry {
        id,
        revision: 0,
        at: Stamp { boot: 1, monotonic: Monotonic(0), wall_ms: Some(NINE + minute * 60_000) },
        time_invented: false,
        by: "mate".to_owned(),
        body: LogBody::Readings(readings.collect()),
        note: String::new(),
        reason: String::new(),
        voided: false,
        elements: vec![],
    }
}

/// Pressure first, the jug minutes later: one walk. The same quantity again begins the next; a struck-out entry counts no more.
#[test]
fn entries_of_one_walk_are_one_set() {
    let (p, q, salt) = (Quantity::FeedPressure, Quantity::ProductFlow, Quantity::ProductConductivity);
    let mut log = vec![
        entry(1, -90, &[(p, 50.0)]),
        entry(2, 0, &[(p, 55.0)]),
        entry(3, 6, &[(q, 70.0), (salt, 400.0)]),
        entry(4, 10, &[(p, 55.0), (q, 71.0)]),
        entry(5, 17, &[(salt, 410.0)]),
        entry(6, 20, &[(Quantity::PrefilterDifferentialPressure, 0.2)]),
        entry(7, 27, &[(p, 55.0), (q, 70.0)]),
    ];
    let (sets, _) = of_log(&log, None);
    let sizes: Vec<usize> = sets.iter().map(|set| set.readings.len()).collect();
    // The walk of minute 0 holds three readings, the salt seven minutes after the third pressure stands alone with the filter's, and only the latest three count.
    assert_eq!(sizes, [2, 2, 2], "{sets:?}");
    log[4].voided = true;
    let (sets, _) = of_log(&log, None);
    assert_eq!(sets.iter().map(|set| set.readings.len()).collect::<Vec<_>>(), [3, 2, 2]);
    let (sets, _) = of_log(&log, Some(NINE + 10 * 60_000));
    assert_eq!(sets.iter().map(|set| set.readings.len()).collect::<Vec<_>>(), [1, 3, 2]);
}

#[test]
fn product_led_overboard_with_its_flow_read_at_the_tank_meter_is_no_acceptance() {
    let mut source = sample(&[]);
    let route = HandReading {
        quantity: Quantity::ProductRoute,
        value: 1.0,
        typed: "discard".to_owned(),
        instrument: None,
    };
    source.sets[1].readings.push(route);
    // A jug at the open end sees it all.
    assert!(!product_elsewhere(&source.settings, &source.sets));
    source.sets[1].readings.iter_mut().for_each(|reading| reading.instrument = None);
    assert!(product_elsewhere(&source.settings, &source.sets));
}

#[test]
fn every_verdict_has_its_exit_status() {
    let status =
        [Verdict::Meets, Verdict::DoesNotMeet, Verdict::CannotTell, Verdict::NotValid, Verdict::NotSteady]
            .map(exit_code);
    assert_eq!(status, [0, 3, 4, 5, 5]);
}

#[test]
fn a_record_that_is_not_valid_says_so_first_and_calls_nothing_a_result() {
    let mut source = sample(&[]);
    source.circumstances.rinsed = false;
    let (acceptance, record) = source.judged(None);
    assert!(record.results.iter().all(|row| row.outcome == "no result"), "{:?}", record.results);
    assert_eq!(source.json(&acceptance, &record)["product_flow"]["outcome"], "no-result");
    source.sets[0].readings.retain(|reading| reading.quantity != Quantity::FeedConductivity);
    let (_, record) = source.judged(None);
    let text = text(&record);
    let after = text.split_once("NOT VALID AS ACCEPTANCE").expect("said").1;
    assert!(after.contains("rinsed") && after.contains("feed salinity"), "{after}");
    assert!(text.find("NOT VALID").unwrap() < text.find("Raw readings").unwrap());
}
