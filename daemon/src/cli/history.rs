//! What the history knows of a unit, for commands that only compute: opened for reading beside a daemon that may be writing.

use crate::engine::{KnownUnit, RestoredUnit, known_unit};
use crate::settings::{Settings, UnitSettings};
use crate::store::{ReadOnly, StoreError};
use barrico_model::WallMs;
use barrico_model::records::{Baseline, LogBody, LogEntry};

/// Runs that are read, as many as the daemon remembers.
const RUNS_READ: usize = 500;
/// Log entries that are read, as many as the daemon remembers.
const ENTRIES_READ: usize = 4_000;

/// A unit's own history, if there is one that can be used.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    /// The unit as it shows.
    pub unit: Option<KnownUnit>,
    /// What must be remarked: why the history or its baseline is not used.
    pub remark: Option<String>,
    history: RestoredUnit,
}

impl Known {
    /// Opens the history and looks. A boat without one has nothing to remark.
    pub fn of(settings: &Settings, unit: &UnitSettings) -> Self {
        let unused = |why: String| Self {
            remark: Some(format!("the unit's own history is not used: {why}")),
            ..Self::default()
        };
        let history = match read(settings, unit) {
            Ok(Some(history)) => history,
            Ok(None) | Err(StoreError::Missing(_)) => return Self::default(),
            Err(error) => return unused(error.to_string()),
        };
        match known_unit(unit, history.clone()) {
            Ok(known) => {
                let remark = known.parts_changed.then(|| {
                    "the parts list was changed and the log does not say which part, so the baseline is not used".to_string()
                });
                Self { unit: Some(known), remark, history }
            }
            Err(why) => unused(why.to_string()),
        }
    }

    /// The baseline that counts.
    pub fn baseline(&self) -> Option<&Baseline> {
        self.unit.as_ref()?.baseline.as_ref()
    }

    /// What an engine needs to judge readings of now against the baseline: no runs, since those of the history would count as well, and of the log what tells of parts.
    pub fn for_judging(&self) -> RestoredUnit {
        let tells_of_parts =
            |entry: &&LogEntry| matches!(entry.body, LogBody::Event(kind) if kind.ends_baseline());
        RestoredUnit {
            log: self.history.log.iter().filter(tells_of_parts).cloned().collect(),
            baselines: self.history.baselines.clone(),
            parts_fingerprint: self.history.parts_fingerprint,
            learnt: self.unit.as_ref().map(|known| known.learnt).unwrap_or_default(),
            ..RestoredUnit::default()
        }
    }

    /// The latest date in the history: readings of now are later.
    pub fn latest(&self) -> Option<WallMs> {
        let runs = self.history.runs.iter().filter_map(|run| run.start.wall_ms);
        let entries = self.history.log.iter().filter_map(|entry| entry.at.wall_ms);
        let baselines = self.history.baselines.iter().filter_map(|baseline| baseline.taken.wall_ms);
        runs.chain(entries).chain(baselines).max()
    }
}

fn read(settings: &Settings, unit: &UnitSettings) -> Result<Option<RestoredUnit>, StoreError> {
    let store = ReadOnly::open(&settings.state_folder)?;
    if !store.units()?.contains(&unit.id) {
        return Ok(None);
    }
    Ok(Some(RestoredUnit {
        log: store.log(&unit.id, ENTRIES_READ)?,
        runs: store.runs(&unit.id, RUNS_READ)?,
        baselines: store.baselines(&unit.id)?,
        parts_fingerprint: store.parts_fingerprint(&unit.id)?,
        ..RestoredUnit::default()
    }))
}

/// A baseline in words.
pub(super) fn baseline_words(baseline: &Baseline) -> String {
    let from = match baseline.runs.len() {
        1 => "one run".to_string(),
        count => format!("{count} runs"),
    };
    let date = baseline.taken.wall_ms.and_then(crate::publish::format::rfc3339);
    let when = date.map_or(String::new(), |date| format!(" of {}", &date[..10.min(date.len())]));
    format!("this unit's own {} baseline number {}{when}, from {from}", baseline.kind.name(), baseline.id)
}

#[cfg(test)]
#[path = "tests/history.rs"]
mod tests;
