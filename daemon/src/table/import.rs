//! From the bytes of a file to entries, or to all that is wrong with it.

use super::mapping::{Mapping, When};
use super::time;
use crate::case::{self, Fault};
use crate::engine::NewEntry;
use crate::settings::nearest::nearest;
use crate::settings::{Settings, UnitSettings};
use barrico_model::records::LogBody;
use csv::StringRecord;

/// Largest file, bytes: twenty thousand rows of twenty columns.
pub const FILE_BYTES_MAX: usize = 8 << 20;
/// Most rows that become entries at once: as many as the engine takes in one command.
pub const ROWS_MAX: usize = 20_000;
/// Faults that are told in words; the others are counted.
pub const FAULTS_SHOWN: usize = 20;

/// What a table gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// One entry for each row used, in the order of time.
    pub entries: Vec<NewEntry>,
    /// Rows in the file.
    pub rows: usize,
    /// Rows that were not selected.
    pub not_selected: usize,
    /// Rows without any reading.
    pub empty: usize,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Place {
    line: Option<u64>,
    column: Option<String>,
    fault: Fault,
}

/// All that is wrong with a table, at least one thing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.text())]
pub struct TableFaults {
    list: Vec<Place>,
    /// How many there are, also those that are not told in words.
    pub count: usize,
}

impl TableFaults {
    fn one(fault: Fault) -> Self {
        let mut faults = Self::none();
        faults.add(None, None, fault);
        faults
    }

    fn none() -> Self {
        Self { list: vec![], count: 0 }
    }

    fn add(&mut self, line: Option<u64>, column: Option<&str>, fault: Fault) {
        self.count += 1;
        if self.list.len() < FAULTS_SHOWN {
            self.list.push(Place { line, column: column.map(str::to_string), fault });
        }
    }

    fn text(&self) -> String {
        let mut text = String::from("nothing was imported\n");
        for place in &self.list {
            let line = place.line.map_or(String::new(), |line| format!("line {line}"));
            let column = place
                .column
                .as_ref()
                .map_or(String::new(), |column| format!("column `{}`", case::shown(column)));
            let at =
                [line, column].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
            let at = if at.is_empty() { String::new() } else { format!("{at}: ") };
            text.push_str(&format!("{at}{}\n    remedy: {}\n", place.fault.message, place.fault.help));
        }
        if self.list.len() < self.count {
            text.push_str(&format!("and {} more\n", self.count - self.list.len()));
        }
        let noun = if self.count == 1 { "problem" } else { "problems" };
        text.push_str(&format!("{} {noun} in the table", self.count));
        text
    }
}

/// Reads a table. `by` is who imports it, `note` is kept with every entry.
///
/// # Errors
/// All that is wrong; then there are no entries at all.
pub fn import(
    bytes: &[u8],
    mapping: &Mapping,
    settings: &Settings,
    unit: &UnitSettings,
    by: &str,
    note: &str,
) -> Result<Imported, TableFaults> {
    if FILE_BYTES_MAX < bytes.len() {
        let message = format!("the file is larger than {} MB", FILE_BYTES_MAX >> 20);
        return Err(TableFaults::one(Fault::new(message, "split it")));
    }
    let text = std::str::from_utf8(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes))
        .ok()
        .filter(|text| !text.contains('\0'))
        .ok_or_else(|| {
            TableFaults::one(Fault::new("this is not text in UTF-8", "export the table as CSV in UTF-8"))
        })?;
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = reader
        .headers()
        .cloned()
        .map_err(|error| TableFaults::one(Fault::new(error.to_string(), "export the table as CSV")))?;
    if header.iter().all(str::is_empty) {
        return Err(TableFaults::one(Fault::new(
            "the file is empty",
            "the first line names the columns, each other line is one set of readings",
        )));
    }
    let mut faults = TableFaults::none();
    let places = Places::find(&header, mapping, &mut faults);
    let Some(places) = places.filter(|_| faults.count == 0) else { return Err(faults) };
    let rows = Rows { mapping, settings, unit, by, note, header: &header, places, faults, seen: vec![] };
    rows.read(reader)
}

/// The separator that the header has: a tab, else a semicolon, else a comma.
fn separator(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or("");
    [b'\t', b';'].into_iter().find(|separator| header.as_bytes().contains(separator)).unwrap_or(b',')
}

/// Where the mapped columns stand.
struct Places {
    columns: Vec<usize>,
    only: Vec<usize>,
    time: Option<usize>,
}

impl Places {
    fn find(header: &StringRecord, mapping: &Mapping, faults: &mut TableFaults) -> Option<Self> {
        let mut place = |name: &str| {
            let mut found = header.iter().enumerate().filter(|(_, title)| *title == name).map(|(at, _)| at);
            match (found.next(), found.next()) {
                (Some(at), None) => Some(at),
                (Some(_), Some(_)) => {
                    faults.add(
                        Some(1),
                        Some(name),
                        Fault::new("two columns have this name", "rename one of them in the file"),
                    );
                    None
                }
                (None, _) => {
                    let names = || header.iter().filter(|title| !title.is_empty());
                    let help = match nearest(name, names()) {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => format!(
                            "the file has: {}",
                            names().map(case::shown).collect::<Vec<_>>().join(", ")
                        ),
                    };
                    faults.add(Some(1), Some(name), Fault::new("the file has no such column", help));
                    None
                }
            }
        };
        let columns: Vec<Option<usize>> = mapping.columns.iter().map(|column| place(&column.name)).collect();
        let only: Vec<Option<usize>> = mapping.only.iter().map(|only| place(&only.column)).collect();
        let time = match &mapping.when {
            When::Column { name, .. } => Some(place(name)?),
            When::Invented { .. } => None,
        };
        Some(Self {
            columns: columns.into_iter().collect::<Option<_>>()?,
            only: only.into_iter().collect::<Option<_>>()?,
            time,
        })
    }
}

struct Rows<'a> {
    mapping: &'a Mapping,
    settings: &'a Settings,
    unit: &'a UnitSettings,
    by: &'a str,
    note: &'a str,
    header: &'a StringRecord,
    places: Places,
    faults: TableFaults,
    /// Values of the columns that select, for the case that nothing is selected.
    seen: Vec<String>,
}

/// Values shown when nothing was selected.
const SEEN_MAX: usize = 8;

impl Rows<'_> {
    fn read(mut self, mut reader: csv::Reader<&[u8]>) -> Result<Imported, TableFaults> {
        let mut imported = Imported { entries: vec![], rows: 0, not_selected: 0, empty: 0 };
        let mut row = StringRecord::new();
        loop {
            match reader.read_record(&mut row) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => {
                    self.faults.add(
                        None,
                        None,
                        Fault::new(error.to_string(), "export the table as CSV in UTF-8"),
                    );
                    break;
                }
            }
            let line = row.position().map_or(0, csv::Position::line);
            imported.rows += 1;
            if row.len() != self.header.len() {
                self.faults.add(Some(line), None, wrong_length(row.len(), self.header.len()));
            } else if !self.is_selected(&row) {
                imported.not_selected += 1;
            } else if let Some(entry) = self.entry(line, &row, imported.entries.len()) {
                if is_empty(&entry, self.mapping.constants.len()) {
                    imported.empty += 1;
                } else {
                    imported.entries.push(entry);
                }
            }
            if ROWS_MAX < imported.entries.len() {
                let message = format!("more than {ROWS_MAX} rows");
                self.faults.add(
                    Some(line),
                    None,
                    Fault::new(message, "split the table, or select rows with `--where`"),
                );
                break;
            }
        }
        if imported.entries.is_empty() && self.faults.count == 0 {
            self.faults.add(None, None, self.nothing(&imported));
        }
        if 0 < self.faults.count {
            return Err(self.faults);
        }
        imported.entries.sort_by_key(|entry| entry.at);
        Ok(imported)
    }

    fn is_selected(&mut self, row: &StringRecord) -> bool {
        let all = self
            .mapping
            .only
            .iter()
            .zip(&self.places.only)
            .all(|(only, at)| &row[*at] == only.value.as_str());
        if !all && self.seen.len() < SEEN_MAX {
            for at in &self.places.only {
                let value = case::shown(&row[*at]);
                if !self.seen.contains(&value) {
                    self.seen.push(value);
                }
            }
        }
        all
    }

    fn nothing(&self, imported: &Imported) -> Fault {
        if 0 < imported.not_selected {
            let seen = self.seen.iter().map(|value| format!("`{value}`")).collect::<Vec<_>>().join(", ");
            return Fault::new("no row was selected", format!("the file has {seen}"));
        }
        Fault::new(
            "there is no row with a reading",
            "the first line names the columns, each other line is one set of readings",
        )
    }

    fn entry(&mut self, line: u64, row: &StringRecord, number: usize) -> Option<NewEntry> {
        let before = self.faults.count;
        let mut readings = Vec::new();
        for (column, &at) in self.mapping.columns.iter().zip(&self.places.columns) {
            let cell = &row[at];
            if cell.is_empty() {
                continue;
            }
            let typed =
                if column.unit.is_empty() { cell.to_string() } else { format!("{cell} {}", column.unit) };
            match number_alone(cell, column.unit.is_empty()).and_then(|()| {
                case::reading(self.settings, self.unit, column.quantity, &typed, column.instrument.as_deref())
            }) {
                Ok(reading) => readings.push(reading),
                Err(fault) => self.faults.add(Some(line), Some(&column.name), fault),
            }
        }
        let at = self.time(line, row, number);
        readings.extend(self.mapping.constants.iter().cloned());
        (self.faults.count == before).then(|| NewEntry {
            at,
            time_invented: matches!(self.mapping.when, When::Invented { .. }),
            by: self.by.to_string(),
            body: LogBody::Readings(readings),
            note: self.note.to_string(),
            elements: vec![],
        })
    }

    fn time(&mut self, line: u64, row: &StringRecord, number: usize) -> Option<i64> {
        match (&self.mapping.when, self.places.time) {
            (When::Column { name, format }, Some(at)) => match time::read(&row[at], format.as_deref()) {
                Ok(time) => Some(time),
                Err(fault) => {
                    self.faults.add(Some(line), Some(name), fault);
                    None
                }
            },
            (When::Invented { start, every_ms }, _) => Some(start + every_ms * number as i64),
            _ => None,
        }
    }
}

fn is_empty(entry: &NewEntry, constants: usize) -> bool {
    matches!(&entry.body, LogBody::Readings(readings) if readings.len() == constants)
}

/// A cell holds a number and nothing else: its unit is in the mapping.
fn number_alone(cell: &str, is_name: bool) -> Result<(), Fault> {
    const SIGNS: &str = "+-\u{2212}.,eE0123456789";
    if is_name || cell.chars().all(|c| SIGNS.contains(c)) {
        return Ok(());
    }
    Err(Fault::new(
        format!("`{}` is not a number", case::shown(cell)),
        "numbers alone, with a decimal point; the unit stands in the mapping; leave the cell empty if nothing was read",
    ))
}

fn wrong_length(found: usize, wanted: usize) -> Fault {
    let help = if wanted < found {
        "is a decimal comma used? Export with a decimal point, or with semicolons between the cells and decimal points in the numbers"
    } else {
        "each line has as many cells as the header; leave a cell empty if nothing was read"
    };
    Fault::new(format!("{found} cells, the header has {wanted}"), help)
}
