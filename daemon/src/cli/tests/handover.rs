//! The handover sheet: from runs if there are enough, else computed and saying so; blanks stay blanks; nothing is told of start and stop.

use super::*;
use crate::publish::sheet::Document;
use crate::publish::sheet::tests::assert_self_contained;
use crate::settings::Settings;
use barrico_model::records::{Mean, Origin};
use barrico_model::{Monotonic, Stamp};
use std::path::Path;

fn sample(name: &str) -> Settings {
    let file = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let mut settings = crate::settings::load(Path::new(&file)).expect("the sample holds");
    settings.state_folder = "no-such-folder".into();
    settings
}

fn of(settings: &Settings, usual: &[Usual], units: Units) -> Handover {
    let (unit, given) = (&settings.units[0], &Condition::default());
    let ground = Ground::of(settings, unit, false).expect("from sheets");
    sheet(&Asked { settings, unit, given }, &ground, "Not read aboard.", usual, &[], units, None)
}

fn run(id: u64, flow: f64, celsius: Option<f64>) -> RunRecord {
    let mean = |quantity, value| Mean {
        quantity,
        value,
        random: 1.0,
        systematic: 0.0,
        instrument: 0,
        origin: Origin::Hand { entry: 1 },
        count: 1,
    };
    let mut means = vec![mean(Quantity::ProductFlow, flow)];
    means.extend(celsius.map(|celsius| mean(Quantity::FeedTemperature, celsius)));
    RunRecord {
        id,
        revision: 0,
        start: Stamp::default(),
        duration_s: 3600.0,
        end: RunEnd::Stopped,
        time_invented: false,
        steady_s: 3000.0,
        means,
        product_l: None,
        element_hours: None,
        valve_moved: false,
        valve: vec![],
        elements: vec![],
        element_shares: vec![],
    }
}

fn event(kind: EventKind, voided: bool) -> LogEntry {
    LogEntry {
        id: 1,
        revision: 0,
        at: Stamp { boot: 1, monotonic: Monotonic(0), wall_ms: Some(1_772_546_712_000) },
        time_invented: false,
        by: "mate".to_owned(),
        body: LogBody::Event(kind),
        note: String::new(),
        reason: String::new(),
        voided,
        elements: vec![],
    }
}

#[test]
fn usual_values_are_medians_and_ranges_of_closed_runs() {
    let mut runs = vec![run(1, 70.0, Some(20.0)), run(2, 90.0, None), run(3, 74.0, Some(24.0))];
    let found = usual(&runs);
    let flow = found.iter().find(|one| one.quantity == Quantity::ProductFlow).unwrap();
    assert_eq!((flow.median, flow.low, flow.high, flow.runs), (74.0, 70.0, 90.0, 3));
    let sea = found.iter().find(|one| one.quantity == Quantity::FeedTemperature).unwrap();
    assert_eq!((sea.median, sea.low, sea.high, sea.runs), (22.0, 20.0, 24.0, 2));
    // A run that is still open counts not; two are too few.
    runs[0].end = RunEnd::Open;
    assert_eq!(usual(&runs), []);
}

#[test]
fn without_runs_the_values_are_computed_and_the_sheet_says_so() {
    for name in [
        "two-2540-ac-regulated",
        "one-2521-belt-fixed-valve",
        "one-2540-12v-energy-recovery",
        "gauges-only-hand-set",
    ] {
        let settings = sample(name);
        let sheet = of(&settings, &[], Units::Metric);
        assert!(
            sheet.ground.contains("Not read aboard") && sheet.ground.contains("parts list alone"),
            "{}",
            sheet.ground
        );
        assert_eq!(sheet.heads.len(), 3);
        assert_self_contained(&sheet.html().unwrap());
        let text = text(&sheet);
        assert!(text.lines().all(|line| line.chars().count() <= crate::cli::print::WIDTH), "{text}");
        for part in [
            "switch off at: ____",
            "manual lies: ____",
            "order that the unit's manual gives",
            "Do not",
            "microbes",
        ] {
            assert!(text.to_lowercase().contains(&part.to_lowercase()), "no {part} in\n{text}");
        }
    }
}

#[test]
fn a_chlorinated_tank_is_said_until_the_log_has_its_rinse() {
    assert!(
        tank(&[event(EventKind::TankChlorinated, false)]).starts_with("THE TANK WAS CHLORINATED (3 Mar 2026")
    );
    let rinsed = [event(EventKind::TankChlorinated, false), event(EventKind::TankRinsed, false)];
    assert!(tank(&rinsed).starts_with("Tank chlorinated?"));
    assert!(tank(&[event(EventKind::TankChlorinated, true)]).starts_with("Tank chlorinated?"), "struck out");
}

#[test]
fn what_was_not_entered_is_left_to_the_owner() {
    let mut settings = sample("gauges-only-hand-set");
    let shown = |settings: &Settings, label: &str| {
        rules(&settings.units[0], Units::Metric).into_iter().find(|(known, _)| known == label).unwrap().1
    };
    assert!(shown(&settings, "Flush").contains("every 5 days (sea below 20 °C: 7 days)"));
    settings.units[0].parts.limits = barrico_model::parts::Limits::default();
    settings.units[0].parts.elements[0].limits = barrico_model::parts::ElementLimits::default();
    for label in ["Flush", "Product limit", "Pressure limit"] {
        assert!(shown(&settings, label).contains("not entered"), "{label}");
    }
}

/// By hand: 75.7 L/h are 20.0 US gal/h, 20 °C are 68 °F; the sample's limits are 950 psi and 6 psi.
#[test]
fn us_units_stand_in_values_and_rules() {
    let settings = sample("gauges-only-hand-set");
    let runs = [run(1, 75.7, Some(20.0)), run(2, 75.7, Some(20.0)), run(3, 75.7, Some(20.0))];
    let text = text(&of(&settings, &usual(&runs), Units::Us));
    for part in [
        "Product flow, US gal/h",
        "20.0",
        "Feed temperature, °F",
        "68.0",
        "950 psi",
        "5 µm: 6.0 psi",
        "below 68 °F",
    ] {
        assert!(text.contains(part), "no {part} in\n{text}");
    }
    assert!(!text.contains(" bar") && !text.contains("L/h,"), "{text}");
}

/// The registry's own words, and none is empty.
#[test]
fn every_finding_of_the_crew_has_something_to_do_and_not_to_do() {
    assert!(
        lines().iter().all(|line| !line.act.is_empty() && !line.act_not.is_empty() && !line.title.is_empty())
    );
}
