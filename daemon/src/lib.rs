//! The daemon: everything around the model and the bus codec.
//!
//! Data flows one way: sources, intake, engine, publishers and store. The map is in DEVELOPERS.md.

pub mod quantity_text;
pub mod settings;
pub mod engine;
pub mod alerts;
pub mod case;
pub mod cli;
pub mod intake;
pub mod publish;
pub mod web;
pub mod sources;
