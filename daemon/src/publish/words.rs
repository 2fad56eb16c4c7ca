//! Words for states, origins, probabilities and events.

use barrico_model::Quantity;
use barrico_model::records::{
    ElementMove, ElementPlace, EventKind, OperatingState, Origin, ProductRoute, SenderId,
};

/// A probability in words, for people who do not live by percentages.
pub fn likelihood(probability: f64) -> &'static str {
    match probability {
        p if 0.9 <= p => "almost certainly",
        p if 0.7 <= p => "probably",
        p if 0.5 <= p => "more likely than not",
        p if 0.3 <= p => "perhaps",
        p if 0.1 <= p => "less likely",
        _ => "unlikely",
    }
}

/// A whole percentage that never claims certainty.
pub fn percent(probability: f64) -> String {
    match probability * 100.0 {
        p if !p.is_finite() => "unknown".to_string(),
        p if p < 1.0 => "under 1 %".to_string(),
        p if 99.0 < p => "over 99 %".to_string(),
        p => format!("{p:.0} %"),
    }
}

/// Where a reading comes from.
pub fn origin(origin: Origin) -> String {
    match origin {
        Origin::Nmea2000 { sender, pgn, instance } => {
            let sender = match sender {
                SenderId::Name(name) => format!("device {name:016x}"),
                SenderId::Address(address) => format!("address {address}"),
            };
            let instance = if instance == 255 { String::new() } else { format!(", instance {instance}") };
            format!("bus: {sender}, PGN {pgn}{instance}")
        }
        Origin::Hand { entry } => format!("by hand, log entry {entry}"),
        Origin::Computed(from) => format!("computed from {from}"),
        Origin::Assumed(why) => format!("assumed: {why}"),
    }
}

/// The value of a state or a route in words; other quantities are numbers.
pub fn named_value(quantity: Quantity, value: f64) -> Option<&'static str> {
    match quantity {
        Quantity::OperatingState => OperatingState::from_code(code(value)?).map(OperatingState::name),
        Quantity::ProductRoute => match code(value)? {
            0 => Some(ProductRoute::Tank.name()),
            1 => Some(ProductRoute::Discard.name()),
            _ => None,
        },
        _ => None,
    }
}

fn code(value: f64) -> Option<u8> {
    (0.0..=255.0).contains(&value).then_some(value as u8)
}

/// Is the value a name instead of a number?
pub fn is_named(quantity: Quantity) -> bool {
    matches!(quantity, Quantity::OperatingState | Quantity::ProductRoute)
}

/// An event as a person would write it.
pub fn event(kind: EventKind) -> &'static str {
    match kind {
        EventKind::FilterChanged => "pre-filter changed",
        EventKind::Flushed => "flushed with product water free of chlorine",
        EventKind::Preserved => "filled with preservative",
        EventKind::Cleaned => "membranes cleaned",
        EventKind::TankChlorinated => "fresh-water tank chlorinated",
        EventKind::TankRinsed => "chlorinated tank rinsed out",
        EventKind::ElementReplaced => "element replaced",
        EventKind::ElementsMoved => "elements moved or swapped",
        EventKind::ElementByPassed => "element by-passed",
        EventKind::ValveReplaced => "concentrate valve or regulator replaced",
        EventKind::PumpServiced => "pump serviced or replaced",
        EventKind::InstrumentReplaced => "instrument replaced or adjusted",
        EventKind::ValveTurned => "valve turned by hand",
        EventKind::VesselOpened => "membrane vessel opened",
        EventKind::OilChanged => "oil of the pump changed",
        EventKind::CarbonChanged => "carbon cartridge of the flush line changed",
        EventKind::AnodeChecked => "anode looked at or changed",
        EventKind::HullCleaned => "hull cleaned under water",
        EventKind::Note => "note",
    }
}

/// An event with the elements that it tells of.
pub fn event_with_elements(kind: EventKind, elements: &[ElementMove]) -> String {
    let moves: Vec<String> = elements
        .iter()
        .map(|moved| match moved.to {
            ElementPlace::Position(position) => format!("{} to position {position}", moved.mark),
            ElementPlace::ByPassed => format!("{} by-passed", moved.mark),
            ElementPlace::Removed => format!("{} taken out", moved.mark),
        })
        .collect();
    if moves.is_empty() { event(kind).to_owned() } else { format!("{}: {}", event(kind), moves.join(", ")) }
}

/// First letter in upper case.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// The text with exactly one full stop at its end.
pub fn with_stop(text: &str) -> String {
    let text = text.trim();
    if text.ends_with(['.', '!', '?', ':']) { text.to_string() } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn likelihood_and_percent_at_their_edges() {
        assert_eq!(likelihood(0.9), "almost certainly");
        assert_eq!(likelihood(0.8999), "probably");
        assert_eq!(likelihood(0.0999), "unlikely");
        assert_eq!(percent(1.0), "over 99 %");
        assert_eq!(percent(0.0), "under 1 %");
        assert_eq!(percent(f64::NAN), "unknown");
    }

    #[test]
    fn states_and_routes_have_names_and_nothing_else_has() {
        assert_eq!(named_value(Quantity::OperatingState, 2.0), Some("running"));
        assert_eq!(named_value(Quantity::OperatingState, 99.0), None);
        assert_eq!(named_value(Quantity::ProductRoute, 1.0), Some("discard"));
        assert_eq!(named_value(Quantity::FeedPressure, 2.0), None);
        assert_eq!(named_value(Quantity::OperatingState, f64::NAN), None);
    }
}
