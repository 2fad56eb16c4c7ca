//! `reading-unreliable`: a reading is lost, stuck, impossible or contradicted.
//!
//! The sensor is suspected first: everything that would be judged from such a reading waits.

use super::{Assessment, Evidence, Finding, FindingCode, NextMeasurement, Registration, Severity};
use crate::Quantity;
use crate::judgement::action_list;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::ReadingUnreliable,
    name: "reading-unreliable",
    title: "A reading cannot be relied on",
    meaning: "A sensor is silent, repeats the same number, shows what cannot be, or another sensor of the same thing shows something else. What depends on it is \
              not judged meanwhile, or judged from the other sensor.",
    condition: "no value for three of its own intervals while the unit runs; or a value that sea water or the unit cannot have; or senders of one quantity \
                that differ by more than their usual errors",
    hold: "30 s",
    clears: "when the reading is back or the senders agree for 5 minutes",
    latched: false,
    needs: &[],
    other_explanations: "A sensor in another place, such as in the engine room or in the product line, is right about its own place.",
    act: &[action_list::COMPARE_HAND_INSTRUMENT, action_list::NAME_RIGHT_SENDER],
    act_not: &["Do not adjust the unit by a reading that is in doubt."],
    caution: "A gauge that does not return to zero with the pump off is not to be set by.",
    sources: &[
        "limits of the physically possible; usual errors of such sensors (common practice, no source)",
    ],
};

/// Hold and clear times, s.
pub const HOLD_S: u64 = 30;
/// See [`HOLD_S`].
pub const CLEAR_S: u64 = 300;

/// What is wrong with the readings of one quantity.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trouble {
    /// Nothing usable is left.
    pub lost: bool,
    /// The unit needs it now.
    pub needed: bool,
    /// Evidence, one per sender.
    pub evidence: Vec<Evidence>,
}

/// Is anything wrong with the readings of this quantity?
pub fn assess(quantity: Quantity, trouble: &Trouble) -> Assessment {
    if !trouble.lost && trouble.evidence.is_empty() {
        return Assessment::False;
    }
    let severity = if trouble.lost && trouble.needed { Severity::Advice } else { Severity::Notice };
    let title = if trouble.lost {
        format!("No usable reading of the {}", quantity.label())
    } else {
        format!("Senders disagree about the {}", quantity.label())
    };
    Assessment::yes(Finding {
        code: FindingCode::ReadingUnreliable,
        about: Some(quantity),
        severity,
        title,
        evidence: trouble.evidence.clone(),
        causes: vec![],
        next_measurement: Some(NextMeasurement {
            quantity: Some(quantity),
            how: format!("Measure the {} by hand with a second instrument and enter it.", quantity.label()),
            meaning: "The sender that agrees with it is the right one.".to_owned(),
        }),
    })
}
