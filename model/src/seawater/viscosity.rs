//! Dynamic viscosity of seawater.
//!
//! Source: Sharqawy, Lienhard & Zubair 2010, Desalination and Water Treatment 16, 354-380, equations 22 and 23. Units: Pa s, °C, kg/kg.
//! Range: 0 to 180 °C, 0 to 0.15 kg/kg; stated error 1.5 %. Pure water lies within 0.01 % of the IAPWS formulation at 5 to 35 °C; at
//! 25 °C and 40 g/kg it lies 0.5 % above Millero 1974.

use crate::quantity::{Salinity, Temperature};

/// Viscosity at one temperature: the temperature terms, evaluated once.
#[derive(Clone, Copy, Debug)]
pub struct ViscosityAt {
    pure_water_pa_s: f64,
    linear: f64,
    quadratic: f64,
}

impl ViscosityAt {
    /// For water of this temperature. Outside the range the temperature counts as the nearest end, where the formula has no pole.
    pub fn new(temperature: Temperature) -> Self {
        let t = temperature.as_celsius().clamp(TEMPERATURE_MIN_C, TEMPERATURE_MAX_C);
        let shifted = t + 64.992_620_05;
        let pure_water_pa_s =
            4.284_432_447_7e-5 + 1.0 / (1.570_038_646_4e-1 * shifted * shifted - 91.296_496_657);
        let linear = 1.540_913_604 + t * (1.998_111_720_8e-2 + t * -9.520_386_586_4e-5);
        let quadratic = 7.973_931_822_3 + t * (-7.561_456_888_1e-2 + t * 4.723_701_107_4e-4);
        Self { pure_water_pa_s, linear, quadratic }
    }

    /// Viscosity, Pa s, at this salinity in g/kg. Negative salinity counts as none.
    pub fn pa_s(&self, salinity_g_kg: f64) -> f64 {
        let w = salinity_g_kg.max(0.0) / 1000.0;
        self.pure_water_pa_s * (1.0 + w * (self.linear + w * self.quadratic))
    }

    /// Viscosity of pure water at this temperature, Pa s.
    pub fn pure_water_pa_s(&self) -> f64 {
        self.pure_water_pa_s
    }
}

/// Colder than any sea, and well above the pole of the pure-water term at -40.9 °C.
const TEMPERATURE_MIN_C: f64 = -5.0;

/// Upper end of the published range.
const TEMPERATURE_MAX_C: f64 = 180.0;

/// Dynamic viscosity of seawater, Pa s.
pub fn viscosity_pa_s(temperature: Temperature, salinity: Salinity) -> f64 {
    ViscosityAt::new(temperature).pa_s(salinity.as_g_kg())
}
