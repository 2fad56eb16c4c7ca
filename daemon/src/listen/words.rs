//! Words for what is on the bus. Names that devices give themselves are strangers' text: only printable characters pass.

use super::survey::{Device, OfferKey, What};
use crate::intake::from_n2k::NONE;
use crate::intake::stream::Field;

/// Longest name of a device that is shown, characters: the field on the bus has 32.
const NAME_MAX: usize = 32;

/// Text from the bus, fit for a terminal and a comment in a file.
pub fn plain(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control() && *c != '\u{feff}')
        .take(NAME_MAX)
        .collect::<String>()
        .trim()
        .to_owned()
}

/// A device in a few words.
pub fn device(address: u8, device: &Device) -> String {
    let model = device.product.as_ref().and_then(|product| product.model_id.as_deref()).map(plain);
    match model.filter(|model| !model.is_empty()) {
        Some(model) => format!("{model} (address {address})"),
        None => format!("address {address}"),
    }
}

/// What a value is, in plain words.
pub fn what(key: &OfferKey) -> String {
    let with_instance = |text: String| {
        if key.instance == NONE { text } else { format!("{text}, instance {}", key.instance) }
    };
    match key.what {
        What::Latitude => "latitude".to_owned(),
        What::Longitude => "longitude".to_owned(),
        What::TankCapacity => with_instance(format!("size of the {} tank", fluid(key.kind))),
        What::Usable(field) => match field {
            Field::Status(quantity) => format!("{} of the unit", quantity.label()),
            Field::Temperature => with_instance(temperature(key.kind)),
            Field::Pressure => with_instance(pressure(key.kind)),
            Field::Level => with_instance(format!("level of the {} tank", fluid(key.kind))),
            Field::Voltage => with_instance(electric(key, "voltage")),
            Field::Current => with_instance(electric(key, "current")),
            Field::Power => with_instance(electric(key, "power")),
            Field::Frequency => with_instance(electric(key, "frequency")),
            Field::Speed => with_instance("engine speed".to_owned()),
        },
    }
}

/// Unit of a value.
pub fn unit(what: What) -> &'static str {
    match what {
        What::Latitude | What::Longitude => "°",
        What::TankCapacity => "L",
        What::Usable(field) => match field {
            Field::Temperature => "°C",
            Field::Pressure => "bar",
            Field::Level => "%",
            Field::Voltage => "V",
            Field::Current => "A",
            Field::Power => "W",
            Field::Frequency => "Hz",
            Field::Speed => "1/min",
            Field::Status(quantity) => quantity.unit(),
        },
    }
}

// Numbers of sources and types: canboat database.
fn temperature(kind: u8) -> String {
    const NAMES: [&str; 16] = [
        "sea",
        "outside air",
        "inside air",
        "engine room",
        "main cabin",
        "live well",
        "bait well",
        "refrigerator",
        "heating",
        "dew point",
        "wind chill",
        "theoretical wind chill",
        "heat index",
        "freezer",
        "exhaust gas",
        "shaft seal",
    ];
    match NAMES.get(usize::from(kind)) {
        Some(name) => format!("{name} temperature"),
        None => format!("temperature, source {kind}"),
    }
}

fn pressure(kind: u8) -> String {
    const NAMES: [&str; 9] =
        ["air", "water", "steam", "compressed air", "hydraulic", "filter", "altimeter", "oil", "fuel"];
    match NAMES.get(usize::from(kind)) {
        Some(name) => format!("{name} pressure"),
        None => format!("pressure, source {kind}"),
    }
}

fn fluid(kind: u8) -> String {
    const NAMES: [&str; 7] =
        ["fuel", "fresh water", "waste water", "live well", "oil", "black water", "petrol"];
    NAMES.get(usize::from(kind)).map_or_else(|| format!("type {kind}"), |name| (*name).to_owned())
}

fn electric(key: &OfferKey, field: &str) -> String {
    match key.pgn {
        127_503 => format!("AC input {field}, line {}", key.kind + 1),
        127_504 => format!("AC output {field}, line {}", key.kind + 1),
        65_001..=65_030 => {
            let place = match key.pgn {
                ..65_005 => "bus bar",
                65_005..65_018 => "shore",
                _ => "generator",
            };
            let phase = ["A", "B", "C"].get(usize::from(key.kind)).map(|phase| format!(", phase {phase}"));
            format!("{place} AC {field}{}", phase.unwrap_or_default())
        }
        127_744..=127_749 => format!("AC {field}, phase {}", ["A", "B", "C"][usize::from(key.kind.min(2))]),
        127_508 => format!("battery {field}"),
        _ => format!("DC {field}"),
    }
}
