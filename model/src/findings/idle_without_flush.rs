//! `idle-without-flush`: sea water stands in the vessel longer than it should.
//!
//! Warm water is quicker. The interval is a setting; the defaults are common practice without a source: 5 days below 20 °C, 3 days at 20 °C and above.
//! Time with the computer switched off counts as "at least".

use super::{Assessment, Evidence, Finding, FindingCode, Registration, Severity};
use crate::judgement::action_list;
use crate::parts::Limits;

/// Default interval below 20 °C, days (common practice, no source).
pub const COOL_DAYS: f64 = 5.0;
/// Default interval at 20 °C and above, days (common practice, no source).
pub const WARM_DAYS: f64 = 3.0;
/// Where cool ends, °C.
const WARM_FROM_C: f64 = 20.0;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::IdleWithoutFlush,
    name: "idle-without-flush",
    title: "Idle too long without a flush",
    meaning: "Sea water has stood in the vessel longer than the interval in the settings. Life grows in it; it smells, and the membrane fouls.",
    condition: "no run, flush or preservation for longer than the interval: 5 days below 20 °C, 3 days at 20 °C and above, unless the settings say otherwise; an \
                alert from twice the interval",
    hold: "none",
    clears: "with a run, a flush or a log entry that says flushed or preserved",
    latched: false,
    needs: &[],
    other_explanations: "A flush or preservation that nobody wrote down: add it to the log.",
    act: &[action_list::FLUSH_OR_RUN, action_list::LOG_FLUSH],
    act_not: &[
        "Do not use dock water, or a tank that was chlorinated and not rinsed since: chlorine ruins the membrane.",
        "Do not run in a harbour with oil on the water.",
    ],
    caution: "After a long rest lead the first product overboard, by the unit's manual.",
    sources: &[
        "common practice, no source: 5 days below 20 °C, 3 days above; sea water smells after 2 to 3 days in warm water",
    ],
};

/// Hours idle, the water's temperature if known, and whether the unit is preserved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Idle {
    /// Hours since the last run, flush or preservation, at least.
    pub hours: f64,
    /// Temperature of the sea, °C; unknown counts as warm.
    pub temperature_c: Option<f64>,
    /// Filled with preservative.
    pub preserved: bool,
}

/// The interval for this water, days.
pub fn interval_days(limits: &Limits, temperature_c: Option<f64>) -> f64 {
    let cool = temperature_c.is_some_and(|celsius| celsius < WARM_FROM_C);
    if cool {
        limits.flush_interval_cool_days.unwrap_or(COOL_DAYS)
    } else {
        limits.flush_interval_warm_days.unwrap_or(WARM_DAYS)
    }
}

/// Is it idle for too long? `None`: when it last ran or was flushed is not known.
pub fn assess(limits: &Limits, idle: Option<Idle>) -> Assessment {
    let Some(idle) = idle else {
        return Assessment::cannot("when the unit last ran or was flushed is not known");
    };
    let interval = interval_days(limits, idle.temperature_c);
    let days = idle.hours / 24.0;
    // Water that hovers around the border between cool and warm must not raise and clear it in turns: once told, it stays until the vessel
    // is flushed, which brings the days below the shorter interval.
    let shorter = interval_days(limits, None).min(interval_days(limits, Some(0.0)));
    if idle.preserved || days <= shorter {
        return Assessment::False;
    }
    if days <= interval {
        return Assessment::Between;
    }
    let severity = if 2.0 * interval <= days { Severity::Alert } else { Severity::Advice };
    let water = match idle.temperature_c {
        Some(celsius) => format!("water of {celsius:.0} °C"),
        None => "water of unknown temperature, taken as warm".to_owned(),
    };
    Assessment::yes(Finding {
        code: FindingCode::IdleWithoutFlush,
        about: None,
        severity,
        title: "Idle too long without a flush".to_owned(),
        evidence: vec![Evidence {
            what: "time since the last run or flush".to_owned(),
            seen: format!("at least {days:.1} days in {water}"),
            against: format!("interval: {interval:.0} days"),
        }],
        causes: vec![],
        next_measurement: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(days: f64, temperature_c: f64) -> Assessment {
        let idle = Idle { hours: 24.0 * days, temperature_c: Some(temperature_c), preserved: false };
        assess(&Limits::default(), Some(idle))
    }

    #[test]
    fn water_at_the_border_does_not_raise_and_clear_in_turns() {
        assert!(matches!(after(4.0, 20.1), Assessment::True(_)));
        assert_eq!(after(4.0, 19.9), Assessment::Between);
        assert_eq!(after(2.9, 19.9), Assessment::False);
        assert!(matches!(after(5.1, 19.9), Assessment::True(_)));
    }
}
