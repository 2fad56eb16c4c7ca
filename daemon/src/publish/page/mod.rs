//! The page as plain texts: what stands where, without markup.
//!
//! Every text is ready to be shown; templates only place it. What is unknown says "unknown". Names that came from the bus or
//! from settings are passed on as they are: the templates escape them.

mod findings;
mod now;
mod parts;
mod readings;
mod runs;

pub use findings::{Acknowledge, Cause, FindingBlock, Findings};
pub use now::{Fact, Next, Now};
pub use parts::lines as parts_lines;
pub use readings::ReadingRow;
pub(in crate::publish) use runs::sd as mean_sd;
pub use runs::{RunLine, Runs};

use super::format;
use crate::engine::view::{UnitView, View};

/// The whole boat.
#[derive(Clone, Debug)]
pub struct Boat {
    /// Name of the boat.
    pub name: String,
    /// When these numbers were true.
    pub made: String,
    /// What hampers barrico itself: the store, the source of frames, the clock.
    pub trouble: Vec<String>,
    /// The units.
    pub units: Vec<Unit>,
}

/// One unit.
#[derive(Clone, Debug)]
pub struct Unit {
    /// Short name, safe in an address: `[a-z][A-Za-z0-9]*`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// State, headline, what to do next.
    pub now: Now,
    /// What was found.
    pub findings: Findings,
    /// Every reading with a source.
    pub readings: Vec<ReadingRow>,
    /// The last runs.
    pub runs: Runs,
    /// Elements, valve, change of the train.
    pub parts: Vec<String>,
}

impl Boat {
    /// The page of a view.
    pub fn new(view: &View) -> Self {
        Self {
            name: if view.boat.is_empty() { "Boat without a name".to_string() } else { view.boat.clone() },
            made: made(view),
            trouble: trouble(view),
            units: view.units.iter().map(|unit| Unit::new(unit, view)).collect(),
        }
    }
}

impl Unit {
    /// The page part of one unit.
    pub fn new(unit: &UnitView, view: &View) -> Self {
        Self {
            id: unit.id.clone(),
            name: if unit.name.is_empty() { unit.id.clone() } else { unit.name.clone() },
            now: Now::new(unit, view),
            findings: Findings::new(unit, view),
            readings: readings::rows(unit, view),
            runs: Runs::new(unit, view),
            parts: parts_of(unit),
        }
    }
}

/// What the parts have behind them, and the tank as a check of the product flow.
fn parts_of(unit: &UnitView) -> Vec<String> {
    let mut lines = parts::lines(&unit.history);
    if let Some((value, sd)) = unit.tank_flow_l_h {
        lines.push(format!("Rise of the tank: {} L/h of product.", format::with_half(value, sd)));
    }
    lines
}

/// "14:05:12 UTC", or since when the program runs if no clock is trusted.
pub fn made(view: &View) -> String {
    match view.wall_ms {
        Some(at) => format::time_of_day(at),
        None => format!("{} after start, boat clock not set", format::span(view.at.0 as f64 / 1000.0)),
    }
}

fn trouble(view: &View) -> Vec<String> {
    let mut lines = Vec::new();
    if !view.source.working {
        lines.push(trouble_line("Nothing comes from the boat network", &view.source.text));
    }
    if let Some(text) = &view.source_impaired {
        lines.push(trouble_line("The boat network is in trouble", text));
    }
    for (unit, text) in &view.node_troubles {
        lines.push(trouble_line(&format!("Displays do not hear of {unit}"), text));
    }
    if !view.store.working {
        lines.push(trouble_line("The history is not being written", &view.store.text));
    }
    if view.wall_ms.is_none() {
        lines.push("The date is not known yet: no trusted clock aboard has told it.".to_string());
    }
    lines
}

fn trouble_line(what: &str, why: &str) -> String {
    if why.trim().is_empty() {
        format!("{what}.")
    } else {
        format!("{what}: {}", super::words::with_stop(why))
    }
}
