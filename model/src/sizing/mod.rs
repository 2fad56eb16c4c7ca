//! Sizing: what a unit that is still a parts list would do for a crew, in several waters, on a given supply, at given prices.
//!
//! What this is: [`compare`] takes one candidate through all waters, as listed, with one element out and with a worn pump, and adds running
//! hours, energy, fuel, battery, limits and cost. What it is not: a judgement of a unit that exists, and no advice to buy. Every figure
//! carries its deviation or says why it is not known ([`Unknown`]); what was not entered is never replaced by a typical value.

mod candidate;
mod checks;
mod compare;
mod day;
mod need;
mod supply;
#[cfg(test)]
mod tests;
mod unknown;
mod variant;
mod year;

pub use candidate::{Candidate, Water};
pub use checks::{Check, CheckKind, USUAL_ELEMENT_RECOVERY_FROM, USUAL_TRAIN_RECOVERY_FROM, Verdict};
pub use compare::{Case, Load, Outcome, Worst, compare, worst};
pub use day::Day;
pub use need::{Filling, Need};
pub use supply::{Battery, Fuel, Prices, Supply, SupplyKind};
pub use unknown::{Figure, Unknown};
pub use variant::{PUMP_WEAR, Variant};
pub use year::{Consumable, Year};
