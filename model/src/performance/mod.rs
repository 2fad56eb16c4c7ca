//! How well a unit performs: figures for comparison, and what the membranes must be to explain the readings.
//!
//! What this is: standardised values in the form of ASTM D4516, inversion of readings to permeabilities with covariance, product at
//! reference conditions, leak, differential pressure, specific energy. What it is not: judgement; a threshold or a cause is in `findings`. What happens on
//! failure: [`NotComputable`] says why, in words for the owner.

pub mod answers;
pub mod differential_pressure;
pub mod inversion;
pub mod leak;
mod lost_pressure;
pub mod membrane_state;
pub mod not_computable;
pub mod readings;
pub mod reference_flow;
pub mod salt_balance;
pub mod specific_energy;
pub mod standardised;
pub mod tank_rise;

pub use answers::{Answers, FitPoint, Source};
pub use inversion::{Inversion, JointPoint, JointRegion, PumpAssumption, invert};
pub use membrane_state::{Covariance, Effect, EffectOf, MembraneState, PermeabilityRatio};
pub use not_computable::NotComputable;
pub use readings::{Measured, Readings};
pub use reference_flow::{ReferenceFlow, reference_flow};
