//! Hand-built views, and what page, JSON and metrics make of them.

mod json;
mod page;
pub(crate) mod views;
