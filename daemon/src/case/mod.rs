//! Readings judged without a daemon: from a case file, or from options of a command.
//!
//! A case file (JSON, shape in `daemon/docs/case.schema.json`) holds parts, baseline readings, readings, log entries and context of one unit, so that a
//! person far away, or a test, can put the question again. `read` turns it into a [`Case`] or into all that is wrong with it,
//! each with its JSON pointer and remedy. `judge` puts readings to the engine that also runs the daemon: nothing is judged
//! here. Limits: a file of [`FILE_BYTES_MAX`], [`READINGS_MAX`] readings, [`EVENTS_MAX`] events.

mod context;
pub mod expectations;
pub mod facts;
mod judge;
mod parts;
mod problem;
mod read;
mod reading;
mod readings;
mod sets;
#[cfg(test)]
mod tests;
mod told;
pub mod verdict;
mod walk;

pub use expectations::{Deciding, Expectations, Tier};
pub use facts::Facts;
pub use judge::{Context, Event, Judged, Position, Question, Set, Tide, judge};
pub use problem::{CaseProblem, CaseProblems};
pub use read::{Case, EVENTS_MAX, FILE_BYTES_MAX, OBSERVATIONS_MAX, READINGS_MAX, parse};
pub(crate) use reading::shown;
pub use reading::{Fault, named, quantity, reading, usual_instrument};
pub use verdict::{DECIDED, Verdict, verdict};
