//! From one measure of salt to another.
//!
//! Practical salinity is a conductivity ratio; reference salinity is the mass of salt per mass of water that goes with it in
//! Standard Seawater; dissolved solids in mg/L are that mass per volume. "ppm" is used for both of the latter: in seawater they
//! differ by 2.4 to 2.8 %, which is 0.6 bar of osmotic pressure; in product water not at all.

use super::density::DensityAt;
use crate::quantity::{MassConcentration, NotFinite, PracticalSalinity, Salinity, Temperature};

/// Reference salinity per unit of practical salinity, g/kg: 35.16504/35.
///
/// Source: Millero, Feistel, Wright & McDougall 2008, Deep-Sea Research I 55, 50-72. Holds for 2 to 42; assumed outside.
pub const REFERENCE_PER_PRACTICAL_G_KG: f64 = 35.165_04 / 35.0;

/// Reference salinity that goes with a practical salinity.
///
/// # Errors
/// [`NotFinite`] for numbers near the largest that there are.
pub fn reference_salinity(practical: PracticalSalinity) -> Result<Salinity, NotFinite> {
    Salinity::from_g_kg(practical.as_number() * REFERENCE_PER_PRACTICAL_G_KG)
}

/// Practical salinity that goes with a reference salinity.
///
/// # Errors
/// [`NotFinite`] for numbers near the largest that there are.
pub fn practical_salinity(reference: Salinity) -> Result<PracticalSalinity, NotFinite> {
    PracticalSalinity::from_number(reference.as_g_kg() / REFERENCE_PER_PRACTICAL_G_KG)
}

/// Dissolved solids by volume at this temperature.
///
/// # Errors
/// [`NotFinite`] for numbers near the largest that there are.
pub fn mass_concentration(
    salinity: Salinity,
    temperature: Temperature,
) -> Result<MassConcentration, NotFinite> {
    let density_kg_m3 = DensityAt::new(temperature).kg_m3(salinity.as_g_kg());
    MassConcentration::from_mg_l(salinity.as_g_kg() * density_kg_m3)
}

/// Salinity by mass of water that holds so much by volume at this temperature. By substitution: the density of
/// seawater changes by 0.08 % per g/kg, so each round leaves 3 % of the error and eight leave rounding.
///
/// # Errors
/// [`NotFinite`] for numbers near the largest that there are.
pub fn salinity_by_mass(
    concentration: MassConcentration,
    temperature: Temperature,
) -> Result<Salinity, NotFinite> {
    let density = DensityAt::new(temperature);
    let mut salinity_g_kg = concentration.as_mg_l() / 1000.0;
    for _ in 0..8 {
        salinity_g_kg = concentration.as_mg_l() / density.kg_m3(salinity_g_kg);
    }
    Salinity::from_g_kg(salinity_g_kg)
}
