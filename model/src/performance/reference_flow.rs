//! Product flow at reference conditions: what the thresholds act on.
//!
//! r = Q_p(A, B)/Q_p(A_0, B_0), both by the forward model in the baseline's water, at its pressure and feed flow. So a change of sea, pressure or pump
//! leaves r alone. Product answers to A with an exponent of 0.4 to 0.85 in small units, so r falls less than A.

use super::NotComputable;
use super::membrane_state::MembraneState;
use crate::math;
use crate::membrane::{Form, Train, Water, Working};

/// Product at reference conditions over that of the baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReferenceFlow {
    /// The ratio r.
    pub ratio: f64,
    /// Its standard deviation.
    pub deviation: f64,
    /// Exponents with which the product answers to A and to B there.
    pub exponents: (f64, f64),
}

impl ReferenceFlow {
    /// Standard deviations on each side of a 90 % interval of a normal distribution.
    pub const Z_90: f64 = 1.644_853_6;

    /// The 90 % interval of the ratio, from the logarithm.
    pub fn interval_90(&self) -> (f64, f64) {
        let reach = Self::Z_90 * self.deviation / self.ratio;
        (self.ratio * math::exp(-reach), self.ratio * math::exp(reach))
    }
}

/// Step of the logarithms for the exponents.
const STEP: f64 = 1e-3;

/// Product at the baseline's working point with the membranes of now over that with the membranes of then.
///
/// # Errors
/// [`NotComputable`] if the baseline's working point cannot be computed, or has no product.
pub fn reference_flow(
    train: &Train,
    form: &Form,
    water: &Water,
    working: &Working,
    baseline: &MembraneState,
    now: &MembraneState,
) -> Result<ReferenceFlow, NotComputable> {
    let mut at = train.at(water, form)?;
    let mut ln_product = |ln_a: f64, ln_b: f64| {
        at.set_ln_permeabilities(ln_a, ln_b);
        let product = at.solve(working)?.product_m3_s;
        if product > 0.0 { Ok(math::ln(product)) } else { Err(NotComputable::NoDrivingPressure) }
    };
    let ln_a = |state: &MembraneState| math::ln(state.a25.as_m_s_pa());
    let ln_b = |state: &MembraneState| math::ln(state.b25.as_m_s());
    let then = ln_product(ln_a(baseline), ln_b(baseline))?;
    let (a, b) = (ln_a(now), ln_b(now));
    let ratio = math::exp(ln_product(a, b)? - then);
    let by_a = (ln_product(a + STEP, b)? - ln_product(a - STEP, b)?) / (2.0 * STEP);
    let by_b = (ln_product(a, b + STEP)? - ln_product(a, b - STEP)?) / (2.0 * STEP);
    let deviation = ratio * now.over(baseline).covariance.along(by_a, by_b);
    Ok(ReferenceFlow { ratio, deviation, exponents: (by_a, by_b) })
}
