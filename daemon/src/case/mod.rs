//! Readings judged without a daemon: from a case file, or from options of a command.
mod reading;

pub use reading::{Fault, quantity, reading, usual_instrument};
pub(crate) use reading::shown;
