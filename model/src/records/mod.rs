//! What is remembered: readings, runs, baselines, log entries.
//!
//! Plain values. How they are written to disk or to a wire is the daemon's business.

mod baseline;
mod element;
mod log_entry;
mod reading;
mod run;
mod state;

pub use baseline::{Baseline, BaselineKind};
pub use element::{
    ElementAge, ElementLedger, ElementMove, ElementPlace, FittedElement, KNOWN_ELEMENTS_MAX, by_passed,
    mark_of_position,
};
pub use log_entry::{EventKind, HandReading, LogBody, LogEntry};
pub use reading::{Mean, Origin, Reading, SenderId};
pub use run::{RunEnd, RunRecord};
pub use state::{OperatingState, ProductRoute};
