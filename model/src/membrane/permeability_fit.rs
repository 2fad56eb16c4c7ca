//! From product flow and salinity back to the two permeabilities.
//!
//! Both are sought in the logarithm: flow rises with A alone but for a trace, salinity rises with B nearly in proportion. Not a least-squares
//! fit: two readings, two unknowns. Leak and unequal elements are not told apart here.

use super::train::{TrainAt, TrainError, TrainOutput};
use crate::math;
use crate::quantity::{Flow, Pressure, Salinity, SaltPermeability, WaterPermeability};
use crate::solve::bracketed::{Search, SolveError, secant_rising};

/// Permeabilities at 25 °C, common to all elements of a train.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Permeabilities {
    /// Water permeability at 25 °C.
    pub a25: WaterPermeability,
    /// Salt permeability at 25 °C.
    pub b25: SaltPermeability,
}

/// Which pressure is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GivenPressure {
    /// At the membrane inlet.
    Inlet(Pressure),
    /// At the concentrate outlet.
    Outlet(Pressure),
}

/// Pressures and flow at which a train works.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Working {
    /// Feed flow.
    pub feed: Flow,
    /// Pressure at one end.
    pub pressure: GivenPressure,
    /// Pressure of the product.
    pub product: Pressure,
}

/// Search interval of ln A25: 0.001 to 1000 L/(m2 h bar), three orders each way around any seawater membrane.
const LN_A_RANGE: (f64, f64) = (-33.518, -19.702);

/// Search interval of ln B25: 1e-5 to 1e3 L/(m2 h), four orders each way around any seawater membrane.
const LN_B_RANGE: (f64, f64) = (-26.609, -8.189);

/// Stands for the logarithm of a salinity when B is too low for any solution.
const FAR_TOO_TIGHT: f64 = -1.0;

/// Deviation of the salinity's logarithm that is no root: far above the search's tolerance, far below any meter.
const LN_MISSED: f64 = 1e-6;

/// Tolerance of both logarithms.
const LN_TOLERANCE: f64 = 1e-9;

impl TrainAt {
    /// What the train does at this working point.
    ///
    /// # Errors
    /// [`TrainError::NoFeed`], [`TrainError::FeedUsedUp`] or a search that failed.
    pub fn solve(&self, working: &Working) -> Result<TrainOutput, TrainError> {
        let (feed, product) = (working.feed.as_m3_s(), working.product.as_pa());
        match working.pressure {
            GivenPressure::Inlet(inlet) => self.march(feed, inlet.as_pa(), product),
            GivenPressure::Outlet(outlet) => self.march_to_outlet(feed, outlet.as_pa(), product),
        }
    }

    /// Gives every element these permeabilities, as logarithms of their values at 25 °C in SI.
    pub fn set_ln_permeabilities(&mut self, ln_a25: f64, ln_b25: f64) {
        let a = math::exp(ln_a25) * self.water_factor;
        let b = math::exp(ln_b25) * self.salt_factor;
        for element in &mut self.elements {
            (element.a, element.b) = (a, b);
        }
    }

    /// Finds the permeabilities with which the train gives this product.
    ///
    /// # Errors
    /// [`TrainError::Solve`] if no permeability within the range gives it: more product than feed, product saltier than feed, or
    /// flow without pressure.
    pub fn fit(
        &self,
        working: &Working,
        product: Flow,
        salinity: Salinity,
    ) -> Result<Permeabilities, TrainError> {
        let mut train = self.clone();
        let mean_of = |f: fn(&super::train::ElementAt) -> f64| {
            self.elements.iter().map(f).sum::<f64>() / self.elements.len() as f64
        };
        let mut ln_a = math::ln(mean_of(|element| element.a) / self.water_factor);
        let ln_b_guess = math::ln(mean_of(|element| element.b) / self.salt_factor);
        let (wanted_m3_s, wanted_g_kg) = (product.as_m3_s(), salinity.as_g_kg());
        if wanted_m3_s <= 0.0 || wanted_g_kg <= 0.0 {
            return Err(SolveError::RootBelow.into());
        }
        let (low, high) = LN_B_RANGE;
        let search = Search { low, high, guess: ln_b_guess, tolerance: LN_TOLERANCE };
        let ln_b = secant_rising(search, 1.0, |ln_b| {
            match train.fit_flow(working, wanted_m3_s, &mut ln_a, ln_b) {
                Ok(output) => Ok(math::ln(output.product_g_kg / wanted_g_kg)),
                // Where osmosis limits the product, a tight membrane cannot give this flow whatever its A: B must be higher.
                Err(TrainError::Solve(SolveError::RootAbove)) => Ok(FAR_TOO_TIGHT),
                Err(other) => Err(other),
            }
        })?;
        let output = train.fit_flow(working, wanted_m3_s, &mut ln_a, ln_b)?;
        // The search may have closed in on the border to membranes that are too tight, where the salinity jumps: no root is there.
        if math::ln(output.product_g_kg / wanted_g_kg).abs() > LN_MISSED {
            return Err(SolveError::RootAbove.into());
        }
        Ok(Permeabilities {
            a25: WaterPermeability::from_m_s_pa(math::exp(ln_a))?,
            b25: SaltPermeability::from_m_s(math::exp(ln_b))?,
        })
    }

    /// Finds A for a given B, from the last A found.
    fn fit_flow(
        &mut self,
        working: &Working,
        wanted_m3_s: f64,
        ln_a: &mut f64,
        ln_b: f64,
    ) -> Result<TrainOutput, TrainError> {
        let (low, high) = LN_A_RANGE;
        let search = Search { low, high, guess: *ln_a, tolerance: LN_TOLERANCE };
        let mut last: Option<TrainOutput> = None;
        // Product answers to A with an exponent of 0.4 to 0.9 in small units.
        *ln_a = secant_rising(search, 0.6, |trial| {
            self.set_ln_permeabilities(trial, ln_b);
            match self.solve(working) {
                Ok(output) if output.product_m3_s > 0.0 => {
                    let excess = math::ln(output.product_m3_s / wanted_m3_s);
                    last = Some(output);
                    Ok(if excess.abs() < 0.1 * LN_TOLERANCE { 0.0 } else { excess })
                }
                // No pressure across the membrane: no permeability gives product.
                Ok(_) => Err(TrainError::Solve(SolveError::RootAbove)),
                Err(TrainError::FeedUsedUp) => Ok(1.0),
                Err(other) => Err(other),
            }
        })?;
        self.set_ln_permeabilities(*ln_a, ln_b);
        match last {
            Some(output) => Ok(output),
            None => Err(SolveError::NotConverged.into()),
        }
    }
}
