//! Every reading with value, error, age, origin and trust.

use crate::engine::view::{ReadingStatus, ReadingView, UnitView, View};
use crate::publish::{format, words};
use barrico_model::{Dimension, WallMs};

/// One line of the table of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingRow {
    /// "Feed pressure".
    pub label: String,
    /// "55.1 ± 0.8 bar", or "unknown".
    pub value: String,
    /// "last 12.3 bar at 14:05 UTC", "reads 40.0 °C".
    pub remark: Option<String>,
    /// "20 s ago".
    pub age: String,
    /// "bus: address 35, PGN 130312".
    pub origin: String,
    /// "fresh", "too old", "doubted".
    pub status: &'static str,
}

pub(super) fn rows(unit: &UnitView, view: &View) -> Vec<ReadingRow> {
    unit.readings.iter().map(|reading| row(reading, view.wall_ms)).collect()
}

fn row(reading: &ReadingView, now: Option<WallMs>) -> ReadingRow {
    let shown = reading.value.filter(|value| value.is_finite()).map(|value| shown(reading, value));
    let (value, remark, status) = match (reading.status, shown) {
        (ReadingStatus::Fresh, Some(shown)) => (shown, None, "fresh"),
        (ReadingStatus::Fresh, None) => (unknown(), None, "not available"),
        (ReadingStatus::Stale, Some(shown)) => (unknown(), Some(last(&shown, reading.age_s, now)), "too old"),
        (ReadingStatus::Stale, None) => (unknown(), None, "too old"),
        (ReadingStatus::Doubted, Some(shown)) => {
            (unknown(), Some(format!("reads {shown}, which is doubted")), "doubted")
        }
        (ReadingStatus::Doubted, None) => (unknown(), None, "doubted"),
    };
    ReadingRow {
        label: words::sentence(reading.quantity.label()),
        value,
        remark,
        age: format::age(reading.age_s),
        origin: words::origin(reading.origin),
        status,
    }
}

fn unknown() -> String {
    "unknown".to_string()
}

fn last(shown: &str, age_s: f64, now: Option<WallMs>) -> String {
    match now {
        Some(now) if age_s.is_finite() => {
            format!("last {shown} at {}", format::date_time(now - (age_s * 1000.0) as i64, Some(now)))
        }
        _ => format!("last {shown}, {}", format::age(age_s)),
    }
}

/// Value with error and unit. Running time is shown in hours, names as names.
fn shown(reading: &ReadingView, value: f64) -> String {
    let quantity = reading.quantity;
    if words::is_named(quantity) {
        return words::named_value(quantity, value)
            .map_or_else(|| format!("undefined number {value:.0}"), str::to_string);
    }
    if quantity.dimension() == Dimension::Duration {
        return format!("{} h", format::number(value / 3600.0, 1));
    }
    format!("{} {}", format::with_half(value, reading.sd), quantity.unit())
}
