//! Diffusivity of sea salt in water.
//!
//! 1.6e-9 m2/s at 25 °C (sodium chloride near 0.5 mol/kg, from memory of Robinson & Stokes 1959), carried to other temperatures by the relation of Stokes
//! and Einstein, D proportional to T/mu of pure water. Units: m2/s. Range: that of the viscosity. Error: a few percent; it enters the
//! mass-transfer coefficient with an exponent of 0.75 and cancels there against the multiplier fitted to plant data.

use super::viscosity::ViscosityAt;
use crate::quantity::Temperature;

/// Diffusivity at 25 °C, m2/s.
const AT_25C_M2_S: f64 = 1.6e-9;

/// Viscosity of pure water at 25 °C by the same correlation as elsewhere, Pa s; a test holds it to that.
const PURE_WATER_AT_25C_PA_S: f64 = 8.901_394_913_946e-4;

/// Diffusivity, m2/s, from the temperature and the viscosity of pure water at it.
pub fn salt_diffusivity_m2_s(temperature: Temperature, viscosity: &ViscosityAt) -> f64 {
    AT_25C_M2_S * (temperature.as_kelvin() / 298.15) * PURE_WATER_AT_25C_PA_S / viscosity.pure_water_pa_s()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reference_viscosity_is_that_of_the_correlation() {
        let at_25c = ViscosityAt::new(Temperature::from_celsius(25.0).unwrap());
        assert_close!(PURE_WATER_AT_25C_PA_S, at_25c.pure_water_pa_s(), relative = 1e-8);
    }
}
