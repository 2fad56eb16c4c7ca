//! A damaged history is moved aside, never deleted, and what can be read of its records comes over.

use super::database::{DATABASE_FILE, with_companions};
use super::record_rows::checksum;
use super::{StoreError, limits};
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

const COLUMNS: &str =
    "sequence, unit, kind, about, id, revision, boot, monotonic_ms, wall_ms, body, checksum";
const COLUMN_COUNT: usize = 11;
const BODY: usize = 9;

/// Renames the file and its companions to a name that is free.
pub fn move_aside(folder: &Path) -> Result<PathBuf, StoreError> {
    let free =
        (1..=limits::DAMAGED_KEPT_MAX).map(|number| folder.join(format!("history-damaged-{number}.db")));
    let Some(target) = free.into_iter().find(|path| !path.exists()) else {
        let why = format!(
            "the history is damaged, and {} damaged ones lie here already. Replace the memory card, keep what you need of \
             history-damaged-*, remove them and start again",
            limits::DAMAGED_KEPT_MAX
        );
        return Err(StoreError::Folder { path: folder.to_owned(), source: io::Error::other(why) });
    };
    for (from, to) in with_companions(&folder.join(DATABASE_FILE)).iter().zip(with_companions(&target)) {
        if from.exists() {
            std::fs::rename(from, &to).map_err(|source| StoreError::Folder { path: from.clone(), source })?;
        }
    }
    Ok(target)
}

/// Copies what can still be read of a damaged file into a fresh one: from both ends towards the damage. Returns the number of
/// records that came over.
pub fn salvage(damaged: &Path, fresh: &mut Connection) -> rusqlite::Result<u64> {
    let mut records = BTreeMap::new();
    let mut boots = BTreeMap::new();
    // The file was moved aside and nothing else uses it; its log is read with it.
    let damaged = Connection::open(damaged)?;
    for direction in ["ASC", "DESC"] {
        // Each ends at the first page that cannot be read; the other direction takes the rest.
        let _ = read_records(&damaged, direction, &mut records);
        let _ = read_boots(&damaged, direction, &mut boots);
    }
    let transaction = fresh.transaction()?;
    for (boot, offset) in boots {
        transaction
            .execute("INSERT OR IGNORE INTO boot (boot, offset_ms) VALUES (?1, ?2)", (boot, offset))?;
    }
    let mut copied = 0;
    for values in records.into_values() {
        let sql =
            format!("INSERT INTO record ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)");
        // A flipped byte outside the body can break a rule of the table; that row is lost, the others are not.
        copied += u64::from(transaction.prepare_cached(&sql)?.execute(params_from_iter(values)).is_ok());
    }
    transaction.commit()?;
    Ok(copied)
}

fn read_records(
    damaged: &Connection,
    direction: &str,
    records: &mut BTreeMap<i64, Vec<Value>>,
) -> rusqlite::Result<()> {
    // In the order of the table itself: an index may be what is damaged.
    let mut statement = damaged
        .prepare(&format!("SELECT {COLUMNS} FROM record NOT INDEXED ORDER BY sequence {direction}"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let body: rusqlite::Result<(String, i64)> =
            row.get(BODY).and_then(|body| Ok((body, row.get(BODY + 1)?)));
        if body.is_ok_and(|(body, sum)| checksum(&body) == sum) {
            let values: Vec<Value> =
                (0..COLUMN_COUNT).map(|column| row.get(column)).collect::<Result<_, _>>()?;
            records.insert(row.get(0)?, values);
        }
    }
    Ok(())
}

fn read_boots(
    damaged: &Connection,
    direction: &str,
    boots: &mut BTreeMap<i64, Option<i64>>,
) -> rusqlite::Result<()> {
    let mut statement = damaged
        .prepare(&format!("SELECT boot, offset_ms FROM boot NOT INDEXED ORDER BY number {direction}"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        boots.insert(row.get(0)?, row.get(1)?);
    }
    Ok(())
}
