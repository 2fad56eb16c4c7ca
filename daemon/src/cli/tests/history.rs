//! The stored baseline in `expect` and `diagnose`: used, named, ignored on wish, and never written to.

use super::*;
use crate::engine::{Command, NewEntry, Reply, RunSelection};
use crate::settings::load;
use crate::store::run_command;
use barrico_model::Quantity;
use barrico_model::records::HandReading;
use std::path::Path;
use std::sync::Arc;

/// A folder that goes when the test ends.
struct Folder(std::path::PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("barrico-known-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).expect("a folder");
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

const NOON: i64 = 1_780_000_000_000;

/// The sample unit with a folder of its own, and readings of a unit that makes a quarter less than its sheets promise.
fn boat(folder: &Path) -> Arc<Settings> {
    let sample = format!("{}/examples/two-2540-ac-regulated.toml", env!("CARGO_MANIFEST_DIR"));
    let mut settings = load(Path::new(&sample)).expect("the sample holds");
    settings.state_folder = folder.to_owned();
    Arc::new(settings)
}

fn reading(settings: &Settings, quantity: Quantity, typed: &str) -> HandReading {
    crate::case::reading(settings, &settings.units[0], quantity, typed, None).expect("a reading")
}

fn set(settings: &Settings, product: &str) -> Vec<HandReading> {
    [
        (Quantity::FeedTemperature, "20 C"),
        (Quantity::FeedSalinity, "35 g/kg"),
        (Quantity::FeedPressure, "55 bar"),
        (Quantity::ProductFlow, product),
        (Quantity::ConcentrateFlow, "230 L/h"),
        (Quantity::ProductConductivity, "700 uS/cm"),
    ]
    .map(|(quantity, typed)| reading(settings, quantity, typed))
    .to_vec()
}

fn with_baseline(settings: &Arc<Settings>) {
    let id = settings.units[0].id.clone();
    let entry = NewEntry {
        at: Some(NOON),
        time_invented: false,
        by: "Ida".to_string(),
        body: LogBody::Readings(set(settings, "82 L/h")),
        note: String::new(),
        elements: vec![],
    };
    let entered = run_command(settings, Command::AddEntries { unit: id.clone(), entries: vec![entry] }, NOON);
    let Ok(Reply::Written { runs, .. }) = entered else { panic!("{entered:?}") };
    let runs = RunSelection::Range(runs[0], runs[0]);
    let taken =
        run_command(settings, Command::TakeBaseline { unit: id, runs, by: "Ida".to_string() }, NOON + 1000);
    assert!(matches!(taken, Ok(Reply::Baseline(_))), "{taken:?}");
}

#[test]
fn the_stored_baseline_is_used_and_named() {
    let folder = Folder::new("used");
    let settings = boat(&folder.0);
    let unit = &settings.units[0];
    // No history: nothing known, nothing to remark, and no file is made by looking.
    let nothing = Known::of(&settings, unit);
    assert!(nothing.unit.is_none() && nothing.remark.is_none());
    assert_eq!(std::fs::read_dir(&folder.0).expect("readable").count(), 0);

    with_baseline(&settings);
    let known = Known::of(&settings, unit);
    let baseline = known.baseline().expect("taken");
    assert!(
        baseline_words(baseline).contains("provisional baseline")
            && baseline_words(baseline).contains("2026-05-2")
    );
    assert!(known.latest().is_some_and(|latest| NOON <= latest));
    // Where it was taken the unit should make what it made.
    let made = known.unit.clone().expect("known");
    let condition = barrico_model::plant::Condition {
        feed_temperature_c: Some(barrico_model::plant::Estimate::exact(20.0)),
        feed_salinity_g_kg: Some(barrico_model::plant::Estimate::exact(35.0)),
        feed_pressure_bar: Some(barrico_model::plant::Estimate::exact(55.0)),
        feed_flow_l_h: Some(barrico_model::plant::Estimate::exact(312.0)),
        ..barrico_model::plant::Condition::default()
    };
    let expected =
        barrico_model::plant::expect(&made.parts, &condition, &made.calibration).expect("computed");
    assert!((expected.output.product_flow_l_h - 82.0).abs() < 0.5, "{}", expected.output.product_flow_l_h);
    let judging = known.for_judging();
    assert!(judging.runs.is_empty() && judging.baselines.len() == 1);
}

#[test]
fn other_parts_suspend_the_stored_baseline_and_say_so() {
    let folder = Folder::new("parts");
    let settings = boat(&folder.0);
    with_baseline(&settings);
    let mut other = Settings::clone(&settings);
    other.units[0].parts.elements[0].area_m2 *= 1.2;
    let known = Known::of(&other, &other.units[0]);
    assert!(known.baseline().is_none());
    assert!(known.remark.expect("a remark").contains("parts list was changed"));
}

/// Readings of now beside the history: the runs of the history do not dilute them.
#[test]
fn readings_of_now_are_compared_with_the_stored_baseline() {
    let folder = Folder::new("now");
    let settings = boat(&folder.0);
    with_baseline(&settings);
    let known = Known::of(&settings, &settings.units[0]);
    let question = crate::case::Question {
        settings: Settings::clone(&settings),
        unit: 0,
        history: known.for_judging(),
        baseline: vec![],
        readings: vec![crate::case::Set {
            at: None,
            by: "test".to_string(),
            readings: set(&settings, "82 L/h"),
        }],
        events: vec![],
        context: crate::case::Context { now: Some(NOON + 864_000_000), ..Default::default() },
        facts: crate::case::Facts::default(),
    };
    let judged = crate::case::judge(question).expect("judged");
    let comparison = judged.engine.comparison(0).expect("compared");
    assert!(comparison.ln_output.value.abs() < 1e-6, "{comparison:?}");
    assert!(comparison.flow_measured && comparison.salt_measured);
}
