//! Leak and diffusion told apart over the runs or reading sets of a unit.
//!
//! One set gives one number for both. Sets at clearly different flux, ten minutes at a pressure some bar lower are enough, give both with their covariance
//! ([`crate::performance::leak`]). Where the flux hardly varies the answer is which set to take.

use super::comparison::{Estimate, Fitted, Laws};
use super::plant_figures::NotIdentified;
use crate::math;
use crate::membrane::{GivenPressure, Train, Working};
use crate::performance::leak::{LeakPoint, fit_with_errors};
use crate::quantity::{Flow, Pressure, Salinity, Temperature};

/// Salt permeability and leak with their covariance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakSplit {
    /// Salt permeability at 25 °C, m/s.
    pub b25_m_s: Estimate,
    /// Share of water from the membrane's face in the product.
    pub leak: Estimate,
    /// Covariance of the two, m/s.
    pub covariance_m_s: f64,
    /// Sets it rests on.
    pub sets: usize,
}

/// Least ratio of the highest to the lowest flux: below, errors of meters decide (our choice; some bar less on a small unit give 1.15 or more).
const FLUX_RATIO_MIN: f64 = 1.10;

/// Largest standard deviation of a leak that is called known: as much salt as a fifth more diffusion in the open data's element (our choice).
const LEAK_SD_MAX: f64 = 0.002;

/// Tells leak and diffusion apart.
///
/// # Errors
/// [`NotIdentified::LEAK`] with too few sets with a measured flow and salinity, or sets of nearly one flux.
pub fn leak_over_runs(train: &Train, laws: &Laws, sets: &[Fitted]) -> Result<LeakSplit, NotIdentified> {
    let told = |set: &&Fitted| set.observed.flow_measured && set.observed.salt_measured;
    let sets: Vec<&Fitted> = sets.iter().filter(told).collect();
    let flux = |set: &&Fitted| set.state.point.product_l_h;
    let (low, high) = sets
        .iter()
        .map(flux)
        .fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), l_h| (low.min(l_h), high.max(l_h)));
    if sets.len() < 2 || high < FLUX_RATIO_MIN * low {
        return Err(NotIdentified::LEAK);
    }
    let points: Option<Vec<(LeakPoint, f64)>> = sets.iter().map(|set| point(set)).collect();
    let fitted = points.and_then(|points| fit_with_errors(train, &laws.form, &points).ok());
    let found = fitted.filter(|fit| fit.leak_sd <= LEAK_SD_MAX).ok_or(NotIdentified::LEAK)?;
    Ok(LeakSplit {
        b25_m_s: Estimate { value: found.b25.as_m_s(), sd: found.b25_sd_m_s },
        leak: Estimate { value: found.leak, sd: found.leak_sd },
        covariance_m_s: found.covariance_m_s,
        sets: sets.len(),
    })
}

/// A set as a point, with the relative chance of its salinity: what its readings' chance does to ln B25 is what it does to the salt that is compared.
fn point(set: &Fitted) -> Option<(LeakPoint, f64)> {
    let at = &set.state.point;
    let pressure = Pressure::from_bar(at.pressure_bar).ok()?;
    let point = LeakPoint {
        temperature: Temperature::from_celsius(at.temperature_c).ok()?,
        salinity: Salinity::from_g_kg(at.salinity_g_kg).ok()?,
        working: Working {
            feed: Flow::from_l_h(at.feed_l_h).ok()?,
            pressure: if at.at_inlet {
                GivenPressure::Inlet(pressure)
            } else {
                GivenPressure::Outlet(pressure)
            },
            product: Pressure::from_bar(at.product_bar).ok()?,
        },
        product: Flow::from_l_h(at.product_l_h).ok()?,
        product_tds_mg_l: set.observed.readings.product_tds_mg_l?.value,
    };
    let sd = set.random_sd()[1].max(SALT_SD_MIN);
    math::ln(sd).is_finite().then_some((point, sd))
}

/// No hand meter shows less of a difference, relative (our choice).
const SALT_SD_MIN: f64 = 0.005;
