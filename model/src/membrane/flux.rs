//! Water and salt through one patch of membrane.
//!
//! J = A (p - p_p - pi(S_w) + pi(S_p)) and J S_p = B (S_w - S_p) with (S_w - S_p) = (S_b - S_p) F give S_p = B S_b F/(J + B F)
//! without iteration, and one equation in J whose residual falls throughout, so it has one root between 0 and A (p - p_p).

use super::train::OsmoticAt;
use crate::math;
use crate::solve::bracketed::{Search, SolveError, newton_falling};

/// What drives and what resists at one patch. SI, salinities in g/kg.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Patch {
    /// Pressure across the membrane, Pa.
    pub net_pa: f64,
    /// Salinity of the stream, g/kg.
    pub bulk_g_kg: f64,
    /// Water permeability at this temperature, m/(s Pa).
    pub a: f64,
    /// Salt permeability at this temperature, m/s.
    pub b: f64,
    /// Polarisation at this patch.
    pub polarisation: PatchPolarisation,
}

/// Polarisation at one patch.
#[derive(Clone, Copy, Debug)]
pub(crate) enum PatchPolarisation {
    /// exp(J/k), with k in m/s.
    Film(f64),
    /// A factor that does not depend on the flux.
    Fixed(f64),
}

/// Flux and salinities at one patch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flux {
    /// Water, m/s.
    pub water_m_s: f64,
    /// Salinity of what has passed, g/kg.
    pub product_g_kg: f64,
    /// Salinity at the membrane's face, g/kg.
    pub face_g_kg: f64,
    /// (S_w - S_p)/(S_b - S_p).
    pub factor: f64,
}

/// Largest J/k that is not cut off: e^60 is finite, and its osmotic pressure stops any flux long before.
const EXPONENT_MAX: f64 = 60.0;

/// Last Newton step over the flux itself; the error that remains is its square, times J/k where that is above 1. Not over the largest possible flux: below
/// the osmotic pressure only salt that passes lets a trickle through, a thousandth of that and less, and the residual bends within the trickle's own size.
const STEP_SHARE: f64 = 5e-5;

/// Width of an interval, over the largest possible flux, which halving can hardly narrow any more.
const ROUNDING: f64 = 1e-15;

impl Patch {
    /// Polarisation factor and its slope in J.
    #[inline]
    fn factor_and_slope(&self, j: f64) -> (f64, f64) {
        match self.polarisation {
            PatchPolarisation::Fixed(factor) => (factor, 0.0),
            PatchPolarisation::Film(k) => {
                let x = j / k;
                if x < EXPONENT_MAX {
                    let factor = math::exp(x);
                    (factor, factor / k)
                } else {
                    (math::exp(EXPONENT_MAX), 0.0)
                }
            }
        }
    }

    /// Solves for the flux, starting from a guess in m/s. Without a pressure across the membrane nothing flows; the reverse flow of a unit at
    /// rest is not modelled.
    #[inline]
    pub(crate) fn solve(&self, osmotic: &OsmoticAt, guess: f64) -> Result<Flux, SolveError> {
        let nothing =
            Flux { water_m_s: 0.0, product_g_kg: self.bulk_g_kg, face_g_kg: self.bulk_g_kg, factor: 1.0 };
        if self.net_pa <= 0.0 {
            return Ok(nothing);
        }
        let most = self.a * self.net_pa;
        // Water without salt has its root at the high end, hence the margin.
        let search = Search { low: 0.0, high: most * 1.01, guess, tolerance: ROUNDING * most };
        let mut last = (0.0, nothing, [0.0; 3]);
        let j = newton_falling(search, STEP_SHARE, |j| {
            let (factor, dfactor) = self.factor_and_slope(j);
            let below = j + self.b * factor;
            let product = self.b * self.bulk_g_kg * factor / below;
            let dproduct = self.b * self.bulk_g_kg * (dfactor * j - factor) / (below * below);
            // (S_b - S_p) F written so that no digits are lost when S_p comes near S_b.
            let face = product + self.bulk_g_kg * j * factor / below;
            let dface =
                dproduct + self.bulk_g_kg * (self.b * factor * factor + j * j * dfactor) / (below * below);
            let (pi_face, dpi_face) = osmotic.pa_and_slope(face);
            let (pi_product, dpi_product) = osmotic.pa_and_slope(product);
            let residual = self.a * (self.net_pa - pi_face + pi_product) - j;
            let flux = Flux { water_m_s: j, product_g_kg: product, face_g_kg: face, factor };
            last = (j, flux, [dproduct, dface, dfactor]);
            (residual, self.a * (dpi_product * dproduct - dpi_face * dface) - 1.0)
        })?;
        // The last step is so small that its square is below rounding: a tangent saves one more exponential.
        let (at, flux, [dproduct, dface, dfactor]) = last;
        let step = j - at;
        Ok(Flux {
            water_m_s: j,
            product_g_kg: flux.product_g_kg + dproduct * step,
            face_g_kg: flux.face_g_kg + dface * step,
            factor: flux.factor + dfactor * step,
        })
    }

    /// A first guess for the flux, m/s: J = A (p - pi J/(J + B)), the same equations for a face as salty as the stream and an osmotic pressure that
    /// is proportional to salinity. Its root is the trickle where the osmotic pressure is higher; polarisation takes about a fifth of the rest.
    pub(crate) fn first_guess(&self, osmotic: &OsmoticAt) -> f64 {
        let (pi, _) = osmotic.pa_and_slope(self.bulk_g_kg);
        let driven = self.a * (self.net_pa - pi) - self.b;
        let product = self.a * self.net_pa * self.b;
        // The root of J^2 - driven J = product above zero, without a difference of near numbers.
        let root = (0.25 * driven * driven + product).sqrt();
        if 0.0 < driven { 0.8 * (0.5 * driven + root) } else { product / (root - 0.5 * driven) }
    }
}

#[cfg(test)]
mod tests;
