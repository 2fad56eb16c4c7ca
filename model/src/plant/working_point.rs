//! Where pump, train and pressure control meet.
//!
//! One unknown, the pressure at the membrane inlet: the pump's delivery falls with it, the train's product rises, and the control asks for a pressure
//! at the outlet, for a pressure that goes with the concentrate flow, for a product flow, or for a share of the feed.

use super::concentrate_valve::ConcentrateValve;
use super::pump;
use crate::membrane::{TrainAt, TrainError, TrainOutput};
use crate::parts::Pump;
use crate::performance::NotComputable;
use crate::quantity::{Flow, Pressure};
use crate::solve::bracketed::{Search, SolveError, secant_rising};

/// Highest pressure that is tried, bar. Elements, pumps and vessels of this trade end well below.
pub const PRESSURE_MAX_BAR: f64 = 150.0;

/// Tolerance of the inlet pressure, Pa: five orders below what a gauge shows.
const TOLERANCE_PA: f64 = 1.0;

/// Pa in a bar.
const BAR_PA: f64 = 1e5;

/// Where the feed comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Feed {
    /// A flow that is given, L/h.
    Given(f64),
    /// The pump: speed over rated speed, delivery at rated pressure, slip, share that leaks back inside before it reaches the membranes.
    Pump { speed: f64, delivery: f64, slip: f64, leakage: f64 },
}

/// What decides the pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Rule {
    /// Pressure at the membrane inlet, bar.
    Inlet(f64),
    /// Pressure at the concentrate outlet, bar.
    Outlet(f64),
    /// A valve behind the outlet.
    Valve(ConcentrateValve),
    /// Product flow, L/h.
    Product(f64),
    /// Product as a share of the feed.
    Share(f64),
}

/// A train with its feed, pressure control and product pressure.
pub(crate) struct Plant<'a> {
    pub pump: &'a Pump,
    pub train: &'a TrainAt,
    pub feed: Feed,
    pub rule: Rule,
    pub product_pressure_bar: f64,
}

impl Plant<'_> {
    /// Feed flow, L/h, at a pump outlet pressure in bar.
    fn feed_l_h(&self, pressure_bar: f64) -> f64 {
        match self.feed {
            Feed::Given(l_h) => l_h,
            Feed::Pump { speed, delivery, slip, leakage } => {
                self.pump.nameplate_flow_l_h
                    * speed
                    * pump::delivery_at(self.pump, delivery, slip, pressure_bar)
                    * (1.0 - leakage)
            }
        }
    }

    fn march(&self, inlet_pa: f64) -> Result<TrainOutput, NotComputable> {
        let feed = Flow::from_l_h(self.feed_l_h(inlet_pa / BAR_PA))?;
        let product = Pressure::from_bar(self.product_pressure_bar)?;
        Ok(self.train.with_inlet_pressure(feed, Pressure::from_pa(inlet_pa)?, product)?)
    }

    /// How far the pressure is too high, and the rough slope of that per Pa.
    fn excess(&self, output: &TrainOutput) -> f64 {
        let outlet_bar = output.outlet_pa / BAR_PA;
        match self.rule {
            Rule::Inlet(bar) => output.inlet_pa / BAR_PA - bar,
            Rule::Outlet(bar) => outlet_bar - bar,
            Rule::Valve(valve) => {
                let density = self.train.density_kg_m3(output.concentrate_g_kg);
                outlet_bar - valve.pressure_bar_at(output.concentrate_m3_s * L_H_PER_M3_S, density)
            }
            Rule::Product(l_h) => output.product_m3_s * L_H_PER_M3_S / l_h - 1.0,
            Rule::Share(share) => output.recovery() / share - 1.0,
        }
    }

    /// The working point.
    pub(crate) fn solve(&self) -> Result<TrainOutput, NotComputable> {
        let (guess_bar, slope_per_bar) = match self.rule {
            Rule::Inlet(bar) => return self.march(bar * BAR_PA),
            Rule::Outlet(bar) => (bar + 0.5, 1.0),
            // Of a needle about half of the slope is the valve's own.
            Rule::Valve(valve) => (valve.pressure_bar + 0.5, 1.0 + 0.5 * valve.exponent.max(0.0)),
            // Product of small units rises by 2 to 4 % for each bar.
            Rule::Product(_) | Rule::Share(_) => (self.pump.rated_pressure_bar, 0.03),
        };
        let search = Search {
            low: self.product_pressure_bar * BAR_PA,
            high: PRESSURE_MAX_BAR * BAR_PA,
            guess: guess_bar * BAR_PA,
            tolerance: TOLERANCE_PA,
        };
        let mut found = None;
        let searched = secant_rising(search, slope_per_bar / BAR_PA, |inlet_pa| match self.march(inlet_pa) {
            Ok(output) => {
                let excess = self.excess(&output);
                found = Some(output);
                Ok(excess)
            }
            // Nearly all the feed would pass: the pressure is far too high.
            Err(NotComputable::Train(TrainError::FeedUsedUp)) => Ok(FAR_TOO_HIGH),
            Err(other) => Err(other),
        });
        match (searched, found) {
            (Ok(_), Some(output)) => Ok(output),
            (Err(NotComputable::Solve(SolveError::RootAbove | SolveError::RootBelow)), _) => {
                Err(match self.rule {
                    Rule::Product(_) | Rule::Share(_) => {
                        NotComputable::ProductFlowNotReached { maximum_bar: PRESSURE_MAX_BAR }
                    }
                    _ => NotComputable::NoWorkingPoint { maximum_bar: PRESSURE_MAX_BAR },
                })
            }
            (Err(other), _) => Err(other),
            (Ok(_), None) => Err(TrainError::FeedUsedUp.into()),
        }
    }
}

/// Stands for an excess when the train cannot be computed because the pressure is far too high; in bar or as a share.
const FAR_TOO_HIGH: f64 = 100.0;

/// L/h in a m3/s.
pub(crate) const L_H_PER_M3_S: f64 = 3.6e6;
