//! Which column is what.
//!
//! Written as people type it, on the command line and in the settings alike: `feed_pressure_bar=feed_pressure:bar` is the column of the file, the quantity
//! and the unit of its numbers; `@feed-gauge` behind it names the instrument.

use super::time::{self, Every};
use crate::case::{self, Fault};
use crate::quantity_text::Measure;
use crate::settings::{Settings, TableWords, UnitSettings};
use barrico_model::records::HandReading;
use barrico_model::{Quantity, WallMs};

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name in the header.
    pub name: String,
    /// What it gives.
    pub quantity: Quantity,
    /// Unit of its numbers; empty for names of states.
    pub unit: String,
    /// What read it.
    pub instrument: Option<String>,
}

/// Only rows with this value in this column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Only {
    /// Name of the column.
    pub column: String,
    /// Value.
    pub value: String,
}

/// When the rows were read.
#[derive(Clone, Debug, PartialEq)]
pub enum When {
    /// A column says it.
    Column {
        /// Name of the column.
        name: String,
        /// How it is written; `None`: RFC 3339, or date and time in UTC.
        format: Option<String>,
    },
    /// Nothing says it: invented from a start and a step.
    Invented {
        /// Time of the first row.
        start: WallMs,
        /// From one row to the next, ms.
        every_ms: i64,
    },
}

/// The mapping, checked as far as it can be without the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    /// Columns that are read.
    pub columns: Vec<Column>,
    /// Readings that are the same in every row.
    pub constants: Vec<HandReading>,
    /// Which rows count.
    pub only: Vec<Only>,
    /// When they were read.
    pub when: When,
}

impl TableWords {
    /// What was typed here stands before what was typed there, item by item.
    pub fn or(mut self, other: &Self) -> Self {
        let fill = |mine: &mut Vec<String>, theirs: &[String]| {
            if mine.is_empty() {
                mine.extend_from_slice(theirs);
            }
        };
        fill(&mut self.columns, &other.columns);
        fill(&mut self.constants, &other.constants);
        fill(&mut self.only, &other.only);
        if self.time.is_none() && self.start.is_none() && self.every.is_none() {
            self.time.clone_from(&other.time);
            self.time_format = self.time_format.or_else(|| other.time_format.clone());
            self.start.clone_from(&other.start);
            self.every.clone_from(&other.every);
        }
        self
    }

    /// The mapping, or all that is wrong with it.
    ///
    /// # Errors
    /// One [`Fault`] for each word that cannot be used.
    pub fn mapping(&self, settings: &Settings, unit: &UnitSettings) -> Result<Mapping, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut keep = |fault: Fault, word: &str| {
            faults.push(Fault { message: format!("`{}`: {}", case::shown(word), fault.message), ..fault });
        };
        let mut columns: Vec<Column> = Vec::new();
        for word in &self.columns {
            match column(word, settings, unit) {
                Ok(column) if columns.iter().any(|known| known.quantity == column.quantity) => {
                    keep(
                        Fault::new(
                            format!("a second column for {}", column.quantity.name()),
                            "name one of the two",
                        ),
                        word,
                    );
                }
                Ok(column) => columns.push(column),
                Err(fault) => keep(fault, word),
            }
        }
        let mut constants: Vec<HandReading> = Vec::new();
        for word in &self.constants {
            match case::named(settings, unit, word) {
                Ok(reading) if columns.iter().any(|column| column.quantity == reading.quantity) => {
                    keep(Fault::new("a column gives this already", "leave out the one or the other"), word);
                }
                Ok(reading) if constants.iter().any(|known| known.quantity == reading.quantity) => {
                    keep(Fault::new("given twice", "leave one out"), word);
                }
                Ok(reading) => constants.push(reading),
                Err(fault) => keep(fault, word),
            }
        }
        let mut only = Vec::new();
        for word in &self.only {
            match word.split_once('=') {
                Some((column, value)) => {
                    only.push(Only { column: column.trim().to_string(), value: value.trim().to_string() });
                }
                None => {
                    keep(Fault::new("this selects no rows", "write column and value: 'series=first'"), word)
                }
            }
        }
        if self.columns.is_empty() {
            faults.push(Fault::new(
                "no column is named",
                "name what to read: `--column 'COLUMN=QUANTITY:UNIT'`, such as `--column 'p_feed=feed_pressure:bar'`",
            ));
        }
        match self.when() {
            Ok(when) if faults.is_empty() => Ok(Mapping { columns, constants, only, when }),
            Ok(_) => Err(faults),
            Err(fault) => {
                faults.push(fault);
                Err(faults)
            }
        }
    }

    fn when(&self) -> Result<When, Fault> {
        const HELP: &str = "name the column with the time, `--time COLUMN`, or for a table without times the time of its first row and the step: \
                            `--start '2026-03-01 08:00' --every '1 h'` (the entries are marked \"time invented\")";
        match (&self.time, &self.start, &self.every) {
            (Some(name), None, None) => {
                let format = self.time_format.clone();
                if let Some(format) = format.as_deref() {
                    time::check_format(format)?;
                }
                Ok(When::Column { name: name.trim().to_string(), format })
            }
            (None, Some(start), Some(every)) => {
                let Every(every_ms) = time::every(every)?;
                Ok(When::Invented { start: time::read(start, None)?, every_ms })
            }
            (None, None, None) => Err(Fault::new("nothing says when the rows were read", HELP)),
            (Some(_), ..) => Err(Fault::new(
                "both a column with the time and a start are named",
                "leave out the one or the other",
            )),
            _ => Err(Fault::new("start and step go together", HELP)),
        }
    }
}

fn column(word: &str, settings: &Settings, unit: &UnitSettings) -> Result<Column, Fault> {
    // The column's own name may hold any sign, so it ends at the last `=`.
    let Some((name, what)) = word.rsplit_once('=') else {
        return Err(Fault::new(
            "this names no column",
            "write 'COLUMN=QUANTITY:UNIT', such as 'p_feed=feed_pressure:bar'",
        ));
    };
    let (what, instrument) = match what.rsplit_once('@') {
        Some((what, instrument)) => (what, Some(instrument.trim().to_string())),
        None => (what, None),
    };
    let (quantity, unit_text) = what.split_once(':').unwrap_or((what, ""));
    let quantity = case::quantity(quantity.trim())?;
    let unit_text = unit_text.trim().to_string();
    if let Some(measure) = Measure::of(quantity) {
        if unit_text.is_empty() {
            let help =
                format!("write it behind a colon: '{}={}:{}'", name.trim(), quantity.name(), measure.unit());
            return Err(Fault::new("the unit of the numbers is missing", help));
        }
        // Any number shows whether unit, instrument and quantity go together. Zero is possible nearly everywhere; where it is not, the range speaks row by row.
        if let Err(fault) =
            case::reading(settings, unit, quantity, &format!("1 {unit_text}"), instrument.as_deref())
            && !fault.message.contains("is not possible as")
        {
            return Err(fault);
        }
    }
    Ok(Column { name: name.trim().to_string(), quantity, unit: unit_text, instrument })
}
