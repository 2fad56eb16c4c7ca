//! Times as tables have them.

use crate::case::{Fault, shown};
use crate::quantity_text::{Convention, Measure, parse_measure};
use barrico_model::WallMs;

/// Longest step between rows: a year.
const EVERY_MAX_S: f64 = 366.0 * 86_400.0;
/// Shortest step: rows in one second are one moment to everything here.
const EVERY_MIN_S: f64 = 1.0;
/// Dates before this are slips; no unit of this kind ran aboard then (our choice).
const EARLIEST: &str = "1980-01-01T00:00:00Z";
/// Dates after this are slips (our choice).
const LATEST: &str = "2100-01-01T00:00:00Z";

/// Step from row to row, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Every(pub i64);

/// A time as text. `format`: as for `strftime`, or `unix`; `None`: RFC 3339, or date and time in UTC.
///
/// # Errors
/// [`Fault`].
pub fn read(text: &str, format: Option<&str>) -> Result<WallMs, Fault> {
    let text = text.trim();
    let time = match format {
        None => plain(text),
        Some("unix") => {
            text.parse::<f64>().ok().filter(|s| s.is_finite()).map(|seconds| (seconds * 1000.0) as i64)
        }
        Some(format) => by_format(text, format),
    };
    let help = match format {
        None => "write `2026-03-03 14:05` in UTC, or with its offset `2026-03-03T14:05:00+02:00`; or name the format with `--time-format`".to_string(),
        Some(format) => format!("the format is `{format}`"),
    };
    let time = time.ok_or_else(|| Fault::new(format!("`{}` is not a time", shown(text)), help.clone()))?;
    let bound = |text: &str| text.parse::<jiff::Timestamp>().map_or(0, |at| at.as_millisecond());
    if time < bound(EARLIEST) || bound(LATEST) < time {
        return Err(Fault::new(format!("`{}` lies before 1980 or after 2100", shown(text)), help));
    }
    Ok(time)
}

fn plain(text: &str) -> Option<WallMs> {
    if let Ok(time) = text.parse::<jiff::Timestamp>() {
        return Some(time.as_millisecond());
    }
    // A day alone is no time of reading.
    let text = text.trim_end_matches("UTC").trim_end();
    let civil: jiff::civil::DateTime = text.parse().ok().filter(|_| text.contains(':'))?;
    utc(civil)
}

fn by_format(text: &str, format: &str) -> Option<WallMs> {
    let parsed = jiff::fmt::strtime::parse(format, text).ok()?;
    match parsed.to_timestamp() {
        Ok(time) => Some(time.as_millisecond()),
        // No offset in the text: UTC.
        Err(_) => utc(parsed.to_datetime().ok()?),
    }
}

fn utc(civil: jiff::civil::DateTime) -> Option<WallMs> {
    civil.to_zoned_datetime(jiff::tz::TimeZone::UTC).ok().map(|at| at.timestamp().as_millisecond())
}

/// Can the format be used at all?
pub(super) fn check_format(format: &str) -> Result<(), Fault> {
    let help = "write it as for `strftime`: '%d.%m.%Y %H:%M'; or `unix` for seconds since 1970";
    let sample: Result<jiff::civil::DateTime, _> = "2026-03-03T14:05:00".parse();
    let Ok(sample) = sample else { return Ok(()) };
    let zoned = sample.to_zoned_datetime(jiff::tz::TimeZone::UTC);
    let written: Option<String> =
        zoned.ok().and_then(|zoned| jiff::fmt::strtime::format(format, &zoned).ok());
    let holds = format == "unix" || written.is_some_and(|text| by_format(&text, format).is_some());
    if holds {
        Ok(())
    } else {
        Err(Fault::new(format!("`{}` is not a format of date and time", shown(format)), help))
    }
}

/// Step from row to row.
pub(super) fn every(text: &str) -> Result<Every, Fault> {
    let seconds = parse_measure(text, Measure::Duration, &Convention::default())
        .map_err(|error| Fault::new(format!("every: {error}"), error.help()))?;
    if !(EVERY_MIN_S..=EVERY_MAX_S).contains(&seconds) {
        return Err(Fault::new(
            format!("`{}` is no step between rows", shown(text)),
            "write a time from 1 s to 366 d: '10 min', '1 d'",
        ));
    }
    Ok(Every((seconds * 1000.0) as i64))
}

#[cfg(test)]
mod tests {
    use super::*;

    // 2026-03-03 14:05:00 UTC; checked with `date -u -d @1772546700`.
    const AT: WallMs = 1_772_546_700_000;

    #[test]
    fn times_are_read_as_people_write_them() {
        for text in
            ["2026-03-03 14:05", "2026-03-03T14:05:00Z", "2026-03-03T16:05+02:00", "2026-03-03 14:05 UTC"]
        {
            assert_eq!(read(text, None), Ok(AT), "{text}");
        }
        assert_eq!(read("03.03.2026 14:05", Some("%d.%m.%Y %H:%M")), Ok(AT));
        assert_eq!(read("03.03.2026 16:05 +0200", Some("%d.%m.%Y %H:%M %z")), Ok(AT));
        assert_eq!(read("1772546700", Some("unix")), Ok(AT));
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in ["2026-03-03", "yesterday", "", "1772546700", "1912-03-03 14:05", "2026-13-03 14:05"] {
            assert!(read(text, None).is_err(), "{text}");
        }
        // A day alone is taken where the format says that there is no more: midnight.
        assert_eq!(read("03.03.2026", Some("%d.%m.%Y")), Ok(1_772_496_000_000));
        assert!(check_format("%d.%m.%Y %H:%M").is_ok() && check_format("unix").is_ok());
        assert!(check_format("%Q").is_err());
        assert_eq!(every("1 s"), Ok(Every(1_000)));
        assert!(every("0.5 s").is_err() && every("400 d").is_err() && every("10").is_err());
    }
}
