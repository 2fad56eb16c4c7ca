//! The whole daemon as one pure state machine.
//!
//! `handle(now, input, out)` takes everything that can happen, `handle_timeout(now, out)` lets time pass, `next_deadline()` says until
//! when it may sleep. No clock, no file, no socket, no async: `run`, `demo`, `replay` and the tests drive the same code, and the same
//! input gives the same output on every machine.

mod baselines;
mod bus;
mod command;
mod commands;
mod derived;
mod elements;
#[expect(clippy::module_inception, reason = "the machine itself beside its parts")]
mod engine;
mod expectation;
mod hand;
mod history;
mod input;
mod judge;
mod known;
mod learning;
mod network;
mod operating;
mod output;
mod parts_list;
mod readings;
mod reasoning;
mod record;
mod show;
mod speaker;
pub mod steady;
mod tank_flow;
mod unit;
mod valve;
pub mod view;
pub mod wall_clock;

pub use command::{Command, EntryChange, NewEntry, Reply, RunSelection};
pub use engine::{Engine, Options};
pub use history::UnitHistory;
pub use input::{BusCounts, Input, Restored, RestoredUnit, SourceState};
pub use known::{KnownUnit, known_unit};
pub use operating::state_shown;
pub use output::{ClockChange, Event, Output, SenderReport, Ticket};
pub use reasoning::Told;
pub use record::{AlertRecord, AlertState, Record, SampleRow};
use unit::RunChange;

#[cfg(test)]
mod tests;
