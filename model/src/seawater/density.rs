//! Density of seawater at one atmosphere.
//!
//! Source: Millero & Poisson 1981, as published with check values in Fofonoff & Millard 1983, UNESCO technical papers in marine science
//! 44 (the 1980 equation of state). Units: kg/m3, practical salinity, °C on IPTS-68. Range: 0 to 42, -2 to 40 °C; stated error 0.0036
//! kg/m3. Extrapolated to concentrate it lies 0.05 to 0.07 kg/m3 above the TEOS-10 library at 60 g/kg, so it serves there too. Pressure is
//! left out: at 55 bar seawater is 0.23 % denser.

use super::salinity_scales::REFERENCE_PER_PRACTICAL_G_KG;
use crate::quantity::{Salinity, Temperature};

/// IPTS-68 over ITS-90, °C (Saunders 1990, as used in UNESCO 44 codes since).
pub const T68_PER_T90: f64 = 1.000_24;

/// Density at one temperature: the polynomials in temperature, evaluated once.
#[derive(Clone, Copy, Debug)]
pub struct DensityAt {
    pure_water_kg_m3: f64,
    linear: f64,
    three_halves: f64,
}

/// Coefficient of the square of salinity; without temperature.
const QUADRATIC: f64 = 4.8314e-4;

impl DensityAt {
    /// For water of this temperature.
    pub fn new(temperature: Temperature) -> Self {
        Self::at_t68(temperature.as_celsius() * T68_PER_T90)
    }

    /// For a temperature on IPTS-68 in °C, in which the check values were published.
    pub fn at_t68(t: f64) -> Self {
        let pure_water_kg_m3 = 999.842_594
            + t * (6.793_952e-2
                + t * (-9.095_290e-3 + t * (1.001_685e-4 + t * (-1.120_083e-6 + t * 6.536_332e-9))));
        let linear = 8.244_93e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)));
        let three_halves = -5.724_66e-3 + t * (1.0227e-4 + t * -1.6546e-6);
        Self { pure_water_kg_m3, linear, three_halves }
    }

    /// Density, kg/m3, at this reference salinity in g/kg. Negative salinity counts as none.
    pub fn kg_m3(&self, salinity_g_kg: f64) -> f64 {
        self.kg_m3_at_practical(salinity_g_kg / REFERENCE_PER_PRACTICAL_G_KG)
    }

    /// Density, kg/m3, at this practical salinity, in which the check values were published.
    pub fn kg_m3_at_practical(&self, practical: f64) -> f64 {
        let s = practical.max(0.0);
        self.pure_water_kg_m3 + s * (self.linear + self.three_halves * s.sqrt() + QUADRATIC * s)
    }

    /// Density of pure water at this temperature, kg/m3.
    pub fn pure_water_kg_m3(&self) -> f64 {
        self.pure_water_kg_m3
    }
}

/// Density of seawater at one atmosphere, kg/m3.
pub fn density_kg_m3(temperature: Temperature, salinity: Salinity) -> f64 {
    DensityAt::new(temperature).kg_m3(salinity.as_g_kg())
}
