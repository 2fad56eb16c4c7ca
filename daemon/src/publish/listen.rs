//! The survey of a bus for people and for programs.

use crate::intake::stream::Field;
use crate::listen::conflicts::{conflicts, place};
use crate::listen::proposal::{Block, propose};
use crate::listen::survey::{Device, Offer, OfferKey, Survey, What};
use crate::listen::words;
use barrico_model::Quantity;
use barrico_model::records::OperatingState;
use serde_json::{Value, json};
use std::fmt::Write;

/// Version of the shape of the JSON.
pub const SCHEMA_VERSION: u32 = 1;

/// Seconds on the bus, hours for people.
const RUN_TIME: What = What::Usable(Field::Status(Quantity::RunTime));

/// The whole survey as text. The settings are for this unit.
pub fn text(survey: &Survey, unit: &str) -> String {
    let mut out = String::new();
    // Writing to a text cannot fail.
    let _ = write_all(&mut out, survey, unit);
    out
}

fn write_all(out: &mut String, survey: &Survey, unit: &str) -> std::fmt::Result {
    writeln!(
        out,
        "Heard {} frames from {} devices in {:.0} s.",
        survey.frames,
        survey.devices.len(),
        survey.end.0 as f64 / 1000.0
    )?;
    if survey.devices.is_empty() {
        return writeln!(out, "Nothing came. Is the network switched on, and the bit rate 250,000?");
    }
    for (address, device) in &survey.devices {
        writeln!(out, "\n{}", heading(*address, device))?;
        for (key, offer) in survey.of(*address) {
            writeln!(out, "  {}", line(key, offer))?;
        }
        if survey.of(*address).next().is_none() {
            writeln!(out, "  nothing that a unit could use")?;
        }
    }
    let odd = conflicts(survey);
    if !odd.is_empty() {
        writeln!(out, "\nLook at this:")?;
        for text in odd {
            writeln!(out, "- {text}")?;
        }
    }
    writeln!(out, "\n{}", settings(survey, unit))
}

fn heading(address: u8, device: &Device) -> String {
    let mut text = words::device(address, device);
    if let Some(name) = device.name {
        let _ = write!(
            text,
            "\n  NAME {name}: maker {}, class {}, function {}, device instance {}, number {}",
            name.manufacturer_code(),
            name.device_class(),
            name.device_function(),
            name.device_instance(),
            name.unique_number()
        );
    } else {
        text += "\n  NAME not heard: it did not claim its address while we listened";
    }
    if let Some(product) = &device.product {
        let part = |what: &str, value: &Option<String>| {
            let value = value.as_deref().map(words::plain).filter(|value| !value.is_empty());
            value.map_or_else(String::new, |value| format!(", {what} {value}"))
        };
        let _ = write!(
            text,
            "\n  product {}{}{}",
            product.product_code.map_or_else(|| "without a code".to_owned(), |code| code.to_string()),
            part("software", &product.software_version),
            part("serial", &product.serial_code)
        );
    }
    text
}

fn line(key: &OfferKey, offer: &Offer) -> String {
    let unit = match words::unit(key.what) {
        "" => String::new(),
        _ if key.what == RUN_TIME => " h".to_owned(),
        unit => format!(" {unit}"),
    };
    let every = match offer.interval_s() {
        Some(interval) => format!("every {interval:.1} s"),
        None => "once".to_owned(),
    };
    let (value, low, high) =
        (say(key.what, offer.value), say(key.what, offer.low), say(key.what, offer.high));
    let moved = if low == high { String::new() } else { format!(", {low} to {high}") };
    format!("{}: {value}{unit} (PGN {}, {every}{moved})", words::what(key), key.pgn)
}

fn say(what: What, value: f64) -> String {
    let digits = match what {
        What::Usable(Field::Status(Quantity::OperatingState)) => {
            let state = OperatingState::from_code(value as u8);
            return state.map_or_else(|| format!("number {value:.0}"), |state| state.name().to_owned());
        }
        What::Latitude | What::Longitude => 4,
        What::TankCapacity | What::Usable(Field::Speed | Field::Power) => 0,
        RUN_TIME => return format!("{:.1}", value / 3600.0),
        What::Usable(Field::Level) => 1,
        What::Usable(_) => 2,
    };
    let text = format!("{value:.digits$}");
    // A zero has no sign for people.
    let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// The piece of settings, with its reasons as comments.
pub fn settings(survey: &Survey, unit: &str) -> String {
    let mut out = String::from(
        "# Proposed by `barrico listen`. Read the reasons, then paste what fits into the settings.\n",
    );
    let blocks = propose(survey);
    if blocks.iter().all(|block| block.optional) {
        out += "# Nothing here is surely the unit's: choose from what is commented out, or write readings down by hand.\n";
    }
    for block in &blocks {
        out += "\n";
        out += &one_block(block, unit);
    }
    out
}

fn one_block(block: &Block, unit: &str) -> String {
    let mut out = String::new();
    for reason in &block.reasons {
        out += &format!("# {reason}\n");
    }
    for line in block.lines.iter().flat_map(|lines| lines.lines()) {
        let line = line.replace("UNIT", unit);
        out += &if block.optional { format!("#   {line}\n") } else { format!("{line}\n") };
    }
    out
}

/// The whole survey for programs.
pub fn json(survey: &Survey, unit: &str) -> Value {
    let devices: Vec<Value> =
        survey.devices.iter().map(|(address, device)| device_json(survey, *address, device)).collect();
    json!({
        "schema": "barrico-listen",
        "schema_version": SCHEMA_VERSION,
        "frames": survey.frames,
        "listened_s": survey.end.0 as f64 / 1000.0,
        "devices": devices,
        "conflicts": conflicts(survey),
        "settings": settings(survey, unit),
    })
}

fn device_json(survey: &Survey, address: u8, device: &Device) -> Value {
    let product = device.product.as_ref();
    let text = |value: Option<&String>| value.map(|value| words::plain(value));
    let offers: Vec<Value> = survey
        .of(address)
        .map(|(key, offer)| {
            json!({
                "what": words::what(key),
                "pgn": key.pgn,
                "instance": (key.instance != u8::MAX).then_some(key.instance),
                "kind": (key.kind != u8::MAX).then_some(key.kind),
                "unit": words::unit(key.what),
                "value": finite(offer.value),
                "low": finite(offer.low),
                "high": finite(offer.high),
                "count": offer.count,
                "interval_s": offer.interval_s(),
            })
        })
        .collect();
    json!({
        "address": address,
        "device": place(survey, address),
        "name": device.name.map(|name| name.to_string()),
        "model": text(product.and_then(|product| product.model_id.as_ref())),
        "software": text(product.and_then(|product| product.software_version.as_ref())),
        "messages": device.messages,
        "offers": offers,
    })
}

/// JSON has no NaN.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
