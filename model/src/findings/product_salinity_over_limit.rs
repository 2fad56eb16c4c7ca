//! `product-salinity-over-limit`: product saltier than the owner's limit.
//!
//! A raw threshold, since the owner's limit is raw. Not judged in the first minutes of a run: salt diffuses through the membrane at rest and
//! comes out first.

use super::{Assessment, Evidence, Finding, FindingCode, NextMeasurement, Registration, Severity, Snapshot};
use crate::Quantity;
use crate::judgement::action_list;
use crate::records::OperatingState;

/// Product of the first minutes is salty in every sound unit; it needs 5 to 20 minutes to settle (common practice, no source).
pub const QUIET_AFTER_START_S: f64 = 15.0 * 60.0;
/// Clears below this share of the limit (our choice).
const CLEAR_SHARE: f64 = 0.95;
/// From this multiple of the limit it is an alarm (our choice).
const ALARM_MULTIPLE: f64 = 2.0;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::ProductSalinityOverLimit,
    name: "product-salinity-over-limit",
    title: "Product salinity over your limit",
    meaning: "The product is saltier than the limit in the settings. Warm or salty sea, a leak at a seal, an aged membrane or a drifting meter can be behind it.",
    condition: "product conductivity over the limit while the unit runs, 15 minutes or more after the start; an alarm from twice the limit",
    hold: "60 s",
    clears: "below 95 % of the limit for 2 minutes",
    latched: false,
    needs: &[Quantity::ProductConductivity],
    other_explanations: "The cell may be dirty or its temperature compensation wrong. Warm water raises salinity in every sound unit; compare with what this \
                         water allows before blaming the membrane.",
    act: &[action_list::DIVERT_PRODUCT, action_list::CHECK_HAND_METER],
    act_not: &["Do not judge the water by taste alone.", "Do not open a vessel under pressure."],
    caution: "Salinity says nothing about microbes, fuel, solvents or boron. Whether water may be drunk is for local rules and qualified people to say.",
    sources: &["the owner's limit in the settings, in µS/cm at 25 °C"],
};

/// Hold and clear times, s.
pub const HOLD_S: u64 = 60;
/// See [`HOLD_S`].
pub const CLEAR_S: u64 = 120;

/// Is the product over the limit?
pub fn assess(now: &Snapshot) -> Assessment {
    let Some(limit) = now.parts.and_then(|parts| parts.limits.product_conductivity_us_cm) else {
        return Assessment::cannot("no limit for the product's conductivity in the settings");
    };
    let Some(value) = now.value(Quantity::ProductConductivity) else {
        return Assessment::cannot("product conductivity is not measured");
    };
    if now.state != Some(OperatingState::Running) {
        return Assessment::cannot("the unit is not running");
    }
    if now.running_s.is_none_or(|seconds| seconds < QUIET_AFTER_START_S) {
        return Assessment::cannot("salinity is judged from 15 minutes after the start");
    }
    judge(value, limit)
}

/// The bare comparison, also for a hand reading.
pub fn judge(value: f64, limit: f64) -> Assessment {
    if value <= CLEAR_SHARE * limit {
        return Assessment::False;
    }
    if value <= limit {
        return Assessment::Between;
    }
    let severity = if ALARM_MULTIPLE * limit <= value { Severity::Alarm } else { Severity::Alert };
    Assessment::yes(Finding {
        code: FindingCode::ProductSalinityOverLimit,
        about: None,
        severity,
        title: "Product salinity over your limit: keep it out of the tank".to_owned(),
        evidence: vec![Evidence {
            what: "product conductivity".to_owned(),
            seen: format!("{value:.0} µS/cm at 25 °C"),
            against: format!("your limit: {limit:.0} µS/cm"),
        }],
        causes: vec![],
        next_measurement: Some(NextMeasurement {
            quantity: Some(Quantity::ProductConductivity),
            how: "Measure the product with a second meter and note its scale and whether it compensates temperature.".to_owned(),
            meaning: "The same value: the product is salty. A lower one: the fitted cell drifts or is dirty.".to_owned(),
        }),
    })
}
