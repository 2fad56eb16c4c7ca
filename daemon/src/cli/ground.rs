//! What a figure is computed from: this unit's own baseline where the history holds one, else the sheets of its parts.

use crate::publish::format;
use crate::settings::{Settings, UnitSettings};
use crate::store::{DATABASE_FILE, ReadOnly, StoreError};
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::plant::{Calibration, Estimate};
use barrico_model::records::Baseline;
use std::sync::Arc;

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
pub(super) fn ground(settings: &Arc<Settings>, unit: &UnitSettings) -> anyhow::Result<Ground> {
    // Asking for it would begin a history where there is none.
    let known = match settings.state_folder.join(DATABASE_FILE).exists() {
        false => Err("there is no history yet".to_owned()),
        true => match super::learnt::known(settings, unit) {
            Ok(Some(known)) => Ok(known),
            Ok(None) => Err("there is no baseline yet".to_owned()),
            Err(error) => Err(format!("the baseline cannot be used: {error}")),
        },
    };
    match known {
        Ok((calibration, baseline)) => {
            let taken =
                baseline.taken.wall_ms.map_or("an unknown date".to_owned(), |at| format::date_time(at, None));
            let says = format!(
                "Computed from this unit's own baseline ({}, taken {taken} from {} runs).",
                baseline.kind.name(),
                baseline.runs.len()
            );
            Ok(Ground { calibration, baseline: Some(baseline), says })
        }
        Err(why) => {
            let calibration = Calibration::from_nominal_sheets(&unit.parts)?;
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
