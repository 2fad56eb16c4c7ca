//! How well a unit performs: figures for comparison, and what the membranes must be to explain the readings.
//!
//! What this is: standardised values in the form of ASTM D4516, inversion of readings to permeabilities with covariance, product at
//! reference conditions, leak, differential pressure, specific energy. What it is not: judgement; a threshold or a cause is in `findings`. What happens on
//! failure: [`NotComputable`] says why, in words for the owner.

pub mod not_computable;

pub use not_computable::NotComputable;
