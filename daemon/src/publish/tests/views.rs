//! Views as the engine could make them, in several states. All numbers are invented.

use crate::engine::UnitHistory;
use crate::engine::view::{ExpectedView, Health, ReadingStatus, ReadingView, RunRow, UnitView, View};
use crate::engine::{AlertRecord, AlertState};
use barrico_model::findings::{Evidence, Finding, FindingCode, NextMeasurement, RankedCause, Severity};
use barrico_model::records::{
    Baseline, BaselineKind, Mean, OperatingState, Origin, RunEnd, RunRecord, SenderId,
};
use barrico_model::{Monotonic, Quantity, Stamp};

/// 2026-03-03 14:05:12 UTC.
pub(crate) const NOW: i64 = 1_772_546_712_000;

const DAY: i64 = 86_400_000;

fn bus(address: u8, pgn: u32) -> Origin {
    Origin::Nmea2000 { sender: SenderId::Address(address), pgn, instance: 255 }
}

pub(crate) fn reading(quantity: Quantity, value: f64, sd: f64, age_s: f64, origin: Origin) -> ReadingView {
    ReadingView { quantity, value: Some(value), sd, age_s, origin, status: ReadingStatus::Fresh }
}

fn works(text: &str) -> Health {
    Health { working: true, text: text.to_string() }
}

fn stamp(wall_ms: i64) -> Stamp {
    Stamp { boot: 1, monotonic: Monotonic(1000), wall_ms: Some(wall_ms) }
}

fn mean(quantity: Quantity, value: f64, sd: f64) -> Mean {
    Mean { quantity, value, random: sd, systematic: 0.0, instrument: 0, origin: bus(35, 130_567), count: 100 }
}

/// A run `days_ago` that made `made` L/h where `allowed` was possible.
pub(crate) fn run(id: u64, days_ago: i64, made: Option<f64>, allowed: Option<f64>) -> RunRow {
    let mut means = Vec::new();
    if let Some(made) = made {
        means.push(mean(Quantity::ProductFlow, made, 1.1));
        means.push(mean(Quantity::ProductConductivity, 300.0 + id as f64, 12.0));
    }
    let run = RunRecord {
        id,
        revision: 1,
        start: stamp(NOW - days_ago * DAY - 3_600_000),
        duration_s: 7200.0,
        end: if id.is_multiple_of(7) { RunEnd::ReadingSet } else { RunEnd::Stopped },
        time_invented: false,
        steady_s: 5400.0,
        means,
        product_l: made.map(|made| 2.0 * made),
        element_hours: None,
        valve_moved: false,
        valve: vec![],
        elements: vec![],
        element_shares: vec![],
    };
    RunRow { run, expected_product_flow_l_h: allowed.map(|allowed| (allowed, 3.1)) }
}

fn runs(falling: bool) -> Vec<RunRow> {
    (0..24)
        .map(|i| {
            let sea = 74.0 + 3.0 * ((i % 9) as f64 - 4.0) / 4.0;
            let made = if falling { sea - 0.9 * i as f64 } else { sea - 1.5 + (i % 4) as f64 };
            let made = (i % 8 != 5).then_some(made);
            run(i as u64 + 1, 2 * (24 - i), made, (i != 11).then_some(sea))
        })
        .collect()
}

fn baseline() -> Baseline {
    Baseline {
        id: 3,
        kind: BaselineKind::Confirmed,
        taken: stamp(NOW - 60 * DAY),
        by: "M".to_string(),
        runs: vec![1, 2, 3],
        means: Vec::new(),
        a25: 7.9e-12,
        ln_a25_random: 0.01,
        b25: 2.2e-8,
        ln_b25_random: 0.04,
        ln_a25_scatter: 0.01,
        ln_b25_scatter: 0.04,
        ln_ab25_covariance: 0.0,
        temperature_k: [2640.0, 3020.0, 4000.0],
        delivery: Some(0.9),
        flow_measured: true,
        differential_pressure: None,
        elements: vec![],
        retired: None,
    }
}

/// Running, all is well.
pub(crate) fn healthy() -> View {
    let status = bus(35, 130_567);
    let unit = UnitView {
        bus_address: Some(100),
        id: "main".to_string(),
        name: "Watermaker under the port berth".to_string(),
        state: Some(OperatingState::Running),
        state_inferred: false,
        state_s: 1510.0,
        readings: vec![
            reading(Quantity::FeedTemperature, 24.31, 0.25, 1.2, bus(12, 130_316)),
            reading(Quantity::FeedSalinity, 37.8, 0.5, 20_000.0, Origin::Hand { entry: 12 }),
            reading(Quantity::FeedPressure, 55.2, 0.55, 1.0, status),
            reading(Quantity::ProductFlow, 72.4, 1.1, 1.0, status),
            reading(Quantity::ProductConductivity, 311.0, 12.0, 1.0, status),
            reading(Quantity::SupplyCurrent, 8.6, 0.2, 34.0, bus(40, 127_744)),
            reading(Quantity::RunTime, 2_923_200.0, 0.0, 1.0, status),
            reading(Quantity::ProductRoute, 0.0, 0.0, 1.0, status),
        ],
        expected: Some(ExpectedView {
            product_flow_l_h: (74.0, 3.06),
            product_conductivity_us_cm: (305.0, 30.0),
            specific_energy_wh_l: Some((21.0, 0.9)),
            from_specification: false,
        }),
        expected_missing: Vec::new(),
        product_conductivity_limit: Some(500.0),
        findings: Vec::new(),
        not_computable: Vec::new(),
        runs: runs(false),
        product_today_l: Some(112.4),
        baseline: Some(baseline()),
        idle_h: None,
        history: UnitHistory::default(),
        tank_flow_l_h: None,
        usual_feed_salinity: None,
    };
    View {
        node_troubles: vec![],
        at: Monotonic(7_200_000),
        wall_ms: Some(NOW),
        boat: "Halcyon Days".to_string(),
        units: vec![unit],
        store: works("history written"),
        source: works("can0"),
        source_impaired: None,
        bus: crate::engine::BusCounts::default(),
        frames: 1_234_567,
        readings: 4_321,
        damaged: 2,
    }
}

pub(crate) fn alert(code: FindingCode, severity: Severity, title: &str) -> AlertRecord {
    AlertRecord {
        code,
        about: None,
        occurrence: 2,
        state: AlertState::Raised,
        severity,
        title: title.to_string(),
        raised: stamp(NOW - 3 * 3_600_000),
        changed: stamp(NOW - 3 * 3_600_000),
        by: None,
    }
}

/// Running with low output, a doubted temperature and a stale pressure.
pub(crate) fn findings() -> View {
    let mut view = healthy();
    let unit = &mut view.units[0];
    unit.state_inferred = true;
    unit.runs = runs(true);
    unit.readings[2].status = ReadingStatus::Stale;
    unit.readings[2].age_s = 2_640.0;
    unit.readings[0].value = Some(40.0);
    unit.readings[0].status = ReadingStatus::Doubted;
    unit.readings[3].value = Some(54.0);
    unit.readings[4].value = Some(560.0);
    let finding = Finding {
        code: FindingCode::OutputLow,
        about: None,
        severity: Severity::Advice,
        title: "Less product than this water allows".to_string(),
        evidence: vec![
            Evidence {
                what: "product flow".to_string(),
                seen: "54 ± 2 L/h".to_string(),
                against: "68 to 80 L/h in this water".to_string(),
            },
            Evidence {
                what: "salt passage".to_string(),
                seen: "1.02 ± 0.08 of the baseline".to_string(),
                against: "0.9 to 1.1".to_string(),
            },
        ],
        causes: vec![
            RankedCause {
                code: "pump-worn",
                title: "the high-pressure pump delivers less",
                probability: 0.55,
            },
            RankedCause { code: "membrane-fouled", title: "deposits on the membrane", probability: 0.31 },
            RankedCause { code: "gauge-off", title: "the pressure gauge reads too high", probability: 0.08 },
        ],
        next_measurement: Some(NextMeasurement {
            quantity: Some(Quantity::ConcentrateFlow),
            how:
                "Time how long the concentrate takes to fill a ten-litre bucket while the unit runs steadily."
                    .to_string(),
            meaning: "Clearly less than 250 L/h means the pump; about 290 L/h means the membrane."
                .to_string(),
        }),
    };
    unit.findings.push((
        alert(FindingCode::OutputLow, Severity::Advice, "Less product than this water allows"),
        Some(finding),
    ));
    let mut stale =
        alert(FindingCode::ReadingUnreliable, Severity::Notice, "A reading is not reliable: feed pressure");
    stale.about = Some(Quantity::FeedPressure);
    stale.state = AlertState::Acknowledged;
    stale.by = Some("Ines".to_string());
    unit.findings.push((stale, None));
    unit.not_computable = vec!["salt passage: feed salinity is older than 12 hours".to_string()];
    view
}

/// Stopped for two days, in a bay of known water.
pub(crate) fn stopped() -> View {
    let mut view = healthy();
    let unit = &mut view.units[0];
    unit.state = Some(OperatingState::Stopped);
    unit.state_s = 190_000.0;
    unit.idle_h = Some(52.8);
    unit.readings[3].value = Some(0.0);
    view
}

/// A boat of which nothing is known yet.
pub(crate) fn nothing_known() -> View {
    let unit = UnitView {
        id: "main".to_string(),
        name: "Main".to_string(),
        expected_missing: vec![
            "the temperature of the feed is not known".to_string(),
            "the feed pressure is not known".to_string(),
        ],
        ..UnitView::default()
    };
    View {
        boat: "Halcyon Days".to_string(),
        units: vec![unit],
        source: Health { working: false, text: "the pipe is empty".to_string() },
        ..View::default()
    }
}

/// Every free text tries to become markup.
pub(crate) fn hostile() -> View {
    let evil = "<script>alert(1)</script>\"'&";
    let mut view = findings();
    view.boat = evil.to_string();
    view.store = Health { working: false, text: evil.to_string() };
    view.source = Health { working: false, text: evil.to_string() };
    let unit = &mut view.units[0];
    unit.name = evil.to_string();
    unit.not_computable.push(evil.to_string());
    unit.expected = None;
    unit.expected_missing = vec![evil.to_string()];
    for (alert, finding) in &mut unit.findings {
        alert.title = evil.to_string();
        alert.by = Some(evil.to_string());
        if let Some(finding) = finding {
            finding.title = evil.to_string();
            finding.evidence[0].what = evil.to_string();
            finding.evidence[0].seen = evil.to_string();
            if let Some(next) = &mut finding.next_measurement {
                next.how = evil.to_string();
                next.meaning = evil.to_string();
            }
        }
    }
    view
}
