//! Physics and judgement of a seawater reverse-osmosis unit.
//!
//! Forward: from water, pressure, feed flow and the parts list to product, salinity and power. Backward: from readings to
//! permeabilities, pump delivery and their uncertainty. Judgement: what differs from what this sea allows, and which part may be behind
//! it. No input or output, no clock, no async, no serialisation: time and readings are arguments, answers are values, and what
//! cannot be computed says why by name.

#[cfg(test)]
#[macro_use]
mod assert_close;
pub mod findings;
pub mod judgement;
pub mod math;
pub mod membrane;
pub mod parts;
pub mod performance;
pub mod plant;
pub mod quantity;
mod quantity_name;
pub mod records;
pub mod seawater;
pub mod sizing;
pub mod solve;
mod time;

pub use quantity_name::{Dimension, Quantity};
pub use time::{Monotonic, Stamp, WallMs};
