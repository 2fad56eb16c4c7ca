//! Product flow from the rise of the tank, where a level sender and a capacity are known.
//!
//! Only while the unit runs and its product goes into the tank. Nobody can say that nobody draws water; a tap shows as a fall of the level and begins the count
//! anew. Without a flow meter the figure stands in for one, with its own origin; with one it stands beside it as a check.

use super::unit::Unit;
use barrico_model::performance::tank_rise::TankRise;
use barrico_model::plant::Estimate;
use barrico_model::records::{OperatingState, Origin, ProductRoute, Reading};
use barrico_model::{Monotonic, Quantity};

/// The slope is worked out anew so often, ms: as often as a bin is filled.
const ANEW_MS: u64 = 120_000;

/// Origin of the reading.
pub const FROM_TANK: &str = "rise of the tank's level";

/// The tank and what its rise says.
#[derive(Clone, Debug, Default)]
pub struct TankFlow {
    rise: TankRise,
    /// Product flow, L/h, with its chance error, and the error that all such figures share.
    pub flow: Option<(Estimate, f64)>,
    worked_out: Option<Monotonic>,
}

impl Unit {
    /// One second: takes the level, and puts the flow in where no meter is.
    pub(super) fn follow_tank(&mut self, now: Monotonic) {
        let Some(tank_l) = self.settings.tank_l else { return };
        let level = self.readings.live_value(Quantity::TankLevel);
        let running = self.operating.state == Some(OperatingState::Running);
        let to_tank = match self.readings.live_value(Quantity::ProductRoute) {
            Some(route) => route as u8 == ProductRoute::Tank as u8,
            None => !self.settings.product_diverter,
        };
        let Some(level) = level.filter(|_| running && to_tank) else {
            if self.tank.flow.is_some() || !running {
                self.tank = TankFlow::default();
            }
            return;
        };
        self.tank.rise.add(now.0 as f64 / 1000.0, level);
        if self.tank.worked_out.is_none_or(|at| at.plus_ms(ANEW_MS) <= now) {
            self.tank.worked_out = Some(now);
            self.tank.flow = self.tank.rise.flow_l_h(tank_l);
        }
        let slot = &mut self.readings.current[Quantity::ProductFlow as usize];
        if slot.is_none() {
            *slot = self.tank.reading(now);
        }
    }
}

impl TankFlow {
    /// The flow as a reading.
    pub fn reading(&self, now: Monotonic) -> Option<Reading> {
        let (flow, systematic) = self.flow?;
        Some(Reading {
            quantity: Quantity::ProductFlow,
            value: flow.value,
            random: flow.deviation,
            systematic,
            instrument: 0,
            origin: Origin::Computed(FROM_TANK),
            at: now,
        })
    }
}
