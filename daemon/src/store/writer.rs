//! The one writer.

use super::database::{self, DATABASE_FILE};
use super::lock::{LOCK_FILE, Lock};
use super::record_rows::{self, Row};
use super::{StoreError, limits, salvage, sample_rows};
use crate::engine::{Record, SampleRow, Ticket};
use barrico_model::{Stamp, WallMs};
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use std::collections::{BTreeMap, VecDeque};
use std::path::{Path, PathBuf};

/// The history, open for writing.
#[derive(Debug)]
pub struct Store {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    pub(super) unit_ids: Vec<String>,
    /// Number in the file and offset of the starts of the program that were written in this one.
    boots: BTreeMap<u64, (i64, Option<i64>)>,
    waiting: VecDeque<SampleRow>,
    lost_samples: u64,
    notices: Vec<String>,
    sample_bounds: (i64, i64),
    /// For tests: the limit on pages goes after so many failures, as when somebody makes room.
    #[cfg(test)]
    pub(super) room_after: Option<u32>,
    // Last: the lock goes after the file is closed.
    _lock: Lock,
}

impl Store {
    /// Opens the history in a folder, makes it if there is none. `unit_ids` are the units of the settings in their order. A damaged
    /// history is moved aside and what can be read of it comes over; [`Self::take_notices`] tells so.
    ///
    /// # Errors
    /// Another writer, a folder that cannot be used, a newer file.
    pub fn open(folder: &Path, unit_ids: &[String]) -> Result<Self, StoreError> {
        database::prepare_folder(folder)?;
        let used_before = folder.join(LOCK_FILE).exists();
        let lock = Lock::take(folder)?;
        let gone = used_before && !folder.join(DATABASE_FILE).exists();
        let mut store = match Self::open_locked(folder, unit_ids, lock) {
            Ok(store) => store,
            Err((StoreError::Damaged { why, .. }, lock)) => {
                let moved_to = salvage::move_aside(folder)?;
                let mut store = Self::open_locked(folder, unit_ids, lock).map_err(|(error, _)| error)?;
                // Not readable at all is the worst case and an expected one: nothing comes over.
                let salvaged = salvage::salvage(&moved_to, &mut store.connection).unwrap_or(0);
                store.notices.push(format!(
                    "the history was damaged ({why}). It was moved to {}, and a new one was begun with the {salvaged} records that could \
                     still be read; samples did not come over. Compare it with your backup. A card that damages files should be replaced",
                    moved_to.display()
                ));
                store
            }
            Err((error, _)) => return Err(error),
        };
        if gone {
            store.notices.push(format!(
                "{} is gone although there was a history here before: a new one was begun. If nobody removed it, check the memory card and put \
                 a backup back",
                store.path.display()
            ));
        }
        Ok(store)
    }

    /// As [`Self::open`], but a damaged history is an error and stays where it is.
    ///
    /// # Errors
    /// As [`Self::open`], and damage.
    pub fn open_sound(folder: &Path, unit_ids: &[String]) -> Result<Self, StoreError> {
        database::prepare_folder(folder)?;
        let lock = Lock::take(folder)?;
        Self::open_locked(folder, unit_ids, lock).map_err(|(error, _)| error)
    }

    /// What a person should read once: damage that was found, files that were moved. Empties the list.
    pub fn take_notices(&mut self) -> Vec<String> {
        std::mem::take(&mut self.notices)
    }

    fn open_locked(folder: &Path, unit_ids: &[String], lock: Lock) -> Result<Self, (StoreError, Lock)> {
        let path = folder.join(DATABASE_FILE);
        let opened = database::open(folder, None).and_then(|connection| {
            check_shape(&connection).map_err(|error| StoreError::from_sqlite(&path, &error))?;
            record_rows::check_all(&connection, &path)?;
            enter_units(&connection, unit_ids).map_err(|error| StoreError::from_sqlite(&path, &error))?;
            Ok(connection)
        });
        match opened {
            Ok(connection) => Ok(Self {
                connection,
                path,
                unit_ids: unit_ids.to_vec(),
                boots: BTreeMap::new(),
                waiting: VecDeque::new(),
                lost_samples: 0,
                notices: Vec::new(),
                sample_bounds: sample_rows::usual_bounds(),
                #[cfg(test)]
                room_after: None,
                _lock: lock,
            }),
            Err(error) => Err((error, lock)),
        }
    }

    /// Writes the records of a batch, all or none, and returns when they are safe against a power cut. Samples are put aside for
    /// [`Self::flush_samples`].
    ///
    /// # Errors
    /// Nothing of the batch was written, and no sample of it was taken: give it again.
    pub fn commit(&mut self, batch: &[(Ticket, Record)]) -> Result<(), StoreError> {
        let rows: Vec<Row> = batch.iter().filter_map(|(_, record)| Row::of(record, &self.unit_ids)).collect();
        if !rows.is_empty() {
            let dates: Vec<Stamp> = batch.iter().filter_map(|(_, record)| date_of(record)).collect();
            self.in_transaction("FULL", |transaction, boots| {
                rows.iter().try_for_each(|row| row.insert(transaction))?;
                dates.iter().try_for_each(|stamp| enter_boot(transaction, boots, *stamp).map(|_| ()))
            })?;
        }
        for (_, record) in batch {
            if let Record::Sample(row) = record {
                self.waiting.push_back(row.clone());
            }
        }
        // The oldest go first: the newest tell what led to a power cut.
        while limits::SAMPLES_WAITING_MAX < self.waiting.len() {
            self.waiting.pop_front();
            self.lost_samples += 1;
        }
        Ok(())
    }

    /// Samples that wait for [`Self::flush_samples`].
    pub fn samples_waiting(&self) -> usize {
        self.waiting.len()
    }

    /// Does one of the samples that wait belong to a run?
    pub fn run_waiting(&self) -> bool {
        self.waiting.iter().any(|row| row.run != 0)
    }

    /// Samples that were dropped before they were written, because nothing could be written for too long.
    pub fn samples_lost(&self) -> u64 {
        self.lost_samples
    }

    /// Writes the samples that wait. A power cut soon after may still take them.
    ///
    /// # Errors
    /// None was written; they wait on.
    pub fn flush_samples(&mut self) -> Result<(), StoreError> {
        if self.waiting.is_empty() {
            return Ok(());
        }
        let waiting = std::mem::take(&mut self.waiting);
        let (rows_max, step) = self.sample_bounds;
        let unit_ids = self.unit_ids.clone();
        let written = self.in_transaction("NORMAL", |transaction, boots| {
            let mut insert = sample_rows::Insert::new(transaction)?;
            for row in &waiting {
                let boot = enter_boot(transaction, boots, row.at)?;
                let unit: i64 = transaction
                    .prepare_cached("SELECT number FROM unit WHERE id = ?1")?
                    .query_row([unit_ids.get(row.unit).map_or("", String::as_str)], |found| found.get(0))?;
                insert.row(unit, boot, row)?;
            }
            sample_rows::drop_oldest(transaction, rows_max, step).map(|_| ())
        });
        if written.is_err() {
            self.waiting = waiting;
        }
        written
    }

    /// Writes what waits and closes the file.
    ///
    /// # Errors
    /// The last samples could not be written.
    pub fn close(mut self) -> Result<(), StoreError> {
        self.flush_samples()?;
        let Self { connection, path, .. } = self;
        connection.close().map_err(|(_, error)| StoreError::from_sqlite(&path, &error))
    }

    fn in_transaction(
        &mut self,
        synchronous: &str,
        work: impl FnOnce(&Transaction<'_>, &mut BTreeMap<u64, (i64, Option<i64>)>) -> rusqlite::Result<()>,
    ) -> Result<(), StoreError> {
        // The setting takes effect between transactions only.
        let result = self
            .connection
            .execute_batch(&format!("PRAGMA synchronous = {synchronous}"))
            .and_then(|()| self.connection.transaction())
            .and_then(|transaction| {
                work(&transaction, &mut self.boots)?;
                transaction.commit()
            });
        if let Err(error) = result {
            // What was rolled back must be looked up again.
            self.boots.clear();
            #[cfg(test)]
            self.make_room();
            return Err(StoreError::from_sqlite(&self.path, &error));
        }
        Ok(())
    }

    /// For tests: lets the file grow no further than so many pages beyond its present size; `None`: as far as it likes.
    #[cfg(test)]
    pub(super) fn limit_pages(&self, more: Option<u32>) {
        let ask = |sql: &str| self.connection.query_row(sql, [], |row| row.get::<_, u32>(0));
        let limit = ask("PRAGMA page_count").map(|pages| more.map_or(u32::MAX - 1, |more| pages + more));
        let set = limit.and_then(|limit| ask(&format!("PRAGMA max_page_count = {limit}")));
        assert!(set.is_ok(), "{set:?}");
    }

    #[cfg(test)]
    fn make_room(&mut self) {
        self.room_after = self.room_after.map(|failures| failures.saturating_sub(1));
        if self.room_after == Some(0) {
            self.limit_pages(None);
        }
    }

    /// For tests: another bound on the rows of samples.
    #[cfg(test)]
    pub(super) fn bound_samples(&mut self, rows_max: i64, step: i64) {
        self.sample_bounds = (rows_max, step);
    }
}

/// The moment of writing, where a record tells it. Log entries and runs may be dated by people and tell none.
fn date_of(record: &Record) -> Option<Stamp> {
    match record {
        Record::Alert { alert, .. } => Some(alert.changed),
        _ => None,
    }
}

/// The number of a start of the program in the file; keeps its offset up to date. A step under a second is drift.
fn enter_boot(
    transaction: &Transaction<'_>,
    boots: &mut BTreeMap<u64, (i64, Option<i64>)>,
    stamp: Stamp,
) -> rusqlite::Result<i64> {
    const DRIFT_MS: u64 = 1_000;
    let offset = stamp.wall_ms.map(|wall: WallMs| wall.saturating_sub(stamp.monotonic.0 as i64));
    let known = match boots.get(&stamp.boot) {
        Some(known) => Some(*known),
        None => transaction
            .query_row("SELECT number, offset_ms FROM boot WHERE boot = ?1", [stamp.boot as i64], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })
            .optional()?,
    };
    let (number, before) = match known {
        Some(known) => known,
        None => {
            transaction.execute("INSERT INTO boot (boot) VALUES (?1)", [stamp.boot as i64])?;
            (transaction.last_insert_rowid(), None)
        }
    };
    let changed = match (before, offset) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(before), Some(offset)) => DRIFT_MS < before.abs_diff(offset),
    };
    if changed {
        transaction.execute("UPDATE boot SET offset_ms = ?1 WHERE number = ?2", params![offset, number])?;
    }
    boots.insert(stamp.boot, (number, if changed { offset } else { before }));
    Ok(number)
}

fn enter_units(connection: &Connection, unit_ids: &[String]) -> rusqlite::Result<()> {
    for id in unit_ids {
        let known = connection.query_row("SELECT 1 FROM unit WHERE id = ?1", [id], |_| Ok(())).optional()?;
        if known.is_none() {
            connection.execute("INSERT INTO unit (id) VALUES (?1)", [id])?;
        }
    }
    Ok(())
}

/// Every table and column that is read later must be there: a flipped bit in the schema's own text renames one.
fn check_shape(connection: &Connection) -> rusqlite::Result<()> {
    const READ: [&str; 4] = [
        "SELECT key, value FROM meta",
        "SELECT number, id FROM unit",
        "SELECT sequence, unit, kind, about, id, revision, boot, monotonic_ms, wall_ms, body, checksum FROM record",
        "SELECT sequence, unit, boot, monotonic_ms, wall_ms, state, run FROM sample",
    ];
    for sql in READ {
        connection.prepare(sql)?;
    }
    sample_rows::boots(connection).map(|_| ())
}
