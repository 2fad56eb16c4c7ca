//! Salinity typed by volume or as specific gravity, and meter readings in ppm as dissolved solids.
//!
//! Salt per litre is taken at 20 °C; a wrong guess of the temperature by 10 °C changes the answer by 0.3 %. Specific gravity is the
//! density of the sample over that of pure water, both at the temperature that is typed with it.

use super::error::QuantityError;
use super::measure::Measure;
use super::number;
use super::units::squash;
use barrico_model::quantity::{Conductivity, MassConcentration, NotFinite, Temperature};
use barrico_model::seawater::density::DensityAt;
use barrico_model::seawater::product_water::solids_from_conductivity;
use barrico_model::seawater::salinity_scales::salinity_by_mass;

type Converted = Result<f64, QuantityError>;

/// Temperature of a sample measured by volume, °C: the usual reference of laboratory glass (ISO 1768 for hydrometers, from memory).
const BY_VOLUME_C: f64 = 20.0;
/// Saltiest water for which an answer is given, g/kg; the density formula is compared with another one up to 70 g/kg.
const SALTIEST_G_KG: f64 = 120.0;
/// Saltiest water for which a specific gravity is read: the highest feed salinity that is physically possible aboard.
const SALTIEST_BY_GRAVITY_G_KG: f64 = 80.0;
/// Specific gravity of water without salt may be read a little low: half a division of a common hydrometer. Common practice, no source.
const GRAVITY_READING_ERROR: f64 = 0.0005;
/// Halvings of the interval: 80 g/kg over 2^40 is far below any reading.
const HALVINGS: u32 = 40;

/// `g/L`, `mg/L`, `SG at 20 C`; `None` for other units.
pub(super) fn convert(number: f64, unit: &str) -> Option<Converted> {
    if let Some(temperature) = gravity_temperature(unit) {
        return Some(temperature.and_then(|celsius| from_gravity(number, celsius)));
    }
    Some(from_grams_per_litre(number * grams_per_litre(unit)?))
}

/// As [`convert`] for the size of an error.
pub(super) fn convert_size(number: f64, unit: &str) -> Option<Converted> {
    if is_gravity(unit) {
        let unit = unit.to_string();
        return Some(Err(QuantityError::UnknownUnit { unit, measure: Measure::Salinity }));
    }
    // The factor of the open sea: the slope changes by 6 % from fresh water to 80 g/kg, which is nothing in the size of an error.
    let slope = from_grams_per_litre(36.0).map(|g_kg| g_kg / 36.0);
    let grams = grams_per_litre(unit)?;
    Some(slope.map(|slope| number * grams * slope))
}

/// Dissolved solids of product water, mg/L, from its conductivity at 25 °C in µS/cm.
pub(super) fn solids_mg_l(conductivity_us_cm: f64, unit: &str) -> Converted {
    Conductivity::from_us_cm(conductivity_us_cm)
        .ok()
        .and_then(|conductivity| solids_from_conductivity(conductivity).ok())
        .map(MassConcentration::as_mg_l)
        .ok_or_else(|| QuantityError::PpmIsConductivity { unit: unit.to_string() })
}

/// Is the unit a specific gravity, with or without its temperature?
pub(super) fn is_gravity(unit: &str) -> bool {
    gravity_temperature(unit).is_some()
}

fn grams_per_litre(unit: &str) -> Option<f64> {
    match squash(unit).to_ascii_lowercase().as_str() {
        "g/l" | "kg/m3" | "g/litre" | "g/liter" => Some(1.0),
        "mg/l" | "g/m3" | "mg/litre" | "mg/liter" => Some(0.001),
        _ => None,
    }
}

fn from_grams_per_litre(grams: f64) -> Converted {
    let by_mass = || -> Result<f64, NotFinite> {
        let concentration = MassConcentration::from_mg_l(grams * 1000.0)?;
        Ok(salinity_by_mass(concentration, Temperature::from_celsius(BY_VOLUME_C)?)?.as_g_kg())
    };
    match by_mass() {
        Ok(g_kg) if (0.0..=SALTIEST_G_KG).contains(&g_kg) => Ok(g_kg),
        _ => Err(QuantityError::SaltPerLitreOutside),
    }
}

/// Temperature in °C behind `SG at`; `None` if the unit is no specific gravity.
fn gravity_temperature(unit: &str) -> Option<Result<f64, QuantityError>> {
    let lower = unit.trim().to_lowercase();
    let rest = lower.strip_prefix("specific gravity").or_else(|| lower.strip_prefix("sg"))?;
    let at = rest.trim_start();
    let at = at.strip_prefix("at ").or_else(|| at.strip_prefix('@')).unwrap_or("");
    if at.is_empty() {
        return Some(Err(QuantityError::GravityNeedsTemperature));
    }
    let celsius = number::split(at, Measure::Temperature)
        .and_then(|(number, unit)| super::units::convert(number, unit, Measure::Temperature));
    Some(celsius)
}

fn from_gravity(gravity: f64, celsius: f64) -> Converted {
    let temperature = Temperature::from_celsius(celsius).ok().filter(|_| (0.0..=40.0).contains(&celsius));
    let density = DensityAt::new(temperature.ok_or(QuantityError::GravityOutside)?);
    let of = |g_kg: f64| density.kg_m3(g_kg) / density.pure_water_kg_m3();
    if gravity < 1.0 - GRAVITY_READING_ERROR || of(SALTIEST_BY_GRAVITY_G_KG) < gravity {
        return Err(QuantityError::GravityOutside);
    }
    // Density grows with salinity, so halving the interval finds the one answer.
    let (mut low, mut high) = (0.0, SALTIEST_BY_GRAVITY_G_KG);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if of(middle) < gravity {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(if gravity <= 1.0 { 0.0 } else { 0.5 * (low + high) })
}
