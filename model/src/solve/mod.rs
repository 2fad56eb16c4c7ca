//! Solving for one unknown: the only iteration in the physics.
//!
//! Every search is bounded in count and ends in a root or in a named outcome, never in NaN.

pub mod bracketed;
pub mod cholesky;
