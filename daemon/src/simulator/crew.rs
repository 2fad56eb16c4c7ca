//! What the crew writes into the log: the sea's salinity, now and then a jug, a filter, a baseline.

use super::random::Random;
use super::sea::Water;
use super::unit::Unit;
use crate::engine::{Command, NewEntry, RunSelection};
use barrico_model::Quantity;
use barrico_model::records::{EventKind, HandReading, LogBody};

/// Who writes.
const BY: &str = "crew";
/// So far into a run readings are taken, s.
const READ_AFTER_S: u64 = 1500;
/// The first runs are measured with care, to take the baseline from; after that every so many runs.
const CAREFUL_RUNS: u64 = 4;
const JUG_EVERY: u64 = 7;
/// A pre-filter is changed after so many hours.
const FILTER_H: f64 = 60.0;
/// Instruments of the crew: their own errors, as shares or g/kg, fixed for the whole passage, and from reading to reading.
const METER_G_KG: (f64, f64) = (0.25, 0.15);
const JUG: (f64, f64) = (0.004, 0.012);

/// The crew's habits towards one unit.
#[derive(Clone, Debug)]
pub(super) struct Crew {
    random: Random,
    meter_off_g_kg: f64,
    jug_off: f64,
    /// Number of the run for which readings were written.
    read_run: Option<u64>,
    baseline_taken: bool,
}

impl Crew {
    pub fn new(mut random: Random) -> Self {
        let meter_off_g_kg = METER_G_KG.0 * random.signed();
        let jug_off = JUG.0 * random.signed();
        Self { random, meter_off_g_kg, jug_off, read_run: None, baseline_taken: false }
    }

    /// What is written at this second.
    pub fn write(&mut self, unit: &mut Unit, water: &Water, out: &mut Vec<Command>) {
        let run = unit.schedule.run;
        let running = match unit.phase {
            super::schedule::Phase::Running(s) => Some(s),
            _ => None,
        };
        if running.is_some_and(|s| READ_AFTER_S <= s) && self.read_run != Some(run.number) {
            self.read_run = Some(run.number);
            self.read(unit, water, run.number, out);
        }
        let rests = running.is_none() && unit.phase == super::schedule::Phase::Stopped;
        if rests && !self.baseline_taken && run.number == CAREFUL_RUNS {
            self.baseline_taken = true;
            out.push(Command::TakeBaseline {
                unit: unit.id.to_owned(),
                runs: RunSelection::LatestCount(CAREFUL_RUNS as usize),
                by: BY.to_owned(),
            });
        }
        if rests && FILTER_H <= unit.filter_hours {
            unit.filter_hours = 0.0;
            out.push(entry(unit, LogBody::Event(EventKind::FilterChanged), "both cartridges"));
        }
    }

    fn read(&mut self, unit: &Unit, water: &Water, number: u64, out: &mut Vec<Command>) {
        let sea = water.salinity_g_kg + self.meter_off_g_kg + METER_G_KG.1 * self.random.normal();
        let salinity = reading(Quantity::FeedSalinity, sea, "sea-meter", format!("{sea:.1} g/kg"));
        out.push(entry(unit, LogBody::Readings(vec![salinity]), ""));
        let jugs = number < CAREFUL_RUNS || number.is_multiple_of(JUG_EVERY);
        if jugs && !unit.has_concentrate_sensor {
            let flow = unit.doing.concentrate_l_h * (1.0 + self.jug_off + JUG.1 * self.random.normal());
            let jug = reading(Quantity::ConcentrateFlow, flow, "jug", format!("{flow:.0} L/h"));
            out.push(entry(unit, LogBody::Readings(vec![jug]), "ten litre jug at the end of the hose"));
        }
    }
}

fn reading(quantity: Quantity, value: f64, instrument: &str, typed: String) -> HandReading {
    HandReading { quantity, value, typed, instrument: Some(instrument.to_owned()) }
}

fn entry(unit: &Unit, body: LogBody, note: &str) -> Command {
    let entry = NewEntry {
        at: None,
        time_invented: false,
        by: BY.to_owned(),
        body,
        note: note.to_owned(),
        elements: vec![],
    };
    Command::AddEntries { unit: unit.id.to_owned(), entries: vec![entry] }
}
