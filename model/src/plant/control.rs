//! What decides the pressure of a unit: a reading, a mark, a valve, a product flow or a pump's share.

use super::calibration::Calibration;
use super::concentrate_valve::ConcentrateValve;
use super::condition::{Condition, Estimate};
use super::energy_recovery::product_share;
use super::working_point::Rule;
use crate::parts::{Parts, PressureControl};
use crate::performance::NotComputable;

/// Standard deviation of a pressure that the crew or a regulator sets: an ordinary dial gauge. Our choice, no source.
const SET_PRESSURE_SD_BAR: f64 = 1.0;

/// Relative standard deviation of a product flow that the crew sets, and of a pump's product share. Our choice, no source.
const SET_SHARE_SD: f64 = 0.03;

/// What decides the pressure, without its number: that is an input.
#[derive(Clone, Copy, Debug)]
pub(super) enum RuleKind {
    Inlet,
    Outlet,
    Valve(ConcentrateValve),
    Product,
    Share,
}

impl RuleKind {
    /// The rule with this number, and this exponent of a valve.
    pub(super) fn with(self, value: f64, exponent: f64) -> Rule {
        match self {
            Self::Inlet => Rule::Inlet(value),
            Self::Outlet => Rule::Outlet(value),
            Self::Valve(valve) => Rule::Valve(ConcentrateValve { pressure_bar: value, exponent, ..valve }),
            Self::Product => Rule::Product(value),
            Self::Share => Rule::Share(value),
        }
    }
}

/// What decides the pressure here: a reading if there is one, otherwise the unit's own control.
pub(super) fn rule(
    parts: &Parts,
    condition: &Condition,
    calibration: &Calibration,
) -> Result<(RuleKind, Estimate), NotComputable> {
    if let Some(bar) = condition.feed_pressure_bar {
        return Ok((RuleKind::Inlet, bar));
    }
    if let Some(bar) = condition.concentrate_pressure_bar {
        return Ok((RuleKind::Outlet, bar));
    }
    if let Some(l_h) = condition.product_flow_l_h {
        if l_h.value <= 0.0 {
            return Err(NotComputable::ProductFlowUnknown);
        }
        return Ok((RuleKind::Product, l_h));
    }
    let as_set = |bar: f64| Estimate::new(bar, SET_PRESSURE_SD_BAR);
    let valve = |valve: ConcentrateValve| (RuleKind::Valve(valve), as_set(valve.pressure_bar));
    match parts.pressure_control {
        PressureControl::Regulated | PressureControl::HandSetPressure => {
            match (calibration.valve, parts.set_pressure_bar) {
                (Some(setting), _) => Ok(valve(setting)),
                (None, Some(bar)) => Ok((RuleKind::Outlet, as_set(bar))),
                (None, None) => Err(NotComputable::PressureUnknown),
            }
        }
        PressureControl::FixedValve => calibration.valve.map(valve).ok_or(NotComputable::ValveSettingUnknown),
        PressureControl::HandSetFlow => match (calibration.valve, parts.set_product_flow_l_h) {
            (Some(setting), _) => Ok(valve(setting)),
            (None, Some(l_h)) if 0.0 < l_h => Ok((RuleKind::Product, Estimate::new(l_h, SET_SHARE_SD * l_h))),
            (None, _) => Err(NotComputable::SetProductFlowUnknown),
        },
        PressureControl::FixedRecovery => match product_share(&parts.pump) {
            Some(share) if 0.0 < share && share < 1.0 => {
                Ok((RuleKind::Share, Estimate::new(share, SET_SHARE_SD * share)))
            }
            Some(_) => Err(NotComputable::ImpossiblePart { what: "the pump's product share" }),
            None => Err(NotComputable::ProductShareUnknown),
        },
    }
}
