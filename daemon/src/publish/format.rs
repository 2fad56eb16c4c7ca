//! Numbers, spans and dates as people read them.
//!
//! A number is shown with as many digits as its uncertainty deserves. Dates are UTC, since a boat changes its time zone and a log must not.

use barrico_model::WallMs;

/// Half width of a 95 % interval in standard deviations of a normal distribution.
pub const HALF_95: f64 = 1.96;

/// Digits after the point for a number known to plus or minus `half`.
///
/// One significant digit of the half width, two where it begins with 1 or 2: the usual rounding of uncertainties (as the
/// Particle Data Group words it; here from memory and simplified). At most 3. Without a usable half width: 1.
pub fn decimals(half: f64) -> usize {
    if !half.is_finite() || half <= 0.0 {
        return 1;
    }
    const STEPS: [(f64, usize); 4] = [(2.95, 0), (0.295, 1), (0.0295, 2), (0.0, 3)];
    STEPS.iter().find(|(from, _)| *from <= half).map_or(3, |(_, digits)| *digits)
}

/// A number with so many digits after the point, without a minus before zero.
pub fn number(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let is_zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
    if is_zero { text.trim_start_matches('-').to_string() } else { text }
}

/// "55.1 ± 0.8", or the bare number if the standard deviation is not known.
pub fn with_half(value: f64, sd: f64) -> String {
    let half = HALF_95 * sd;
    let digits = decimals(half);
    if half.is_finite() && 0.0 < half {
        format!("{} ± {}", number(value, digits), number(half, digits))
    } else {
        number(value, digits)
    }
}

/// Ends of the 95 % interval of something that cannot be negative.
pub fn interval(value: f64, sd: f64) -> (f64, f64) {
    ((value - HALF_95 * sd).max(0.0), value + HALF_95 * sd)
}

/// "68 to 80".
pub fn range(value: f64, sd: f64) -> String {
    let (low, high) = interval(value, sd);
    let digits = decimals(HALF_95 * sd);
    format!("{} to {}", number(low, digits), number(high, digits))
}

/// A length of time: "40 s", "25 min", "3 h 20 min", "5 days".
pub fn span(seconds: f64) -> String {
    if !seconds.is_finite() || seconds < 0.0 {
        return "unknown time".to_string();
    }
    let s = seconds as u64;
    match s {
        0..60 => format!("{s} s"),
        60..3600 => format!("{} min", s / 60),
        3600..172_800 if (s / 60).is_multiple_of(60) => format!("{} h", s / 3600),
        3600..172_800 => format!("{} h {} min", s / 3600, s / 60 % 60),
        _ => format!("{} days", s / 86_400),
    }
}

/// How long ago: coarse, so that a page of fresh readings does not change with every second.
pub fn age(seconds: f64) -> String {
    match seconds {
        s if !s.is_finite() => "age unknown".to_string(),
        s if s < 10.0 => "now".to_string(),
        s if s < 60.0 => format!("{} s ago", (s / 10.0) as u64 * 10),
        s => format!("{} ago", span(s)),
    }
}

/// "14:05 UTC" on the day of `now`, else "3 Mar 14:05 UTC", in another year "3 Mar 2027 14:05 UTC".
pub fn date_time(at: WallMs, now: Option<WallMs>) -> String {
    let Some(at) = civil(at) else { return "impossible date".to_string() };
    let now = now.and_then(civil);
    let pattern = match now {
        Some(now) if now.date() == at.date() => "%H:%M UTC",
        Some(now) if now.year() == at.year() => "%-d %b %H:%M UTC",
        _ => "%-d %b %Y %H:%M UTC",
    };
    at.strftime(pattern).to_string()
}

/// "3 Mar", for the axis of a chart.
pub fn day(at: WallMs) -> String {
    civil(at).map_or_else(|| "?".to_string(), |at| at.strftime("%-d %b").to_string())
}

/// Time of day with seconds: "14:05:12 UTC".
pub fn time_of_day(at: WallMs) -> String {
    civil(at).map_or_else(|| "impossible date".to_string(), |at| at.strftime("%H:%M:%S UTC").to_string())
}

/// RFC 3339 with milliseconds, for programs.
pub fn rfc3339(at: WallMs) -> Option<String> {
    civil(at).map(|at| at.strftime("%Y-%m-%dT%H:%M:%S.%3fZ").to_string())
}

fn civil(at: WallMs) -> Option<jiff::civil::DateTime> {
    let at = jiff::Timestamp::from_millisecond(at).ok()?;
    Some(at.to_zoned_datetime(jiff::tz::TimeZone::UTC).datetime())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_uncertainty() {
        assert_eq!(with_half(55.123, 0.43), "55.1 ± 0.8");
        assert_eq!(with_half(55.123, 0.06), "55.12 ± 0.12");
        assert_eq!(with_half(311.4, 12.0), "311 ± 24");
        assert_eq!(with_half(4.0, f64::NAN), "4.0");
        assert_eq!(with_half(-0.01, 0.3), "0.0 ± 0.6");
        assert_eq!(range(74.0, 3.06), "68 to 80");
        assert_eq!(range(1.0, 3.0), "0 to 7");
    }

    #[test]
    fn spans_and_ages_are_coarse() {
        assert_eq!(span(59.9), "59 s");
        assert_eq!(span(60.0), "1 min");
        assert_eq!(span(12_000.0), "3 h 20 min");
        assert_eq!(span(7200.0), "2 h");
        assert_eq!(span(172_800.0), "2 days");
        assert_eq!(span(f64::NAN), "unknown time");
        assert_eq!(age(3.0), "now");
        assert_eq!(age(29.0), "20 s ago");
        assert_eq!(age(f64::INFINITY), "age unknown");
    }

    #[test]
    fn dates_say_as_much_as_needed() {
        // 2026-03-03 14:05:12 UTC; checked with `date -u -d @1772546712`.
        let at = 1_772_546_712_000;
        assert_eq!(date_time(at, Some(at + 1000)), "14:05 UTC");
        assert_eq!(date_time(at, Some(at + 86_400_000)), "3 Mar 14:05 UTC");
        assert_eq!(date_time(at, None), "3 Mar 2026 14:05 UTC");
        assert_eq!(rfc3339(at).as_deref(), Some("2026-03-03T14:05:12.000Z"));
        assert_eq!(date_time(i64::MAX, None), "impossible date");
    }
}
