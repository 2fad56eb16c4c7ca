//! Leak or diffusion?
//!
//! Salt that diffuses is diluted by more flux, salt that leaks is not: S_p = B S_w/J + e S_w (own derivation). So points at clearly different flux
//! tell the salt permeability B25 from the leak e, the share of water from the membrane's face in the product. Fitted by least squares of the relative
//! deviations, since salinities span a wide range and meters err in proportion.

use super::NotComputable;
use super::readings::product_g_kg;
use crate::membrane::{Form, Permeabilities, Salt, Train, TrainError, Water, Working};
use crate::quantity::{Flow, Salinity, SaltPermeability, Temperature};

/// One steady point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakPoint {
    /// Temperature of the feed.
    pub temperature: Temperature,
    /// Salinity of the feed.
    pub salinity: Salinity,
    /// Feed flow and pressures.
    pub working: Working,
    /// Product flow.
    pub product: Flow,
    /// Dissolved solids of the product at 25 °C, mg/L.
    pub product_tds_mg_l: f64,
}

/// Salt permeability and leak that explain all points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakFit {
    /// Salt permeability at 25 °C.
    pub b25: SaltPermeability,
    /// Its standard deviation, m/s.
    pub b25_sd_m_s: f64,
    /// Share of water from the membrane's face in the product. A little below zero is zero within its error.
    pub leak: f64,
    /// Its standard deviation.
    pub leak_sd: f64,
    /// Covariance of both, m/s: negative, since each explains what the other does not.
    pub covariance_m_s: f64,
    /// Root mean square of the relative deviations.
    pub residual: f64,
    /// The same with the best salt permeability and no leak.
    pub residual_without_leak: f64,
}

/// Fewest points: two unknowns and one to see whether they fit.
pub const POINTS_MIN: usize = 3;

/// Largest correlation of the two unknowns that is called a separation.
const CORRELATION_MAX: f64 = 0.995;

/// Leak for the finite difference.
const LEAK_STEP: f64 = 1e-3;

/// Fits both. Each point's own water permeability is taken from its product flow, so the result does not depend on fouling in between.
///
/// # Errors
/// [`NotComputable::PointsTooAlike`] with fewer than three points or points of nearly one flux; what the forward model answers otherwise.
pub fn fit(train: &Train, form: &Form, points: &[LeakPoint]) -> Result<LeakFit, NotComputable> {
    if points.len() < POINTS_MIN {
        return Err(NotComputable::PointsTooAlike);
    }
    let weighed: Vec<(LeakPoint, f64)> = points.iter().map(|point| (*point, 1.0)).collect();
    rounds(train, form, &weighed, Errors::FromScatter)
}

/// Fits both from points whose errors are known: with each stands the relative standard deviation of its salinity by chance. Two points of clearly different
/// flux are enough then. Where the points scatter by more than their errors, the scatter counts.
///
/// # Errors
/// As [`fit`], with fewer than two points.
pub fn fit_with_errors(
    train: &Train,
    form: &Form,
    points: &[(LeakPoint, f64)],
) -> Result<LeakFit, NotComputable> {
    if points.len() < 2 || points.iter().any(|(_, sd)| !(0.0 < *sd && sd.is_finite())) {
        return Err(NotComputable::PointsTooAlike);
    }
    rounds(train, form, points, Errors::Known)
}

/// Where the errors come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Errors {
    /// The scatter of the points about the fit.
    FromScatter,
    /// They stand with the points; scatter counts where it is more.
    Known,
}

fn rounds(
    train: &Train,
    form: &Form,
    points: &[(LeakPoint, f64)],
    errors: Errors,
) -> Result<LeakFit, NotComputable> {
    // Salinity bends a little with B, and a leak's salt is no part of what the flux sees: slopes and water permeabilities are taken anew
    // where the last round ended.
    let mut found: Option<LeakFit> = None;
    for _ in 0..ROUNDS {
        let leak = found.map_or(0.0, |fit| fit.leak.clamp(0.0, LEAK_MAX));
        let mut cells = Vec::with_capacity(points.len());
        for (point, sd) in points {
            cells.push((Cell::new(train, form, point, leak)?, *sd));
        }
        found = Some(solve(&cells, found.map(|fit| fit.b25), errors)?);
    }
    found.ok_or(NotComputable::PointsTooAlike)
}

/// Leak beyond which a point's own salinity could not be explained any more.
const LEAK_MAX: f64 = 0.5;

/// Rounds of linear least squares; each leaves about a hundredth of the error.
const ROUNDS: usize = 4;

/// One round.
fn solve(
    cells: &[(Cell<'_>, f64)],
    b25: Option<SaltPermeability>,
    errors: Errors,
) -> Result<LeakFit, NotComputable> {
    let mut rows = Vec::with_capacity(cells.len());
    let mut weights = Vec::with_capacity(cells.len());
    for (cell, sd) in cells {
        rows.push(cell.row(b25.unwrap_or(cell.fitted.b25))?);
        weights.push(1.0 / (sd * sd));
    }
    let count = rows.len() as f64;
    let weight: f64 = weights.iter().sum();
    // Rows are relative to what was read: 1 = b g + e h.
    let sum =
        |f: &dyn Fn(&[f64; 2]) -> f64| rows.iter().zip(&weights).map(|(row, w)| w * f(row)).sum::<f64>();
    let (gg, gh, hh) = (sum(&|r| r[0] * r[0]), sum(&|r| r[0] * r[1]), sum(&|r| r[1] * r[1]));
    let (g1, h1) = (sum(&|r| r[0]), sum(&|r| r[1]));
    let separate = gh * gh < CORRELATION_MAX * CORRELATION_MAX * gg * hh;
    if !separate {
        return Err(NotComputable::PointsTooAlike);
    }
    let determinant = gg * hh - gh * gh;
    let (b, e) = ((g1 * hh - h1 * gh) / determinant, (h1 * gg - g1 * gh) / determinant);
    let squares = |b: f64, e: f64| sum(&|r| (1.0 - b * r[0] - e * r[1]) * (1.0 - b * r[0] - e * r[1]));
    let scatter = if 2.0 < count { squares(b, e) / (count - 2.0) } else { 0.0 };
    let variance = match errors {
        Errors::FromScatter => scatter,
        Errors::Known => scatter.max(1.0),
    };
    Ok(LeakFit {
        b25: SaltPermeability::from_m_s(b)?,
        b25_sd_m_s: (variance * hh / determinant).sqrt(),
        leak: e,
        leak_sd: (variance * gg / determinant).sqrt(),
        covariance_m_s: -variance * gh / determinant,
        residual: (squares(b, e) / weight).sqrt(),
        residual_without_leak: (squares(g1 / gg, 0.0) / weight).sqrt(),
    })
}

/// One point with its own water permeability.
struct Cell<'a> {
    train: &'a Train,
    form: &'a Form,
    water: Water,
    working: Working,
    read_g_kg: f64,
    fitted: Permeabilities,
}

impl<'a> Cell<'a> {
    fn new(train: &'a Train, form: &'a Form, point: &LeakPoint, leak: f64) -> Result<Self, NotComputable> {
        let water = Water { temperature: point.temperature, salinity: point.salinity, salt: Salt::Sea };
        let read_g_kg = product_g_kg(point.product_tds_mg_l).ok_or(NotComputable::ProductSalinityUnknown)?;
        let salinity = Salinity::from_g_kg(read_g_kg)?;
        let mut leaking = train.clone();
        leaking.elements.iter_mut().for_each(|element| element.leak = leak);
        // A point that is fresher than the leak alone would make it keeps the permeability it has without one.
        let fitted = match leaking.at(&water, form)?.fit(&point.working, point.product, salinity) {
            Err(TrainError::Solve(_)) => {
                train.at(&water, form)?.fit(&point.working, point.product, salinity)?
            }
            other => other?,
        };
        Ok(Self { train, form, water, working: point.working, read_g_kg, fitted })
    }

    /// Salinity per unit of salt permeability and per unit of leak, over the salinity that was read.
    fn row(&self, b25: SaltPermeability) -> Result<[f64; 2], NotComputable> {
        let with = |leak: f64| {
            let mut other = self.train.clone();
            for element in &mut other.elements {
                (element.a25, element.b25, element.leak) = (self.fitted.a25, b25, leak);
            }
            other.at(&self.water, self.form)?.solve(&self.working).map(|output| output.product_g_kg)
        };
        let (diffused, leaking) = (with(0.0)?, with(LEAK_STEP)?);
        Ok([diffused / b25.as_m_s() / self.read_g_kg, (leaking - diffused) / LEAK_STEP / self.read_g_kg])
    }
}
