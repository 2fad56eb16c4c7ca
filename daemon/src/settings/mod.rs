//! Settings, checked and resolved.
//!
//! The owner's file is TOML. `raw` is the file as typed, `check` turns it into the types below and collects every problem, `report`
//! prints all of them with line and caret. Nothing outside this module sees the file as typed.

mod types;

pub use types::{
    Boat, BusSource, ElementHistory, Gallon, Instrument, InstrumentKind, Page, PpmScale, SalinityCell, SecondHand, SenderRule, Settings,
    Source, SourceRule, UnitSettings,
};
