//! `over-pressure`: pressure above the limit of a part.
//!
//! Live in every state from the first second, on one sample. A raw threshold, since the limit itself is raw. The limit is the lowest of
//! those in the settings; a typical value never takes the place of a missing one.

use super::{Assessment, Evidence, Finding, FindingCode, Registration, Severity, Snapshot};
use crate::Quantity;
use crate::judgement::action_list;
use crate::parts::Parts;

/// Clears below this share of the limit, so that a value at the limit does not flicker (our choice).
const CLEAR_SHARE: f64 = 0.97;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::OverPressure,
    name: "over-pressure",
    title: "Pressure above the limit of a part",
    meaning: "A pressure went over the limit that the settings give for pump, vessel, element or product line. Parts can burst or be \
              damaged for good.",
    condition: "one sample of feed, concentrate, low-side or product pressure above its limit, in any state",
    hold: "none: one sample is enough",
    clears: "below 97 % of the limit for 10 s, and somebody has acknowledged it",
    latched: true,
    needs: &[Quantity::FeedPressure],
    other_explanations: "The gauge or sensor may read high: compare with a second gauge, and see whether it returns to zero with the pump off.",
    act: &[
        action_list::STOP_BY_MANUAL,
        action_list::WAIT_FOR_NO_PRESSURE,
        action_list::FIND_REASON_FOR_PRESSURE,
    ],
    act_not: &[
        "Do not stand beside the high-pressure hoses and never feel for a jet.",
        "Do not close, kink or plug the concentrate line.",
        "Do not set relief or cut-out higher.",
    ],
    caution: "High pressure: a jet cuts skin and is a medical emergency. This message comes later than the damage: the unit's own cut-out and relief \
              valve are the protection. Follow the unit's manual.",
    sources: &["the limits of the parts, from their sheets as entered in the settings"],
};

/// Hold and clear times, s.
pub const HOLD_S: u64 = 0;
/// See [`HOLD_S`].
pub const CLEAR_S: u64 = 10;

/// Is any pressure above its limit?
pub fn assess(now: &Snapshot) -> Assessment {
    let Some(parts) = now.parts else {
        return Assessment::cannot("no parts list: pressure limits are not known");
    };
    let mut known = false;
    let mut between = false;
    for (quantity, limit, part) in limits(parts) {
        let Some(value) = now.value(quantity) else { continue };
        known = true;
        if limit < value {
            return Assessment::yes(finding(quantity, value, limit, part));
        }
        between |= CLEAR_SHARE * limit < value;
    }
    match (known, between) {
        (true, false) => Assessment::False,
        (true, true) => Assessment::Between,
        _ => Assessment::cannot("no pressure with a limit in the settings is measured"),
    }
}

/// Each pressure that has a limit in the settings: the quantity, the limit in bar, the part it belongs to.
pub fn limits(parts: &Parts) -> impl Iterator<Item = (Quantity, f64, &'static str)> {
    let high = parts.pressure_limit_bar();
    [
        high.map(|(bar, part)| (Quantity::FeedPressure, bar, part)),
        high.map(|(bar, part)| (Quantity::ConcentratePressure, bar, part)),
        parts.limits.maximum_low_side_pressure_bar.map(|bar| (Quantity::LowSidePressure, bar, "low side")),
        parts.limits.maximum_product_pressure_bar.map(|bar| (Quantity::ProductPressure, bar, "product line")),
    ]
    .into_iter()
    .flatten()
}

fn finding(quantity: Quantity, value: f64, limit: f64, part: &str) -> Finding {
    // With the feed off, pressure in the product line lifts the membrane off: the way out comes before the stop (membrane autopsies: from 5 psi).
    let first = match quantity {
        Quantity::ProductPressure => "open the product's test or divert valve, only then stop",
        _ => "stop by the manual",
    };
    Finding {
        code: FindingCode::OverPressure,
        about: None,
        severity: Severity::Alarm,
        title: format!("{} above the limit of the {part}: {first}", capital(quantity.label())),
        evidence: vec![Evidence {
            what: quantity.label().to_owned(),
            seen: format!("{value:.1} bar"),
            against: format!("limit of the {part} in the settings: {limit:.1} bar"),
        }],
        causes: vec![],
        next_measurement: None,
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
