//! What is known of a unit at one moment, as the findings of the fast track need it.

use crate::Quantity;
use crate::parts::Parts;
use crate::records::{OperatingState, Reading};

/// What is known now.
#[derive(Clone, Copy, Debug)]
pub struct Snapshot<'a> {
    /// The parts list, if there is one.
    pub parts: Option<&'a Parts>,
    /// State; `None`: unknown.
    pub state: Option<OperatingState>,
    /// Seconds since the unit began to run, while it runs.
    pub running_s: Option<f64>,
    /// Fresh readings, in the order of [`Quantity::ALL`].
    pub readings: &'a [Option<Reading>],
}

impl Snapshot<'_> {
    /// The fresh reading of a quantity.
    pub fn reading(&self, quantity: Quantity) -> Option<&Reading> {
        self.readings.get(quantity as usize)?.as_ref()
    }

    /// The fresh value of a quantity.
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.reading(quantity).map(|reading| reading.value)
    }
}
