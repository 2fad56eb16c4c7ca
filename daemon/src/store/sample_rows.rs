//! Samples as wide rows, found by halving, bounded by dropping the oldest.

use super::{StoreError, limits};
use crate::engine::SampleRow;
use barrico_model::records::OperatingState;
use barrico_model::{Monotonic, Quantity, Stamp, WallMs};
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params, params_from_iter};
use std::path::Path;

/// Writes rows; `boot` and `unit` are the numbers in the file.
pub struct Insert<'t> {
    statement: rusqlite::Statement<'t>,
}

impl<'t> Insert<'t> {
    /// Prepares.
    pub fn new(transaction: &'t Transaction<'_>) -> rusqlite::Result<Self> {
        let columns: Vec<&str> = Quantity::ALL.iter().map(|quantity| quantity.json_key()).collect();
        let marks: Vec<String> = (1..=6 + columns.len()).map(|number| format!("?{number}")).collect();
        let sql = format!(
            "INSERT INTO sample (unit, boot, monotonic_ms, wall_ms, state, run, {}) VALUES ({})",
            columns.join(", "),
            marks.join(", ")
        );
        Ok(Self { statement: transaction.prepare(&sql)? })
    }

    /// Writes one row.
    pub fn row(&mut self, unit: i64, boot: i64, row: &SampleRow) -> rusqlite::Result<()> {
        let optional = |value: Option<i64>| value.map_or(Value::Null, Value::Integer);
        let head = [
            Value::Integer(unit),
            Value::Integer(boot),
            Value::Integer(row.at.monotonic.0 as i64),
            optional(row.at.wall_ms),
            optional(row.state.map(|state| i64::from(state.code()))),
            Value::Integer(row.run as i64),
        ];
        let values = Quantity::ALL.iter().map(|quantity| {
            row.value(*quantity).filter(|value| value.is_finite()).map_or(Value::Null, Value::Real)
        });
        self.statement.execute(params_from_iter(head.into_iter().chain(values)))?;
        Ok(())
    }
}

/// Drops the oldest rows above the limit. Returns how many.
pub fn drop_oldest(transaction: &Transaction<'_>, rows_max: i64, step: i64) -> rusqlite::Result<i64> {
    let (first, last): (Option<i64>, Option<i64>) = (
        transaction.query_row("SELECT min(sequence) FROM sample", [], |row| row.get(0))?,
        transaction.query_row("SELECT max(sequence) FROM sample", [], |row| row.get(0))?,
    );
    let (Some(first), Some(last)) = (first, last) else { return Ok(0) };
    let over = last - first + 1 - rows_max;
    if over <= 0 {
        return Ok(0);
    }
    let until = first + over.max(step.min(rows_max));
    let dropped = transaction.execute("DELETE FROM sample WHERE sequence < ?1", [until])? as i64;
    transaction.execute("UPDATE meta SET value = value + ?1 WHERE key = 'samples_dropped'", [dropped])?;
    Ok(dropped)
}

/// The first sequence number whose row is not before this time.
fn lower_bound(connection: &Connection, boot: i64, monotonic_ms: i64) -> rusqlite::Result<i64> {
    let ends = "SELECT min(sequence), max(sequence) FROM sample";
    let ends: (Option<i64>, Option<i64>) =
        connection.query_row(ends, [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let (Some(mut low), Some(last)) = ends else { return Ok(i64::MAX) };
    let mut high = last + 1;
    let mut probe = connection.prepare_cached(
        "SELECT boot, monotonic_ms FROM sample WHERE sequence >= ?1 ORDER BY sequence LIMIT 1",
    )?;
    while low < high {
        let middle = low + (high - low) / 2;
        let time: Option<(i64, i64)> =
            probe.query_row([middle], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        if time.is_some_and(|time| time < (boot, monotonic_ms)) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    Ok(low)
}

/// One start of the program, as the file has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Boot {
    /// Number in the file.
    pub number: i64,
    /// Random number.
    pub boot: u64,
    /// Date minus monotonic time, if a date was known.
    pub offset_ms: Option<i64>,
}

/// All starts of the program, oldest first.
pub fn boots(connection: &Connection) -> rusqlite::Result<Vec<Boot>> {
    let mut statement = connection.prepare("SELECT number, boot, offset_ms FROM boot ORDER BY number")?;
    let rows = statement.query_map([], |row| {
        Ok(Boot { number: row.get(0)?, boot: row.get::<_, i64>(1)? as u64, offset_ms: row.get(2)? })
    })?;
    rows.collect()
}

/// Hands over the samples of one unit and one boot from a monotonic time to another, both included, in the order of time.
pub fn each(
    connection: &Connection,
    path: &Path,
    (index, unit): (usize, &str),
    boot: Boot,
    (from, to): (Monotonic, Monotonic),
    mut take: impl FnMut(SampleRow),
) -> Result<(), StoreError> {
    let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(path, &error);
    let present = present_columns(connection).map_err(sqlite)?;
    let number: Option<i64> = connection
        .query_row("SELECT number FROM unit WHERE id = ?1", [unit], |row| row.get(0))
        .optional()
        .map_err(sqlite)?;
    let Some(number) = number else { return Ok(()) };
    let to_ms = i64::try_from(to.0).unwrap_or(i64::MAX);
    let first =
        lower_bound(connection, boot.number, i64::try_from(from.0).unwrap_or(i64::MAX)).map_err(sqlite)?;
    let columns: Vec<&str> = present.iter().map(|quantity| quantity.json_key()).collect();
    let sql = format!(
        "SELECT boot, monotonic_ms, unit, wall_ms, state, run{}{} FROM sample WHERE ?1 <= sequence ORDER BY sequence",
        if columns.is_empty() { "" } else { ", " },
        columns.join(", ")
    );
    let mut statement = connection.prepare_cached(&sql).map_err(sqlite)?;
    let mut rows = statement.query(params![first]).map_err(sqlite)?;
    while let Some(row) = rows.next().map_err(sqlite)? {
        let time: (i64, i64) = (row.get(0).map_err(sqlite)?, row.get(1).map_err(sqlite)?);
        if (boot.number, to_ms) < time {
            break;
        }
        if row.get::<_, i64>(2).map_err(sqlite)? == number {
            take(sample(row, index, boot, &present).map_err(sqlite)?);
        }
    }
    Ok(())
}

/// Quantities that the file has a column for; one written by an older program has fewer.
fn present_columns(connection: &Connection) -> rusqlite::Result<Vec<Quantity>> {
    let mut statement = connection.prepare_cached("SELECT name FROM pragma_table_info('sample')")?;
    let names: Vec<String> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let known = |quantity: &&Quantity| names.iter().any(|name| name == quantity.json_key());
    Ok(Quantity::ALL.iter().filter(known).copied().collect())
}

fn sample(row: &Row<'_>, unit: usize, boot: Boot, present: &[Quantity]) -> rusqlite::Result<SampleRow> {
    let monotonic_ms: i64 = row.get(1)?;
    let own: Option<WallMs> = row.get(3)?;
    let state: Option<u8> = row.get(4)?;
    let mut values = vec![None; Quantity::ALL.len()];
    for (column, quantity) in present.iter().enumerate() {
        values[*quantity as usize] = row.get(6 + column)?;
    }
    Ok(SampleRow {
        unit,
        at: Stamp {
            boot: boot.boot,
            monotonic: Monotonic(monotonic_ms as u64),
            wall_ms: own.or(boot.offset_ms.map(|offset| offset.saturating_add(monotonic_ms))),
        },
        state: state.and_then(OperatingState::from_code),
        run: row.get::<_, i64>(5)? as u64,
        values,
    })
}

/// Slack when a range of dates is turned into monotonic time, ms: the date may have stepped within a boot by a time zone or a day.
pub const STEP_SLACK_MS: i64 = 26 * 3_600_000;

/// The limits of [`drop_oldest`] in use.
pub const fn usual_bounds() -> (i64, i64) {
    (limits::SAMPLE_ROWS_MAX, limits::SAMPLE_ROWS_DROPPED)
}
