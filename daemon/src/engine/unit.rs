//! One unit: what it does now, its run, its history, its alerts.

use super::elements::ListedElement;
use super::learning::Learning;
use super::operating::{Change, Operating, Signs};
use super::readings::Readings;
use super::steady::{Steady, add_missing};
use super::tank_flow::{FROM_TANK, TankFlow};
use super::valve::ValveFollower;
use super::{Record, RestoredUnit, SampleRow};
use crate::alerts::Alerts;
use crate::settings::{SenderRule, UnitSettings};
use barrico_model::judgement::Laws;
use barrico_model::plant::ConcentrateValve;
use barrico_model::plant::valve_law::{LearntExponent, learn};
use barrico_model::records::{
    Baseline, ElementAge, ElementLedger, LogEntry, Mean, OperatingState, Origin, Reading, RunEnd, RunRecord,
};
use barrico_model::{Monotonic, Quantity, Stamp};
use std::collections::VecDeque;

/// Run records kept in memory: at two runs a day most of a year. Older ones stay in the store.
pub const RUNS_MAX: usize = 500;
/// Log entries kept in memory; two years of one a day with room.
pub const LOG_MAX: usize = 4_000;
/// After the start nothing is averaged for so long, s: pressure and temperature settle (common practice, no source).
pub const QUIET_S: f64 = 300.0;
/// A run that leaves "running" for less than this goes on, ms: a short trip of the pump is no new run.
const PAUSE_MS: u64 = 60_000;
/// Samples while running and while not, s. Ten seconds show a start; five minutes show that the watcher was alive.
const SAMPLE_S: (u64, u64) = (10, 300);

/// A run that goes on.
#[derive(Clone, Debug)]
pub struct OpenRun {
    /// The record so far.
    pub record: RunRecord,
    /// Averages so far.
    pub steady: Steady,
    /// The valve so far.
    pub valve: ValveFollower,
    /// Monotonic start.
    pub since: Monotonic,
    /// When the unit left "running", if it did.
    pub left: Option<Monotonic>,
}

/// What happened to a run.
#[derive(Clone, Debug)]
pub enum RunChange {
    /// It began.
    Opened(RunRecord),
    /// It ended.
    Ended(RunRecord),
}

/// Everything about one unit.
#[derive(Clone, Debug)]
pub struct Unit {
    /// Settings of it; made up for a unit that a recording showed.
    pub settings: UnitSettings,
    /// Is there a parts list?
    pub has_parts: bool,
    /// Stands for the boat itself: sensors that belong to no unit, in a recording without settings.
    pub is_boat: bool,
    /// Present readings.
    pub readings: Readings,
    /// State.
    pub operating: Operating,
    /// The open run.
    pub run: Option<OpenRun>,
    /// Closed runs, oldest first.
    pub runs: VecDeque<RunRecord>,
    /// Log, oldest first.
    pub log: Vec<LogEntry>,
    /// Baselines, oldest first.
    pub baselines: Vec<Baseline>,
    /// Alerts.
    pub alerts: Alerts,
    /// The parts list changed and nobody has said which part.
    pub parts_changed: bool,
    /// When it last ran or was flushed: monotonic, if in this boot.
    pub last_wet: Option<Stamp>,
    /// It is filled with preservative since the last run.
    pub preserved: bool,
    /// The elements of the settings, also those that are by-passed.
    pub listed: Vec<ListedElement>,
    /// Hours and litres of every element.
    pub elements: ElementLedger,
    /// What was learnt of the concentrate valve.
    pub valve: LearntExponent,
    /// The tank and what its rise says.
    pub tank: TankFlow,
    /// Temperature parameters from its own runs.
    pub learning: Learning,
}

impl Unit {
    /// The forms of the model with which this unit is judged.
    pub fn laws(&self) -> Laws {
        self.learning.laws()
    }
}

impl Unit {
    /// A unit without history.
    pub fn new(settings: UnitSettings, has_parts: bool) -> Self {
        let listed = Self::listed(&settings.parts.elements, &settings.element_history);
        let valve = learn(&[], ConcentrateValve::usual_exponent(settings.parts.pressure_control));
        let mut unit = Self {
            settings,
            has_parts,
            is_boat: false,
            readings: Readings::default(),
            operating: Operating::default(),
            run: None,
            runs: VecDeque::new(),
            log: Vec::new(),
            baselines: Vec::new(),
            alerts: Alerts::default(),
            parts_changed: false,
            last_wet: None,
            preserved: false,
            listed,
            elements: ElementLedger::default(),
            valve,
            tank: TankFlow::default(),
            learning: Learning::default(),
        };
        unit.follow_elements();
        unit
    }

    /// Stands for the boat in a recording without settings.
    pub fn for_boat() -> Self {
        Self { is_boat: true, ..Self::new(UnitSettings::unknown("boat", "boat"), false) }
    }

    /// A unit that a recording without settings shows.
    pub fn found(rule: SenderRule, address: u8) -> Self {
        let mut settings = UnitSettings::unknown(
            &format!("sender{address}"),
            &format!("unit of the sender at address {address}"),
        );
        settings.status_from = Some(rule);
        Self::new(settings, false)
    }

    /// Takes its history back.
    pub fn restore(&mut self, restored: RestoredUnit) {
        self.learning = Learning::given(restored.learnt);
        self.log = restored.log;
        self.baselines = restored.baselines;
        self.alerts.restore(restored.alerts);
        let runs = restored.runs.into_iter().chain(restored.cut_run);
        for run in runs {
            self.keep(run);
        }
        self.follow_elements();
        self.learn_valve();
        for index in 0..self.log.len() {
            let entry = self.log[index].clone();
            self.note_event(&entry);
        }
    }

    /// Keeps a closed run; a new revision replaces the old one.
    pub fn keep(&mut self, run: RunRecord) {
        if run.end != RunEnd::ReadingSet {
            let end = Stamp {
                monotonic: run.start.monotonic.plus_ms((run.duration_s * 1000.0) as u64),
                ..run.start
            };
            let wall = run.start.wall_ms.map(|ms| ms + (run.duration_s * 1000.0) as i64);
            self.wetted(Stamp { wall_ms: wall, ..end });
        }
        if let Some(known) = self.runs.iter_mut().find(|known| known.id == run.id) {
            if known.revision <= run.revision {
                *known = run;
            }
        } else {
            self.runs.push_back(run);
            if RUNS_MAX < self.runs.len() {
                self.runs.pop_front();
            }
        }
    }

    /// The unit ran or was flushed until this moment.
    pub fn wetted(&mut self, at: Stamp) {
        let later = |old: Stamp| match (old.wall_ms, at.wall_ms) {
            (Some(a), Some(b)) => a < b,
            _ => old.boot != at.boot || old.monotonic <= at.monotonic,
        };
        if self.last_wet.is_none_or(later) {
            self.last_wet = Some(at);
            self.preserved = false;
        }
    }

    /// The baseline that counts.
    pub fn baseline(&self) -> Option<&Baseline> {
        self.baselines
            .iter()
            .rev()
            .find(|baseline| baseline.retired.is_none())
            .filter(|_| !self.parts_changed)
    }

    /// What a log entry means for the state of the unit.
    pub fn note_event(&mut self, entry: &LogEntry) {
        use barrico_model::records::{EventKind, LogBody};
        let LogBody::Event(kind) = entry.body else { return };
        if entry.voided {
            return;
        }
        match kind {
            EventKind::Flushed => self.wetted(entry.at),
            EventKind::Preserved => {
                self.wetted(entry.at);
                self.preserved = true;
            }
            _ => {}
        }
    }

    /// Hours since it last ran or was flushed, at least; `None`: not known.
    pub fn idle_h(&self, now: Stamp) -> Option<f64> {
        if matches!(self.operating.state, Some(OperatingState::Running | OperatingState::Flushing)) {
            return Some(0.0);
        }
        let last = self.last_wet?;
        let ms = match (last.wall_ms, now.wall_ms) {
            (Some(then), Some(now)) => (now - then).max(0) as f64,
            _ if last.boot == now.boot => now.monotonic.0.saturating_sub(last.monotonic.0) as f64,
            // Another boot and no date: at least since this one began.
            _ => now.monotonic.0 as f64,
        };
        Some(ms / 3_600_000.0)
    }

    /// Seconds since the run began, while it runs.
    pub fn running_s(&self, now: Monotonic) -> Option<f64> {
        self.run.as_ref().filter(|run| run.left.is_none()).map(|run| now.seconds_since(run.since))
    }

    /// Infers or takes the state.
    pub fn update_state(&mut self, now: Monotonic) -> Option<Change> {
        let told = self.readings.value(Quantity::OperatingState).map(|code| code as u8);
        let told = told.and_then(OperatingState::from_code);
        let signs = Signs::from_values(told, |quantity| self.readings.live_value(quantity));
        let parts = self.has_parts.then_some(&self.settings.parts);
        self.operating.update(now, signs, parts)
    }

    /// Opens, continues or closes the run. Returns a record that changed: just opened, or closed.
    pub fn follow_run(&mut self, now: Stamp, last_id: &mut u64, shares: &[f64]) -> Option<RunChange> {
        // A state that a person wrote down is shown for a while, but only what is seen or told live begins a run.
        let live = self.operating.inferred || self.readings.live_value(Quantity::OperatingState).is_some();
        let running = live && self.operating.state == Some(OperatingState::Running);
        match (&mut self.run, running) {
            (None, true) => {
                *last_id += 1;
                let record = open_record(*last_id, now, self.element_hours(), self.elements.elements.clone());
                self.run = Some(OpenRun {
                    record: record.clone(),
                    steady: Steady::default(),
                    valve: ValveFollower::default(),
                    since: now.monotonic,
                    left: None,
                });
                Some(RunChange::Opened(record))
            }
            (Some(run), true) => {
                run.left = None;
                None
            }
            (Some(run), false) => {
                let left = *run.left.get_or_insert(now.monotonic);
                run.steady.restart_window();
                run.valve.restart_window();
                if now.monotonic < left.plus_ms(PAUSE_MS) {
                    None
                } else {
                    self.close_run(left, shares).map(RunChange::Ended)
                }
            }
            (None, false) => None,
        }
    }

    /// Closes the open run as of a moment. `shares`: of the product that each element makes, if known.
    pub fn close_run(&mut self, at: Monotonic, shares: &[f64]) -> Option<RunRecord> {
        let run = self.run.take()?;
        let mut record = run.record_at(at, &self.readings);
        record.end = RunEnd::Stopped;
        record.revision += 1;
        super::derived::high_side(&self.settings.parts, &mut record.means);
        record.valve_moved = self.valve_moved(&record.valve);
        record.element_shares = self.shares_of(&record.elements, shares);
        self.keep(record.clone());
        self.follow_elements();
        self.learn_valve();
        Some(record)
    }

    /// One second of a run: averages and litres. Returns true when a steady window has just been counted.
    pub fn second(&mut self, now: Monotonic) -> bool {
        let Some(run) = self.run.as_mut().filter(|run| run.left.is_none()) else { return false };
        if let Some(flow) = self.readings.value(Quantity::ProductFlow) {
            *run.record.product_l.get_or_insert(0.0) += flow / 3600.0;
        }
        let settings = &self.settings;
        let usual = settings.usual_feed_salinity.map(|usual| usual.0);
        run.valve.second(&self.readings.current, &settings.parts, usual, self.valve.exponent);
        if now.seconds_since(run.since) < QUIET_S {
            return false;
        }
        let settled = now.seconds_since(run.since)
            >= barrico_model::findings::product_salinity_over_limit::QUIET_AFTER_START_S;
        // A reading by hand is one reading, however long it stands: it joins the means once, when the record is made.
        // So does the rise of the tank, which is one figure for the whole stretch.
        let measured =
            |reading: &&Reading| !matches!(reading.origin, Origin::Hand { .. } | Origin::Computed(FROM_TANK));
        let readings = self.readings.current.iter().flatten().filter(measured);
        // Salinity of the product settles later than the flows.
        run.steady.second(readings.filter(|reading| settled || !is_product_salinity(reading.quantity)))
    }

    /// A sample row if it is time for one.
    pub fn sample(&self, unit: usize, now: Stamp) -> Option<Record> {
        let every = if self.run.is_some() { SAMPLE_S.0 } else { SAMPLE_S.1 };
        let known = self.readings.current.iter().any(Option::is_some);
        if !known || !(now.monotonic.0 / 1000).is_multiple_of(every) {
            return None;
        }
        Some(Record::Sample(SampleRow {
            unit,
            at: now,
            state: self.operating.state,
            run: self.run.as_ref().map_or(0, |run| run.record.id),
            values: self
                .readings
                .current
                .iter()
                .map(|reading| reading.map(|reading| reading.value))
                .collect(),
        }))
    }
}

impl OpenRun {
    /// The record as it would be closed at this moment.
    pub fn record_at(&self, at: Monotonic, readings: &Readings) -> RunRecord {
        let mut means: Vec<Mean> =
            self.steady.means().into_iter().filter(|mean| is_averaged(mean.quantity)).collect();
        if !means.is_empty() {
            let by_hand: Vec<Reading> = readings
                .by_hand()
                .filter(|reading| self.since <= reading.at || is_of_the_sea(reading.quantity))
                .collect();
            add_missing(&mut means, &by_hand);
            let from_tank = readings.current[Quantity::ProductFlow as usize]
                .filter(|reading| reading.origin == Origin::Computed(FROM_TANK));
            add_missing(&mut means, from_tank.as_slice());
        }
        RunRecord {
            duration_s: at.seconds_since(self.since),
            steady_s: self.steady.steady_s,
            means,
            valve: self.valve.spells().to_vec(),
            ..self.record.clone()
        }
    }
}

fn is_product_salinity(quantity: Quantity) -> bool {
    matches!(quantity, Quantity::ProductConductivity | Quantity::ProductSalinity)
}

/// The sea does not change with the run: what was measured of it before the start still holds. A jug of yesterday does not.
fn is_of_the_sea(quantity: Quantity) -> bool {
    matches!(quantity, Quantity::FeedSalinity | Quantity::FeedConductivity | Quantity::FeedTemperature)
}

/// States, routes and counters have no mean.
fn is_averaged(quantity: Quantity) -> bool {
    !matches!(
        quantity,
        Quantity::OperatingState | Quantity::ProductRoute | Quantity::RunTime | Quantity::TankLevel
    )
}

fn open_record(id: u64, start: Stamp, element_hours: f64, elements: Vec<ElementAge>) -> RunRecord {
    RunRecord {
        id,
        revision: 0,
        start,
        duration_s: 0.0,
        end: RunEnd::Open,
        time_invented: false,
        steady_s: 0.0,
        means: vec![],
        product_l: None,
        element_hours: Some(element_hours),
        valve_moved: false,
        valve: vec![],
        elements,
        element_shares: vec![],
    }
}
