//! What a figure is computed from: this unit's own baseline where the history holds one, else the sheets of its parts.

use super::history::{Known, baseline_words};
use crate::settings::{Settings, UnitSettings};
use crate::store::{DATABASE_FILE, ReadOnly, StoreError};
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::parts::Parts;
use barrico_model::performance::NotComputable;
use barrico_model::plant::note::SHEETS_ALONE;
use barrico_model::plant::{Calibration, Estimate};
use barrico_model::records::Baseline;

/// The ground of a computation.
pub(super) struct Ground {
    /// The parts that the water goes through: without elements that the log says are by-passed.
    pub parts: Parts,
    /// Those parts as the model sees them.
    pub calibration: Calibration,
    /// The baseline it comes from, if any.
    pub baseline: Option<Baseline>,
    /// Which it is, in a sentence for the reader.
    pub says: String,
}

impl Ground {
    /// The present baseline with what was learnt beside it, else the nominal sheets; which of the two, and why, is said. `from_parts_list`: the history is not
    /// looked at.
    ///
    /// # Errors
    /// What cannot be computed from the sheets.
    pub fn of(
        settings: &Settings,
        unit: &UnitSettings,
        from_parts_list: bool,
    ) -> Result<Self, NotComputable> {
        if from_parts_list {
            Self::sheets(unit, "as asked")
        } else {
            Self::new(unit, &Known::of(settings, unit))
        }
    }

    /// From what is known.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub fn new(unit: &UnitSettings, known: &Known) -> Result<Self, NotComputable> {
        let why = match (&known.remark, &known.unit) {
            (Some(remark), _) => remark,
            (None, Some(_)) => "there is no baseline yet",
            (None, None) => "there is no history yet",
        };
        let Some(found) = &known.unit else { return Self::sheets(unit, why) };
        let (parts, calibration) = (found.parts.clone(), found.calibration.clone());
        Ok(match &found.baseline {
            Some(baseline) => Self {
                parts,
                calibration,
                says: format!("Computed from {}.", baseline_words(baseline)),
                baseline: Some(baseline.clone()),
            },
            None => Self { parts, calibration, ..Self::sheets(unit, why)? },
        })
    }

    fn sheets(unit: &UnitSettings, why: &str) -> Result<Self, NotComputable> {
        let says = format!(
            "Computed from the parts list alone ({why}): {SHEETS_ALONE}. A baseline of this unit makes both narrower."
        );
        let calibration = Calibration::from_nominal_sheets(&unit.parts)?;
        Ok(Self { parts: unit.parts.clone(), calibration, baseline: None, says })
    }

    /// Which it is, in a word for programs.
    pub const fn word(&self) -> &'static str {
        if self.baseline.is_some() { "baseline" } else { "specification" }
    }
}

/// The history, if one was begun.
pub(super) fn history(settings: &Settings) -> Result<Option<ReadOnly>, StoreError> {
    if !settings.state_folder.join(DATABASE_FILE).exists() {
        return Ok(None);
    }
    ReadOnly::open(&settings.state_folder).map(Some)
}

/// The usual salinity of the settings, else that of the open sea, with the words for it.
pub(super) fn usual_salinity(unit: &UnitSettings) -> (Estimate, &'static str) {
    match unit.usual_feed_salinity {
        Some((value, sd)) => (Estimate::new(value, sd), "usual for this boat by the settings"),
        None => (
            Estimate::new(OPEN_SEA_G_KG.0, OPEN_SEA_G_KG.1),
            "of the open sea; harbours, rivers and closed seas differ",
        ),
    }
}
