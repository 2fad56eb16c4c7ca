//! The simulated boat and the engine together.
//!
//! Which fault leads to which finding stands in the list of faults; no source but common practice. That a healthy unit stays quiet is what the
//! findings promise.

mod sound_units;

use super::*;
use crate::engine::{AlertState, Event, Output};
use barrico_model::Quantity;
use barrico_model::findings::{FindingCode, Severity};
use barrico_model::records::BaselineKind;
use std::sync::Arc;

/// Runs of half an hour and a little more: long enough for settled salinity, a quarter of the work.
const SHORT_RUNS_S: (f64, f64) = (2_000.0, 2_400.0);
/// Unoptimised, the engine is thirty times slower: then a third of the days, one seed and the faults that show within a day. The whole is tested in
/// optimised builds.
const WHOLE: bool = !cfg!(debug_assertions);
/// Hours in which the crew has taken its baseline.
const HEALTHY_H: f64 = 60.0;
const HOUR_MS: f64 = 3.6e6;

/// An alert as it was raised.
#[derive(Clone, Debug, PartialEq)]
struct Raised {
    unit: usize,
    code: FindingCode,
    about: Option<Quantity>,
    severity: Severity,
    at_h: f64,
    title: String,
}

fn aboard(seed: u64, faults: Vec<FaultOrder>) -> Boat {
    let settings = Arc::new(settings().unwrap());
    let scenario = Scenario { faults, bus_sleeps: true, run_length_s: Some(SHORT_RUNS_S) };
    Boat::new(Simulator::new(seed, scenario, &settings).unwrap(), settings)
}

fn raised_until(boat: &mut Boat, hours: f64) -> Vec<Raised> {
    let mut raised = Vec::new();
    boat.advance(Monotonic((hours * HOUR_MS) as u64), &mut |at, _, happening| {
        let Happening::Wanted(Output::Event(event)) = happening else { return };
        let Event::Finding { unit, alert, .. } = event.as_ref() else { return };
        if alert.state == AlertState::Raised {
            let (code, about, severity) = (alert.code, alert.about, alert.severity);
            let title = alert.title.clone();
            raised.push(Raised { unit: *unit, code, about, severity, at_h: at.0 as f64 / HOUR_MS, title });
        }
    });
    raised
}

#[test]
fn the_settings_are_whole_and_name_the_controllers() {
    let settings = settings().unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(settings.units.len(), 2);
    for (unit, device) in settings.units.iter().zip([talk::CONTROLLER, talk::SMALL_CONTROLLER]) {
        assert_eq!(unit.status_from, Some(crate::settings::SenderRule::Name(device.name.0)));
    }
    assert!(settings.page.bind.ip().is_loopback());
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let frames = |seed: u64, step_ms: u64| {
        let settings = settings().unwrap();
        let mut simulator = Simulator::new(seed, Scenario::default(), &settings).unwrap();
        let mut out = Vec::new();
        for step in 1..=3 * HOUR_MS as u64 / step_ms {
            simulator.advance(Monotonic(step * step_ms), &mut out);
        }
        out
    };
    let first = frames(7, 1000);
    assert!(first.len() > 50_000, "{} frames in three hours", first.len());
    assert!(first == frames(7, 60_000), "steps change nothing");
    assert!(first != frames(8, 60_000));
    assert!(first.is_sorted_by_key(|(at, _)| *at));
}

#[test]
fn a_healthy_boat_gets_a_baseline_and_raises_nothing() {
    let (days, seeds): (f64, &[u64]) = if WHOLE { (30.0, &[1, 2]) } else { (10.0, &[1]) };
    for &seed in seeds {
        let mut boat = aboard(seed, vec![]);
        let raised = raised_until(&mut boat, 24.0 * days);
        let loud: Vec<&Raised> = raised.iter().filter(|raised| Severity::Advice <= raised.severity).collect();
        assert!(loud.is_empty(), "seed {seed}: {loud:#?}");
        for unit in boat.engine().view(boat.now()).units {
            let baseline =
                unit.baseline.unwrap_or_else(|| panic!("seed {seed}: no baseline for {}", unit.id));
            assert!(baseline.kind != BaselineKind::Specification && baseline.by == "crew", "{baseline:?}");
            assert!(baseline.flow_measured, "the jug was used: {baseline:?}");
            assert!(days / 2.0 - 1.0 <= unit.runs.len() as f64, "{} runs of {}", unit.runs.len(), unit.id);
        }
    }
}

#[test]
fn each_fault_leads_to_its_finding_in_time_and_not_before() {
    for entry in FAULTS.iter().filter(|entry| WHOLE || entry.within_h <= 24.0) {
        let mut boat = aboard(3, vec![FaultOrder { fault: entry.fault, from_h: HEALTHY_H }]);
        let before = raised_until(&mut boat, HEALTHY_H);
        let early = before.iter().any(|raised| raised.code == entry.leads_to && raised.unit == 0);
        assert!(!early, "{}: raised before it began: {before:#?}", entry.name);
        let raised = raised_until(&mut boat, HEALTHY_H + entry.within_h);
        let found = raised.iter().find(|raised| raised.code == entry.leads_to && raised.unit == 0);
        let Some(found) = found else { panic!("{}: not found: {raised:#?}", entry.name) };
        println!(
            "{}: {:?} ({}) after {:.1} h: {}",
            entry.name,
            found.code,
            found.severity.name(),
            found.at_h - HEALTHY_H,
            found.title
        );
    }
}

#[test]
fn a_sticking_regulator_is_told_with_the_first_message_that_shows_it() {
    let mut boat = aboard(4, vec![FaultOrder { fault: Fault::OverPressure, from_h: 0.0 }]);
    let mut shown = None;
    let mut told = None;
    boat.advance(Monotonic(12 * HOUR_MS as u64), &mut |at, engine, happening| {
        let view = || engine.view(at).units[0].readings.clone();
        match happening {
            Happening::Heard(_) => {}
            Happening::Wanted(Output::Event(event)) => {
                if let Event::Finding { alert, .. } = event.as_ref()
                    && alert.code == FindingCode::OverPressure
                {
                    told.get_or_insert(at);
                    let pressure = view().into_iter().find(|r| r.quantity == Quantity::FeedPressure);
                    shown.get_or_insert(pressure.and_then(|reading| reading.value));
                }
            }
            Happening::Wanted(_) => {}
        }
    });
    let limit = settings().unwrap().units[0].parts.pressure_limit_bar().unwrap().0;
    let truth = boat.simulator().truths()[0];
    let begins_ms = (truth.start_s + 20 + 300) * 1000;
    let told = told.unwrap_or_else(|| panic!("never told: {truth:?}"));
    // The controller speaks every 2.5 s.
    assert!((begins_ms..=begins_ms + 3_500).contains(&told.0), "told at {told:?}, began at {begins_ms}");
    assert!(shown.flatten().is_some_and(|bar| limit < bar), "{shown:?}");
}
