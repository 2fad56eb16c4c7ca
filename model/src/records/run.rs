//! The record of one run, from start to stop.

use super::{ElementAge, Mean};
use crate::plant::valve_law::Spell;
use crate::{Quantity, Stamp};

/// How a run came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunEnd {
    /// Still running.
    Open,
    /// The unit stopped.
    Stopped,
    /// The computer lost power or was restarted; closed afterwards from stored samples.
    PowerLost,
    /// One set of readings taken by hand, or one row of a table.
    ReadingSet,
}

/// What one run was, condensed from its steady windows.
///
/// Trends, diagnosis and forecasts work on these and on nothing finer.
#[derive(Clone, Debug, PartialEq)]
pub struct RunRecord {
    /// Number of the run in this store.
    pub id: u64,
    /// Raised each time the record is issued again, for instance for a late hand reading.
    pub revision: u32,
    /// Start.
    pub start: Stamp,
    /// Length, s. Zero for a reading set.
    pub duration_s: f64,
    /// How it ended.
    pub end: RunEnd,
    /// The date was made up at import, from a start and an interval.
    pub time_invented: bool,
    /// Seconds within steady windows.
    pub steady_s: f64,
    /// Means over the steady windows, at most one per quantity, ordered by quantity.
    pub means: Vec<Mean>,
    /// Product made, L, if a flow was known.
    pub product_l: Option<f64>,
    /// Running hours of the element at the start, if known.
    pub element_hours: Option<f64>,
    /// The valve was moved between the run before and this one. On units whose valve is set by hand at every start each run is so.
    pub valve_moved: bool,
    /// Spells of the run in which the concentrate valve stood still, condensed: what its law is learnt from.
    pub valve: Vec<Spell>,
    /// The elements of the unit with hours and litres at the start; empty in records of earlier versions and in sets of readings.
    pub elements: Vec<ElementAge>,
    /// Share of the product that each of `elements` made, by the model; empty: not known, equal shares of those fitted.
    pub element_shares: Vec<f64>,
}

impl RunRecord {
    /// The mean of one quantity.
    pub fn mean(&self, quantity: Quantity) -> Option<&Mean> {
        self.means.iter().find(|mean| mean.quantity == quantity)
    }
}
