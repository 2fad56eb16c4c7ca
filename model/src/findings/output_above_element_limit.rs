//! `output-above-element-limit`: an element makes more than its sheet allows.
//!
//! Brackish or warm water takes less pressure than the sea. At the usual pressure the first element then makes more than it was
//! built for, fouls sooner and may be damaged. No fault: the place or the season is the cause.

use super::{Assessment, Evidence, Finding, FindingCode, NextMeasurement, Registration, Severity, Snapshot};
use crate::Quantity;
use crate::judgement::action_list;
use crate::records::OperatingState;

/// Clears below this share of the limit (our choice).
const CLEAR_SHARE: f64 = 0.95;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::OutputAboveElementLimit,
    name: "output-above-element-limit",
    title: "More product than the element's sheet allows",
    meaning: "In brackish or warm water an element makes more product at the same pressure than its sheet allows. It fouls sooner and can be damaged.",
    condition: "product of the hardest working element above the maximum of its sheet while the unit runs",
    hold: "60 s",
    clears: "below 95 % of the limit for 2 minutes",
    latched: false,
    needs: &[Quantity::ProductFlow],
    other_explanations: "The flow meter may read high: time a jug. A torn element also makes more, but saltier, water.",
    act: &[action_list::RUN_AT_MANUALS_LOWER_PRESSURE, action_list::NOTE_PLACE],
    act_not: &["Do not take the high output for a sign of a sound unit."],
    caution: "Settings of the pressure are made by the unit's manual only.",
    sources: &["maximum product flow of the element's sheet, as entered in the settings"],
};

/// Hold and clear times, s.
pub const HOLD_S: u64 = 60;
/// See [`HOLD_S`].
pub const CLEAR_S: u64 = 120;

/// Does any element make too much? `shares` is the part of the product that each element makes, by the model.
pub fn assess(now: &Snapshot, shares: &[f64]) -> Assessment {
    let Some(parts) = now.parts else {
        return Assessment::cannot("no parts list: limits of the elements are not known");
    };
    let limits: Vec<Option<f64>> =
        parts.elements.iter().map(|element| element.limits.maximum_product_flow_l_h).collect();
    if limits.iter().all(Option::is_none) {
        return Assessment::cannot("no maximum product flow of an element in the settings");
    }
    if now.state != Some(OperatingState::Running) {
        return Assessment::cannot("the unit is not running");
    }
    let Some(product) = now.value(Quantity::ProductFlow) else {
        return Assessment::cannot("product flow is not measured");
    };
    let trains = f64::from(parts.parallel_trains.max(1));
    let mut between = false;
    for (position, (limit, share)) in limits.iter().zip(shares).enumerate() {
        let Some(limit) = limit else { continue };
        let made = product / trains * share;
        if *limit < made {
            return Assessment::yes(finding(position + 1, made, *limit));
        }
        between |= CLEAR_SHARE * limit < made;
    }
    if shares.is_empty() {
        Assessment::cannot("what each element makes cannot be computed now")
    } else if between {
        Assessment::Between
    } else {
        Assessment::False
    }
}

fn finding(position: usize, made: f64, limit: f64) -> Finding {
    Finding {
        code: FindingCode::OutputAboveElementLimit,
        about: None,
        severity: Severity::Alert,
        title: "More product than the element's sheet allows in this water".to_owned(),
        evidence: vec![Evidence {
            what: format!("product of element {position}"),
            seen: format!("{made:.0} L/h (total as measured, share by the model)"),
            against: format!("maximum of its sheet: {limit:.0} L/h"),
        }],
        causes: vec![],
        next_measurement: Some(NextMeasurement {
            quantity: Some(Quantity::FeedSalinity),
            how: "Measure the salinity of the sea here with a meter or refractometer.".to_owned(),
            meaning: "Well below 30 g/kg: brackish water explains it. Usual sea water: time the product with a jug, the meter may read high."
                .to_owned(),
        }),
    }
}
