//! Judgement: what differs from what this sea allows, and which part may be behind it.
//!
//! One file per finding, with its condition, hold and clear rules and texts side by side. The fast track judges a [`Snapshot`], the slow
//! track judges run records.

mod assessment;
mod finding;
pub mod idle_without_flush;
pub mod output_above_element_limit;
pub mod output_low;
pub mod over_pressure;
pub mod product_salinity_over_limit;
pub mod reading_unreliable;
pub mod registry;
pub mod salt_passage_up;
mod snapshot;

pub use assessment::Assessment;
pub use finding::{Evidence, Finding, FindingCode, NextMeasurement, RankedCause, Registration, Severity};
pub use snapshot::Snapshot;
