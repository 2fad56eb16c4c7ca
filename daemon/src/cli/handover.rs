//! `expect --handover`: one page for a charter or delivery crew.
//!
//! Usual values are medians and ranges of the last runs of the history, with the water they belong to; without enough runs they are computed for three seas, and the sheet says so. What
//! is not entered in the settings is named as such or left as a blank to fill in.

use super::expect_table::{Asked, Options, at_its_mark};
use super::ground::{Ground, history, usual_salinity};
use super::print::{list, paragraph, print, print_json, table, write_document};
use crate::publish::sheet::handover::{BLANKS, CAUTIONS, HERE, Handover, Row, lines};
use crate::publish::sheet::{Frame, whose};
use crate::publish::units::Units;
use crate::publish::{format, json, words};
use crate::settings::UnitSettings;
use barrico_model::plant::{Condition, Estimate, Expected, expect};
use barrico_model::records::{EventKind, LogBody, LogEntry, RunEnd, RunRecord};
use barrico_model::{Quantity, WallMs};
use serde_json::{Value, json};

/// Runs that tell what is usual: a season's worth for a cruising boat, and not so many that an old state hides a new one. Our choice.
const RUNS: usize = 20;
/// Fewer tell nothing of what is usual. Our choice.
const RUNS_MIN: usize = 3;
/// Latest entries of the log that are looked at for the tank.
const ENTRIES_MAX: usize = 500;
/// Seas for which values are computed where there are no runs, °C: cold, temperate, tropical.
const SEAS_C: [f64; 3] = [10.0, 20.0, 30.0];

/// What a crew reads on the unit.
const SHOWN: [Quantity; 12] = [
    Quantity::FeedPressure,
    Quantity::ConcentratePressure,
    Quantity::ProductFlow,
    Quantity::ProductConductivity,
    Quantity::SupplyCurrent,
    Quantity::ConcentrateFlow,
    Quantity::InletPressure,
    Quantity::PrefilterInletPressure,
    Quantity::PrefilterDifferentialPressure,
    Quantity::LowSidePressure,
    Quantity::FeedTemperature,
    Quantity::FeedSalinity,
];

/// Median and range of one quantity over the runs that have it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Usual {
    quantity: Quantity,
    median: f64,
    low: f64,
    high: f64,
    runs: usize,
}

/// Prints the sheet and writes its document. `from_parts_list`: the runs are not looked at, the log of the tank is.
pub(super) fn main(
    asked: &Asked<'_>,
    ground: &Ground,
    from_parts_list: bool,
    options: &Options,
    as_json: bool,
) -> anyhow::Result<()> {
    let id = &asked.unit.id;
    let (runs, log) = match history(asked.settings)? {
        Some(history) => (history.runs(id, RUNS)?, history.log(id, ENTRIES_MAX)?),
        None => (vec![], vec![]),
    };
    let usual = if from_parts_list { vec![] } else { usual(&runs) };
    let made = Some(crate::service::clock::system_date());
    let why = if from_parts_list {
        "Not read aboard, as asked.".to_owned()
    } else {
        format!("Not read aboard: the history has fewer than {RUNS_MIN} runs.")
    };
    let sheet = sheet(asked, ground, &why, &usual, &log, options.units(), made);
    if let Some(file) = options.html() {
        write_document(file, &sheet)?;
    }
    if as_json { print_json(&answer(asked.unit, &usual, &sheet)) } else { print(&text(&sheet)) }
}

/// What the last runs show; empty if they are too few.
fn usual(runs: &[RunRecord]) -> Vec<Usual> {
    let closed: Vec<&RunRecord> = runs
        .iter()
        .filter(|run| run.end != RunEnd::Open && run.mean(Quantity::ProductFlow).is_some())
        .collect();
    if closed.len() < RUNS_MIN {
        return vec![];
    }
    SHOWN
        .iter()
        .filter_map(|&quantity| {
            let mut values: Vec<f64> =
                closed.iter().filter_map(|run| run.mean(quantity)).map(|mean| mean.value).collect();
            values.sort_by(f64::total_cmp);
            let middle = values.len() / 2;
            let median = match (values.get(middle), values.len() % 2) {
                (Some(upper), 0) => 0.5 * (values[middle - 1] + upper),
                (Some(only), _) => *only,
                (None, _) => return None,
            };
            Some(Usual {
                quantity,
                median,
                low: values[0],
                high: values[values.len() - 1],
                runs: values.len(),
            })
        })
        .collect()
}

fn number(value: f64, quantity: Quantity, units: Units) -> String {
    let value = units.of(quantity, value);
    let digits = match quantity {
        Quantity::ProductConductivity => 0,
        // A psi is a fifteenth of a bar.
        Quantity::PrefilterDifferentialPressure
        | Quantity::InletPressure
        | Quantity::PrefilterInletPressure
            if units == Units::Us =>
        {
            1
        }
        Quantity::PrefilterDifferentialPressure
        | Quantity::InletPressure
        | Quantity::PrefilterInletPressure => 2,
        Quantity::ProductFlow | Quantity::ConcentrateFlow if units == Units::Us && value < 100.0 => 1,
        _ if value.abs() < 10.0 => 1,
        _ if value.abs() < 100.0 => usize::from(matches!(
            quantity,
            Quantity::FeedTemperature | Quantity::FeedSalinity | Quantity::SupplyCurrent
        )),
        _ => 0,
    };
    format::number(value, digits)
}

fn label(quantity: Quantity, units: Units) -> String {
    let unit = match quantity {
        Quantity::ProductConductivity => "µS/cm at 25 °C",
        _ => units.name(quantity),
    };
    format!("{}, {unit}", words::sentence(quantity.label()))
}

fn sheet(
    asked: &Asked<'_>,
    ground: &Ground,
    why: &str,
    usual: &[Usual],
    log: &[LogEntry],
    units: Units,
    made: Option<WallMs>,
) -> Handover {
    let (heads, rows, ground) =
        if usual.is_empty() { computed(asked, ground, why, units) } else { from_runs(usual, units) };
    let about = "For a crew that has the boat for a while. It does not replace the manual of the unit.";
    let mut here: Vec<String> = HERE.iter().map(|text| (*text).to_owned()).collect();
    here.push(tank(log));
    let whose = whose(&asked.settings.boat.name, &asked.unit.name);
    Handover {
        frame: Frame::new("Handover sheet", &whose, about, made),
        values: if usual.is_empty() { "What to expect, computed" } else { "Usual values of this boat" },
        ground,
        heads,
        rows,
        rules: rules(asked.unit, units),
        here,
    }
}

fn span(one: &Usual, units: Units) -> String {
    let (low, high) = (number(one.low, one.quantity, units), number(one.high, one.quantity, units));
    if low == high { low } else { format!("{low}–{high}") }
}

fn from_runs(usual: &[Usual], units: Units) -> (Vec<String>, Vec<Row>, String) {
    let row = |one: &Usual| Row {
        label: label(one.quantity, units),
        cells: vec![number(one.median, one.quantity, units), span(one, units)],
    };
    let most = usual.iter().map(|one| one.runs).max().unwrap_or(0);
    let water = usual.iter().any(|one| one.quantity == Quantity::FeedTemperature);
    let water = if water {
        "They belong to the water in the last rows: colder or saltier water gives less product, or asks for more pressure; warmer water gives saltier product."
    } else {
        "The water they belong to was not measured: colder or saltier water gives less product, or asks for more pressure."
    };
    let heads = vec!["usual (median)".to_owned(), "lowest to highest".to_owned()];
    (heads, usual.iter().map(row).collect(), format!("From the last {most} runs. {water}"))
}

/// Computed for three seas, or for the one that was given.
fn computed(asked: &Asked<'_>, ground: &Ground, why: &str, units: Units) -> (Vec<String>, Vec<Row>, String) {
    let given = asked.given;
    let (salinity, whose) = match given.feed_salinity_g_kg {
        Some(given) => (given, "as given"),
        None => usual_salinity(asked.unit),
    };
    let seas: Vec<f64> = given.feed_temperature_c.map_or(SEAS_C.to_vec(), |given| vec![given.value]);
    let made: Vec<Result<Expected, String>> = seas
        .iter()
        .map(|celsius| {
            let condition = Condition {
                feed_temperature_c: Some(Estimate::exact(*celsius)),
                feed_salinity_g_kg: Some(salinity),
                ..at_its_mark(&ground.parts, given)
            };
            expect(&ground.parts, &condition, &ground.calibration).map_err(|why| why.to_string())
        })
        .collect();
    type Of = fn(&Expected) -> Option<(f64, f64)>;
    const ROWS: [(Quantity, Of); 5] = [
        (Quantity::FeedPressure, |e| Some((e.output.feed_pressure_bar, e.uncertainty.feed_pressure_bar))),
        (Quantity::ProductFlow, |e| Some((e.output.product_flow_l_h, e.uncertainty.product_flow_l_h))),
        (Quantity::ProductConductivity, |e| {
            Some((e.output.product_conductivity_us_cm_25c, e.uncertainty.product_conductivity_us_cm_25c))
        }),
        (Quantity::SupplyCurrent, |e| e.output.supply_current_a.zip(e.uncertainty.supply_current_a)),
        (Quantity::LowSidePressure, |e| {
            e.output.low_side_pressure_bar.zip(e.uncertainty.low_side_pressure_bar)
        }),
    ];
    // A belt has no current and a plunger pump no low side: a line without any figure would be noise.
    let known = |of: &Of| made.iter().flatten().next().is_none_or(|expected| of(expected).is_some());
    let rows = ROWS.iter().filter(|(_, of)| known(of)).map(|(quantity, of)| Row {
        label: label(*quantity, units),
        cells: made
            .iter()
            .map(|expected| match expected.as_ref().ok().and_then(of) {
                Some((value, sd)) => {
                    format::range(units.of(*quantity, value), units.step(*quantity) * sd).replace(" to ", "–")
                }
                None => "not known".to_owned(),
            })
            .collect(),
    });
    let missing = made.iter().find_map(|expected| expected.as_ref().err());
    let not = missing.map_or_else(String::new, |why| format!(" Not known: {why}."));
    let says = format!(
        "{why} Ranges of 95 % at {:.0} g/kg, {whose}. {} Write readings down: then this sheet shows what is usual here.{not}",
        salinity.value, ground.says
    );
    let heads = seas.iter().map(|celsius| format!("sea of {}", units.temperature(*celsius))).collect();
    (heads, rows.collect(), says)
}

/// Is the tank known to be free of chlorine? The log's last word on it.
fn tank(log: &[LogEntry]) -> String {
    let told = |entry: &&LogEntry| {
        !entry.voided
            && matches!(entry.body, LogBody::Event(EventKind::TankChlorinated | EventKind::TankRinsed))
    };
    match log.iter().rfind(told) {
        Some(LogEntry { body: LogBody::Event(EventKind::TankChlorinated), at, .. }) => {
            let when = at.wall_ms.map_or("at an unknown date".to_owned(), |at| format::date_time(at, None));
            format!("THE TANK WAS CHLORINATED ({when}) and no rinse is written down: no flush from it, by hand or by the unit itself, until it is rinsed.")
        }
        _ => "Tank chlorinated? No flush from it until it is rinsed; nor with dock water: chlorine ruins the membrane.".to_owned(),
    }
}

fn rules(unit: &UnitSettings, units: Units) -> Vec<(String, String)> {
    let (pressure_factor, pressure_unit) = units.pressure();
    let limits = &unit.parts.limits;
    let missing = || "not entered: ask the owner".to_owned();
    let days = |days: f64| format!("{} days", format::number(days, usize::from(days.fract() != 0.0)));
    let flush = match (limits.flush_interval_cool_days, limits.flush_interval_warm_days) {
        (Some(cool), Some(warm)) => {
            format!(
                "after use, by the manual, and at least every {} (sea below {}: {})",
                days(warm),
                units.temperature(20.0),
                days(cool)
            )
        }
        (Some(only), None) | (None, Some(only)) => {
            format!("after use, by the manual, and at least every {}", days(only))
        }
        (None, None) => missing(),
    };
    let product = limits.product_conductivity_us_cm.map_or_else(missing, |us_cm| {
        format!("{us_cm:.0} µS/cm at 25 °C. Above it: not into the tank. The first minutes after each start are saltier")
    });
    let pressure = unit.parts.pressure_limit_bar().map_or_else(missing, |(bar, _)| {
        format!("{:.0} {pressure_unit}, never above", pressure_factor * bar)
    });
    let filters: Vec<String> = unit
        .parts
        .prefilters
        .iter()
        .map(|filter| {
            let at = filter.change_at_bar.map_or("not entered".to_owned(), |bar| {
                format!("{:.1} {pressure_unit}", pressure_factor * bar)
            });
            format!("{:.0} µm: {at}", filter.rating_um)
        })
        .collect();
    let mut rules = vec![
        ("Flush".to_owned(), flush),
        ("Product limit".to_owned(), product),
        ("Pressure limit".to_owned(), pressure),
    ];
    if let Some(bar) = limits.maximum_low_side_pressure_bar {
        let text =
            format!("{:.0} {pressure_unit} between feed pump and high-pressure pump", pressure_factor * bar);
        rules.push(("Low-side limit".to_owned(), text));
    }
    if !filters.is_empty() {
        rules.push(("Change filter at a drop of".to_owned(), filters.join("; ")));
    }
    rules
}

fn answer(unit: &UnitSettings, usual: &[Usual], sheet: &Handover) -> Value {
    let values = usual.iter().map(|one| {
        let key = one.quantity.json_key();
        json!({ "key": key, "median": one.median, "lowest": one.low, "highest": one.high, "runs": one.runs })
    });
    json!({
        "schema": "barrico-handover",
        "schema_version": json::SCHEMA_VERSION,
        "unit": unit.id,
        "from": if usual.is_empty() { "computed" } else { "runs" },
        "usual": values.collect::<Vec<_>>(),
        "heads": sheet.heads,
        "rows": sheet.rows.iter().map(|row| json!({ "label": row.label, "cells": row.cells })).collect::<Vec<_>>(),
        "ground": sheet.ground,
        "rules": sheet.rules.iter().map(|(label, text)| json!({ "label": label, "text": text })).collect::<Vec<_>>(),
        "here": sheet.here,
        "findings": lines().iter().map(|line| json!({ "title": line.title, "do": line.act, "do_not": line.act_not })).collect::<Vec<_>>(),
        "cautions": CAUTIONS,
    })
}

fn text(sheet: &Handover) -> String {
    let mut text = format!("{}: {}\n{}\n\n", sheet.frame.title, sheet.frame.whose, sheet.frame.about);
    for blank in BLANKS {
        text.push_str(&format!("  {blank}: ______________________________\n"));
    }
    text.push_str("  Start and stop: only in the order that the unit's manual gives.\n\n");
    text.push_str(&format!("{}\n", sheet.values));
    let mut rows =
        vec![std::iter::once(String::new()).chain(sheet.heads.iter().cloned()).collect::<Vec<_>>()];
    rows.extend(
        sheet
            .rows
            .iter()
            .map(|row| std::iter::once(row.label.clone()).chain(row.cells.iter().cloned()).collect()),
    );
    text.push_str(&table(&rows));
    text.push_str(&paragraph("  ", &sheet.ground));
    text.push_str("\nMay I run it here?\n");
    text.push_str(&list(&sheet.here.iter().map(String::as_str).collect::<Vec<_>>()));
    text.push_str("\nRules of this boat\n");
    for (label, rule) in &sheet.rules {
        text.push_str(&paragraph(&format!("  {label}: "), rule));
    }
    text.push_str("\nWhen it says this\n");
    for line in lines() {
        text.push_str(&paragraph("  - ", &format!("{}.", line.title)));
        text.push_str(&paragraph("      do: ", line.act));
        text.push_str(&paragraph("      ", line.act_not));
    }
    text.push_str("\nCaution\n");
    text.push_str(&list(&CAUTIONS));
    text
}

#[cfg(test)]
#[path = "tests/handover.rs"]
mod tests;
