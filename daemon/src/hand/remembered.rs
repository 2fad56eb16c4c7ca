//! What was written down before: the unit that each instrument shows, and the value it had.

use crate::case::usual_instrument;
use crate::quantity_text::unit_of;
use crate::settings::{Settings, UnitSettings};
use barrico_model::Quantity;
use barrico_model::records::{LogBody, LogEntry};
use std::collections::BTreeMap;

/// The latest entry of one quantity, with the instrument that is still used for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Remembered {
    /// The unit as typed, with its scale.
    pub unit: String,
    /// The value, in the unit of the quantity's JSON key.
    pub value: f64,
}

/// By quantity, from the log, oldest entry first. An entry that was struck out is not remembered, nor one of another instrument.
pub fn remembered(
    settings: &Settings,
    unit: &UnitSettings,
    log: &[LogEntry],
) -> BTreeMap<Quantity, Remembered> {
    let mut known = BTreeMap::new();
    for entry in log.iter().filter(|entry| !entry.voided) {
        let LogBody::Readings(readings) = &entry.body else { continue };
        for reading in readings {
            let instrument = usual_instrument(settings, unit, reading.quantity).map(|i| i.id.as_str());
            if reading.instrument.as_deref() != instrument {
                continue;
            }
            if let Some(typed) = unit_of(&reading.typed, reading.quantity) {
                let last = Remembered { unit: typed.to_owned(), value: reading.value };
                known.insert(reading.quantity, last);
            }
        }
    }
    known
}
