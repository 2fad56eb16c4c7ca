//! What a figure is computed from: this unit's own baseline where the history holds one, else the sheets of its parts.

use crate::publish::format;
use crate::settings::{Settings, UnitSettings};
use crate::store::{ReadOnly, StoreError};
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

/// The present baseline of the history, else the nominal sheets; which of the two, and why, is said.
pub(super) fn ground(settings: &Settings, unit: &UnitSettings) -> anyhow::Result<Ground> {
    let (baseline, why) = match history(settings) {
        Ok(None) => (None, "there is no history yet".to_owned()),
        Err(error) => (None, format!("the history could not be read ({error})")),
        Ok(Some(history)) => match history.baselines(&unit.id) {
            Ok(all) => (
                all.into_iter().rfind(|known| known.retired.is_none()),
                "there is no baseline yet".to_owned(),
            ),
            Err(error) => (None, format!("the history could not be read ({error})")),
        },
    };
    let from_baseline =
        baseline.map(|baseline| (Calibration::from_baseline(&unit.parts, &baseline), baseline));
    match from_baseline {
        Some((Ok(calibration), baseline)) => {
            let taken =
                baseline.taken.wall_ms.map_or("an unknown date".to_owned(), |at| format::date_time(at, None));
            let says = format!(
                "Computed from this unit's own baseline ({}, taken {taken} from {} runs).",
                baseline.kind.name(),
                baseline.runs.len()
            );
            Ok(Ground { calibration, baseline: Some(baseline), says })
        }
        other => {
            let why = match other {
                Some((Err(error), _)) => format!("the baseline cannot be used: {error}"),
                _ => why,
            };
            let calibration = Calibration::from_nominal_sheets(&unit.parts)?;
            let says = format!(
                "Computed from the parts list alone ({why}): flow is good to ±15 %, salinity to ±40 %. A baseline of this unit makes both narrower."
            );
            Ok(Ground { calibration, baseline: None, says })
        }
    }
}

/// The history, if one was begun.
pub(super) fn history(settings: &Settings) -> Result<Option<ReadOnly>, StoreError> {
    if !settings.state_folder.join(crate::store::DATABASE_FILE).exists() {
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
