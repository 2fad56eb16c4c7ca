//! Entries of the log: readings by hand become present values and run records, events explain later readings.

use super::steady::add_missing;
use super::unit::{LOG_MAX, RunChange};
use super::{Engine, Event, NewEntry, Output, Record, Reply};
use crate::intake::usual_errors;
use barrico_model::records::{HandReading, LogBody, LogEntry, Origin, Reading, RunEnd, RunRecord};
use barrico_model::{Monotonic, Quantity, Stamp};

/// Readings entered within this time of each other are one set: pressure first, the jug a few minutes later (our choice).
const SET_MS: i64 = 30 * 60_000;

impl Engine {
    pub(super) fn add_entries(
        &mut self,
        now: Monotonic,
        unit: usize,
        entries: Vec<NewEntry>,
        out: &mut Vec<Output>,
    ) -> Reply {
        let table = 1 < entries.iter().filter(|entry| matches!(entry.body, LogBody::Readings(_))).count();
        let (mut ids, mut runs, mut remarks) = (Vec::new(), Vec::new(), Vec::new());
        let mut replaced = Vec::new();
        for new in entries {
            let entry = self.number(now, new);
            ids.push(entry.id);
            self.persist(Record::Log { unit, entry: entry.clone() }, out);
            match &entry.body {
                LogBody::Event(kind) => {
                    self.units[unit].note_event(&entry);
                    if kind.ends_baseline() {
                        replaced.push(entry.clone());
                    }
                }
                LogBody::Readings(set) => {
                    runs.extend(self.readings_by_hand(now, unit, &entry, set, table, out))
                }
            }
            let log = &mut self.units[unit].log;
            log.push(entry);
            if LOG_MAX < log.len() {
                log.remove(0);
            }
        }
        self.units[unit].follow_elements();
        for entry in &replaced {
            remarks.extend(self.unknown_elements(unit, entry));
            remarks.extend(self.part_replaced(now, unit, entry, out));
        }
        if !runs.is_empty() || !replaced.is_empty() {
            self.judge_history(now, unit, out);
        }
        Reply::Written { entries: ids, runs, remarks }
    }

    fn number(&mut self, now: Monotonic, new: NewEntry) -> LogEntry {
        self.last_id += 1;
        let present = self.clock.stamp(now);
        let at = match new.at {
            None => present,
            Some(wall_ms) => {
                // A reading of the past keeps its own date; its monotonic time follows from it where a date is known.
                let back = present.wall_ms.map_or(0, |now_ms| (now_ms - wall_ms).max(0)) as u64;
                let monotonic = Monotonic(now.0.saturating_sub(back));
                Stamp { wall_ms: Some(wall_ms), monotonic, ..present }
            }
        };
        LogEntry {
            id: self.last_id,
            revision: 0,
            at,
            time_invented: new.time_invented,
            by: new.by,
            body: new.body,
            note: new.note,
            reason: String::new(),
            voided: false,
            elements: new.elements,
        }
    }

    /// Readings with their errors, as the instruments of the settings have them.
    fn readings_of(&self, entry: &LogEntry, set: &[HandReading]) -> Vec<Reading> {
        let instruments = &self.settings.instruments;
        set.iter()
            .map(|hand| {
                let named = hand.instrument.as_deref();
                let index = instruments.iter().position(|i| Some(i.id.as_str()) == named).unwrap_or(0);
                let errors =
                    instruments.get(index).map_or((0.0, 0.0), |i| usual_errors(i, hand.quantity, hand.value));
                Reading {
                    quantity: hand.quantity,
                    value: hand.value,
                    random: errors.0,
                    systematic: errors.1,
                    instrument: index as u16,
                    origin: Origin::Hand { entry: entry.id },
                    at: entry.at.monotonic,
                }
            })
            .collect()
    }

    fn readings_by_hand(
        &mut self,
        now: Monotonic,
        unit: usize,
        entry: &LogEntry,
        set: &[HandReading],
        table: bool,
        out: &mut Vec<Output>,
    ) -> Option<u64> {
        let readings = self.readings_of(entry, set);
        if !table {
            for reading in &readings {
                self.units[unit].readings.take_by_hand(*reading);
            }
        }
        let mut completed: Vec<Option<Reading>> = vec![None; Quantity::ALL.len()];
        for reading in &readings {
            completed[reading.quantity as usize] = Some(*reading);
        }
        super::derived::complete(now, &mut completed);
        let readings: Vec<Reading> = completed.into_iter().flatten().collect();
        if let Some(index) = self.run_for(unit, entry, table) {
            let mut run = self.units[unit].runs[index].clone();
            run.revision += 1;
            add_missing(&mut run.means, &readings);
            super::derived::high_side(&self.units[unit].settings.parts, &mut run.means);
            self.units[unit].runs[index] = run.clone();
            self.persist_run(unit, &run, out);
            out.push(Output::Event(Box::new(Event::Run { unit, run: run.clone() })));
            return Some(run.id);
        }
        let open = self.units[unit].run.as_ref().is_some_and(|run| run.since <= entry.at.monotonic);
        let tells = readings.iter().any(|reading| reading.quantity == Quantity::ProductFlow);
        if open || !tells {
            return None;
        }
        self.last_id += 1;
        let mut run = RunRecord {
            id: self.last_id,
            revision: 0,
            start: entry.at,
            duration_s: 0.0,
            end: RunEnd::ReadingSet,
            time_invented: entry.time_invented,
            steady_s: 0.0,
            means: vec![],
            product_l: None,
            element_hours: Some(self.units[unit].element_hours()),
            valve_moved: false,
            valve: vec![],
            elements: vec![],
            element_shares: vec![],
        };
        add_missing(&mut run.means, &readings);
        super::derived::high_side(&self.units[unit].settings.parts, &mut run.means);
        self.units[unit].keep(run.clone());
        self.units[unit].wetted(entry.at);
        self.persist_run(unit, &run, out);
        out.push(Output::Event(Box::new(Event::Run { unit, run: run.clone() })));
        Some(run.id)
    }

    /// The closed run that a single entry belongs to: the run it lies in, or the set that was begun a little before.
    fn run_for(&self, unit: usize, entry: &LogEntry, table: bool) -> Option<usize> {
        if table {
            return None;
        }
        let wall = entry.at.wall_ms?;
        self.units[unit].runs.iter().rposition(|run| {
            let Some(start) = run.start.wall_ms else { return false };
            let end = start + (run.duration_s * 1000.0) as i64;
            match run.end {
                RunEnd::ReadingSet => (wall - start).abs() <= SET_MS && !self.has_all(run, entry),
                _ => start <= wall && wall <= end,
            }
        })
    }

    /// Does the run have all of these readings already? Then the entry is a new set.
    fn has_all(&self, run: &RunRecord, entry: &LogEntry) -> bool {
        let LogBody::Readings(set) = &entry.body else { return false };
        set.iter().any(|hand| {
            run.mean(hand.quantity).is_some_and(|mean| matches!(mean.origin, Origin::Hand { .. }))
        })
    }

    /// An entry was amended or struck out: the runs that were made of it are issued again.
    pub(super) fn entry_changed(
        &mut self,
        now: Monotonic,
        unit: usize,
        entry: &LogEntry,
        out: &mut Vec<Output>,
    ) -> Vec<u64> {
        let LogBody::Readings(set) = &entry.body else { return vec![] };
        let from_entry = |origin: Origin| origin == Origin::Hand { entry: entry.id };
        let readings = if entry.voided { vec![] } else { self.readings_of(entry, set) };
        let mut changed = Vec::new();
        for index in 0..self.units[unit].runs.len() {
            let mut run = self.units[unit].runs[index].clone();
            if !run.means.iter().any(|mean| from_entry(mean.origin)) {
                continue;
            }
            // Computed values may rest on the entry too; they are made anew.
            run.means.retain(|mean| !from_entry(mean.origin) && !matches!(mean.origin, Origin::Computed(_)));
            run.revision += 1;
            let mut completed: Vec<Option<Reading>> = vec![None; Quantity::ALL.len()];
            for reading in &readings {
                completed[reading.quantity as usize] = Some(*reading);
            }
            super::derived::complete(now, &mut completed);
            let completed: Vec<Reading> = completed.into_iter().flatten().collect();
            add_missing(&mut run.means, &completed);
            super::derived::high_side(&self.units[unit].settings.parts, &mut run.means);
            self.units[unit].runs[index] = run.clone();
            self.run_changed(now, unit, RunChange::Ended(run.clone()), out);
            changed.push(run.id);
        }
        changed
    }
}
