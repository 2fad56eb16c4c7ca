//! Settings, checked and resolved.
//!
//! The owner's file is TOML. `raw` is the file as typed, `check` and its neighbours turn it into the types below and collect every
//! problem, `report` prints all of them with line and caret. Nothing outside this module sees the file as typed. Every key with its
//! unit, range and default is in `daemon/docs/settings.md`.

mod bus_table;
mod check;
mod check_boat;
mod check_elements;
mod check_instruments;
mod check_parts;
mod check_sources;
mod check_tables;
mod check_unit;
pub mod comparison;
mod load;
pub(crate) mod nearest;
mod problem;
mod ranges;
mod raw;
mod report;
#[cfg(test)]
mod tests;
mod typed;
mod types;

pub use bus_table::{bus_groups, chosen_by};
pub use check::is_id;
pub use load::{FILE_BYTES_MAX, load, parse};
pub use problem::{Problem, Problems};
pub use types::{
    Boat, BusSettings, BusSource, ElementHistory, ErrorSize, Gallon, Instrument, InstrumentKind, Page,
    PpmScale, SalinityCell, SecondHand, SenderRule, Settings, Source, SourceRule, TableWords, UnitSettings,
};
