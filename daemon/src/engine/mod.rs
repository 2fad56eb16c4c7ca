//! The whole daemon as one pure state machine.
//!
//! `handle(now, input, out)` takes everything that can happen, `handle_timeout(now, out)` lets time pass, `next_deadline()` says until
//! when it may sleep. No clock, no file, no socket, no async: `run`, `demo`, `replay` and the tests drive the same code, and the same
//! input gives the same output on every machine.

mod command;
mod input;
mod output;
mod record;
pub mod steady;
pub mod view;
pub mod wall_clock;

pub use command::{Command, EntryChange, NewEntry, Reply, RunSelection};
pub use input::{Input, Restored, RestoredUnit, SourceState};
pub use output::{ClockChange, Event, Output, SenderReport, Ticket};
pub use record::{AlertRecord, AlertState, Record, SampleRow};
