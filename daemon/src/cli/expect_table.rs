//! `expect --table`: what the unit should make over feed temperature and salinity, as a card to pin beside it.
//!
//! Each cell is computed for exactly that water, at the unit's own pressure control. A cell that passes a limit of the settings is marked; a limit that was not
//! entered is named as such and never stands in. Water in which no working point exists gives an empty cell with its mark, not an error.

use super::ground::Ground;
use super::print::{list, paragraph, print, print_json, table, write_document};
use crate::publish::sheet::card::{Card, Grid};
use crate::publish::sheet::{Frame, whose};
use crate::publish::units::{Units, plain};
use crate::publish::{format, json};
use crate::quantity_text::{self, Convention};
use crate::settings::{Settings, UnitSettings};
use barrico_model::parts::{Parts, PressureControl};
use barrico_model::plant::{Condition, Estimate, Expected, Note, expect};
use barrico_model::{Quantity, WallMs};
use serde_json::{Value, json};
use std::path::PathBuf;

/// Options of the card.
#[derive(Clone, Debug, Default, clap::Args)]
pub(super) struct Options {
    /// Card over feed temperature and salinity, to pin beside the unit
    #[arg(long)]
    table: bool,
    /// Temperatures of the card: '5 to 30 by 5 C', or '50, 60, 70 F'
    #[arg(long, value_name = "'LIST UNIT'", requires = "table")]
    temperatures: Option<String>,
    /// Salinities of the card: '33 to 39 by 2 g/kg', or '20, 35 psu'
    #[arg(long, value_name = "'LIST UNIT'", requires = "table")]
    salinities: Option<String>,
    /// Units for people; JSON keeps its own
    #[arg(long, value_enum, default_value = "metric")]
    units: Units,
    /// Write the card or sheet to print, one self-contained HTML file
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

/// Cold sea to tropics (sea surface temperatures; from memory).
const TEMPERATURES: &str = "5 to 30 by 5 C";
/// Fresher than the ocean to the eastern Mediterranean (surface salinities; from memory).
const SALINITIES: &str = "33 to 39 by 2 g/kg";
/// Rows that fit one page together with the rest.
const TEMPERATURES_MAX: usize = 10;
/// Columns that fit the width of a page.
const SALINITIES_MAX: usize = 6;

impl Options {
    pub fn wanted(&self) -> bool {
        self.table
    }

    pub fn html(&self) -> Option<&PathBuf> {
        self.html.as_ref()
    }

    pub fn units(&self) -> Units {
        self.units
    }
}

/// Values of a list or a range with one unit behind it.
fn values(text: &str, quantity: Quantity, most: usize) -> anyhow::Result<Vec<f64>> {
    let wrong = || {
        anyhow::anyhow!(
            "`{}`: write a list or a range with its unit, such as '5 to 30 by 5 C' or '10, 20, 30 C'",
            crate::case::shown(text)
        )
    };
    let text = text.trim();
    let at = text.rfind(|c: char| c.is_ascii_digit()).ok_or_else(wrong)? + 1;
    let (numbers, unit) = text.split_at(at);
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite()).ok_or_else(wrong);
    let numbers: Vec<f64> = match numbers.split_once(" to ") {
        None => numbers.split(',').map(number).collect::<anyhow::Result<_>>()?,
        Some((from, rest)) => {
            let (to, by) = rest.split_once(" by ").ok_or_else(wrong)?;
            let (from, to, by) = (number(from)?, number(to)?, number(by)?);
            if by <= 0.0 || to < from {
                return Err(wrong());
            }
            let steps = ((to - from) / by + 1e-9).floor();
            // One more than allowed is enough to refuse.
            (0..=(steps.min(most as f64) as usize)).map(|step| from + step as f64 * by).collect()
        }
    };
    if most < numbers.len() {
        anyhow::bail!("`{}`: {most} values at most fit a page", crate::case::shown(text));
    }
    numbers
        .iter()
        .map(|number| {
            quantity_text::parse(&format!("{number} {}", unit.trim()), quantity, &Convention::default())
                .map_err(|error| anyhow::anyhow!("`{}`: {error}; {}", crate::case::shown(text), error.help()))
        })
        .collect()
}

/// Whose card or sheet, and what the command's other options say about pressure and flow.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub settings: &'a Settings,
    pub unit: &'a UnitSettings,
    pub given: &'a Condition,
}

/// Everything on the card, before it is put in words.
pub(super) struct Answer {
    temperatures: Vec<f64>,
    salinities: Vec<f64>,
    cells: Vec<Vec<Result<Expected, String>>>,
    ground: Ground,
}

/// Prints the card and writes its document.
pub(super) fn main(
    asked: &Asked<'_>,
    ground: Ground,
    options: &Options,
    as_json: bool,
) -> anyhow::Result<()> {
    let answer = Answer::new(asked.given, ground, options)?;
    let card = answer.card(asked, options.units, Some(crate::service::clock::system_date()));
    if let Some(file) = &options.html {
        write_document(file, &card)?;
    }
    if as_json { print_json(&answer.json(asked.unit, &card)) } else { print(&text(&card)) }
}

impl Answer {
    pub fn new(given: &Condition, ground: Ground, options: &Options) -> anyhow::Result<Self> {
        let of = |typed: &Option<String>, usual: &str, quantity, most| {
            values(typed.as_deref().unwrap_or(usual), quantity, most)
        };
        let temperatures =
            of(&options.temperatures, TEMPERATURES, Quantity::FeedTemperature, TEMPERATURES_MAX)?;
        let salinities = of(&options.salinities, SALINITIES, Quantity::FeedSalinity, SALINITIES_MAX)?;
        let base = at_its_mark(&ground.parts, given);
        let cell = |celsius: f64, g_kg: f64| {
            let condition = Condition {
                feed_temperature_c: Some(Estimate::exact(celsius)),
                feed_salinity_g_kg: Some(Estimate::exact(g_kg)),
                ..base
            };
            expect(&ground.parts, &condition, &ground.calibration).map_err(|why| why.to_string())
        };
        let cells: Vec<Vec<_>> = temperatures
            .iter()
            .map(|celsius| salinities.iter().map(|g_kg| cell(*celsius, *g_kg)).collect())
            .collect();
        if let Some(why) = none_at_all(&cells) {
            anyhow::bail!("nothing can be computed for this card: {why}");
        }
        Ok(Self { temperatures, salinities, cells, ground })
    }

    fn grid(
        &self,
        caption: String,
        row: impl Fn(&Expected) -> (f64, f64),
        factor: f64,
        units: Units,
        warns: bool,
    ) -> Grid {
        let parts = &self.ground.parts;
        let cell = |expected: &Result<Expected, String>| match expected {
            Err(_) => crate::publish::sheet::card::Cell::empty(),
            Ok(expected) => {
                let (value, sd) = row(expected);
                let mut marks = marks(expected, parts);
                // Where the pressure has its own figures, the warning stands there only.
                marks.retain(|mark| *mark != Mark::PressureNear || warns);
                crate::publish::sheet::card::Cell::new(factor * value, factor * sd, marks)
            }
        };
        Grid {
            caption,
            rows: self
                .temperatures
                .iter()
                .zip(&self.cells)
                .map(|(celsius, row)| (units.temperature(*celsius), row.iter().map(cell).collect()))
                .collect(),
        }
    }

    fn card(&self, asked: &Asked<'_>, units: Units, made: Option<WallMs>) -> Card {
        let (parts, given) = (&self.ground.parts, asked.given);
        let ((flow, flow_unit), (pressure, pressure_unit)) = (units.flow(), units.pressure());
        let mut grids = Vec::new();
        let floats = floats(parts, given);
        if floats.product {
            grids.push(self.grid(
                format!("Product flow, {flow_unit}"),
                |e| (e.output.product_flow_l_h, e.uncertainty.product_flow_l_h),
                flow,
                units,
                !floats.pressure,
            ));
        }
        if floats.pressure {
            grids.push(self.grid(
                format!("Feed pressure to expect, {pressure_unit}"),
                |e| (e.output.feed_pressure_bar, e.uncertainty.feed_pressure_bar),
                pressure,
                units,
                true,
            ));
        }
        grids.push(self.grid(
            "Product conductivity at 25 °C, µS/cm".to_owned(),
            |e| (e.output.product_conductivity_us_cm_25c, e.uncertainty.product_conductivity_us_cm_25c),
            1.0,
            units,
            !floats.pressure,
        ));
        let mut remarks = vec![control(self, parts, given, units), self.ground.says.clone()];
        remarks.push("In each cell: the middle, then the range that holds it in 95 of 100 cases, for exactly this water; a degree or a g/kg more or less moves it.".to_owned());
        let about = "What to expect of this unit in which sea. Outside the range: look at strainer and filter, then at the readings, before anything else.";
        Card {
            frame: Frame::new(
                "What to expect",
                &whose(&asked.settings.boat.name, &asked.unit.name),
                about,
                made,
            ),
            heads: self.salinities.iter().map(|g_kg| format!("{} g/kg", plain(*g_kg))).collect(),
            grids,
            legend: legend(&self.cells, parts, units),
            limits: limits(parts, units),
            remarks,
        }
    }

    fn json(&self, unit: &UnitSettings, card: &Card) -> Value {
        let mut cells = Vec::new();
        for (celsius, row) in self.temperatures.iter().zip(&self.cells) {
            for (g_kg, cell) in self.salinities.iter().zip(row) {
                let mut object = match cell {
                    Ok(expected) => super::figures::json(expected),
                    Err(why) => serde_json::Map::from_iter([
                        ("product_flow_l_h".to_owned(), Value::Null),
                        ("reasons".to_owned(), json!({ "product_flow_l_h": why })),
                    ]),
                };
                object.insert("feed_temperature_c".to_owned(), json!(celsius));
                object.insert("feed_salinity_g_kg".to_owned(), json!(g_kg));
                let passed: Vec<&str> = cell
                    .iter()
                    .flat_map(|expected| marks(expected, &self.ground.parts))
                    .map(|mark| mark.code())
                    .collect();
                object.insert("limits_passed".to_owned(), json!(passed));
                cells.push(Value::Object(object));
            }
        }
        json!({
            "schema": "barrico-expect-table",
            "schema_version": json::SCHEMA_VERSION,
            "unit": unit.id,
            "expected_from": self.ground.word(),
            "ground": self.ground.says,
            "cells": cells,
            "limits": card.limits.iter().map(|(name, text)| json!({ "limit": name, "text": text })).collect::<Vec<_>>(),
            "remarks": card.remarks,
            "cautions": crate::publish::sheet::card::CAUTIONS,
        })
    }
}

fn none_at_all(cells: &[Vec<Result<Expected, String>>]) -> Option<String> {
    let mut all = cells.iter().flatten();
    if all.any(Result::is_ok) {
        return None;
    }
    cells.iter().flatten().find_map(|cell| cell.as_ref().err().cloned())
}

/// The crew sets the mark anew at every start, so each cell of the card stands at the mark; a regulator holds its own.
pub(super) fn at_its_mark(parts: &Parts, given: &Condition) -> Condition {
    let mut at = *given;
    if at.feed_pressure_bar.is_none() && at.concentrate_pressure_bar.is_none() {
        match parts.pressure_control {
            PressureControl::Regulated | PressureControl::HandSetPressure => {
                at.concentrate_pressure_bar =
                    parts.set_pressure_bar.map(|bar| Estimate::new(bar, SET_BAR_SD));
            }
            PressureControl::HandSetFlow => {
                at.product_flow_l_h =
                    parts.set_product_flow_l_h.map(|l_h| Estimate::new(l_h, SET_FLOW_SD * l_h));
            }
            PressureControl::FixedValve | PressureControl::FixedRecovery => {}
        }
    }
    at
}

/// How well a dial gauge is set to its mark, bar, and a flow to its, as a share: as in the model's pressure control. Our choice.
const SET_BAR_SD: f64 = 1.0;
const SET_FLOW_SD: f64 = 0.03;

/// What moves from cell to cell.
struct Floats {
    product: bool,
    pressure: bool,
}

fn floats(parts: &Parts, given: &Condition) -> Floats {
    let held = given.feed_pressure_bar.is_some() || given.concentrate_pressure_bar.is_some();
    match parts.pressure_control {
        _ if held => Floats { product: true, pressure: false },
        PressureControl::Regulated | PressureControl::HandSetPressure => {
            Floats { product: true, pressure: false }
        }
        PressureControl::FixedValve => Floats { product: true, pressure: true },
        PressureControl::HandSetFlow | PressureControl::FixedRecovery => {
            Floats { product: false, pressure: true }
        }
    }
}

/// How the pressure comes about, in a sentence.
fn control(answer: &Answer, parts: &Parts, given: &Condition, units: Units) -> String {
    let ((flow, flow_unit), (pressure, pressure_unit)) = (units.flow(), units.pressure());
    let bar = |value: f64| format!("{:.0} {pressure_unit}", pressure * value);
    if let Some(value) = given.feed_pressure_bar.or(given.concentrate_pressure_bar) {
        return format!("At the pressure that was given, {}.", bar(value.value));
    }
    let set = parts.set_pressure_bar.map_or("its set pressure".to_owned(), bar);
    match parts.pressure_control {
        PressureControl::Regulated => {
            format!("The regulating valve holds {set} at the concentrate outlet in every cell.")
        }
        PressureControl::HandSetPressure => {
            format!(
                "The valve is turned at every start to the mark of {set}, by the unit's manual; each cell stands at that mark."
            )
        }
        PressureControl::FixedValve => {
            "The valve stays as it was set: colder or saltier water shows in the pressure too.".to_owned()
        }
        PressureControl::HandSetFlow => format!(
            "The valve is turned at every start to a product flow of {:.0} {flow_unit}: the pressure that it takes tells how the unit is. The limit of the pressure comes first.",
            flow * parts.set_product_flow_l_h.unwrap_or(f64::NAN)
        ),
        PressureControl::FixedRecovery => {
            let flows = answer.cells.iter().flatten().flatten().map(|e| {
                let (low, high) = format::interval(e.output.product_flow_l_h, e.uncertainty.product_flow_l_h);
                (flow * low, flow * high)
            });
            let (low, high) =
                flows.fold((f64::INFINITY, 0.0_f64), |(low, high), (l, h)| (low.min(l), high.max(h)));
            let digits = usize::from(high < 20.0);
            format!(
                "The pump makes its share in any sea: {low:.digits$} to {high:.digits$} {flow_unit}. The pressure that it takes tells how the unit is."
            )
        }
    }
}

/// A limit that a cell passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Mark {
    Pressure,
    /// The middle lies below the limit, the upper end of the range does not.
    PressureNear,
    Product,
    Feed,
    Temperature,
    Motor,
    Salinity,
}

impl Mark {
    const fn letter(self) -> &'static str {
        match self {
            Self::Pressure => "P",
            Self::PressureNear => "p",
            Self::Product => "Q",
            Self::Feed => "F",
            Self::Temperature => "T",
            Self::Motor => "M",
            Self::Salinity => "S",
        }
    }

    const fn code(self) -> &'static str {
        match self {
            Self::Pressure => "feed-pressure",
            Self::PressureNear => "feed-pressure-within-range",
            Self::Product => "element-product-flow",
            Self::Feed => "element-feed-flow",
            Self::Temperature => "element-temperature",
            Self::Motor => "motor-power",
            Self::Salinity => "product-conductivity",
        }
    }

    const fn text(self) -> &'static str {
        match self {
            Self::Pressure => "passes a pressure limit: this unit must not be run so",
            Self::PressureNear => {
                "the range reaches a pressure limit: watch the gauge, and stop by the manual before it gets there"
            }
            Self::Product => {
                "an element passes its product limit: follow its manual for warm or fresh water, or do not run here"
            }
            Self::Feed => "an element passes its feed limit",
            Self::Temperature => "warmer than an element's limit",
            Self::Motor => "the pump takes more than the motor's rating",
            Self::Salinity => "product over the owner's limit: not into the tank",
        }
    }
}

fn marks(expected: &Expected, parts: &Parts) -> Vec<Mark> {
    let mut marks: Vec<Mark> = expected
        .notes
        .iter()
        .filter_map(|note| match note {
            Note::PressureAboveLimit { .. } => Some(Mark::Pressure),
            Note::ProductAboveElementLimit { .. } => Some(Mark::Product),
            Note::FeedAboveElementLimit { .. } => Some(Mark::Feed),
            Note::TemperatureAboveElementLimit { .. } => Some(Mark::Temperature),
            Note::MotorOverloaded { .. } => Some(Mark::Motor),
            _ => None,
        })
        .collect();
    let highest =
        format::interval(expected.output.feed_pressure_bar, expected.uncertainty.feed_pressure_bar).1;
    if !marks.contains(&Mark::Pressure) && parts.pressure_limit_bar().is_some_and(|(bar, _)| bar < highest) {
        marks.push(Mark::PressureNear);
    }
    let limit = parts.limits.product_conductivity_us_cm;
    if limit.is_some_and(|limit| limit < expected.output.product_conductivity_us_cm_25c) {
        marks.push(Mark::Salinity);
    }
    marks.sort_unstable();
    marks.dedup();
    marks
}

fn legend(cells: &[Vec<Result<Expected, String>>], parts: &Parts, _: Units) -> Vec<String> {
    let mut seen: Vec<Mark> =
        cells.iter().flatten().flatten().flat_map(|expected| marks(expected, parts)).collect();
    seen.sort_unstable();
    seen.dedup();
    let mut legend: Vec<String> =
        seen.iter().map(|mark| format!("{}: {}", mark.letter(), mark.text())).collect();
    let mut whys: Vec<&String> = cells.iter().flatten().filter_map(|cell| cell.as_ref().err()).collect();
    whys.sort_unstable();
    whys.dedup();
    legend.extend(whys.first().map(|why| format!("–: not computed: {why}")));
    legend
}

/// The limits of the settings; one that is missing is named so.
fn limits(parts: &Parts, units: Units) -> Vec<(String, String)> {
    let ((flow, flow_unit), (pressure, pressure_unit)) = (units.flow(), units.pressure());
    let least = |of: fn(&barrico_model::parts::ElementLimits) -> Option<f64>| {
        parts.elements.iter().filter_map(|element| of(&element.limits)).reduce(f64::min)
    };
    let or_missing = |text: Option<String>| text.unwrap_or_else(|| "not entered".to_owned());
    vec![
        (
            "Highest feed pressure".to_owned(),
            or_missing(
                parts
                    .pressure_limit_bar()
                    .map(|(bar, part)| format!("{:.0} {pressure_unit} ({part})", pressure * bar)),
            ),
        ),
        (
            "Highest temperature".to_owned(),
            or_missing(least(|l| l.maximum_temperature_c).map(|c| units.temperature(c))),
        ),
        (
            "Most product of one element".to_owned(),
            or_missing(
                least(|l| l.maximum_product_flow_l_h).map(|l_h| format!("{:.0} {flow_unit}", flow * l_h)),
            ),
        ),
        (
            "Most feed of one element".to_owned(),
            or_missing(
                least(|l| l.maximum_feed_flow_l_h).map(|l_h| format!("{:.0} {flow_unit}", flow * l_h)),
            ),
        ),
        (
            "Owner's limit for the product".to_owned(),
            or_missing(parts.limits.product_conductivity_us_cm.map(|us_cm| format!("{us_cm:.0} µS/cm"))),
        ),
    ]
}

impl crate::publish::sheet::card::Letter for Mark {
    fn letter(&self) -> &'static str {
        (*self).letter()
    }
}

/// The card on a terminal.
fn text(card: &Card) -> String {
    let mut text = format!("{}: {}\n", card.frame.title, card.frame.whose);
    for grid in &card.grids {
        text.push_str(&format!("\n{}\n", grid.caption));
        let mut rows =
            vec![std::iter::once(String::new()).chain(card.heads.iter().cloned()).collect::<Vec<_>>()];
        for (head, cells) in &grid.rows {
            rows.push(std::iter::once(head.clone()).chain(cells.iter().map(|cell| cell.line())).collect());
        }
        text.push_str(&table(&rows));
    }
    text.push('\n');
    text.push_str(&list(&card.legend.iter().map(String::as_str).collect::<Vec<_>>()));
    for remark in &card.remarks {
        text.push_str(&paragraph("", remark));
    }
    text.push_str("\nLimits entered\n");
    for (name, limit) in &card.limits {
        text.push_str(&paragraph(&format!("  {name}: "), limit));
    }
    text.push_str("\nCaution\n");
    text.push_str(&list(&crate::publish::sheet::card::CAUTIONS));
    text
}

#[cfg(test)]
#[path = "tests/expect_table.rs"]
mod tests;
