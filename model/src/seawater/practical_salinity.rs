//! Practical salinity from conductivity, and back.
//!
//! Source: practical salinity scale 1978 with its pressure term, Fofonoff & Millard 1983, UNESCO technical papers in marine science 44; conductivity of
//! standard seawater at 15 °C 42.9140 mS/cm, Culkin & Smith 1980. Below 2, as in product water, Hill, Dauphinee & Woods 1986, IEEE J. Ocean. Eng. 11,
//! scaled so that both agree at 2, as the TEOS-10 library does. Range: 2 to 42 (0 to 2 with the extension), -2 to 35 °C; concentrate (50 to 60) is an extrapolation.
//! Stated error of the scale: 0.001 or less within its range. The pressure term matters only for a cell in a high-pressure line: 55 bar
//! raises conductivity by 0.5 %.

use super::density::T68_PER_T90;
use crate::quantity::{Conductivity, NotFinite, PracticalSalinity, Pressure, Temperature};
use crate::solve::bracketed::{Search, SolveError, secant_rising};

/// Conductivity of standard seawater at 15 °C (IPTS-68) and one atmosphere, mS/cm (Culkin & Smith 1980).
pub const STANDARD_MS_CM: f64 = 42.9140;

/// Below this the extension of Hill, Dauphinee & Woods holds.
const DILUTE_BELOW: f64 = 2.0;

const A: [f64; 6] = [0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
const B: [f64; 6] = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];

/// Conductivity ratio at which the scale ends for us: 120 at 25 °C is about 2.7.
const RATIO_MAX: f64 = 8.0;

/// Practical salinity over R_t, roughly: 35 at 1 by definition.
const SALINITY_PER_RATIO: f64 = 35.0;

/// Terms of the scale in temperature (IPTS-68, °C).
#[derive(Clone, Copy, Debug)]
struct ScaleAt {
    t68: f64,
    /// (t - 15)/(1 + k (t - 15)).
    shift: f64,
    /// r_t: conductivity of standard seawater over that at 15 °C.
    standard_ratio: f64,
}

impl ScaleAt {
    fn new(t68: f64) -> Self {
        let shift = (t68 - 15.0) / (1.0 + 0.0162 * (t68 - 15.0));
        let standard_ratio =
            0.676_609_7 + t68 * (2.005_64e-2 + t68 * (1.104_259e-4 + t68 * (-6.9698e-7 + t68 * 1.0031e-9)));
        Self { t68, shift, standard_ratio }
    }

    /// The polynomial of 1978 at R_t.
    fn polynomial(&self, ratio: f64) -> f64 {
        let x = ratio.max(0.0).sqrt();
        let at = |c: &[f64; 6]| c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + x * c[5]))));
        at(&A) + self.shift * at(&B)
    }

    /// The terms of Hill, Dauphinee & Woods 1986 taken off the polynomial.
    fn dilute(&self, ratio: f64, polynomial: f64) -> f64 {
        let x = 400.0 * ratio.max(0.0);
        let y = 100.0 * ratio.max(0.0);
        let root_y = y.sqrt();
        polynomial - A[0] / (1.0 + 1.5 * x + x * x) - B[0] * self.shift / (1.0 + root_y + y + y * root_y)
    }

    /// R_t at which the polynomial gives 2.
    fn ratio_at_two(&self) -> Result<f64, SolveError> {
        // At 15 °C the polynomial gives 2 at R_t = 0.0697; between -2 and 40 °C it moves by under 2 %.
        let search = Search { low: 0.0, high: 1.0, guess: 0.07, tolerance: 1e-13 };
        secant_rising(search, SALINITY_PER_RATIO, |ratio| Ok(self.polynomial(ratio) - DILUTE_BELOW))
    }

    /// Practical salinity at R_t.
    fn practical(&self, ratio: f64) -> Result<f64, SolveError> {
        let polynomial = self.polynomial(ratio);
        if polynomial >= DILUTE_BELOW {
            return Ok(polynomial);
        }
        let scale = DILUTE_BELOW / self.dilute(self.ratio_at_two()?, DILUTE_BELOW);
        Ok((self.dilute(ratio, polynomial) * scale).max(0.0))
    }

    /// R_p, the effect of pressure in dbar on the conductivity ratio R.
    fn pressure_ratio(&self, ratio: f64, pressure_dbar: f64) -> f64 {
        let p = pressure_dbar;
        let e = p * (2.070e-5 + p * (-6.370e-10 + p * 3.989e-15));
        let d = 1.0 + self.t68 * (3.426e-2 + self.t68 * 4.464e-4) + (4.215e-1 - 3.107e-3 * self.t68) * ratio;
        1.0 + e / d
    }
}

/// What a salinity from conductivity may run into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ScaleError {
    /// The search for a conductivity ended without one.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// Outside the range of numbers.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// The temperature is far outside the scale, which holds from -2 to 35 °C.
    #[error("salinity cannot be worked out at this temperature: the practical scale holds from -2 to 35 °C")]
    Temperature,
}

/// The scale's formulas have a pole near -46 °C; -10 to 60 °C is more than any sea or pump offers.
const TEMPERATURE_RANGE_C: (f64, f64) = (-10.0, 60.0);

fn scale_at(temperature: Temperature) -> Result<ScaleAt, ScaleError> {
    let (low, high) = TEMPERATURE_RANGE_C;
    let celsius = temperature.as_celsius();
    if low <= celsius && celsius <= high {
        Ok(ScaleAt::new(celsius * T68_PER_T90))
    } else {
        Err(ScaleError::Temperature)
    }
}

/// Practical salinity of water with this conductivity at its own temperature and gauge pressure. No conductivity is no salt.
///
/// # Errors
/// [`ScaleError::Temperature`] outside -10 to 60 °C.
pub fn from_conductivity(
    conductivity: Conductivity,
    temperature: Temperature,
    pressure: Pressure,
) -> Result<PracticalSalinity, ScaleError> {
    let scale = scale_at(temperature)?;
    let ratio = (conductivity.as_ms_cm() / STANDARD_MS_CM).max(0.0);
    let pressure_ratio = scale.pressure_ratio(ratio, pressure.as_bar() * 10.0);
    Ok(PracticalSalinity::from_number(scale.practical(ratio / (pressure_ratio * scale.standard_ratio))?)?)
}

/// Conductivity, at its own temperature and one atmosphere, of water with this practical salinity.
///
/// # Errors
/// [`ScaleError::Temperature`] outside -10 to 60 °C; [`ScaleError::Solve`] for salinities beyond about 300.
pub fn to_conductivity(
    practical: PracticalSalinity,
    temperature: Temperature,
) -> Result<Conductivity, ScaleError> {
    let scale = scale_at(temperature)?;
    let wanted = practical.as_number();
    if wanted <= 0.0 {
        return Ok(Conductivity::from_ms_cm(0.0)?);
    }
    let search = Search { low: 0.0, high: RATIO_MAX, guess: wanted / 35.0, tolerance: 1e-13 };
    let ratio = secant_rising(search, SALINITY_PER_RATIO, |ratio| {
        scale.practical(ratio).map(|found| found - wanted)
    })?;
    Ok(Conductivity::from_ms_cm(ratio * scale.standard_ratio * STANDARD_MS_CM)?)
}

/// The functions as published, on IPTS-68 and in ratios, for the check values.
pub(crate) mod published {
    use super::{SALINITY_PER_RATIO, ScaleAt, SolveError};
    use crate::solve::bracketed::{Search, secant_rising};

    /// Salinity from t68 in °C and R_t.
    pub fn salinity(t68: f64, ratio_t: f64) -> f64 {
        ScaleAt::new(t68).polynomial(ratio_t)
    }

    /// Conductivity ratio R from salinity and t68 in °C, at atmospheric pressure.
    pub fn conductivity_ratio(practical: f64, t68: f64) -> Result<f64, SolveError> {
        let scale = ScaleAt::new(t68);
        let search = Search { low: 0.0, high: 8.0, guess: practical / 35.0, tolerance: 1e-13 };
        secant_rising(search, SALINITY_PER_RATIO, |ratio| Ok(scale.polynomial(ratio) - practical))
            .map(|ratio_t| ratio_t * scale.standard_ratio)
    }
}
