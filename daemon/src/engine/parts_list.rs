//! Does the history belong to the parts list in the settings?
//!
//! The parts list has a fingerprint in the store. A difference is "parts changed": the baseline is suspended until a log entry says which
//! part it was, or until the settings are as before.

use super::unit::Unit;
use super::{Engine, Event, Output, Record};
use barrico_model::Monotonic;
use barrico_model::parts::Parts;
use barrico_model::records::{ElementPlace, LogBody, LogEntry, RunRecord};

impl Engine {
    /// Compares the parts list with the one that the history belongs to.
    pub(super) fn check_parts(&mut self, unit: usize, stored: Option<u64>, out: &mut Vec<Output>) {
        let present = fingerprint(&self.units[unit].settings.parts);
        match stored {
            // A replacement was written down before the settings were changed: what they say now is what it led to.
            None | Some(AWAITED) => {
                self.persist(Record::Parts { unit, fingerprint: present }, out);
            }
            Some(_) if !is_of_other_parts(&self.units[unit].settings.parts, stored) => {}
            Some(_) => {
                self.units[unit].parts_changed = true;
                let text = "the parts list in the settings differs from the one that the history belongs to. Which part was \
                            changed? Until `barrico log add --event element-replaced` (or pump-serviced, elements-moved, \
                            instrument-replaced) says so, the baseline is not used."
                    .to_owned();
                out.push(Output::Event(Box::new(Event::Remark { unit: Some(unit), text })));
            }
        }
    }

    /// A part was replaced: the baseline that was taken with the old one ends.
    pub(super) fn part_replaced(
        &mut self,
        now: Monotonic,
        unit: usize,
        entry: &LogEntry,
        out: &mut Vec<Output>,
    ) -> Option<String> {
        let this = &mut self.units[unit];
        let fingerprint = if this.parts_changed { fingerprint(&this.settings.parts) } else { AWAITED };
        this.parts_changed = false;
        self.persist(Record::Parts { unit, fingerprint }, out);
        let LogBody::Event(kind) = entry.body else { return None };
        let reason = format!("{} (log entry {})", kind.name(), entry.id);
        let ended = self.end_baseline(now, unit, &reason, out)?;
        Some(format!("baseline {ended} ended: {reason}. The next steady run makes a new one."))
    }
}

impl Engine {
    /// Elements that an entry names and the settings do not list: a slip of the pen, or settings that are still to be changed.
    pub(super) fn unknown_elements(&self, unit: usize, entry: &LogEntry) -> Option<String> {
        let listed = &self.units[unit].listed;
        let is_listed = |mark: &str| listed.iter().any(|element| element.mark == mark);
        let unknown: Vec<&str> = entry
            .elements
            .iter()
            .filter(|moved| moved.to != ElementPlace::Removed && !is_listed(&moved.mark))
            .map(|moved| moved.mark.as_str())
            .collect();
        if unknown.is_empty() {
            return None;
        }
        let known: Vec<&str> = listed.iter().map(|element| element.mark.as_str()).collect();
        Some(format!(
            "the settings do not list {}; they have {}. They decide what is computed with: change them and start the program again.",
            unknown.join(", "),
            known.join(", ")
        ))
    }
}

impl Unit {
    /// Was this run made with the parts of today? One from before the latest replacement in the log tells of other parts. Dates decide, and numbers where a
    /// date is missing.
    pub(super) fn has_present_parts(&self, run: &RunRecord) -> bool {
        let replaced = |entry: &&LogEntry| {
            !entry.voided && matches!(entry.body, LogBody::Event(kind) if kind.ends_baseline())
        };
        !self.log.iter().filter(replaced).any(|entry| match (run.start.wall_ms, entry.at.wall_ms) {
            (Some(run_ms), Some(entry_ms)) if run_ms != entry_ms => run_ms < entry_ms,
            _ => run.id < entry.id,
        })
    }
}

/// Does a history with this fingerprint belong to another parts list?
pub(super) fn is_of_other_parts(parts: &Parts, stored: Option<u64>) -> bool {
    stored.is_some_and(|known| known != AWAITED && known != fingerprint(parts))
}

/// Stands in the store for a parts list that the next start may change: a replacement was written down.
const AWAITED: u64 = 0;

/// Fingerprint of what a baseline rests on: 64-bit FNV-1a over its text form (Fowler, Noll and Vo, IETF draft-eastlake-fnv). Limits, pre-filters and
/// what only the electric side needs are no part of it.
pub fn fingerprint(parts: &Parts) -> u64 {
    let elements: Vec<_> = parts
        .elements
        .iter()
        .map(|element| (&element.size, &element.serial, element.area_m2, &element.sheet))
        .collect();
    let (pump, trains) = (&parts.pump, parts.parallel_trains);
    format!("{:?} {pump:?} {:?} {trains} {elements:?}", parts.pressure_control, parts.drive.kind)
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
