//! What people ask for, carried out. Each answer waits until what it promises is on disk.

use super::{Command, Engine, EntryChange, Event, Output, Record, Reply, RunSelection};
use crate::alerts::AlertKey;
use barrico_model::Monotonic;
use barrico_model::records::{LogBody, RunRecord};

/// Entries in one command: an import of several seasons, and no more than a bounded amount of memory.
pub const ENTRIES_MAX: usize = 20_000;
/// Longest note, bytes.
pub const NOTE_MAX: usize = 2_000;

impl Engine {
    /// Carries a command out; the error is the refusal in words.
    pub(super) fn obey(
        &mut self,
        now: Monotonic,
        command: Command,
        out: &mut Vec<Output>,
    ) -> Result<Reply, String> {
        match command {
            Command::AddEntries { unit, entries } => {
                let unit = self.find(&unit)?;
                if ENTRIES_MAX < entries.len() {
                    return Err(format!(
                        "{} entries in one go; at most {ENTRIES_MAX} are taken, split the table",
                        entries.len()
                    ));
                }
                if entries.iter().any(|entry| NOTE_MAX < entry.note.len()) {
                    return Err(format!("a note is longer than {NOTE_MAX} bytes"));
                }
                Ok(self.add_entries(now, unit, entries, out))
            }
            Command::ChangeEntry { unit, id, change, by, reason } => {
                let unit = self.find(&unit)?;
                self.change_entry(now, unit, id, change, &by, &reason, out)
            }
            Command::ListLog { unit, last } => {
                let unit = self.find(&unit)?;
                let log = &self.units[unit].log;
                Ok(Reply::Log(log[log.len().saturating_sub(last)..].to_vec()))
            }
            Command::TakeBaseline { unit, runs, by } => {
                let unit = self.find(&unit)?;
                self.take_baseline(now, unit, &runs, &by, out)
            }
            Command::RetireBaseline { unit, by, reason } => {
                let unit = self.find(&unit)?;
                self.retire_baseline(now, unit, &by, &reason, out)
            }
            Command::ListBaselines { unit } => {
                let unit = self.find(&unit)?;
                Ok(Reply::Baselines(self.units[unit].baselines.clone()))
            }
            Command::ShowHistory { unit } => {
                let unit = self.find(&unit)?;
                Ok(self.show_history(unit))
            }
            Command::Acknowledge { unit, code, about, occurrence, by } => {
                let unit = self.find(&unit)?;
                if !self.acknowledge(now, unit, (code, about), occurrence, &by, out) {
                    return Err("that alert has ended, was acknowledged already or was raised again since: look again".into());
                }
                Ok(Reply::Done)
            }
        }
    }

    /// Somebody has seen an alert: on the page, at the control socket, or at a display. It is kept, told, and said on the bus at once, so that it is silent
    /// everywhere. False: nothing changed, since it is over or another occurrence.
    pub(super) fn acknowledge(
        &mut self,
        now: Monotonic,
        unit: usize,
        key: AlertKey,
        occurrence: u32,
        by: &str,
        out: &mut Vec<Output>,
    ) -> bool {
        let stamp = self.clock.stamp(now);
        let alerts = &mut self.units[unit].alerts;
        let Some(alert) = alerts.acknowledge(stamp, key, occurrence, by) else { return false };
        let finding = alerts.finding(key).cloned();
        self.persist(Record::Alert { unit, alert: alert.clone() }, out);
        self.speak_change(now, unit, &alert, out);
        out.push(Output::Event(Box::new(Event::Finding { unit, alert, finding })));
        true
    }

    fn find(&self, id: &str) -> Result<usize, String> {
        self.unit_index(id).ok_or_else(|| {
            let known: Vec<&str> = self.units.iter().map(|unit| unit.settings.id.as_str()).collect();
            format!("there is no unit `{id}`; the settings have: {}", known.join(", "))
        })
    }

    #[expect(clippy::too_many_arguments, reason = "the fields of one command, taken apart once")]
    fn change_entry(
        &mut self,
        now: Monotonic,
        unit: usize,
        id: u64,
        change: EntryChange,
        by: &str,
        reason: &str,
        out: &mut Vec<Output>,
    ) -> Result<Reply, String> {
        if reason.trim().is_empty() {
            return Err("a change of the log needs a reason".into());
        }
        let Some(index) = self.units[unit].log.iter().position(|entry| entry.id == id) else {
            return Err(format!("there is no log entry {id} in the last two years"));
        };
        let mut entry = self.units[unit].log[index].clone();
        if entry.voided {
            return Err(format!("entry {id} is struck out already"));
        }
        entry.revision += 1;
        by.clone_into(&mut entry.by);
        reason.clone_into(&mut entry.reason);
        match change {
            EntryChange::Void => entry.voided = true,
            EntryChange::Amend(body) => {
                let same_kind = matches!(
                    (&entry.body, &body),
                    (LogBody::Readings(_), LogBody::Readings(_)) | (LogBody::Event(_), LogBody::Event(_))
                );
                if !same_kind {
                    return Err("readings stay readings and an event stays an event: strike it out and add a new entry".into());
                }
                entry.body = body;
            }
        }
        self.units[unit].log[index] = entry.clone();
        self.persist(Record::Log { unit, entry: entry.clone() }, out);
        self.units[unit].follow_elements();
        let runs = self.entry_changed(now, unit, &entry, out);
        Ok(Reply::Written { entries: vec![id], runs, remarks: vec![] })
    }

    /// The runs that a selection names, oldest first.
    pub(super) fn select_runs(
        &self,
        unit: usize,
        selection: &RunSelection,
    ) -> Result<Vec<RunRecord>, String> {
        let runs = &self.units[unit].runs;
        let usable = |run: &&RunRecord| !run.means.is_empty() && self.units[unit].has_present_parts(run);
        let chosen: Vec<RunRecord> = match selection {
            RunSelection::Latest => runs.iter().rev().find(usable).into_iter().cloned().collect(),
            RunSelection::LatestCount(count) => {
                let mut latest: Vec<_> = runs.iter().rev().filter(usable).take(*count).cloned().collect();
                latest.reverse();
                latest
            }
            RunSelection::Range(first, last) => runs
                .iter()
                .filter(|run| *first <= run.id && run.id <= *last)
                .filter(usable)
                .cloned()
                .collect(),
        };
        if chosen.is_empty() {
            return Err(
                "there is no run with steady readings, made with the parts of today, to take a baseline from"
                    .into(),
            );
        }
        Ok(chosen)
    }
}
