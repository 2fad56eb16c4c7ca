//! When a finding sounds, who can silence it, when it ends.

mod lifecycle;

pub use lifecycle::{AlertKey, Alerts, Condition, Rules};
