//! What is known when causes are weighed: readings in the order of time, the sound unit's readings, what people saw, what was done, where the boat lies.
//!
//! Plain values that every caller can fill as far as it knows: the engine from run records, log and live readings, a case file from what it holds. What is
//! not known is left out; nothing here has a default that means something.

use crate::judgement::{Comparison, Input};
use crate::parts::Parts;
use crate::records::EventKind;
use crate::{Quantity, WallMs};

/// Kind of water the boat lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// Away from land.
    OpenSea,
    /// Along a coast.
    Coast,
    /// Bay or lagoon.
    Bay,
    /// Harbour or marina.
    Harbour,
    /// Mouth of a river.
    Estuary,
}

impl Position {
    /// All kinds with the word in case files.
    pub const ALL: [(&'static str, Position); 5] = [
        ("open-sea", Position::OpenSea),
        ("coast", Position::Coast),
        ("bay", Position::Bay),
        ("harbour", Position::Harbour),
        ("estuary", Position::Estuary),
    ];
}

/// What the tide does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tide {
    /// It rises: sea water comes in.
    Rising,
    /// It falls: river water goes out.
    Falling,
    /// It stands.
    Slack,
}

impl Tide {
    /// All with the word in case files.
    pub const ALL: [(&'static str, Tide); 3] =
        [("rising", Tide::Rising), ("falling", Tide::Falling), ("slack", Tide::Slack)];
}

/// What is known beside readings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Surroundings {
    /// Where the boat lies.
    pub position: Option<Position>,
    /// What the tide does.
    pub tide: Option<Tide>,
    /// Does the boat move through the water?
    pub under_way: Option<bool>,
    /// Is the unit switched on?
    pub commanded_on: Option<bool>,
    /// How long it had been running at the latest readings.
    pub minutes_since_start: Option<f64>,
    /// How long it has not run or been flushed.
    pub days_idle: Option<f64>,
    /// Months of a lay-up before.
    pub lay_up_months: Option<f64>,
    /// Running hours of the newest element.
    pub element_hours: Option<f64>,
    /// Runs of the bilge pump during the latest run.
    pub bilge_pump_runs: Option<f64>,
    /// What a flush needs, L.
    pub flush_litres: Option<f64>,
    /// Hours until an automatic flush starts.
    pub hours_to_automatic_flush: Option<f64>,
    /// What the tank holds when full, L.
    pub tank_litres: Option<f64>,
    /// Salinity that the settings call usual, g/kg.
    pub usual_salinity_g_kg: Option<f64>,
}

/// Readings taken together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingSet {
    /// When; `None`: now.
    pub at: Option<WallMs>,
    /// Quantity and value in the unit of its key.
    pub values: Vec<(Quantity, f64)>,
}

/// Why a reading stands beside the others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Role {
    /// A second instrument on the same quantity.
    SecondInstrument,
    /// Of one element alone, counted from 1 at the feed.
    Element(u8),
    /// Of this device on the network, while another sends the same quantity.
    Sender(String),
    /// The instrument shows what cannot be.
    Impossible,
}

/// A reading that stands beside the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// Why.
    pub role: Role,
    /// What.
    pub quantity: Quantity,
    /// How much, in the unit of its key.
    pub value: f64,
}

/// Something that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct PastEvent {
    /// What.
    pub kind: EventKind,
    /// Days before the present; `None`: not dated.
    pub days_ago: Option<f64>,
    /// Free text and how it was done.
    pub note: String,
}

/// How one run stood against the baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoursePoint {
    /// When.
    pub at: WallMs,
    /// ln of the product over what the baseline's membranes would make in that water, with its chance.
    pub output: (f64, f64),
    /// ln of the salt permeability over the baseline's, with its chance; `None`: not measured.
    pub salt: Option<(f64, f64)>,
}

/// Everything that is known.
#[derive(Clone, Debug)]
pub struct Situation<'a> {
    /// The unit.
    pub parts: &'a Parts,
    /// The present.
    pub now: Option<WallMs>,
    /// Readings, oldest first.
    pub sets: Vec<ReadingSet>,
    /// Mean readings of the sound unit.
    pub baseline: Vec<(Quantity, f64)>,
    /// What was observed, by code, and whether it is so.
    pub seen: Vec<(&'static str, bool)>,
    /// Readings beside the others.
    pub beside: Vec<Beside>,
    /// Readings that do not move, with minutes.
    pub unchanged: Vec<(Quantity, f64)>,
    /// What was done, in any order.
    pub events: Vec<PastEvent>,
    /// What else is known.
    pub around: Surroundings,
    /// How the latest runs stand against the baseline, with the inputs of the latest.
    pub comparison: Option<(&'a Comparison, [f64; Input::COUNT])>,
    /// The runs one by one, oldest first.
    pub course: Vec<CoursePoint>,
}

impl<'a> Situation<'a> {
    /// Nothing known but the parts.
    pub fn of(parts: &'a Parts) -> Self {
        Self {
            parts,
            now: None,
            sets: vec![],
            baseline: vec![],
            seen: vec![],
            beside: vec![],
            unchanged: vec![],
            events: vec![],
            around: Surroundings::default(),
            comparison: None,
            course: vec![],
        }
    }
}
