//! Records as rows: written once, read back with a check of every byte.

use super::StoreError;
use crate::engine::{AlertRecord, Record};
use crate::wire::{
    AlertJson, BaselineJson, LogEntryJson, NodeJson, PartsJson, Payload, RecordBody, RunJson, WireError,
    read_body,
};
use barrico_model::Stamp;
use barrico_model::findings::registry;
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use std::path::Path;

/// Kinds of rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Log entries.
    Log,
    /// Runs.
    Run,
    /// Baselines.
    Baseline,
    /// Changes in the life of alerts.
    Alert,
    /// Fingerprints of the parts list.
    Parts,
    /// States of nodes on the bus.
    Node,
}

impl Kind {
    /// The word in the file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Run => "run",
            Self::Baseline => "baseline",
            Self::Alert => "alert",
            Self::Parts => "parts",
            Self::Node => "node",
        }
    }
}

/// A record ready to be written.
pub struct Row {
    unit: String,
    kind: Kind,
    about: String,
    id: u64,
    /// `None`: the next one that is free.
    revision: Option<u32>,
    stamp: Stamp,
    body: String,
}

impl Row {
    /// The row of a record; a sample has none.
    pub fn of(record: &Record, units: &[String]) -> Option<Self> {
        let name = |unit: usize| units.get(unit).cloned().unwrap_or_default();
        Some(match record {
            Record::Sample(_) => return None,
            Record::Log { unit, entry } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &LogEntryJson::from(entry)).to_line();
                Self::new(unit, Kind::Log, entry.id, Some(entry.revision), entry.at, body)
            }
            Record::Run { unit, run } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &RunJson::from(run)).to_line();
                Self::new(unit, Kind::Run, run.id, Some(run.revision), run.start, body)
            }
            Record::Baseline { unit, baseline } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &BaselineJson::from(baseline)).to_line();
                Self::new(unit, Kind::Baseline, baseline.id, None, baseline.taken, body)
            }
            Record::Alert { unit, alert } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &AlertJson::from(alert)).to_line();
                let row = Self::new(unit, Kind::Alert, alert.occurrence.into(), None, alert.changed, body);
                Self { about: about(alert), ..row }
            }
            Record::Node { unit, state } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &NodeJson::from(state)).to_line();
                Self::new(unit, Kind::Node, 0, None, Stamp::default(), body)
            }
            Record::Parts { unit, fingerprint } => {
                let unit = name(*unit);
                let body = Payload::new(&unit, &PartsJson { fingerprint: *fingerprint }).to_line();
                Self::new(unit, Kind::Parts, 0, None, Stamp::default(), body)
            }
        })
    }

    fn new(unit: String, kind: Kind, id: u64, revision: Option<u32>, stamp: Stamp, body: String) -> Self {
        Self { unit, kind, about: String::new(), id, revision, stamp, body }
    }

    /// Writes it. A revision that is there already with the same content is not written twice; with other content it takes
    /// the next free number, so that nothing is written over.
    pub fn insert(&self, transaction: &Transaction<'_>) -> rusqlite::Result<()> {
        let key = params![self.unit, self.kind.name(), self.about, self.id as i64];
        let highest: Option<i64> = transaction
            .prepare_cached(
                "SELECT max(revision) FROM record WHERE unit = ?1 AND kind = ?2 AND about = ?3 AND id = ?4",
            )?
            .query_row(key, |row| row.get(0))?;
        let next = highest.map_or(0, |highest| highest + 1);
        let revision = match self.revision.map(i64::from) {
            Some(own) if own < next => match self.body_at(transaction, own)? {
                Some(body) if body == self.body => return Ok(()),
                Some(_) => next,
                None => own,
            },
            Some(own) => own,
            None => next,
        };
        transaction
            .prepare_cached(
                "INSERT INTO record (unit, kind, about, id, revision, boot, monotonic_ms, wall_ms, body, checksum) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
            )?
            .execute(params![
                self.unit,
                self.kind.name(),
                self.about,
                self.id as i64,
                revision,
                self.stamp.boot as i64,
                self.stamp.monotonic.0 as i64,
                self.stamp.wall_ms,
                self.body,
                checksum(&self.body),
            ])?;
        Ok(())
    }

    fn body_at(&self, transaction: &Transaction<'_>, revision: i64) -> rusqlite::Result<Option<String>> {
        transaction
            .prepare_cached(
                "SELECT body FROM record \
                 WHERE unit = ?1 AND kind = ?2 AND about = ?3 AND id = ?4 AND revision = ?5",
            )?
            .query_row(params![self.unit, self.kind.name(), self.about, self.id as i64, revision], |row| {
                row.get(0)
            })
            .optional()
    }
}

/// What an alert row is about: finding and quantity.
fn about(alert: &AlertRecord) -> String {
    let code = registry::of(alert.code).name;
    alert.about.map_or_else(|| code.to_owned(), |quantity| format!("{code} {}", quantity.name()))
}

/// 64-bit FNV-1a (Fowler, Noll and Vo, IETF draft-eastlake-fnv): finds bytes that a bad card changed; no protection against people.
pub fn checksum(body: &str) -> i64 {
    body.bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
        as i64
}

/// Which rows to read of a kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The highest revision of each of the latest so many, by number.
    Latest(usize),
    /// Every row, in the order of writing.
    All,
}

/// Reads the domain values of one kind, oldest first.
pub fn read<J, D>(
    connection: &Connection,
    path: &Path,
    unit: &str,
    kind: Kind,
    which: Which,
) -> Result<Vec<D>, StoreError>
where
    J: RecordBody,
    D: TryFrom<J, Error = WireError>,
{
    let bodies = bodies(connection, path, unit, kind, which)?;
    let read = |body: &String| read_body::<J>(body).and_then(D::try_from);
    bodies.iter().map(read).collect::<Result<_, _>>().map_err(|error| StoreError::from_wire(path, error))
}

/// The lines of JSON of one kind, oldest first.
pub fn bodies(
    connection: &Connection,
    path: &Path,
    unit: &str,
    kind: Kind,
    which: Which,
) -> Result<Vec<String>, StoreError> {
    // With max(), SQLite takes the other columns from the row that has it: "Bare columns in an aggregate query".
    let (sql, count) = match (which, kind) {
        (Which::All, _) => {
            ("SELECT body, checksum FROM record WHERE unit = ?1 AND kind = ?2 ORDER BY sequence LIMIT ?3", -1)
        }
        // The latest state of each alert, whatever its occurrence.
        (Which::Latest(count), Kind::Alert) => (
            "SELECT body, checksum, max(sequence) FROM record WHERE unit = ?1 AND kind = ?2 GROUP BY about \
             ORDER BY about DESC LIMIT ?3",
            i64::try_from(count).unwrap_or(-1),
        ),
        (Which::Latest(count), _) => (
            "SELECT body, checksum, max(revision) FROM record WHERE unit = ?1 AND kind = ?2 AND about = '' GROUP BY id \
             ORDER BY id DESC LIMIT ?3",
            i64::try_from(count).unwrap_or(-1),
        ),
    };
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let mut statement = connection.prepare_cached(sql).map_err(sqlite)?;
    let mut rows = statement.query(params![unit, kind.name(), count]).map_err(sqlite)?;
    let mut found = Vec::new();
    while let Some(row) = rows.next().map_err(sqlite)? {
        let (body, sum): (String, i64) = (row.get(0).map_err(sqlite)?, row.get(1).map_err(sqlite)?);
        if checksum(&body) != sum {
            let why = format!("a {} record of unit `{unit}` is not as it was written", kind.name());
            return Err(StoreError::Damaged { path: path.to_owned(), why });
        }
        found.push(body);
    }
    if which != Which::All {
        found.reverse();
    }
    Ok(found)
}

/// Looks at every byte of every record.
pub fn check_all(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let mut statement = connection.prepare("SELECT sequence, body, checksum FROM record").map_err(sqlite)?;
    let mut rows = statement.query([]).map_err(sqlite)?;
    while let Some(row) = rows.next().map_err(sqlite)? {
        let (sequence, body, sum): (i64, String, i64) =
            (row.get(0).map_err(sqlite)?, row.get(1).map_err(sqlite)?, row.get(2).map_err(sqlite)?);
        if checksum(&body) != sum {
            let why = format!("record {sequence} is not as it was written");
            return Err(StoreError::Damaged { path: path.to_owned(), why });
        }
    }
    Ok(())
}
