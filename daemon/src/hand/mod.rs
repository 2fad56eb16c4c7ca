//! Readings by hand, asked for: what is worth asking for this unit, in which order, and what a person meant by an answer.
//!
//! One list of questions serves the terminal and the page's form. Nothing here reads a clock, a terminal or a file: the time and
//! what was written earlier are arguments. A unit is never guessed in silence: where the number alone, or the unit as typed, does
//! not fit what the model expects, the person is asked, and what was typed can always be kept.

mod expected;
mod questions;
mod recognise;
mod remembered;
mod round;
#[cfg(test)]
mod tests;

pub use expected::{Window, window};
pub use questions::{QUESTIONS_MAX, Question, questions};
pub use recognise::{Choice, Recognised, recognise};
pub use remembered::{Remembered, remembered};
pub use round::{Outcome, Round};

/// A clock that is this much ahead of ours may still be right; a reading further ahead was typed wrongly.
pub const FUTURE_MAX_MS: i64 = 10 * 60 * 1000;
/// Longest name of a person, characters.
pub const NAME_CHARS_MAX: usize = 60;

/// Values that were answered in this round so far, in the unit of the quantity's JSON key.
pub type Answered = std::collections::BTreeMap<barrico_model::Quantity, f64>;
