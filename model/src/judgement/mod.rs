//! From run records to what changed since the baseline, and what may be behind it.
//!
//! `observed` turns the means of a run into readings that the inversion can use, each with its errors; `plant_figures` reads pump, motor and vessel from them; `comparison`
//! inverts and sets all of it against the baseline; `reasoning` weighs explanations and finds the next measurement; `temperature_learning` learns the temperature
//! parameters from the runs of `temperature_history`; `acceptance` judges a unit without a history against the minimum of its sheets. Nothing here decides whether to
//! say anything: the findings do.
//! The words are data: `cause_list` what can be behind it, `action_list` what to do, `observation_list` what a person can see, hear or smell.

pub mod acceptance;
pub mod action_list;
pub mod cause_list;
mod comparison;
mod leak_over_runs;
pub mod observation_list;
mod observed;
mod plant_figures;
pub mod reasoning;
mod temperature_history;
mod temperature_learning;

pub use comparison::{BaselineFit, Comparison, Estimate, Fitted, Laws, Reference, compare, fit};
pub use leak_over_runs::{LeakSplit, leak_over_runs};
pub use observed::{Input, NotJudged, OPEN_SEA_G_KG, Observed, nominal_train, observe};
pub use plant_figures::{Difference, LnFigure, MotorReading, NotIdentified, PlantFigures};
pub use temperature_history::{HistoryPoint, segment_at};
pub use temperature_learning::{Learnt, RUNS_MIN, learn};
