//! Who is on the bus, what each offers, what contradicts itself, and which readings a unit could take. For `barrico listen`; nothing is ever sent.
//!
//! Pure: [`survey`] takes frames with their time, [`conflicts`] and [`proposal`] read the survey. What is recognised is what the engine recognises
//! ([`crate::intake::from_n2k`]), with a few values more that only people want to see. The choice is a proposal with its reasons; a person decides.

pub mod conflicts;
pub mod proposal;
pub mod survey;
pub mod words;

#[cfg(test)]
mod tests;
