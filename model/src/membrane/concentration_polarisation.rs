//! Salt that gathers at the membrane's face.
//!
//! Film theory with the mass-transfer correlation of Schock & Miquel 1987, Desalination 64, 339-352: Sh = 0.065 Re^0.875 Sc^0.25 (read as cited in open
//! papers). The correlation's coefficient is multiplied by 1.4, found on open data of one 2540 element (1.4 to 1.5 fits best). Channel: spacer of
//! 0.71 mm (28 mil) and porosity 0.89 (from memory). As an alternative the trade's exp(0.7 Y) on an element's recovery Y, for
//! cross-checks and for a simulator that must differ from the judge; it does not depend on temperature, the film does. A permeability belongs to
//! the form it was found with: mixing the two gives 10 % error.

use crate::quantity::{Area, Temperature};
use crate::seawater::salt_diffusivity::salt_diffusivity_m2_s;
use crate::seawater::viscosity::ViscosityAt;

/// How polarisation is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Polarisation {
    /// Film theory; the correlation's mass-transfer coefficient is multiplied by this.
    Film {
        /// Multiplier of the mass-transfer coefficient, default 1.4.
        multiplier: f64,
    },
    /// exp(0.7 Y), Y the recovery of the element.
    Exponential,
    /// None: the face is as salty as the stream. Only to compare with others' figures.
    Absent,
}

impl Polarisation {
    /// Multiplier that fits open data of one element best.
    pub const FILM_MULTIPLIER: f64 = 1.4;
    /// Standard deviation of the multiplier's logarithm: an interval from 1.0 to 2.0 has a half width of 0.35, over the root of three.
    pub const LN_FILM_MULTIPLIER_SD: f64 = 0.2;
    /// Exponent of the trade's form (from memory).
    pub const EXPONENT: f64 = 0.7;
}

impl Default for Polarisation {
    fn default() -> Self {
        Self::Film { multiplier: Self::FILM_MULTIPLIER }
    }
}

/// Height of the feed spacer, m: 28 mil (from memory of the trade).
const SPACER_HEIGHT_M: f64 = 0.71e-3;

/// Porosity of the feed spacer (from memory of the trade).
const SPACER_POROSITY: f64 = 0.89;

/// Hydraulic diameter of the channel, m (Schock & Miquel 1987): 4 e/(2/h + (1 - e) 8/h).
const HYDRAULIC_DIAMETER_M: f64 =
    4.0 * SPACER_POROSITY / (2.0 / SPACER_HEIGHT_M + (1.0 - SPACER_POROSITY) * 8.0 / SPACER_HEIGHT_M);

/// Coefficient of the correlation (Schock & Miquel 1987).
const SHERWOOD_COEFFICIENT: f64 = 0.065;

/// Speed in the channel, m/s per m3/s: leaves of area/2 wound over the element's length make a channel of width area/(2 L).
pub(crate) fn speed_per_flow(area: Area, length_m: f64) -> f64 {
    2.0 * length_m / (SPACER_POROSITY * SPACER_HEIGHT_M * area.as_m2())
}

/// The correlation's terms in temperature: 0.065 D^(3/4) d_h^(-1/8).
pub(crate) fn film_constant(temperature: Temperature, viscosity: &ViscosityAt) -> f64 {
    let root = salt_diffusivity_m2_s(temperature, viscosity).sqrt();
    SHERWOOD_COEFFICIENT * root * root.sqrt() / HYDRAULIC_DIAMETER_M.sqrt().sqrt().sqrt()
}

/// Mass-transfer coefficient, m/s, from the terms in temperature, the speed in m/s and the kinematic viscosity in m2/s.
///
/// Sh = 0.065 Re^(7/8) Sc^(1/4) is k = constant * (u^7 / nu^5)^(1/8); square roots are exact on every processor and cheap.
#[inline]
pub(crate) fn mass_transfer_m_s(constant: f64, speed_m_s: f64, viscosity_m2_s: f64) -> f64 {
    let u2 = speed_m_s * speed_m_s;
    let nu2 = viscosity_m2_s * viscosity_m2_s;
    let ratio = u2 * u2 * u2 * speed_m_s / (nu2 * nu2 * viscosity_m2_s);
    constant * ratio.sqrt().sqrt().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;
    use crate::seawater::density::DensityAt;

    /// One 2540 element with 5.8 L/min of seawater: own evaluation of the correlation in its published form, Re 92, 0.098 m/s, 3.05e-5 m/s.
    #[test]
    fn the_folded_form_is_the_published_one() {
        let temperature = Temperature::from_celsius(25.0).unwrap();
        let viscosity = ViscosityAt::new(temperature);
        let nu = viscosity.pa_s(35.0) / DensityAt::new(temperature).kg_m3(35.0);
        let speed = speed_per_flow(Area::from_m2(2.8).unwrap(), 0.90) * 5.8e-3 / 60.0;
        assert_close!(speed, 0.098, relative = 6e-3);
        let k = mass_transfer_m_s(film_constant(temperature, &viscosity), speed, nu);
        let diffusivity = salt_diffusivity_m2_s(temperature, &viscosity);
        let (re, sc) = (speed * HYDRAULIC_DIAMETER_M / nu, nu / diffusivity);
        let published =
            0.065 * math::pow(re, 0.875) * math::pow(sc, 0.25) * diffusivity / HYDRAULIC_DIAMETER_M;
        assert_close!(k, published, relative = 1e-13);
        assert_close!(k, 3.05e-5, relative = 2e-2);
        assert_close!(re, 92.0, relative = 2e-2);
    }
}
