//! A list of readings in a case: what the engine takes, as sets, and what stands beside.

use super::CaseProblem;
use super::facts::{Beside, Role, Unchanged};
use super::judge::Set;
use super::read::READINGS_MAX;
use super::reading::{Fault, impossible, quantity, reading};
use super::sets::{Dated, sets};
use super::walk::{Object, Walk};
use crate::settings::{Settings, UnitSettings};
use barrico_model::Quantity;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

pub(super) const READING_KEYS: [&str; 10] = [
    "quantity",
    "value",
    "time",
    "instrument",
    "by",
    "sender",
    "element",
    "second_instrument",
    "impossible",
    "unchanged_minutes",
];
pub(super) const READING_NEEDED: [&str; 2] = ["quantity", "value"];
/// Most elements in a train, as in the settings.
pub(super) const ELEMENTS_MAX: f64 = 8.0;
/// Longest time that a value may stand still, minutes: ten years.
pub(super) const UNCHANGED_MINUTES_MAX: f64 = 5_256_000.0;

/// Readings as they were given.
#[derive(Default)]
pub(super) struct Readings {
    /// What the engine takes.
    pub sets: Vec<Set>,
    /// What stands beside.
    pub beside: Vec<Beside>,
    /// What does not move.
    pub unchanged: Vec<Unchanged>,
}

/// Readings under the key `readings` of an object. Instruments are looked up only if they could be read.
pub(super) fn readings(
    walk: &mut Walk,
    object: &Object<'_>,
    settings: &Settings,
    unit: &UnitSettings,
    has_instruments: bool,
) -> Readings {
    let list = walk.list(object, "readings", READINGS_MAX);
    let senders = senders(list);
    let (mut all, mut dated) = (Readings::default(), Vec::new());
    for (at, value) in list.iter().enumerate() {
        let pointer = format!("{}/{at}", object.at("readings"));
        let Some(object) = walk.object(value, &pointer, &READING_KEYS, &READING_NEEDED) else { continue };
        let at = walk.time(&object, "time");
        let by = walk.text(&object, "by").unwrap_or("not named").to_string();
        let named = walk.text(&object, "instrument").filter(|_| has_instruments);
        let minutes = walk.amount(&object, "unchanged_minutes", UNCHANGED_MINUTES_MAX);
        let impossible_shown = walk.yes_no(&object, "impossible") == Some(true);
        let role = role(walk, &object, &senders, impossible_shown);
        let Some((quantity, typed)) = quantity_and_value(walk, &object) else { continue };
        let taken = match impossible_shown {
            true => impossible(settings, unit, quantity, typed, named),
            false => reading(settings, unit, quantity, typed, named),
        };
        match (taken, role) {
            (Ok(reading), role) => {
                all.unchanged.extend(minutes.map(|minutes| Unchanged { reading: reading.clone(), minutes }));
                match role {
                    Some(role) => all.beside.push(Beside { role, at, reading }),
                    None => dated.push(Dated { at, by, reading, pointer }),
                }
            }
            (Err(fault), _) => {
                let key = if fault.message.contains("instrument `") { "instrument" } else { "value" };
                walk.problems.push(CaseProblem::of(object.at(key), fault));
            }
        }
    }
    all.sets = sets(walk, dated);
    all
}

fn quantity_and_value<'v>(walk: &mut Walk, object: &Object<'v>) -> Option<(Quantity, &'v str)> {
    let named: Option<Result<Quantity, Fault>> = walk.text(object, "quantity").map(quantity);
    let typed = walk.text(object, "value");
    match named? {
        Ok(quantity) => Some((quantity, typed?)),
        Err(fault) => {
            walk.problems.push(CaseProblem::of(object.at("quantity"), fault));
            None
        }
    }
}

/// How many devices send each quantity, by its name as written.
fn senders(list: &[Value]) -> BTreeMap<&str, BTreeSet<&str>> {
    let mut senders: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for reading in list {
        let text = |key: &str| reading.get(key).and_then(Value::as_str);
        if let (Some(quantity), Some(sender)) = (text("quantity"), text("sender")) {
            senders.entry(quantity).or_default().insert(sender);
        }
    }
    senders
}

/// Why a reading stands beside the others; `None`: it does not.
fn role(
    walk: &mut Walk,
    object: &Object<'_>,
    senders: &BTreeMap<&str, BTreeSet<&str>>,
    impossible: bool,
) -> Option<Role> {
    let sender = walk.text(object, "sender").map(str::to_string);
    let element = walk.amount(object, "element", ELEMENTS_MAX);
    let second = walk.yes_no(object, "second_instrument") == Some(true);
    if element.is_some_and(|element| element < 1.0 || element.fract() != 0.0) {
        walk.bad(
            object.at("element"),
            "this is no element",
            format!("count them from 1 to {ELEMENTS_MAX} from the feed on"),
        );
    }
    let quantity = object.map.get("quantity").and_then(Value::as_str).unwrap_or("");
    let several = senders.get(quantity).is_some_and(|names| 1 < names.len());
    match (impossible, second, element, sender) {
        (true, ..) => Some(Role::Impossible),
        (_, true, ..) => Some(Role::SecondInstrument),
        (_, _, Some(element), _) => Some(Role::Element(element as u8)),
        (.., Some(sender)) if several => Some(Role::Sender(sender)),
        _ => None,
    }
}
