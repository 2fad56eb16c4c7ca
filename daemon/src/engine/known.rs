//! A unit as its history shows it, for commands that compute ahead without an engine that runs.

use super::RestoredUnit;
use super::parts_list::is_of_other_parts;
use super::unit::Unit;
use crate::settings::UnitSettings;
use barrico_model::judgement::Learnt;
use barrico_model::parts::Parts;
use barrico_model::performance::NotComputable;
use barrico_model::plant::Calibration;
use barrico_model::records::Baseline;

/// What is known of it.
#[derive(Clone, Debug)]
pub struct KnownUnit {
    /// The parts that the water goes through: without elements that are by-passed.
    pub parts: Parts,
    /// The parts as baseline, valve and temperature parameters show them.
    pub calibration: Calibration,
    /// The baseline that counts.
    pub baseline: Option<Baseline>,
    /// The parts list was changed since, so the baseline does not count.
    pub parts_changed: bool,
    /// Temperature parameters from its runs.
    pub learnt: Learnt,
}

/// Reads a history.
///
/// # Errors
/// Nothing can be computed from these parts.
pub fn known_unit(settings: &UnitSettings, history: RestoredUnit) -> Result<KnownUnit, NotComputable> {
    let fingerprint = history.parts_fingerprint;
    let mut unit = Unit::new(settings.clone(), true);
    unit.restore(history);
    unit.parts_changed = is_of_other_parts(&unit.settings.parts, fingerprint);
    unit.learning.learn(&unit.settings, unit.runs.iter(), &unit.log);
    Ok(KnownUnit {
        calibration: unit.calibration()?,
        baseline: unit.baseline().cloned(),
        parts_changed: unit.parts_changed,
        learnt: unit.learning.learnt,
        parts: unit.settings.parts,
    })
}
