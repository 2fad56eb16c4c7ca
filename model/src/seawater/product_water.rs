//! Product water: from a conductivity meter to dissolved solids, and back.
//!
//! Product is taken as diluted sea salt: practical salinity by the scale with its low-salinity extension at 25 °C, then mass, then volume. Real
//! product is relatively richer in sodium chloride; published factors of sodium chloride agree within 2 %. The conductivity is that at 25 °C; for a
//! meter that does not compensate, [`compensate_to_25c`] does.

use super::practical_salinity::{ScaleError, from_conductivity, to_conductivity};
use super::salinity_scales::{mass_concentration, practical_salinity, reference_salinity, salinity_by_mass};
use crate::quantity::{Conductivity, MassConcentration, Pressure, Salinity, Temperature};

fn celsius_25() -> Result<Temperature, ScaleError> {
    Ok(Temperature::from_celsius(25.0)?)
}

/// Salinity of water with this conductivity at 25 °C.
///
/// # Errors
/// [`ScaleError`] if the conductivity is beyond the scale.
pub fn salinity_from_conductivity(at_25c: Conductivity) -> Result<Salinity, ScaleError> {
    let practical = from_conductivity(at_25c, celsius_25()?, Pressure::from_bar(0.0)?)?;
    Ok(reference_salinity(practical)?)
}

/// Conductivity at 25 °C of water with this salinity.
///
/// # Errors
/// [`ScaleError`] if the salinity is beyond the scale.
pub fn conductivity_from_salinity(salinity: Salinity) -> Result<Conductivity, ScaleError> {
    to_conductivity(practical_salinity(salinity)?, celsius_25()?)
}

/// Dissolved solids at 25 °C of water with this conductivity at 25 °C.
///
/// # Errors
/// [`ScaleError`] if the conductivity is beyond the scale.
///
/// ```
/// use barrico_model::quantity::Conductivity;
/// use barrico_model::seawater::product_water::solids_from_conductivity;
///
/// let tds = solids_from_conductivity(Conductivity::from_us_cm(500.0)?)?;
/// assert!((tds.as_mg_l() - 240.8).abs() < 0.1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solids_from_conductivity(at_25c: Conductivity) -> Result<MassConcentration, ScaleError> {
    Ok(mass_concentration(salinity_from_conductivity(at_25c)?, celsius_25()?)?)
}

/// Conductivity at 25 °C of water with this much dissolved solids at 25 °C.
///
/// # Errors
/// [`ScaleError`] if the concentration is beyond the scale.
pub fn conductivity_from_solids(solids: MassConcentration) -> Result<Conductivity, ScaleError> {
    conductivity_from_salinity(salinity_by_mass(solids, celsius_25()?)?)
}

/// Conductivity that water would have at 25 °C, from its true conductivity at another temperature.
///
/// # Errors
/// [`ScaleError`] outside -10 to 60 °C.
pub fn compensate_to_25c(raw: Conductivity, temperature: Temperature) -> Result<Conductivity, ScaleError> {
    let practical = from_conductivity(raw, temperature, Pressure::from_bar(0.0)?)?;
    to_conductivity(practical, celsius_25()?)
}
