//! Puts readings to the engine and lets it judge.
//!
//! The same engine as in the daemon, on a clock of its own: history restored, baseline readings entered and taken, older readings entered
//! as a table, the latest as a person's entry, then as many seconds as the slowest finding must hold. Nothing is kept.

use super::facts::Facts;
use crate::engine;
use crate::engine::view::UnitView;
use crate::engine::wall_clock::ClockMode;
use crate::engine::{
    Command, Engine, Input, NewEntry, Options, Output, Reply, Restored, RestoredUnit, RunSelection,
};
use crate::settings::Settings;
use barrico_model::findings::product_salinity_over_limit::QUIET_AFTER_START_S;
use barrico_model::judgement::reasoning::Answer;
pub use barrico_model::judgement::reasoning::{Position, Tide};
use barrico_model::parts::Parts;
use barrico_model::records::{EventKind, HandReading, LogBody};
use barrico_model::{Monotonic, Quantity, WallMs};
use std::sync::Arc;

/// One set of readings, taken together.
#[derive(Clone, Debug, PartialEq)]
pub struct Set {
    /// When; `None`: now.
    pub at: Option<WallMs>,
    /// By whom.
    pub by: String,
    /// What was read.
    pub readings: Vec<HandReading>,
}

/// Something that happened to the unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When; `None`: after the baseline, before the latest readings.
    pub at: Option<WallMs>,
    /// What.
    pub kind: EventKind,
    /// Who says so.
    pub by: String,
    /// Free text.
    pub note: String,
}

/// What is known beside the readings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Context {
    /// The present; `None`: the time of the latest reading.
    pub now: Option<WallMs>,
    /// Where the boat lies.
    pub position: Option<Position>,
    /// What the tide does.
    pub tide: Option<Tide>,
    /// Does the boat move through the water?
    pub under_way: Option<bool>,
    /// Is the unit switched on?
    pub commanded_on: Option<bool>,
    /// How long the unit had been running at the latest readings.
    pub minutes_since_start: Option<f64>,
    /// How long it had not run before.
    pub days_idle: Option<f64>,
    /// Months of a lay-up before.
    pub lay_up_months: Option<f64>,
    /// Running hours of the newest element.
    pub element_hours: Option<f64>,
    /// Runs of the bilge pump during the latest run.
    pub bilge_pump_runs: Option<f64>,
    /// What a flush needs, L.
    pub flush_litres: Option<f64>,
    /// Hours until an automatic flush starts.
    pub hours_to_automatic_flush: Option<f64>,
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Settings with the unit.
    pub settings: Settings,
    /// Index of the unit in the settings.
    pub unit: usize,
    /// What a store remembers of the unit.
    pub history: RestoredUnit,
    /// Readings of the sound unit; empty: none.
    pub baseline: Vec<Set>,
    /// Readings to judge, in the order of time.
    pub readings: Vec<Set>,
    /// What happened.
    pub events: Vec<Event>,
    /// What else is known.
    pub context: Context,
    /// What stands beside the readings.
    pub facts: Facts,
}

/// The judgement.
pub struct Judged {
    /// The engine after it.
    pub engine: Engine,
    /// What may be behind it, and what to look at next.
    pub answer: Answer,
    /// The unit as it is shown then.
    pub unit: UnitView,
    /// Index of the unit in the engine.
    pub index: usize,
    /// Salinity of the sea that the settings call usual, g/kg, with its standard deviation.
    pub usual_feed_salinity: Option<(f64, f64)>,
    /// Present time of the judgement, if any reading had one.
    pub now: Option<WallMs>,
    /// What was told beside the readings, in words.
    pub told: Vec<String>,
    /// What was not used, and why.
    pub left_out: Vec<String>,
    /// What the engine remarked on the way.
    pub remarks: Vec<String>,
}

/// When it is, for cases without any date. Nothing depends on it: only differences count.
const UNDATED_MS: WallMs = 1_767_225_600_000;
/// Monotonic time of the judgement: far enough from zero for readings of ten years.
const NOW: Monotonic = Monotonic(320_000_000_000);
/// Seconds that pass after the latest readings: the longest hold time of a finding is 60 s, and states need 5 s.
pub(crate) const SETTLE_S: u64 = 70;
/// Readings of the sound unit without a date lie so far back, ms.
const BEFORE_MS: i64 = 86_400_000;
/// Steady readings begin so long after the start, s: pressure and temperature settle first (common practice, no source).
const QUIET_S: f64 = 300.0;
const DAY_MS: f64 = 86_400_000.0;

/// Lets the engine judge.
///
/// # Errors
/// What the engine refused to take, in its words.
pub fn judge(question: Question) -> Result<Judged, String> {
    let Question { settings, unit, history, baseline, mut readings, events, context, facts } = question;
    let latest = |sets: &[Set]| sets.iter().filter_map(|set| set.at).max();
    let dated = context.now.or(latest(&readings)).or(latest(&baseline).map(|at| at + BEFORE_MS));
    let now = dated.unwrap_or(UNDATED_MS);
    let named = settings.units.get(unit).ok_or("there is no such unit")?;
    let (id, usual_feed_salinity, parts) = (named.id.clone(), named.usual_feed_salinity, named.parts.clone());
    let mut units = vec![RestoredUnit::default(); settings.units.len()];
    units[unit] = history;
    let around = super::told::Unit {
        tank_litres: named.tank_l,
        usual_salinity_g_kg: usual_feed_salinity.map(|(value, _)| value),
    };
    let told =
        super::told::told(&around, &units[unit], (&baseline, &readings), &events, &context, &facts, now);
    let mut bench = Bench::new(settings, id, units, now);
    bench.engine.tell(unit, told);
    // An instrument or a unit of measure that is named before any comparison is no ground for one.
    for quantity in bench.engine.answer(NOW, unit).doubted() {
        leave_out_doubted(&mut readings, quantity, &mut bench.left_out);
    }

    let taken = latest(&baseline).unwrap_or(now - BEFORE_MS);
    let (before, after): (Vec<Event>, Vec<Event>) =
        events.into_iter().partition(|event| !baseline.is_empty() && event.at.is_some_and(|at| at < taken));
    bench.events(before)?;
    if !baseline.is_empty() {
        bench.take_baseline(baseline, now - BEFORE_MS)?;
    }
    let preserved = rested_preserved(&after, &context, now);
    bench.events(after)?;
    if let Some(days) = context.days_idle.filter(|_| !preserved) {
        let at = Some(now - (days * DAY_MS) as i64);
        let note = "last run or flush, by the context of the case".to_string();
        bench.events(vec![Event { at, kind: EventKind::Flushed, by: "case".to_string(), note }])?;
    }
    let last = readings.pop();
    for set in &mut readings {
        let minutes = set.at.map_or(0.0, |at| (now - at) as f64 / 60_000.0);
        let since_start =
            context.minutes_since_start.map(|since| since - minutes).filter(|since| 0.0 <= *since);
        leave_out(set, &Context { minutes_since_start: since_start, ..context }, &mut bench.left_out);
    }
    readings.retain(|set| !set.readings.is_empty());
    bench.table(readings, now)?;
    if let Some(mut last) = last {
        bench.state_shown = state_shown(&mut last, &parts);
        leave_out(&mut last, &context, &mut bench.left_out);
        if !last.readings.is_empty() {
            let body = LogBody::Readings(last.readings);
            bench.add(vec![entry(last.at.or(Some(now)), last.by, body, String::new())])?;
        }
    }
    bench.told = facts.words();
    bench.left_out.extend(facts.not_weighed());
    bench.left_out.dedup();
    bench.settle();
    bench.finish(unit, usual_feed_salinity, dated)
}

/// In the daemon a person's reading tells nothing of the state now. Here it is the present: unless the state is among the readings, the engine is told the one that they
/// show. True: it was added.
fn state_shown(set: &mut Set, parts: &Parts) -> bool {
    let value = |quantity: Quantity| set.readings.iter().find(|r| r.quantity == quantity).map(|r| r.value);
    if value(Quantity::OperatingState).is_some() {
        return false;
    }
    let Some(state) = engine::state_shown(Some(parts), value) else { return false };
    set.readings.push(HandReading {
        quantity: Quantity::OperatingState,
        value: f64::from(state.code()),
        typed: state.name().to_string(),
        instrument: None,
    });
    true
}

/// The rest was spent in preservative: it was filled in when the rest began, and nothing ended that.
fn rested_preserved(events: &[Event], context: &Context, now: WallMs) -> bool {
    let Some(days) = context.days_idle else { return false };
    let began = now - ((days + 1.0) * DAY_MS) as i64;
    let latest =
        |kind: EventKind| events.iter().filter(|event| event.kind == kind).filter_map(|e| e.at).max();
    latest(EventKind::Preserved)
        .is_some_and(|at| began <= at && latest(EventKind::Flushed).is_none_or(|f| f <= at))
}

/// Takes out the readings of a quantity whose instrument, unit or sender is in doubt.
fn leave_out_doubted(sets: &mut [Set], quantity: Quantity, left_out: &mut Vec<String>) {
    for set in sets.iter_mut() {
        let before = set.readings.len();
        set.readings.retain(|reading| reading.quantity != quantity);
        let line = format!("{}: its instrument, unit or sender must be settled first", quantity.label());
        if set.readings.len() < before && !left_out.contains(&line) {
            left_out.push(line);
        }
    }
}

/// Takes out what says nothing yet so soon after the start.
fn leave_out(set: &mut Set, context: &Context, left_out: &mut Vec<String>) {
    let Some(seconds) = context.minutes_since_start.map(|minutes| minutes * 60.0) else { return };
    let salt = [Quantity::ProductConductivity, Quantity::ProductSalinity];
    if seconds < QUIET_AFTER_START_S && set.readings.iter().any(|reading| salt.contains(&reading.quantity)) {
        set.readings.retain(|reading| !salt.contains(&reading.quantity));
        left_out.push(format!(
            "product salinity of the first {:.0} minutes: product is salty then in every sound unit; measure again later",
            QUIET_AFTER_START_S / 60.0
        ));
    }
    if seconds < QUIET_S && set.readings.iter().any(|reading| reading.quantity == Quantity::ProductFlow) {
        set.readings.retain(|reading| reading.quantity != Quantity::ProductFlow);
        left_out.push(format!(
            "product flow of the first {:.0} minutes: pressure and temperature settle then; measure again later",
            QUIET_S / 60.0
        ));
    }
}

fn entry(at: Option<WallMs>, by: String, body: LogBody, note: String) -> NewEntry {
    NewEntry { at, time_invented: false, by, body, note, elements: vec![] }
}

/// The engine on a clock of its own, with a store that confirms everything at once.
struct Bench {
    engine: Engine,
    id: String,
    requests: u64,
    now: Monotonic,
    /// The state was added to the readings by this module.
    state_shown: bool,
    told: Vec<String>,
    left_out: Vec<String>,
    remarks: Vec<String>,
}

impl Bench {
    fn new(settings: Settings, id: String, units: Vec<RestoredUnit>, now: WallMs) -> Self {
        let options = Options { clock: ClockMode::Recorded, find_units: false, transmit: false };
        let engine = Engine::new(Arc::new(settings), options);
        let mut bench = Self {
            engine,
            id,
            requests: 0,
            now: NOW,
            state_shown: false,
            told: vec![],
            left_out: vec![],
            remarks: vec![],
        };
        let last_id = units.iter().map(last_id).max().unwrap_or(0);
        let restored = Restored { store_id: 1, boot: 1, units, last_id };
        bench.handle(Input::WallClock(now));
        bench.handle(Input::Restored(Box::new(restored)));
        bench
    }

    /// Feeds one input and everything that follows from it; gives the replies.
    fn handle(&mut self, input: Input) -> Vec<Reply> {
        let (mut inputs, mut replies) = (vec![input], vec![]);
        while let Some(input) = inputs.pop() {
            let mut outputs = Vec::new();
            self.engine.handle(self.now, input, &mut outputs);
            self.sort(outputs, &mut inputs, &mut replies);
        }
        replies
    }

    fn sort(&mut self, outputs: Vec<Output>, inputs: &mut Vec<Input>, replies: &mut Vec<Reply>) {
        for output in outputs {
            match output {
                Output::Persist(ticket, _) => inputs.push(Input::Persisted(ticket)),
                Output::Reply { reply, .. } => replies.push(*reply),
                Output::Event(event) => {
                    if let crate::engine::Event::Remark { text, .. } = *event {
                        self.remarks.push(text);
                    }
                }
                Output::Transmit(_) => {}
            }
        }
    }

    fn command(&mut self, command: Command) -> Result<Reply, String> {
        self.requests += 1;
        let replies = self.handle(Input::Command { request: self.requests, command: Box::new(command) });
        match replies.into_iter().next() {
            Some(Reply::Refused(why)) => Err(why),
            Some(reply) => Ok(reply),
            None => Err("the engine gave no answer".to_string()),
        }
    }

    fn add(&mut self, entries: Vec<NewEntry>) -> Result<Vec<u64>, String> {
        match self.command(Command::AddEntries { unit: self.id.clone(), entries })? {
            Reply::Written { runs, remarks, .. } => {
                self.remarks.extend(remarks);
                Ok(runs)
            }
            _ => Err("the engine gave another answer than was asked for".to_string()),
        }
    }

    fn events(&mut self, events: Vec<Event>) -> Result<(), String> {
        for event in events {
            self.add(vec![entry(event.at, event.by, LogBody::Event(event.kind), event.note)])?;
        }
        Ok(())
    }

    /// Enters sets as rows of a table: runs become of them, but no present values.
    fn table(&mut self, sets: Vec<Set>, undated: WallMs) -> Result<Vec<u64>, String> {
        if sets.is_empty() {
            return Ok(vec![]);
        }
        // A single entry would be a person's present reading; the note makes it a table of two.
        let note = entry(
            Some(undated),
            "case".to_string(),
            LogBody::Event(EventKind::Note),
            "readings of the past follow".to_string(),
        );
        let rows = sets.into_iter().map(|set| {
            entry(set.at.or(Some(undated)), set.by, LogBody::Readings(set.readings), String::new())
        });
        self.add(std::iter::once(note).chain(rows).collect())
    }

    fn take_baseline(&mut self, sets: Vec<Set>, undated: WallMs) -> Result<(), String> {
        let runs = self.table(sets, undated)?;
        let (Some(first), Some(last)) = (runs.iter().min(), runs.iter().max()) else {
            self.left_out.push("the baseline: its readings have no product flow".to_string());
            return Ok(());
        };
        let command = Command::TakeBaseline {
            unit: self.id.clone(),
            runs: RunSelection::Range(*first, *last),
            by: "case".to_string(),
        };
        if let Err(why) = self.command(command) {
            self.left_out.push(format!("the baseline: {why}"));
        }
        Ok(())
    }

    /// Lets the seconds pass that findings must hold.
    fn settle(&mut self) {
        for _ in 0..SETTLE_S {
            self.now = self.now.plus_ms(1_000);
            let (mut outputs, mut inputs) = (Vec::new(), Vec::new());
            self.engine.handle_timeout(self.now, &mut outputs);
            self.sort(outputs, &mut inputs, &mut Vec::new());
            for input in inputs {
                self.handle(input);
            }
        }
    }

    fn finish(
        self,
        unit: usize,
        usual_feed_salinity: Option<(f64, f64)>,
        now: Option<WallMs>,
    ) -> Result<Judged, String> {
        let mut view = self.engine.view(self.now);
        if view.units.len() <= unit {
            return Err("there is no such unit".to_string());
        }
        let mut unit_view = view.units.swap_remove(unit);
        if self.state_shown {
            unit_view.state_inferred = true;
            unit_view.readings.retain(|reading| reading.quantity != Quantity::OperatingState);
        }
        for reading in &mut unit_view.readings {
            reading.age_s = (reading.age_s - SETTLE_S as f64).max(0.0);
        }
        let answer = self.engine.answer(self.now, unit);
        Ok(Judged {
            engine: self.engine,
            answer,
            unit: unit_view,
            index: unit,
            usual_feed_salinity,
            now,
            told: self.told,
            left_out: self.left_out,
            remarks: self.remarks,
        })
    }
}

/// Highest number that the history of a unit has used.
fn last_id(unit: &RestoredUnit) -> u64 {
    let log = unit.log.iter().map(|entry| entry.id);
    let runs = unit.runs.iter().chain(&unit.cut_run).map(|run| run.id);
    log.chain(runs).chain(unit.baselines.iter().map(|baseline| baseline.id)).max().unwrap_or(0)
}
