//! A comparison as one page of HTML that can be printed or sent: self-contained, light, no script. A second page with every figure in every water is added if
//! asked for. What fits is four candidates in four waters with names and notes of ordinary length; more runs over to another sheet of paper.
//!
//! Everything that people typed is escaped: by the template, and in the pictures by [`chart`]. The page says what is entered, assumed and
//! computed, marks the worst water of each figure, and repeats every limit that is passed or was not entered.

mod chart;

use super::format;
use super::sheet::Frame;
use super::words::sentence;
use crate::compare::rows::{self, Row};
use crate::compare::year::{self, YearRow};
use crate::compare::{Compared, words};
use askama::Template;
use barrico_model::WallMs;
use barrico_model::plant::note::USUAL_ELEMENT_RECOVERY;
use barrico_model::sizing::{CheckKind, Figure, Unknown, Variant, Verdict};

/// The page could not be put together; nothing a reader can do anything about.
#[derive(Debug, thiserror::Error)]
#[error("the page cannot be put together: {0}")]
pub struct PageError(#[from] askama::Error);

/// The whole page, with or without the annex, made at a date; `None`: the computer's date is not trusted.
///
/// # Errors
/// [`PageError`], only if the template is at odds with this code.
pub fn page(compared: &Compared, annex: bool, made: Option<WallMs>) -> Result<String, PageError> {
    Ok(Page::new(compared, annex, made).render()?)
}

#[derive(Template)]
#[template(path = "sheet_comparison.html")]
struct Page {
    frame: Frame,
    notes: Vec<String>,
    need: String,
    filling: String,
    waters: Vec<WaterLine>,
    /// Names of the candidates with their supplies.
    heads: Vec<(String, String)>,
    worst: Vec<Line>,
    product_chart: Option<String>,
    hours_chart: Option<String>,
    /// Empty without the annex.
    detail: Vec<Block>,
    first: String,
    added: Vec<AddedLine>,
    fuel: &'static str,
    worn: &'static str,
    faults: Vec<FaultyLine>,
    limits: Vec<Limits>,
    origins: Vec<String>,
    plus_minus: &'static str,
    elsewhere: &'static str,
    usual: &'static str,
    cautions: &'static [&'static str],
}

struct WaterLine {
    name: String,
    temperature: String,
    salinity: String,
    share: String,
    sun: String,
}

/// A row of the first table.
struct Line {
    words: String,
    unit: String,
    cells: Vec<Cell>,
    /// Begins a group.
    opens: bool,
    /// Its cells name waters.
    has_small: bool,
}

struct Cell {
    figure: String,
    /// The water of the worst case, or the reason why there is no figure.
    small: String,
    /// Limit passed.
    bad: bool,
}

/// One candidate in all waters.
struct Block {
    name: String,
    lines: Vec<Detail>,
}

struct Detail {
    water: String,
    cells: Vec<(String, bool)>,
}

struct AddedLine {
    name: String,
    cells: Vec<String>,
}

/// A candidate with something wrong: texts, and whether a limit is passed.
struct FaultyLine {
    name: String,
    cells: Vec<(String, bool)>,
}

struct Limits {
    name: String,
    remarks: Vec<(bool, String)>,
}

/// Heads of the table by water; the figures are those of [`DETAIL`], elements inserted behind the conductivity.
const DETAIL: [&Row; 6] =
    [&rows::PRODUCT, &rows::CONDUCTIVITY, &rows::PRESSURE, &rows::HOURS, &rows::PER_LITRE, &rows::FUEL];

impl Page {
    fn new(compared: &Compared, annex: bool, made: Option<WallMs>) -> Self {
        let comparison = &compared.comparison;
        let each = || 0..comparison.candidates.len();
        Self {
            frame: Frame::new(&comparison.title, "", words::ABOUT, made),
            notes: comparison.notes.clone(),
            need: words::need(compared),
            filling: words::filling(compared),
            waters: comparison.waters.iter().map(water).collect(),
            heads: comparison.candidates.iter().map(|one| (one.name.clone(), one.supply.clone())).collect(),
            worst: worst(compared),
            product_chart: chart::bars(compared, &rows::PRODUCT, "L/h"),
            hours_chart: chart::bars(compared, &rows::HOURS, "h a day"),
            detail: each().filter(|_| annex).map(|at| block(compared, at)).collect(),
            first: comparison.candidates.first().map_or(String::new(), |one| one.name.clone()),
            added: each().skip(1).map(|at| added(compared, at)).collect(),
            fuel: words::FUEL,
            worn: words::WORN,
            faults: each().map(|at| fault(compared, at)).collect(),
            limits: each().map(|at| limits(compared, at)).collect(),
            // That nothing was measured stands under the headline.
            origins: words::origins(compared).split_off(1),
            plus_minus: words::PLUS_MINUS,
            elsewhere: words::SECOND_PAGE,
            usual: words::USUAL,
            cautions: &words::CAUTIONS,
        }
    }
}

fn water(one: &crate::settings::comparison::NamedWater) -> WaterLine {
    let water = &one.water;
    WaterLine {
        name: one.name.clone(),
        temperature: format!("{:.0} °C", water.temperature_c),
        salinity: format!("{:.1} g/kg", water.salinity_g_kg),
        share: water.share.map_or(String::new(), |share| format!("{:.0} % of the days", 100.0 * share)),
        sun: water.solar_wh_day.map_or(String::new(), |wh| format!("{:.1} kWh of sun a day", wh / 1e3)),
    }
}

/// The figures at their worst, one column for each candidate.
fn worst(compared: &Compared) -> Vec<Line> {
    let shown: [(&Row, bool); 13] = [
        (&rows::PRODUCT, true),
        (&rows::CONDUCTIVITY, false),
        (&rows::RECOVERY, false),
        (&rows::ELEMENT_RECOVERY, false),
        (&rows::ELEMENT_FLUX, false),
        (&rows::PRESSURE, false),
        (&rows::HOURS, true),
        (&rows::PER_LITRE, true),
        (&rows::CURRENT, false),
        (&rows::START, false),
        (&rows::BATTERY, false),
        (&rows::SOLAR, false),
        (&rows::FUEL, false),
    ];
    let mut lines: Vec<Line> =
        shown.iter().filter_map(|(row, opens)| worst_line(compared, row, *opens)).collect();
    lines.extend(idle_line(compared));
    for (at, row) in year::ROWS.iter().filter(|row| YEAR_SHOWN.contains(&row.key)).enumerate() {
        lines.extend(year_line(compared, row, at == 0));
    }
    lines
}

/// Rows of the year that the page has room for.
const YEAR_SHOWN: [&str; 4] = ["purchase", "weight_kg", "running_cost_per_year", "running_cost_per_l"];

fn worst_line(compared: &Compared, row: &Row, opens: bool) -> Option<Line> {
    let mut cells = Vec::new();
    for candidate in 0..compared.comparison.candidates.len() {
        cells.push(match compared.at_worst(candidate, Variant::AsListed, row) {
            Ok(at) => {
                let place = at.water.and_then(|water| compared.comparison.waters.get(water));
                Cell {
                    figure: figure(row, Ok(at.figure)),
                    small: place.map_or("all waters".to_string(), |water| water.name.clone()),
                    bad: is_passed(compared, candidate, Variant::AsListed, row),
                }
            }
            Err(Unknown::NoMeaning(_)) => Cell { figure: "–".into(), small: String::new(), bad: false },
            Err(why) => Cell { figure: "not known".into(), small: words::reason(&why), bad: false },
        });
    }
    let has_meaning = cells.iter().any(|cell| cell.figure != "–");
    has_meaning.then(|| Line {
        words: sentence(row.words),
        unit: row.unit.to_string(),
        cells,
        opens,
        has_small: true,
    })
}

/// The part of the fuel that goes into turning idle, in the water in which the fuel is at its worst.
fn idle_line(compared: &Compared) -> Option<Line> {
    let fuel = worst_line(compared, &rows::FUEL, false)?;
    let part = |candidate: usize, cell: &Cell| {
        let water = compared.worst_water(candidate, Variant::AsListed, &rows::FUEL).unwrap_or(0);
        let idle = compared.figure(candidate, Variant::AsListed, water, &rows::FUEL_IDLE);
        Cell { figure: figure(&rows::FUEL_IDLE, idle), small: cell.small.clone(), bad: false }
    };
    let cells = fuel.cells.iter().enumerate().map(|(candidate, cell)| part(candidate, cell)).collect();
    Some(Line { words: rows::FUEL_IDLE.words.trim().to_owned(), cells, ..fuel })
}

/// Is the figure of this row beyond a limit in any water?
fn is_passed(compared: &Compared, candidate: usize, variant: Variant, row: &Row) -> bool {
    let kind = match row.key {
        key if key == rows::CONDUCTIVITY.key => CheckKind::ProductConductivity,
        key if key == rows::PRESSURE.key => CheckKind::FeedPressure,
        key if key == rows::CURRENT.key => CheckKind::SupplyCurrent,
        key if key == rows::START.key => CheckKind::StartCurrent,
        key if key == rows::HOURS.key => CheckKind::HoursOfTheDay,
        _ => return false,
    };
    let is_passed =
        |check: &&barrico_model::sizing::Check| check.kind == kind && check.verdict() == Verdict::Passed;
    compared.cases(candidate, variant).any(|(_, case)| case.checks.iter().find(is_passed).is_some())
}

fn year_line(compared: &Compared, row: &YearRow, opens: bool) -> Option<Line> {
    let currency = compared.comparison.currency.as_str();
    let is_price = row.key.starts_with("purchase") || row.key.contains("cost");
    let mut cells = Vec::new();
    for candidate in 0..compared.comparison.candidates.len() {
        cells.push(match (row.of)(compared, candidate) {
            Ok(figure) => {
                let half = format::HALF_95 * figure.deviation;
                let more = if 0.0 < half {
                    format!(" ± {}", format::number(half, row.digits))
                } else {
                    String::new()
                };
                Cell {
                    figure: format!("{}{more}", format::number(figure.value, row.digits)),
                    small: String::new(),
                    bad: false,
                }
            }
            Err(Unknown::NoMeaning(_)) => Cell { figure: "–".into(), small: String::new(), bad: false },
            Err(why) => Cell { figure: "not known".into(), small: words::reason(&why), bad: false },
        });
    }
    let unit = if is_price { currency.to_string() } else { String::new() };
    Some(Line { words: sentence(row.words), unit, cells, opens, has_small: false })
}

fn figure(row: &Row, figure: Figure) -> String {
    match figure {
        Ok(figure) => format::with_half(row.factor * figure.value, row.factor * figure.deviation),
        Err(Unknown::NoMeaning(_)) => "–".into(),
        Err(_) => "not known".into(),
    }
}

fn block(compared: &Compared, candidate: usize) -> Block {
    let name = compared.comparison.candidates.get(candidate).map_or(String::new(), |one| one.name.clone());
    let lines = compared
        .comparison
        .waters
        .iter()
        .enumerate()
        .map(|(water, named)| {
            let mut cells: Vec<(String, bool)> = DETAIL
                .iter()
                .map(|row| {
                    let worst = compared.worst_water(candidate, Variant::AsListed, row) == Some(water);
                    (figure(row, compared.figure(candidate, Variant::AsListed, water, row)), worst)
                })
                .collect();
            let worst = compared.worst_water(candidate, Variant::AsListed, &rows::RECOVERY) == Some(water);
            cells.insert(2, (elements(compared, candidate, water), worst));
            Detail { water: named.name.clone(), cells }
        })
        .collect();
    Block { name, lines }
}

/// Recovery and flux of each element: "22 % (26) + 19 % (17)".
fn elements(compared: &Compared, candidate: usize, water: usize) -> String {
    let case = compared.cases(candidate, Variant::AsListed).find(|(at, _)| *at == water);
    let Some((_, case)) = case else { return "not known".into() };
    let each = case.expected.output.elements.iter().map(|element| {
        let mark = if USUAL_ELEMENT_RECOVERY < element.recovery { "!" } else { "" };
        format!("{:.0} %{mark} ({:.0})", 100.0 * element.recovery, element.flux_l_m2_h)
    });
    each.collect::<Vec<_>>().join(" + ")
}

/// What a candidate adds to the first one, from the water where that is least to the one where it is most.
fn added(compared: &Compared, candidate: usize) -> AddedLine {
    let name = compared.comparison.candidates.get(candidate).map_or(String::new(), |one| one.name.clone());
    let cells = rows::DIFFERENCES.iter().map(|row| {
        let all: Result<Vec<(f64, Option<f64>)>, Unknown> = (0..compared.comparison.waters.len())
            .map(|water| compared.against_first(candidate, water, row))
            .collect();
        let Ok(all) = all else { return "not known".to_string() };
        let ends = |values: Vec<f64>| {
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            (low, values.iter().copied().fold(f64::NEG_INFINITY, f64::max))
        };
        let (low, high) = ends(all.iter().map(|(difference, _)| row.factor * difference).collect());
        let digits = if 9.95 <= low.abs().max(high.abs()) { 0 } else { 1 };
        let shares: Option<Vec<f64>> =
            all.iter().map(|(_, share)| share.map(|share| 100.0 * share)).collect();
        let shares = shares.map_or(String::new(), |shares| {
            let (low, high) = ends(shares);
            format!(" ({low:.0} to {high:.0} %)")
        });
        format!("{low:+.digits$} to {high:+.digits$}{shares}")
    });
    AddedLine { name, cells: cells.collect() }
}

/// Product and hours in the worst water, as listed and with each fault.
fn fault(compared: &Compared, candidate: usize) -> FaultyLine {
    let name = compared.comparison.candidates.get(candidate).map_or(String::new(), |one| one.name.clone());
    let mut cells = Vec::new();
    for variant in Variant::ALL {
        for row in [&rows::PRODUCT, &rows::CONDUCTIVITY, &rows::HOURS] {
            let text = match compared.at_worst(candidate, variant, row) {
                Ok(at) => figure(row, Ok(at.figure)),
                Err(Unknown::NothingLeft) => {
                    if row.key == rows::PRODUCT.key { "none" } else { "–" }.to_string()
                }
                Err(why) => figure(row, Err(why)),
            };
            cells.push((text, is_passed(compared, candidate, variant, row)));
        }
    }
    FaultyLine { name, cells }
}

fn limits(compared: &Compared, candidate: usize) -> Limits {
    let name = compared.comparison.candidates.get(candidate).map_or(String::new(), |one| one.name.clone());
    let mut remarks: Vec<(bool, String)> = words::remarks(compared, candidate, Variant::AsListed)
        .into_iter()
        .map(|one| (one.verdict == Verdict::Passed, one.text))
        .collect();
    // What the table of faults marks already needs no sentence.
    let marked = [CheckKind::ProductConductivity, CheckKind::HoursOfTheDay];
    let faulty = words::remarks_when_faulty(compared, candidate).into_iter();
    remarks.extend(
        faulty.filter(|one| one.kind.is_none_or(|kind| !marked.contains(&kind))).map(|one| (true, one.text)),
    );
    if remarks.is_empty() {
        remarks.push((false, "All limits that were entered are kept.".into()));
    }
    Limits { name, remarks }
}

#[cfg(test)]
mod tests;
