//! The one-page sheet for a charter or delivery crew: usual values, findings, usual cautions, blanks to fill in.
//!
//! How to start and stop is left to the unit's manual on purpose: no general order fits every unit.

use super::Frame;
use askama::Template;
use barrico_model::findings::{FindingCode, Registration, registry};

/// A row of values.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What.
    pub label: String,
    /// One cell under each head.
    pub cells: Vec<String>,
}

/// A finding in one line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it says.
    pub title: &'static str,
    /// What to do.
    pub act: &'static str,
    /// What not to do.
    pub act_not: &'static str,
}

/// The sheet.
#[derive(Clone, Debug, Template)]
#[template(path = "sheet_handover.html")]
pub struct Handover {
    /// Frame of the document.
    pub frame: Frame,
    /// Head over the values: usual ones, or computed.
    pub values: &'static str,
    /// Where the values come from.
    pub ground: String,
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// The values.
    pub rows: Vec<Row>,
    /// Flush interval, product limit and the like: label and text.
    pub rules: Vec<(String, String)>,
    /// May it be run here?
    pub here: Vec<String>,
}

/// Blanks that the owner fills in by hand.
pub const BLANKS: [&str; 3] =
    ["Emergency: switch off at", "The unit's manual lies", "Owner or support, phone"];

/// Findings a crew may meet that can hurt, break or spoil something, most urgent first. Fewer lines get read.
const CREW: [FindingCode; 6] = [
    FindingCode::OverPressure,
    FindingCode::ProductSalinityOverLimit,
    FindingCode::OutputAboveElementLimit,
    FindingCode::IdleWithoutFlush,
    FindingCode::OutputLow,
    FindingCode::ReadingUnreliable,
];

/// The findings in one line each, in the words of the registry.
pub fn lines() -> Vec<Line> {
    CREW.iter().map(|code| line(registry::of(*code))).collect()
}

fn line(texts: &'static Registration) -> Line {
    // Every registration has at least one of each; an empty line would be seen at once.
    Line {
        title: texts.title,
        act: texts.act.first().map_or("", |action| action.text),
        act_not: texts.act_not.first().copied().unwrap_or(""),
    }
}

/// The usual cautions on where to run. Common practice, no source, but for the first, which follows the rule for ships' drinking water (CDC Vessel Sanitation Program
/// manual, 2018).
pub const HERE: [&str; 4] = [
    "Not in harbours, marinas or crowded anchorages, near outfalls, or in dirty or discoloured water.",
    "Not where oil or fuel is on the water, not even for a flush by running: oil ruins the membrane.",
    "Not in silt: river mouths, after storms, with the keel stirring the ground. It loads the filter within hours.",
    "In brackish or fresh water the product may pass the element's limit: only as the unit's manual allows.",
];

/// Cautions of the sheet.
pub const CAUTIONS: [&str; 4] = [
    "High pressure: never feel for a leak or a jet. Stop by the manual and wait for no pressure before touching anything.",
    "Mains voltage is aboard, and capacitors keep their charge: electrical work is for licensed people.",
    "Never close, kink or plug the concentrate (overboard) line. Never turn the pressure up to win flow back.",
    "Salinity says nothing about microbes, fuel, solvents or boron; whether water may be drunk is for local rules and qualified people to say.",
];

impl Handover {
    /// The findings.
    pub fn lines(&self) -> Vec<Line> {
        lines()
    }

    /// The cautions.
    pub fn cautions(&self) -> &'static [&'static str] {
        &CAUTIONS
    }

    /// The blanks.
    pub fn blanks(&self) -> &'static [&'static str] {
        &BLANKS
    }
}
