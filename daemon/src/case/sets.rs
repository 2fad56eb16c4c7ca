//! Single readings gathered into sets: what was read on one walk round the unit belongs together.

use super::judge::Set;
use super::walk::Walk;
use barrico_model::WallMs;
use barrico_model::records::HandReading;

/// Readings within this time of the first are one set: pressure first, the jug a few minutes later (our choice).
const SET_MS: i64 = 30 * 60_000;

/// One reading with its time, author and pointer.
pub(super) struct Dated {
    pub at: Option<WallMs>,
    pub by: String,
    pub reading: HandReading,
    pub pointer: String,
}

/// Sets in the order of time. Readings without time belong to the last set.
pub(super) fn sets(walk: &mut Walk, mut readings: Vec<Dated>) -> Vec<Set> {
    readings.sort_by_key(|reading| reading.at.unwrap_or(WallMs::MAX));
    let mut sets: Vec<Set> = Vec::new();
    for dated in readings {
        let has = |set: &Set| set.readings.iter().any(|known| known.quantity == dated.reading.quantity);
        let last = sets.last_mut().filter(|set| match (set.at, dated.at) {
            (Some(first), Some(at)) => at - first <= SET_MS && (!has(set) || at == first),
            _ => true,
        });
        match last {
            Some(set) if has(set) => walk.bad(
                dated.pointer,
                format!("a second value of {} at the same time", dated.reading.quantity.name()),
                "give each reading its own `time`, or leave one out",
            ),
            Some(set) => set.readings.push(dated.reading),
            None => sets.push(Set { at: dated.at, by: dated.by, readings: vec![dated.reading] }),
        }
    }
    sets
}
