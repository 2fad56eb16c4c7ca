//! What people write down: readings by hand and events.

use super::ElementMove;
use crate::{Quantity, Stamp};

/// One value read by a person.
#[derive(Clone, Debug, PartialEq)]
pub struct HandReading {
    /// What was read.
    pub quantity: Quantity,
    /// Value in the unit of the quantity's JSON key.
    pub value: f64,
    /// Exactly what was typed, such as `800 psi`.
    pub typed: String,
    /// Instrument by its name in the settings, if one was named.
    pub instrument: Option<String>,
}

/// Things that happen to a unit and explain readings later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EventKind {
    /// A pre-filter cartridge was changed.
    FilterChanged,
    /// Flushed with product water known to be free of chlorine.
    Flushed,
    /// Filled with preservative.
    Preserved,
    /// Membranes cleaned.
    Cleaned,
    /// The fresh-water tank was chlorinated.
    TankChlorinated,
    /// The chlorinated tank was rinsed out.
    TankRinsed,
    /// An element was replaced.
    ElementReplaced,
    /// Elements were moved or swapped, or one that was by-passed is in use again.
    ElementsMoved,
    /// The pump was serviced or replaced.
    PumpServiced,
    /// An instrument was replaced or adjusted.
    InstrumentReplaced,
    /// A valve was turned by hand.
    ValveTurned,
    /// A membrane vessel was opened.
    VesselOpened,
    /// The pump's oil was changed.
    OilChanged,
    /// The carbon cartridge of the flush line was changed.
    CarbonChanged,
    /// An anode was looked at or changed.
    AnodeChecked,
    /// The hull was cleaned under water.
    HullCleaned,
    /// Anything else; the note says what.
    Note,
    /// An element was by-passed: the water goes past it. Fitted again, that is `ElementsMoved`.
    ElementByPassed,
    /// The concentrate valve or the pressure regulator was replaced.
    ValveReplaced,
}

impl EventKind {
    /// All kinds with the name that people type.
    pub const ALL: [(&'static str, EventKind); 19] = [
        ("filter-changed", EventKind::FilterChanged),
        ("flushed", EventKind::Flushed),
        ("preserved", EventKind::Preserved),
        ("cleaned", EventKind::Cleaned),
        ("tank-chlorinated", EventKind::TankChlorinated),
        ("tank-rinsed", EventKind::TankRinsed),
        ("element-replaced", EventKind::ElementReplaced),
        ("elements-moved", EventKind::ElementsMoved),
        ("pump-serviced", EventKind::PumpServiced),
        ("instrument-replaced", EventKind::InstrumentReplaced),
        ("valve-turned", EventKind::ValveTurned),
        ("vessel-opened", EventKind::VesselOpened),
        ("oil-changed", EventKind::OilChanged),
        ("carbon-changed", EventKind::CarbonChanged),
        ("anode-checked", EventKind::AnodeChecked),
        ("hull-cleaned", EventKind::HullCleaned),
        ("note", EventKind::Note),
        ("element-by-passed", EventKind::ElementByPassed),
        ("valve-replaced", EventKind::ValveReplaced),
    ];

    /// The kind with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|(known, _)| *known == name).map(|(_, kind)| *kind)
    }

    /// The name that people type.
    pub fn name(self) -> &'static str {
        Self::ALL[self as usize].0
    }

    /// Does it replace a part that the baseline was taken with?
    pub const fn ends_baseline(self) -> bool {
        matches!(
            self,
            Self::ElementReplaced
                | Self::ElementsMoved
                | Self::ElementByPassed
                | Self::PumpServiced
                | Self::ValveReplaced
                | Self::InstrumentReplaced
        )
    }
}

/// What an entry says.
#[derive(Clone, Debug, PartialEq)]
pub enum LogBody {
    /// One set of readings, taken together.
    Readings(Vec<HandReading>),
    /// An event.
    Event(EventKind),
}

/// One entry of the log. Amending or voiding keeps the original: a new revision with author and reason stands beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct LogEntry {
    /// Number in this store.
    pub id: u64,
    /// Raised by each amendment.
    pub revision: u32,
    /// When it happened.
    pub at: Stamp,
    /// The date was made up at import.
    pub time_invented: bool,
    /// Who wrote it.
    pub by: String,
    /// What it says.
    pub body: LogBody,
    /// Free text.
    pub note: String,
    /// Why this revision was made; empty in the first.
    pub reason: String,
    /// Struck out: counts no more.
    pub voided: bool,
    /// Which elements went where, for events that tell it.
    pub elements: Vec<ElementMove>,
}

#[cfg(test)]
mod tests {
    use super::EventKind;

    #[test]
    fn every_event_is_found_by_its_own_name() {
        for (name, kind) in EventKind::ALL {
            assert_eq!(kind.name(), name);
            assert_eq!(EventKind::from_name(name), Some(kind));
        }
    }
}
