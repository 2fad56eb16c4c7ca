//! The same unit with something wrong: what remains of it.

use super::unknown::Unknown;
use crate::parts::{Parts, PumpKind};
use crate::plant::Calibration;

/// Loss of the pump's delivery in the worn state. A pump is usually repaired by then; common practice, no source.
pub const PUMP_WEAR: f64 = 0.15;

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Variant {
    /// Nothing: all parts as on their sheets.
    AsListed,
    /// One element is taken out and the rest is plumbed together; of trains side by side one is closed.
    OneElementOut,
    /// The pump delivers [`PUMP_WEAR`] less: of a plunger pump feed, since valves and packings let slip; of an energy-recovery pump product, since its seals let
    /// water back to the low side. Neither saves power: see [`crate::plant`] on pump and energy recovery.
    PumpWorn,
}

impl Variant {
    /// All, in the order in which they are shown.
    pub const ALL: [Self; 3] = [Self::AsListed, Self::OneElementOut, Self::PumpWorn];

    /// A short name that does not change.
    pub const fn name(self) -> &'static str {
        match self {
            Self::AsListed => "as-listed",
            Self::OneElementOut => "one-element-out",
            Self::PumpWorn => "pump-worn",
        }
    }

    /// The parts that are left and what is known of them.
    ///
    /// The element that is out is the one with the highest flow on its sheet: the loss is then the largest.
    ///
    /// # Errors
    /// [`Unknown::NothingLeft`] if there was one element only; otherwise as [`Calibration::from_nominal_sheets`].
    pub fn apply(self, parts: &Parts) -> Result<(Parts, Calibration), Unknown> {
        let mut parts = parts.clone();
        if self == Self::OneElementOut {
            if 1 < parts.parallel_trains {
                parts.parallel_trains -= 1;
            } else {
                let flow = |at: &usize| parts.elements[*at].sheet.nominal_flow_l_h;
                let best = (0..parts.elements.len()).max_by(|a, b| flow(a).total_cmp(&flow(b)));
                let best = best.filter(|_| 1 < parts.elements.len()).ok_or(Unknown::NothingLeft)?;
                parts.elements.remove(best);
            }
        }
        let leaks = self == Self::PumpWorn && wear_energy_recovery(&mut parts);
        let mut calibration = Calibration::from_nominal_sheets(&parts)?;
        if self == Self::PumpWorn && !leaks {
            calibration.delivery.value *= 1.0 - PUMP_WEAR;
            calibration.delivery.deviation *= 1.0 - PUMP_WEAR;
        }
        Ok((parts, calibration))
    }
}

/// Gives an energy-recovery pump so much more internal leakage that its product falls by [`PUMP_WEAR`]: product is (Y - l) of the feed. False for a plunger pump.
fn wear_energy_recovery(parts: &mut Parts) -> bool {
    let PumpKind::EnergyRecovery { product_share } = parts.pump.kind else { return false };
    let tight = parts.pump.internal_leakage.unwrap_or(0.0);
    parts.pump.internal_leakage = Some(tight + PUMP_WEAR * (product_share - tight));
    true
}
