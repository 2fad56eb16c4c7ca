//! The history on disk. SQLite lives here and nowhere else.
//!
//! **Limits** are in [`limits`]: records are kept for ever; samples up to a million rows, then the oldest are dropped and counted; what
//! waits in memory while the disk does not work is bounded too.
//!
//! **On disk**, in the state folder (0700), all files 0600:
//!
//! | file | what |
//! | --- | --- |
//! | `history.db` | SQLite 3, `user_version` 1; tables in `schema.sql`: `record` (append-only, one line of JSON each with a checksum), `sample` (wide rows), `boot`, `unit`, `meta` |
//! | `history.db-wal`, `-shm` | what was committed since the last checkpoint; part of the history, copy all three or none |
//! | `lock` | held by the one writer, with its process number |
//! | `history-damaged-N.db` | a damaged history that was moved aside |
//!
//! **Failure.** A record is confirmed after its transaction is synced (`synchronous = FULL`): it survives a power cut. Samples are written in
//! batches without that: a power cut takes up to a minute of them, at rest up to a quarter of an hour. The tables with records are checked whole at each start, every byte of
//! every record against its checksum; a damaged file is moved aside, with a notice, and what can be read of its records comes over
//! ([`Store::open`]), or it is an error with a remedy ([`Store::open_sound`]); it is never taken for an empty history. What cannot be seen: a damaged end of the `-wal` file after a
//! power cut looks like a transaction that was never finished.

mod cut_run;
mod database;
mod dating;
mod direct;
mod error;
pub mod limits;
mod lock;
mod read_only;
mod record_rows;
mod restore;
mod salvage;
mod sample_rows;
mod thread;
mod writer;

pub use database::DATABASE_FILE;
pub use direct::{random_boot, run_command};
pub use error::StoreError;
pub use lock::LOCK_FILE;
pub use read_only::ReadOnly;
pub use record_rows::Kind;
pub use thread::{Dropped, Finished, Pace, StoreThread};
pub use writer::Store;

#[cfg(test)]
mod tests;
