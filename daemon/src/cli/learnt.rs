//! What was learnt of a unit, for computing ahead: its baseline and its valve, asked of the running program or of the history.

use super::send::send;
use crate::engine::{Command, Reply};
use crate::settings::{Settings, UnitSettings};
use barrico_model::plant::Calibration;
use barrico_model::records::Baseline;
use std::sync::Arc;

/// The parts as the present baseline and the valve's law show them.
///
/// # Errors
/// No history, no baseline in it, or one that nothing can be computed from.
pub(super) fn calibration(settings: &Arc<Settings>, unit: &UnitSettings) -> anyhow::Result<Calibration> {
    let Some((calibration, _)) = known(settings, unit)? else {
        anyhow::bail!(
            "there is no baseline yet: take one when the unit is known to be sound, with `barrico baseline take`; without `--baseline` the parts list alone is \
             used"
        )
    };
    Ok(calibration)
}

/// The same with the baseline itself; `None` if there is no present one.
///
/// # Errors
/// No history, or a baseline that nothing can be computed from.
pub(super) fn known(
    settings: &Arc<Settings>,
    unit: &UnitSettings,
) -> anyhow::Result<Option<(Calibration, Baseline)>> {
    let Reply::History(history) = send(settings, &Command::history(&unit.id))? else {
        anyhow::bail!("the answer is not what was asked for")
    };
    let Some(baseline) = history.baselines.iter().rev().find(|baseline| baseline.retired.is_none()) else {
        return Ok(None);
    };
    // Elements that are by-passed take no part.
    let mut parts = unit.parts.clone();
    let mut place = 0;
    parts.elements.retain(|element| {
        place += 1;
        let mark = element.serial.clone().unwrap_or_else(|| barrico_model::records::mark_of_position(place));
        !history.by_passed.contains(&mark)
    });
    let calibration = Calibration::from_baseline(&parts, baseline)?;
    let calibration = match history.valve {
        Some(law) => calibration.with_valve(law.exponent, history.valve_setting),
        None => calibration,
    };
    Ok(Some((calibration, baseline.clone())))
}
