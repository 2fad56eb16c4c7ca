//! From what the engine knows to what people, programs and the bus read: page model, chart, JSON, metrics, messages.
//!
//! Pure: a [`crate::engine::view::View`] (for [`comparison`] a comparison) goes in, values or text come out. No socket, no template, no clock. Nothing is judged here: the
//! words repeat what the engine found, and what is unknown stays unknown.

pub mod chart;
pub mod comparison;
pub mod format;
pub mod json;
pub mod listen;
pub mod metrics;
pub mod n2k;
pub mod page;
pub mod replay_json;
pub mod sheet;
pub mod text;
pub(crate) mod units;
pub mod words;

#[cfg(test)]
pub(crate) mod tests;
