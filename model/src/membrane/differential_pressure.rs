//! Pressure lost along an element.
//!
//! dP = dP_ref (Q/Q_ref)^n, Q the flow in the channel. Correlations for the open channel give a quarter of what a small
//! element with its ports shows, so the reference point comes from a baseline; before one exists, 0.365 bar at 5.8 L/min with n = 1.42, fitted to open
//! data of one 2540 element (scatter 14 %). It hardly influences the product.

use crate::math;
use crate::quantity::{Flow, Pressure};

/// Law of the differential pressure of one element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DifferentialPressureLaw {
    /// Differential pressure at the reference flow.
    pub reference_pressure: Pressure,
    /// Mean of feed and concentrate flow to which it belongs.
    pub reference_flow: Flow,
    /// Exponent of the flow.
    pub exponent: f64,
}

impl DifferentialPressureLaw {
    /// Exponent of the flow along an element.
    pub const EXPONENT: f64 = 1.42;
    /// Standard deviation of the logarithm before a baseline exists: a factor of 2 as an interval, over the root of three.
    pub const LN_SD: f64 = 0.4;

    /// For an element of the 2540 class before a baseline exists: 0.365 bar at 5.8 L/min.
    pub fn small_element() -> Self {
        const UNIT_POINT: &str = "a constant that is finite";
        Self {
            reference_pressure: Pressure::from_bar(0.365).expect(UNIT_POINT),
            reference_flow: Flow::from_l_min(5.8).expect(UNIT_POINT),
            exponent: Self::EXPONENT,
        }
    }

    /// Pa per (m3/s)^n.
    pub(crate) fn coefficient(&self) -> f64 {
        let reference = self.reference_flow.as_m3_s();
        if reference > 0.0 {
            self.reference_pressure.as_pa() / math::pow(reference, self.exponent)
        } else {
            0.0
        }
    }
}

/// A power of a flow that changes little from one slice to the next: four terms of the binomial series in place of a logarithm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SlowPower {
    exponent: f64,
    flow: f64,
    power: f64,
}

/// Largest relative change for which the series is used; its first term left out is then below 2e-7.
const SERIES_MAX: f64 = 0.05;

impl SlowPower {
    pub(crate) fn new(flow: f64, exponent: f64) -> Self {
        Self { exponent, flow, power: math::pow(flow, exponent) }
    }

    /// The power of this flow.
    #[inline]
    pub(crate) fn of(&mut self, flow: f64) -> f64 {
        let d = (flow - self.flow) / self.flow;
        if d.abs() <= SERIES_MAX {
            let n = self.exponent;
            let third = d * (n - 2.0) / 3.0;
            self.power *= 1.0 + n * d * (1.0 + 0.5 * (n - 1.0) * d * (1.0 + third));
        } else {
            self.power = math::pow(flow, self.exponent);
        }
        self.flow = flow;
        self.power
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_is_the_power() {
        let mut slow = SlowPower::new(9e-5, 1.42);
        let mut flow = 9e-5;
        for step in 0..40 {
            flow *= if step == 20 { 0.8 } else { 0.96 };
            assert_close!(slow.of(flow), math::pow(flow, 1.42), relative = 4e-6);
        }
    }

    /// Open data of one 2540 element: 0.36, 0.57, 1.02 and 1.40 bar at 5.8, 8, 12 and 15 L/min, scatter 14 %.
    #[test]
    fn the_default_law_meets_what_was_measured() {
        let law = DifferentialPressureLaw::small_element();
        for (l_min, bar) in [(5.8, 0.36), (8.0, 0.57), (12.0, 1.02), (15.0, 1.40)] {
            let flow = Flow::from_l_min(l_min).unwrap();
            let pa = law.coefficient() * math::pow(flow.as_m3_s(), law.exponent);
            assert_close!(pa / 1e5, bar, relative = 0.03, "{l_min} L/min");
        }
    }
}
