//! Which of our alerts an alert response (126984) is about.

use crate::pgn::{AlertHead, AlertResponse};

/// What a response means for one alert.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlertAnswer {
    /// It is about another alert.
    Other,
    /// It is about this alert, but about an earlier time that it was active. To be ignored.
    EarlierOccurrence,
    /// It is about this alert as it is now.
    This,
}

/// Compares a response with the head under which an alert of ours was sent.
///
/// Type, category, system, sub-system, number, instance and index must be the same. The NAME of the data source is the same also when
/// it is only so as a 64-bit floating point number: programs in JavaScript hold NAMEs as such and send back a number whose low bits
/// are rounded, while native ones send it back exactly.
#[must_use]
pub fn alert_answer(response: &AlertResponse, ours: &AlertHead) -> AlertAnswer {
    let theirs = &response.head;
    let key = |head: &AlertHead| {
        (
            head.alert_type,
            head.category,
            head.system,
            head.sub_system,
            head.alert_id,
            head.data_source_instance,
            head.data_source_index,
        )
    };
    let rounded = |head: &AlertHead| head.data_source_name.map(|name| name.0 as f64);
    let same_name = theirs.data_source_name == ours.data_source_name || rounded(theirs) == rounded(ours);
    if key(theirs) != key(ours) || !same_name {
        AlertAnswer::Other
    } else if theirs.occurrence != ours.occurrence {
        AlertAnswer::EarlierOccurrence
    } else {
        AlertAnswer::This
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::name::Name;
    use crate::pgn::{AlertCategory, AlertType, ResponseCommand};

    fn ours() -> AlertHead {
        AlertHead {
            alert_type: Some(AlertType::Alarm),
            category: Some(AlertCategory::Technical),
            system: Some(5),
            sub_system: Some(0),
            alert_id: Some(161),
            data_source_name: Some(Name(0xC050_8C00_2FB9_8796)),
            data_source_instance: Some(3),
            data_source_index: Some(0),
            occurrence: Some(2),
        }
    }

    fn answer(change: impl FnOnce(&mut AlertHead)) -> AlertAnswer {
        let mut head = ours();
        change(&mut head);
        let command = Some(ResponseCommand::Acknowledge);
        alert_answer(&AlertResponse { head, acknowledge_source_name: Some(Name(1)), command }, &ours())
    }

    #[test]
    fn every_part_of_the_head_counts() {
        assert_eq!(answer(|_| ()), AlertAnswer::This);
        assert_eq!(answer(|head| head.alert_type = Some(AlertType::Warning)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.category = Some(AlertCategory::Navigational)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.system = Some(4)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.sub_system = None), AlertAnswer::Other);
        assert_eq!(answer(|head| head.alert_id = Some(160)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.data_source_instance = Some(4)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.data_source_index = Some(1)), AlertAnswer::Other);
        assert_eq!(answer(|head| head.data_source_name = None), AlertAnswer::Other);
        assert_eq!(answer(|head| head.occurrence = Some(1)), AlertAnswer::EarlierOccurrence);
    }

    // 0xC0508C002FB98796 as a double is 0xC0508C002FB98800 (IEEE 754: 53 bits of 64; computed by hand).
    #[test]
    fn a_name_rounded_to_a_double_is_ours_and_a_neighbour_is_not() {
        let with = |name| answer(|head| head.data_source_name = Some(Name(name)));
        assert_eq!(with(0xC050_8C00_2FB9_8800), AlertAnswer::This);
        assert_eq!(with(0xC050_8C00_2FB9_9000), AlertAnswer::Other);
        assert_eq!(with(0xC050_8C00_3FB9_8796), AlertAnswer::Other);
    }
}
