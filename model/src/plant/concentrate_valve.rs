//! The valve behind the last element.
//!
//! p = p_0 (rho/rho_0)^(m/2) (Q_b/Q_b0)^m: m = 2 is a needle or an orifice, m = 0 an ideal regulator. Real regulators droop; 0.1 is our choice, no source. The
//! exponent is learnt within a run; between runs the reference point may move, which is "valve moved" and no fault.

use super::condition::Estimate;
use crate::math;
use crate::parts::PressureControl;

/// A setting of the concentrate valve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConcentrateValve {
    /// Pressure at the concentrate outlet when it was set, bar gauge.
    pub pressure_bar: f64,
    /// Concentrate flow then, L/h.
    pub concentrate_flow_l_h: f64,
    /// Density of the concentrate then, kg/m3, if known.
    pub density_kg_m3: Option<f64>,
    /// The exponent m.
    pub exponent: f64,
}

impl ConcentrateValve {
    /// Exponent of a needle or orifice: pressure goes with the square of the flow.
    pub const NEEDLE_EXPONENT: f64 = 2.0;
    /// Exponent of a regulator that droops a little. Our choice, no source.
    pub const REGULATOR_EXPONENT: f64 = 0.1;

    /// Exponent before anything was learnt, with its spread: 0.1 for a regulator (0 to 0.5 was heard of), 2 for anything else that stays put. A worn or partly laminar
    /// needle lies below 2. Our choice, no source.
    pub const fn usual_exponent(control: PressureControl) -> Estimate {
        match control {
            PressureControl::Regulated => Estimate::new(Self::REGULATOR_EXPONENT, 0.15),
            _ => Estimate::new(Self::NEEDLE_EXPONENT, 0.3),
        }
    }

    /// Pressure, bar gauge, at this concentrate flow in L/h and density in kg/m3.
    pub fn pressure_bar_at(&self, concentrate_flow_l_h: f64, density_kg_m3: f64) -> f64 {
        let flow = (concentrate_flow_l_h / self.concentrate_flow_l_h).max(0.0);
        let density = self.density_kg_m3.map_or(1.0, |reference| density_kg_m3 / reference);
        self.pressure_bar * math::pow(density, 0.5 * self.exponent) * math::pow(flow, self.exponent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn valve(exponent: f64) -> ConcentrateValve {
        ConcentrateValve {
            pressure_bar: 55.0,
            concentrate_flow_l_h: 200.0,
            density_kg_m3: Some(1040.0),
            exponent,
        }
    }

    #[test]
    fn a_needle_goes_with_the_square_and_a_regulator_holds() {
        assert_close!(valve(2.0).pressure_bar_at(100.0, 1040.0), 55.0 / 4.0, relative = 1e-14);
        assert_close!(valve(2.0).pressure_bar_at(200.0, 1030.0), 55.0 * 1030.0 / 1040.0, relative = 1e-14);
        assert_close!(valve(0.0).pressure_bar_at(100.0, 1030.0), 55.0, relative = 1e-14);
        assert_eq!(valve(2.0).pressure_bar_at(-1.0, 1040.0), 0.0);
    }
}
