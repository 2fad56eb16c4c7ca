//! What the unit did when it was known to be sound.

use super::Mean;
use crate::Stamp;

/// Kinds of baseline, weakest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BaselineKind {
    /// From the parts list alone. Single elements differ by 15-20 % from the nominal flow of their sheet.
    Specification,
    /// From one steady run, or from runs that do not make a confirmed one: the element had not settled, or they did not agree.
    Provisional,
    /// From two or more runs that agree within their errors after 20 running hours of the element.
    Confirmed,
}

impl BaselineKind {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Specification => "specification",
            Self::Provisional => "provisional",
            Self::Confirmed => "confirmed",
        }
    }
}

/// A baseline: mean readings of sound runs, and what the model made of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Baseline {
    /// Number of the baseline in this store.
    pub id: u64,
    /// Its kind.
    pub kind: BaselineKind,
    /// When it was taken.
    pub taken: Stamp,
    /// By whom.
    pub by: String,
    /// Runs it was made of.
    pub runs: Vec<u64>,
    /// Mean readings over those runs: the reference water, pressure and feed flow.
    pub means: Vec<Mean>,
    /// Water permeability at 25 °C, m/(s Pa).
    pub a25: f64,
    /// Standard deviation of ln(A25) from chance alone.
    pub ln_a25_random: f64,
    /// Salt permeability at 25 °C, m/s.
    pub b25: f64,
    /// Standard deviation of ln(B25) from chance alone.
    pub ln_b25_random: f64,
    /// Covariance of ln(A25) and ln(B25) from chance alone.
    pub ln_ab25_covariance: f64,
    /// Temperature parameters with which both were brought to 25 °C, K: water at and above 25 °C, below, salt.
    pub temperature_k: [f64; 3],
    /// Scatter of ln(A25) from run to run within the baseline.
    pub ln_a25_scatter: f64,
    /// Scatter of ln(B25) from run to run within the baseline.
    pub ln_b25_scatter: f64,
    /// Pump delivery as a share of the nameplate, if a flow was measured.
    pub delivery: Option<f64>,
    /// Was the feed or the concentrate flow measured? Without it A25 is no membrane figure.
    pub flow_measured: bool,
    /// Vessel differential pressure, bar, and the mean flow it belongs to, L/h.
    pub differential_pressure: Option<(f64, f64)>,
    /// Marks of the elements that the water went through, in the order of the flow; empty in records of earlier versions.
    pub elements: Vec<String>,
    /// When and why it ended, if it did.
    pub retired: Option<(Stamp, String)>,
}
