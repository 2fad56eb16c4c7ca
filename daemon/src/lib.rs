//! The daemon: everything around the model and the bus codec.
//!
//! Data flows one way: sources, intake, engine, publishers and store. The map is in DEVELOPERS.md.

pub mod alerts;
pub mod case;
pub mod cli;
pub mod compare;
pub mod control;
pub mod engine;
pub mod hand;
pub mod intake;
pub mod listen;
pub mod publish;
pub mod quantity_text;
pub mod service;
pub mod settings;
pub mod simulator;
pub mod sources;
pub mod store;
pub mod table;
pub mod web;
pub mod wire;
