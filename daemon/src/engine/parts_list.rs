//! Does the history belong to the parts list in the settings?
//!
//! The parts list has a fingerprint in the store. A difference is "parts changed": the baseline is suspended until a log entry says which
//! part it was, or until the settings are as before.

use super::{Engine, Event, Output, Record};
use barrico_model::Monotonic;
use barrico_model::parts::Parts;
use barrico_model::records::LogEntry;

impl Engine {
    /// Compares the parts list with the one that the history belongs to.
    pub(super) fn check_parts(&mut self, unit: usize, stored: Option<u64>, out: &mut Vec<Output>) {
        let present = fingerprint(&self.units[unit].settings.parts);
        match stored {
            Some(known) if known == present => {}
            None => {
                self.persist(Record::Parts { unit, fingerprint: present }, out);
            }
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
        if this.parts_changed {
            this.parts_changed = false;
            let present = fingerprint(&this.settings.parts);
            self.persist(Record::Parts { unit, fingerprint: present }, out);
        }
        let barrico_model::records::LogBody::Event(kind) = entry.body else { return None };
        let reason = format!("{} (log entry {})", kind.name(), entry.id);
        let ended = self.end_baseline(now, unit, &reason, out)?;
        Some(format!("baseline {ended} ended: {reason}. The next steady run makes a new one."))
    }
}

/// Fingerprint of a parts list: 64-bit FNV-1a over its text form (Fowler, Noll and Vo, IETF draft-eastlake-fnv).
pub fn fingerprint(parts: &Parts) -> u64 {
    format!("{parts:?}")
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
