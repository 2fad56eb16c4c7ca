//! From run records to what changed since the baseline, and what may be behind it.
//!
//! `observed` turns the means of a run into the seven numbers the model needs, each with its errors; `comparison` inverts them to permeabilities and sets them
//! against the baseline; `causes` weighs explanations. Nothing here decides whether to say anything: the findings do.

pub mod causes;
mod comparison;
mod observed;

pub use comparison::{Comparison, Estimate, Fitted, Reference, compare, fit};
pub use observed::{Entry, Input, NotJudged, OPEN_SEA_G_KG, Observed, nominal_train, observe};
