//! Events as one line of text each: the log of `run` and `demo`, the output of `replay`.

use super::{format, words};
use crate::engine::{AlertState, ClockChange, Engine, Event};
use barrico_model::findings::{Evidence, registry};
use barrico_model::records::{OperatingState, Reading, RunEnd, RunRecord, SenderId};
use barrico_model::{Quantity, WallMs};

/// Date and time of a line, or a place-holder of the same width.
pub fn stamp(wall: Option<WallMs>) -> String {
    match wall.and_then(format::rfc3339) {
        Some(text) => text.chars().take(19).collect::<String>().replace('T', " "),
        None => "time not known yet ".to_owned(),
    }
}

/// The line of one event, without its date.
pub fn event(engine: &Engine, event: &Event) -> String {
    let unit = |unit: usize| engine.unit_id(unit);
    match event {
        Event::Sender(sender) => {
            let name = match sender.sender {
                SenderId::Name(name) => format!(", NAME {name:016X}"),
                SenderId::Address(_) => String::new(),
            };
            let product = sender.product.as_ref().map_or(String::new(), |model| format!(", product {model}"));
            let remark = sender.remark.as_ref().map_or(String::new(), |remark| format!(": {remark}"));
            format!("sender at address {}{name}{product}{remark}", sender.address)
        }
        Event::Reading { unit: index, reading } => {
            format!(
                "{}: {} {} ({})",
                unit(*index),
                reading.quantity.label(),
                value(reading),
                words::origin(reading.origin)
            )
        }
        Event::State { unit: index, from, to, inferred } => {
            let state = |state: &Option<OperatingState>| state.map_or("unknown", OperatingState::name);
            let how = if *inferred { ", inferred from its readings" } else { "" };
            format!("{}: {} (before: {}){how}", unit(*index), state(to), state(from))
        }
        Event::Run { unit: index, run } => format!("{}: {}", unit(*index), self::run(run)),
        Event::Finding { unit: index, alert, finding } => {
            let evidence = finding.as_ref().map_or(String::new(), |finding| evidence(&finding.evidence));
            let state = match alert.state {
                AlertState::Raised => alert.severity.name(),
                other => other.name(),
            };
            format!(
                "{}: {state}: {}{evidence}; see `barrico explain {}`",
                unit(*index),
                alert.title,
                registry::of(alert.code).name
            )
        }
        Event::Clock(ClockChange::Known(_)) => "the date is known".to_owned(),
        Event::Clock(ClockChange::Stepped { from, to }) => {
            format!(
                "the clock stepped from {} to {}; durations are not touched",
                stamp(Some(*from)),
                stamp(Some(*to))
            )
        }
        Event::Store { working: true, .. } => "the history is written again".to_owned(),
        Event::Store { text, .. } => format!("the history cannot be written: {text}"),
        Event::Source { text, .. } => text.clone(),
        Event::Remark { unit: Some(index), text } => format!("{}: {text}", unit(*index)),
        Event::Remark { unit: None, text } => text.clone(),
    }
}

/// Evidence in brackets, at most so much that a line stays readable.
fn evidence(evidence: &[Evidence]) -> String {
    const SHOWN: usize = 5;
    let parts: Vec<String> =
        evidence.iter().take(SHOWN).map(|e| format!("{}: {}, {}", e.what, e.seen, e.against)).collect();
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join("; ")) }
}

fn value(reading: &Reading) -> String {
    match words::named_value(reading.quantity, reading.value) {
        Some(name) => name.to_owned(),
        None if reading.quantity == Quantity::RunTime => format!("{:.0} h", reading.value / 3600.0),
        None => format!("{} {}", format::with_half(reading.value, reading.random), reading.quantity.unit()),
    }
}

fn run(run: &RunRecord) -> String {
    let made = run.product_l.map_or(String::new(), |litres| format!(", {litres:.0} L made"));
    let flow = run.mean(Quantity::ProductFlow).map_or(String::new(), |mean| {
        format!(", product {} L/h when steady", format::with_half(mean.value, mean.random))
    });
    let length = if run.end == RunEnd::ReadingSet {
        "reading set".to_owned()
    } else {
        format!("run of {}", format::span(run.duration_s))
    };
    format!("{length} (number {}, revision {}){made}{flow}", run.id, run.revision)
}
