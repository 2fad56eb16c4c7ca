//! Which readings a unit could take, as a piece of settings with the reason for each choice. Choices that only a person can make stand there as comments.

use super::conflicts::{AGREE_K, SEA_C, odd, place, unfit_power};
use super::survey::{Offer, OfferKey, Survey, What};
use super::words;
use crate::intake::stream::Field;
use std::collections::BTreeMap;

/// The unit's own message.
const STATUS: u32 = 130_567;
/// Messages with a sea temperature, the finest and most modern first.
const SEA_GROUPS: [u32; 4] = [130_316, 130_312, 130_311, 130_310];
/// Fluid type "fresh water" (canboat database).
const FRESH_WATER: u8 = 1;

/// A block of settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Why, and what else there was; one sentence a line.
    pub reasons: Vec<String>,
    /// Lines of settings, with `UNIT` for the short name of the unit.
    pub lines: Vec<String>,
    /// Only a person can tell whether it fits: printed as a comment.
    pub optional: bool,
}

/// All blocks, those to use as they are first.
pub fn propose(survey: &Survey) -> Vec<Block> {
    let mut blocks = status(survey);
    blocks.extend(sea(survey));
    blocks.extend(tank(survey));
    blocks.extend(optional(survey));
    blocks
}

/// Devices with a believable sea temperature, by address, each with its latest value from its best message.
pub fn sea_devices(survey: &Survey) -> Vec<(u8, f64)> {
    let mut devices: BTreeMap<u8, (usize, f64)> = BTreeMap::new();
    for (key, offer) in sea_offers(survey) {
        let rank = SEA_GROUPS.iter().position(|pgn| *pgn == key.pgn).unwrap_or(SEA_GROUPS.len());
        let best = devices.entry(key.address).or_insert((rank, offer.value));
        if rank < best.0 {
            *best = (rank, offer.value);
        }
    }
    devices.into_iter().map(|(address, (_, value))| (address, value)).collect()
}

fn sea_offers(survey: &Survey) -> impl Iterator<Item = (&OfferKey, &Offer)> {
    survey.offers.iter().filter(|(key, offer)| {
        key.what == What::Usable(Field::Temperature)
            && key.kind == 0
            && SEA_C.0 <= offer.value
            && offer.value <= SEA_C.1
            && odd(key, offer).is_none()
    })
}

fn sender(survey: &Survey, address: u8) -> String {
    match survey.devices.get(&address).and_then(|device| device.name) {
        Some(name) => format!("name:{name}"),
        None => format!("address:{address}"),
    }
}

/// The unit's own message: whoever sends it is a unit.
fn status(survey: &Survey) -> Vec<Block> {
    let mut addresses: Vec<u8> =
        survey.offers.keys().filter(|key| key.pgn == STATUS).map(|key| key.address).collect();
    addresses.dedup();
    let several = 1 < addresses.len();
    let block = |(index, &address): (usize, &u8)| {
        let mut reasons =
            vec![format!("{} sends the status of a watermaker (PGN 130567).", place(survey, address))];
        if several {
            reasons.push("The message does not say which unit it is about: each sender is a unit of its own. Give the others to theirs.".to_owned());
        }
        let zero: Vec<String> = survey
            .of(address)
            .filter(|(key, offer)| key.pgn == STATUS && offer.value == 0.0 && offer.low == offer.high)
            .map(|(key, _)| words::what(key))
            .collect();
        if !zero.is_empty() {
            reasons.push(format!("Always 0, so perhaps without a sensor: {}.", zero.join(", ")));
        }
        Block {
            reasons,
            lines: vec![format!("[units.UNIT]\nstatus_from = \"{}\"", sender(survey, address))],
            optional: 0 < index,
        }
    };
    addresses.iter().enumerate().map(block).collect()
}

/// The sea temperature on which most devices agree.
fn sea(survey: &Survey) -> Option<Block> {
    let devices = sea_devices(survey);
    let agreeing = |value: f64| devices.iter().filter(|(_, other)| (other - value).abs() <= AGREE_K).count();
    let most = devices.iter().map(|(_, value)| agreeing(*value)).max()?;
    let sound: Vec<&(u8, f64)> = devices.iter().filter(|(_, value)| agreeing(*value) == most).collect();
    // In the middle of those that agree, from the best message that it has.
    let mut values: Vec<f64> = sound.iter().map(|(_, value)| *value).collect();
    values.sort_by(f64::total_cmp);
    let middle = values[values.len() / 2];
    let (address, value) =
        **sound.iter().min_by(|a, b| (a.1 - middle).abs().total_cmp(&(b.1 - middle).abs()))?;
    let (key, _) = sea_offers(survey)
        .filter(|(key, _)| key.address == address)
        .min_by_key(|(key, _)| SEA_GROUPS.iter().position(|pgn| *pgn == key.pgn))?;
    let mut reasons =
        vec![format!("Sea temperature from {}, {value:.1} °C (PGN {}).", place(survey, address), key.pgn)];
    if 1 < most {
        reasons.push(format!("{most} devices agree within {AGREE_K:.0} K; this one is in their middle."));
    } else if 1 < devices.len() {
        reasons.push("No two devices agree: compare with a thermometer in the feed.".to_owned());
    } else {
        reasons.push("It is the only one: compare it with a thermometer in the feed once.".to_owned());
    }
    for (other, value) in devices.iter().filter(|(other, _)| *other != address) {
        reasons.push(format!("Not chosen: {}, {value:.1} °C.", place(survey, *other)));
    }
    for (key, offer) in
        survey.offers.iter().filter(|(key, _)| key.what == What::Usable(Field::Temperature) && key.kind == 0)
    {
        if let Some(text) = odd(key, offer) {
            reasons.push(format!(
                "Not believed: {}, PGN {}, {} {text}.",
                place(survey, key.address),
                key.pgn,
                words::what(key)
            ));
        }
    }
    Some(Block { reasons, lines: vec![reading(survey, "feed_temperature", key)], optional: false })
}

/// The fresh-water tank, if there is just one; otherwise all of them to choose from.
fn tank(survey: &Survey) -> Vec<Block> {
    let level = |key: &OfferKey| key.what == What::Usable(Field::Level) && key.kind == FRESH_WATER;
    let tanks: Vec<(&OfferKey, &Offer)> = survey.offers.iter().filter(|(key, _)| level(key)).collect();
    let several = 1 < tanks.len();
    let block = |(key, offer): &(&OfferKey, &Offer)| {
        let size = survey.offers.get(&OfferKey { what: What::TankCapacity, ..**key });
        let size = size.map_or_else(String::new, |size| format!(" of {:.0} L", size.value));
        let mut reasons = vec![format!(
            "Fresh-water tank{size} at {:.0} %, instance {}, from {}.",
            offer.value,
            key.instance,
            place(survey, key.address)
        )];
        if several {
            reasons.push("There are several: which one does the product run into?".to_owned());
        }
        Block { reasons, lines: vec![reading(survey, "tank_level", key)], optional: several }
    };
    tanks.iter().map(block).collect()
}

/// What only a person can tell: which supply the pump runs from, which engine turns it, where a pressure is measured.
fn optional(survey: &Survey) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (key, offer) in &survey.offers {
        let What::Usable(field) = key.what else { continue };
        if !crate::settings::bus_groups().any(|pgn| pgn == key.pgn) {
            continue;
        }
        if unfit_power(survey, key, offer).is_some() || said_better(survey, key) || is_unused(field, offer) {
            continue;
        }
        let (quantity, question) = match (field, key.pgn) {
            (Field::Voltage, _) => ("supply_voltage", "if the pump runs from this supply"),
            (Field::Current, 127_508) => continue,
            (Field::Current, _) => ("supply_current", "only if nothing but the pump runs on this line"),
            (Field::Power, _) => ("supply_power", "only if nothing but the pump runs on this line"),
            (Field::Frequency, _) => {
                ("supply_frequency", "if the pump's motor runs from this supply without an inverter")
            }
            (Field::Speed, _) => ("engine_speed", "if this engine turns the pump by a belt"),
            (Field::Pressure, _) if matches!(key.kind, 1 | 4 | 5) => (
                "feed_pressure",
                "if it is measured at the membranes; `inlet_pressure` or `prefilter_inlet_pressure` if it is on the suction side",
            ),
            _ => continue,
        };
        let unit = words::unit(key.what);
        let reasons = vec![format!(
            "{}: {}, {:.1} {unit}; {question}.",
            place(survey, key.address),
            words::what(key),
            offer.value
        )];
        blocks.push(Block { reasons, lines: vec![reading(survey, quantity, key)], optional: true });
    }
    blocks
}

/// The newer messages of AC lines repeat what the older ones of the same device say; those have every value in one message.
fn said_better(survey: &Survey, key: &OfferKey) -> bool {
    let older = |other: &OfferKey| matches!(other.pgn, 127_503 | 127_504) && other.instance == key.instance;
    (127_744..=127_749).contains(&key.pgn) && survey.of(key.address).any(|(other, _)| older(other))
}

/// A line on which nothing ran while we listened.
fn is_unused(field: Field, offer: &Offer) -> bool {
    matches!(field, Field::Current | Field::Power) && offer.low == 0.0 && offer.high == 0.0
}

/// A reading as settings. Only what its message really has: an instance or a kind that it lacks is a mistake there.
fn reading(survey: &Survey, quantity: &str, key: &OfferKey) -> String {
    let mut lines = vec![
        "[[units.UNIT.readings]]".to_owned(),
        format!("quantity = \"{quantity}\""),
        "from = \"nmea2000\"".to_owned(),
        format!("pgn = {}", key.pgn),
        format!("sender = \"{}\"", sender(survey, key.address)),
    ];
    let (instance, kind) = crate::settings::chosen_by(key.pgn, key.instance, key.kind);
    lines.extend(instance.map(|instance| format!("instance = {instance}")));
    lines.extend(kind.map(|kind| format!("kind = {kind}")));
    lines.join("\n")
}
