//! The store against power cuts, damage, a second writer and a full disk.

mod damage;
mod direct;
mod keeping;
mod limits;
mod power_cut;
mod threaded;

use super::{ReadOnly, Store};
use crate::engine::{AlertRecord, AlertState, Record, SampleRow, Ticket};
use barrico_model::findings::{FindingCode, Severity};
use barrico_model::records::{
    EventKind, HandReading, LogBody, LogEntry, Mean, OperatingState, Origin, RunEnd, RunRecord,
};
use barrico_model::{Monotonic, Quantity, Stamp, WallMs};
use std::path::{Path, PathBuf};

/// 2026-06-01 12:00 UTC.
const NOON: WallMs = 1_780_315_200_000;

/// A folder of its own that goes away.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("barrico-store-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        Self(path)
    }

    fn path(&self) -> &Path {
        &self.0
    }

    fn database(&self) -> PathBuf {
        self.0.join(super::DATABASE_FILE)
    }

    fn open(&self) -> Store {
        Store::open_sound(&self.0, &units()).unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn units() -> Vec<String> {
    vec!["main".to_owned(), "spare".to_owned()]
}

/// A moment of boot 7; the date is known.
fn at(seconds: u64) -> Stamp {
    Stamp { boot: 7, monotonic: Monotonic(seconds * 1000), wall_ms: Some(NOON + seconds as i64 * 1000) }
}

fn undated(seconds: u64) -> Stamp {
    Stamp { wall_ms: None, ..at(seconds) }
}

fn entry(id: u64) -> LogEntry {
    LogEntry {
        id,
        revision: 0,
        at: at(id),
        time_invented: false,
        by: "Ida".to_owned(),
        body: LogBody::Readings(vec![HandReading {
            quantity: Quantity::FeedPressure,
            value: 55.2,
            typed: "800 psi".to_owned(),
            instrument: None,
        }]),
        note: "after the filter".to_owned(),
        reason: String::new(),
        voided: false,
        elements: vec![],
    }
}

fn event(id: u64, kind: EventKind, at: Stamp) -> LogEntry {
    LogEntry { body: LogBody::Event(kind), at, ..entry(id) }
}

fn run(id: u64) -> RunRecord {
    RunRecord {
        id,
        revision: 1,
        start: at(id),
        duration_s: 7200.0,
        end: RunEnd::Stopped,
        time_invented: false,
        steady_s: 6000.0,
        means: vec![Mean {
            quantity: Quantity::ProductFlow,
            value: 61.0,
            random: 0.5,
            systematic: 1.0,
            instrument: 2,
            origin: Origin::Hand { entry: 1 },
            count: 40,
        }],
        product_l: Some(122.0),
        element_hours: None,
        valve_moved: false,
        valve: vec![],
        elements: vec![],
        element_shares: vec![],
    }
}

fn open_run(id: u64, start: Stamp) -> RunRecord {
    RunRecord {
        revision: 0,
        start,
        duration_s: 0.0,
        end: RunEnd::Open,
        means: vec![],
        product_l: None,
        ..run(id)
    }
}

fn alert(occurrence: u32, state: AlertState, changed: Stamp) -> AlertRecord {
    AlertRecord {
        code: FindingCode::ReadingUnreliable,
        about: Some(Quantity::FeedPressure),
        occurrence,
        state,
        severity: Severity::Advice,
        title: "feed pressure does not move".to_owned(),
        raised: at(1),
        changed,
        by: None,
    }
}

/// As much as a well-fitted unit knows.
fn sample(at: Stamp, run: u64) -> SampleRow {
    let mut values = vec![None; Quantity::ALL.len()];
    let seconds = at.monotonic.0 as f64 / 1000.0;
    for (quantity, value) in [
        (Quantity::FeedFlow, 324.7),
        (Quantity::FeedTemperature, 21.37),
        (Quantity::FeedPressure, 55.13),
        (Quantity::ConcentratePressure, 54.62),
        (Quantity::InletPressure, 1.83),
        (Quantity::PrefilterDifferentialPressure, 0.213),
        (Quantity::ProductFlow, 60.0),
        (Quantity::ProductConductivity, 412.7),
        (Quantity::ProductTemperature, 22.91),
        (Quantity::SupplyVoltage, 229.3),
        (Quantity::SupplyCurrent, 6.71),
        (Quantity::SupplyPower, 1388.2),
        (Quantity::OperatingState, 2.0),
        (Quantity::RunTime, seconds),
    ] {
        // A last digit that moves, as measured values do.
        let moving = if quantity == Quantity::ProductFlow { 0.0 } else { (seconds % 7.0) / 64.0 };
        values[quantity as usize] = Some(value + moving);
    }
    SampleRow { unit: 0, at, state: Some(OperatingState::Running), run, values }
}

fn log(entry: LogEntry) -> Record {
    Record::Log { unit: 0, entry }
}

fn batch(records: impl IntoIterator<Item = Record>) -> Vec<(Ticket, Record)> {
    records.into_iter().zip(1..).map(|(record, ticket)| (Ticket(ticket), record)).collect()
}

fn samples(folder: &Folder, from: Option<WallMs>, to: Option<WallMs>) -> Vec<SampleRow> {
    let mut found = Vec::new();
    ReadOnly::open(folder.path()).unwrap().samples("main", from, to, |sample| found.push(sample)).unwrap();
    found
}
