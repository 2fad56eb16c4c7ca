//! What a figure is computed from: this unit's own baseline where the history holds one, else the sheets of its parts.

use super::history::{Known, baseline_words};
use crate::settings::{Settings, UnitSettings};
use crate::store::{DATABASE_FILE, ReadOnly, StoreError};
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::plant::{Calibration, Estimate};
use barrico_model::records::Baseline;

/// The ground of a computation.
pub(super) struct Ground {
    /// The parts as the model sees them.
    pub calibration: Calibration,
    /// The baseline it comes from, if any.
    pub baseline: Option<Baseline>,
    /// Which it is, in a sentence for the reader.
    pub says: String,
}

/// The present baseline with what was learnt beside it, else the nominal sheets; which of the two, and why, is said.
pub(super) fn ground(settings: &Settings, unit: &UnitSettings) -> anyhow::Result<Ground> {
    let known = Known::of(settings, unit);
    let why = match (&known.remark, &known.unit) {
        (Some(remark), _) => remark.clone(),
        (None, Some(_)) => "there is no baseline yet".to_owned(),
        (None, None) => "there is no history yet".to_owned(),
    };
    match known.unit.map(|unit| (unit.calibration, unit.baseline)) {
        Some((calibration, Some(baseline))) => {
            let says = format!("Computed from {}.", baseline_words(&baseline));
            Ok(Ground { calibration, baseline: Some(baseline), says })
        }
        known => {
            let calibration = match known {
                Some((calibration, _)) => calibration,
                None => Calibration::from_nominal_sheets(&unit.parts)?,
            };
            let says = format!(
                "Computed from the parts list alone ({why}): flow is good to ±15 % at best, salinity to ±40 %. A baseline of this unit makes both narrower."
            );
            Ok(Ground { calibration, baseline: None, says })
        }
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
