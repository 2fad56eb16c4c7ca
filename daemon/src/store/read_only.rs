//! The history, open for reading beside the writer: for export and pages.

use super::database::{self, DATABASE_FILE};
use super::dating::{Dated, Dating};
use super::record_rows::{self, Kind, Which};
use super::{StoreError, sample_rows};
use crate::engine::{AlertRecord, SampleRow};
use crate::wire::{AlertJson, BaselineJson, LogEntryJson, PartsJson, RunJson, read_body};
use barrico_model::records::{Baseline, LogEntry, RunRecord};
use barrico_model::{Monotonic, WallMs};
use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// A reader. It sees what was committed when it asks, takes no lock that the writer waits for, and changes nothing.
#[derive(Debug)]
pub struct ReadOnly {
    connection: Connection,
    path: PathBuf,
}

impl ReadOnly {
    /// Opens the history in a folder.
    ///
    /// # Errors
    /// There is none, or it is damaged or newer.
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        Ok(Self { connection: database::open_read_only(folder)?, path: folder.join(DATABASE_FILE) })
    }

    /// Random number of this store.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn store_id(&self) -> Result<u64, StoreError> {
        let id: rusqlite::Result<i64> =
            self.connection.query_row("SELECT value FROM meta WHERE key = 'store_id'", [], |row| row.get(0));
        Ok(id.map_err(|error| self.failed(&error))? as u64)
    }

    /// Short names of all units that the history knows, also those that left the settings.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn units(&self) -> Result<Vec<String>, StoreError> {
        let mut statement = self
            .connection
            .prepare("SELECT id FROM unit ORDER BY number")
            .map_err(|error| self.failed(&error))?;
        let ids = statement.query_map([], |row| row.get(0)).and_then(Iterator::collect);
        ids.map_err(|error| self.failed(&error))
    }

    /// The highest revision of the latest runs, oldest first. An open run is among them as it was opened.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn runs(&self, unit: &str, latest: usize) -> Result<Vec<RunRecord>, StoreError> {
        self.dated(record_rows::read::<RunJson, _>(
            &self.connection,
            &self.path,
            unit,
            Kind::Run,
            Which::Latest(latest),
        )?)
    }

    /// The highest revision of the latest log entries, oldest first.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn log(&self, unit: &str, latest: usize) -> Result<Vec<LogEntry>, StoreError> {
        self.dated(record_rows::read::<LogEntryJson, _>(
            &self.connection,
            &self.path,
            unit,
            Kind::Log,
            Which::Latest(latest),
        )?)
    }

    /// Every revision of every log entry, in the order of writing: the originals of what was amended too.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn log_revisions(&self, unit: &str) -> Result<Vec<LogEntry>, StoreError> {
        self.dated(record_rows::read::<LogEntryJson, _>(
            &self.connection,
            &self.path,
            unit,
            Kind::Log,
            Which::All,
        )?)
    }

    /// All baselines, as they are now, oldest first.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn baselines(&self, unit: &str) -> Result<Vec<Baseline>, StoreError> {
        self.dated(record_rows::read::<BaselineJson, _>(
            &self.connection,
            &self.path,
            unit,
            Kind::Baseline,
            Which::Latest(usize::MAX),
        )?)
    }

    /// Fingerprint of the parts list that the history belongs to, if it has one.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn parts_fingerprint(&self, unit: &str) -> Result<Option<u64>, StoreError> {
        let latest = record_rows::bodies(&self.connection, &self.path, unit, Kind::Parts, Which::Latest(1))?;
        let parts = latest.last().map(|body| read_body::<PartsJson>(body)).transpose();
        let parts = parts.map_err(|error| StoreError::from_wire(&self.path, error))?;
        Ok(parts.map(|parts| parts.fingerprint))
    }

    /// Every change of every alert, in the order of writing.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn alerts(&self, unit: &str) -> Result<Vec<AlertRecord>, StoreError> {
        self.dated(record_rows::read::<AlertJson, _>(
            &self.connection,
            &self.path,
            unit,
            Kind::Alert,
            Which::All,
        )?)
    }

    /// Every record of a kind as its line of JSON, in the order of writing.
    ///
    /// # Errors
    /// The file cannot be read, or a record is damaged.
    pub fn lines(&self, unit: &str, kind: Kind) -> Result<Vec<String>, StoreError> {
        record_rows::bodies(&self.connection, &self.path, unit, kind, Which::All)
    }

    /// Hands over the samples of a unit in a range of dates, both included, in the order of writing. `None`: no end on that side;
    /// samples that have no date come only when neither side has an end. They carry unit number 0.
    ///
    /// # Errors
    /// The file cannot be read, or is damaged.
    pub fn samples(
        &self,
        unit: &str,
        from: Option<WallMs>,
        to: Option<WallMs>,
        mut take: impl FnMut(SampleRow),
    ) -> Result<(), StoreError> {
        let boots = sample_rows::boots(&self.connection).map_err(|error| self.failed(&error))?;
        let everything = from.is_none() && to.is_none();
        for boot in boots {
            let Some(offset) = boot.offset_ms.or(everything.then_some(0)) else { continue };
            let slack = sample_rows::STEP_SLACK_MS;
            let monotonic = |wall: WallMs| wall.saturating_sub(offset);
            let first = from.map_or(0, |from| monotonic(from).saturating_sub(slack).max(0));
            let last = to.map_or(i64::MAX, |to| monotonic(to).saturating_add(slack));
            if last < 0 {
                continue;
            }
            let span = (Monotonic(first as u64), Monotonic(last as u64));
            sample_rows::each(&self.connection, &self.path, (0, unit), boot, span, |sample| {
                let inside = sample.at.wall_ms.is_some_and(|wall| {
                    from.is_none_or(|from| from <= wall) && to.is_none_or(|to| wall <= to)
                });
                if everything || inside {
                    take(sample);
                }
            })?;
        }
        Ok(())
    }

    /// Samples that were dropped because the store was full of them.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn samples_dropped(&self) -> Result<u64, StoreError> {
        let sql = "SELECT value FROM meta WHERE key = 'samples_dropped'";
        let count: rusqlite::Result<i64> = self.connection.query_row(sql, [], |row| row.get(0));
        Ok(count.map_err(|error| self.failed(&error))?.max(0) as u64)
    }

    fn dated<T: Dated>(&self, mut records: Vec<T>) -> Result<Vec<T>, StoreError> {
        let boots = sample_rows::boots(&self.connection).map_err(|error| self.failed(&error))?;
        let dating = Dating::new(&boots);
        records.iter_mut().for_each(|record| record.date(&dating));
        Ok(records)
    }

    fn failed(&self, error: &rusqlite::Error) -> StoreError {
        StoreError::from_sqlite(&self.path, error)
    }
}
