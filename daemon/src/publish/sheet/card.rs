//! The card of what to expect over temperature and salinity, to pin beside the unit.

use super::Frame;
use crate::publish::format;
use askama::Template;

/// One figure with its range and marks, as words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cell {
    /// The middle.
    pub middle: String,
    /// The range of 95 %.
    pub range: String,
    /// Letters of the limits that are passed; small ones where the range reaches a limit.
    pub marks: String,
    /// A limit is passed: the unit is not to be run so, or the product is not to be kept.
    pub not: bool,
}

/// A limit that has a letter on the card.
pub trait Letter {
    /// The letter.
    fn letter(&self) -> &'static str;
}

impl Cell {
    /// A figure in the unit of the card.
    pub fn new(value: f64, sd: f64, marks: Vec<impl Letter>) -> Self {
        let marks: String = marks.iter().map(Letter::letter).collect();
        Self {
            middle: format::number(value, format::decimals(format::HALF_95 * sd)),
            range: format::range(value, sd).replace(" to ", "–"),
            not: marks.contains(|letter: char| letter.is_ascii_uppercase()),
            marks,
        }
    }

    /// Nothing could be computed.
    pub fn empty() -> Self {
        Self { middle: "–".to_owned(), ..Self::default() }
    }

    /// The cell on one line of a terminal.
    pub fn line(&self) -> String {
        let range = if self.range.is_empty() { String::new() } else { format!(" ({})", self.range) };
        let marks = if self.marks.is_empty() { String::new() } else { format!(" {}", self.marks) };
        format!("{}{range}{marks}", self.middle)
    }
}

/// One figure over the whole card.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// What it is, with its unit.
    pub caption: String,
    /// Temperature and its cells.
    pub rows: Vec<(String, Vec<Cell>)>,
}

/// The card.
#[derive(Clone, Debug, Template)]
#[template(path = "sheet_card.html")]
pub struct Card {
    /// Frame of the document.
    pub frame: Frame,
    /// Salinities over the columns.
    pub heads: Vec<String>,
    /// The figures.
    pub grids: Vec<Grid>,
    /// Meaning of the letters.
    pub legend: Vec<String>,
    /// Limits of the settings: name and text.
    pub limits: Vec<(String, String)>,
    /// How the pressure comes about, what it is computed from.
    pub remarks: Vec<String>,
}

/// Cautions of the card.
pub const CAUTIONS: [&str; 3] = [
    "Computed, not measured, and no working instruction: pressure and flow are set by the unit's manual, within the limits of its parts.",
    "More or less than this is no reason to set the pressure higher. Never close or kink the concentrate line.",
    "Salinity says nothing about microbes, fuel, solvents or boron.",
];

impl Card {
    /// The cautions.
    pub fn cautions(&self) -> &'static [&'static str] {
        &CAUTIONS
    }
}
