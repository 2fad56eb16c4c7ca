//! Why a figure of a comparison is not known.

use crate::performance::NotComputable;
use crate::plant::Estimate;

/// A figure with its standard deviation, or the reason why there is none.
pub type Figure = Result<Estimate, Unknown>;

/// Why there is no figure. The text is for the reader of the comparison.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Unknown {
    /// The unit's working point cannot be computed.
    #[error(transparent)]
    NotComputable(#[from] NotComputable),
    /// Something that only the reader knows was not entered.
    #[error("not entered: {0}")]
    NotEntered(&'static str),
    /// The figure has no meaning for this supply or unit.
    #[error("{0}")]
    NoMeaning(&'static str),
    /// No element is left to run on.
    #[error("no element is left: no water until a new one is fitted")]
    NothingLeft,
    /// The unit makes no product in this water.
    #[error("the unit makes no product in this water")]
    NoProduct,
}

/// Product of two independent figures.
pub(super) fn times(a: Estimate, b: Estimate) -> Estimate {
    let (from_a, from_b) = (a.deviation * b.value, b.deviation * a.value);
    Estimate::new(a.value * b.value, (from_a * from_a + from_b * from_b).sqrt())
}

/// A figure times a number without error.
pub(super) fn scaled(a: Estimate, factor: f64) -> Estimate {
    Estimate::new(a.value * factor, (a.deviation * factor).abs())
}

/// Sum of figures whose errors go together, as those of the same membranes in several waters do: the deviations add.
pub(super) fn sum_together(parts: &[Estimate]) -> Estimate {
    parts.iter().fold(Estimate::exact(0.0), |sum, part| {
        Estimate::new(sum.value + part.value, sum.deviation + part.deviation)
    })
}
