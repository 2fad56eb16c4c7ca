//! What contradicts itself on the bus.

use super::survey::{Offer, OfferKey, Survey, What};
use super::words;
use crate::intake::from_n2k::NONE;
use crate::intake::stream::Field;
use std::collections::BTreeMap;

/// Coldest and warmest sea, °C: freezing point of very salty water, and the warmest bays in summer with a margin (common practice, no source).
pub const SEA_C: (f64, f64) = (-2.5, 37.0);
/// Two sea temperatures that differ by more do not agree, K: twice what ordinary sensors differ by (our choice).
pub const AGREE_K: f64 = 1.0;

/// Real power is at most volts times amperes; so much more is no error of a clamp (our choice).
const POWER_OVER_APPARENT: f64 = 2.0;
/// Below this nothing is said, W: small currents are rounded.
const POWER_FLOOR_W: f64 = 200.0;
/// Voltage that is taken where the message has none, V: the highest between line and neutral on board, with a margin.
const VOLTS_MAX: f64 = 277.0;

/// Everything odd, each in one sentence.
pub fn conflicts(survey: &Survey) -> Vec<String> {
    let mut found = Vec::new();
    shared_instances(survey, &mut found);
    for (key, offer) in &survey.offers {
        if let Some(text) = odd(key, offer) {
            found.push(format!("{}: {} {text}", place(survey, key.address), words::what(key)));
        }
    }
    let powers =
        survey.offers.iter().filter_map(|(key, offer)| Some((key, unfit_power(survey, key, offer)?)));
    found.extend(
        powers.map(|(key, text)| format!("{}: {} {text}", place(survey, key.address), words::what(key))),
    );
    disagreement(survey, &mut found);
    if 0 < survey.overflow {
        found.push(format!("{} values found no room in this survey", survey.overflow));
    }
    found
}

/// The device at an address, in words.
pub fn place(survey: &Survey, address: u8) -> String {
    survey
        .devices
        .get(&address)
        .map_or_else(|| format!("address {address}"), |device| words::device(address, device))
}

/// The same kind of thing with the same number from several devices: a display cannot tell them apart.
fn shared_instances(survey: &Survey, found: &mut Vec<String>) {
    let mut groups: BTreeMap<(u32, u8, u8, What), Vec<u8>> = BTreeMap::new();
    for key in survey.offers.keys().filter(|key| key.instance != NONE) {
        groups.entry((key.pgn, key.instance, key.kind, key.what)).or_default().push(key.address);
    }
    let mut told: Vec<(u32, u8, u8)> = Vec::new();
    for ((pgn, instance, kind, what), addresses) in groups {
        // Two devices that both give an instance of a phase or a line say so in every field; once is enough.
        if addresses.len() < 2 || told.contains(&(pgn, instance, kind)) {
            continue;
        }
        told.push((pgn, instance, kind));
        let key = OfferKey { address: addresses[0], pgn, instance, kind, what };
        let who: Vec<String> = addresses.iter().map(|address| place(survey, *address)).collect();
        found.push(format!(
            "the same instance from several devices: {} (PGN {pgn}) comes from {}",
            words::what(&key),
            who.join(", ")
        ));
    }
}

/// What is wrong with one offer by itself.
pub fn odd(key: &OfferKey, offer: &Offer) -> Option<String> {
    let sea = key.what == What::Usable(Field::Temperature) && key.kind == 0;
    let plausible = SEA_C.0 <= offer.value && offer.value <= SEA_C.1;
    if sea && !plausible {
        return Some(format!("of {:.1} °C is no sea", offer.value));
    }
    if !offer.never_moved() {
        return None;
    }
    let status_zero = matches!(key.what, What::Usable(Field::Status(_))) && offer.value == 0.0;
    if status_zero {
        return Some("was always 0: taken as not measured".to_owned());
    }
    let temperature = key.what == What::Usable(Field::Temperature);
    temperature.then(|| {
        format!("of {:.2} °C did not move in {} values: stuck, or a default", offer.value, offer.count)
    })
}

/// A real power that is far more than volts times amperes of the same line: a wrong scale, or a place-holder.
pub fn unfit_power(survey: &Survey, key: &OfferKey, offer: &Offer) -> Option<String> {
    if key.what != What::Usable(Field::Power) {
        return None;
    }
    let beside = |field| survey.offers.get(&OfferKey { what: What::Usable(field), ..*key });
    let amperes = beside(Field::Current)?.high;
    let volts = beside(Field::Voltage).map_or(VOLTS_MAX, |volts| volts.high);
    (POWER_OVER_APPARENT * volts * amperes + POWER_FLOOR_W < offer.value.abs())
        .then(|| format!("of {:.0} W is more than {volts:.0} V and {amperes:.1} A can give", offer.value))
}

/// Sea temperatures that do not agree.
fn disagreement(survey: &Survey, found: &mut Vec<String>) {
    let seas = super::proposal::sea_devices(survey);
    let Some((low, high)) =
        seas.iter().min_by(|a, b| a.1.total_cmp(&b.1)).zip(seas.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
    else {
        return;
    };
    if AGREE_K < high.1 - low.1 {
        found.push(format!(
            "sea temperatures disagree: {} says {:.1} °C, {} says {:.1} °C",
            place(survey, low.0),
            low.1,
            place(survey, high.0),
            high.1
        ));
    }
}
