//! The figures of a working point as JSON and as a table.
//!
//! One list of keys for all commands that show such figures. Uncertainty is one standard deviation in JSON; people see half of a 95 %
//! interval. A figure that is not there is `null`, with its reason under the same key.

use super::print::table;
use crate::publish::format;
use crate::publish::units::Units;
use crate::publish::words::sentence;
use barrico_model::plant::{ElementFigures, Expected, Figures};
use serde_json::{Map, Value, json};

/// Key, words, unit for people, factor from the key's unit, and where the figure is.
type Row = (&'static str, &'static str, &'static str, f64, fn(&Figures) -> Option<f64>);

const ROWS: [Row; 16] = [
    ("product_flow_l_h", "product flow", "L/h", 1.0, |f| Some(f.product_flow_l_h)),
    ("product_conductivity_us_cm_25c", "product conductivity at 25 °C", "µS/cm", 1.0, |f| {
        Some(f.product_conductivity_us_cm_25c)
    }),
    ("product_tds_mg_l", "product salinity", "mg/L", 1.0, |f| Some(f.product_tds_mg_l)),
    ("recovery", "recovery (product of feed)", "%", 100.0, |f| Some(f.recovery)),
    ("feed_flow_l_h", "feed flow", "L/h", 1.0, |f| Some(f.feed_flow_l_h)),
    ("feed_pressure_bar_gauge", "feed pressure", "bar", 1.0, |f| Some(f.feed_pressure_bar)),
    ("concentrate_pressure_bar_gauge", "concentrate pressure", "bar", 1.0, |f| {
        Some(f.concentrate_pressure_bar)
    }),
    ("differential_pressure_bar", "pressure lost along the elements", "bar", 1.0, |f| {
        Some(f.differential_pressure_bar)
    }),
    ("concentrate_flow_l_h", "concentrate flow", "L/h", 1.0, |f| Some(f.concentrate_flow_l_h)),
    ("concentrate_salinity_g_kg", "concentrate salinity", "g/kg", 1.0, |f| Some(f.concentrate_salinity_g_kg)),
    ("shaft_power_w", "power at the pump's shaft", "W", 1.0, |f| Some(f.shaft_power_w)),
    ("supply_power_w", "power at the motor", "W", 1.0, |f| f.supply_power_w),
    ("supply_current_a", "current of the motor", "A", 1.0, |f| f.supply_current_a),
    ("start_current_a", "current at the start", "A", 1.0, |f| f.start_current_a),
    ("low_side_pressure_bar_gauge", "pressure on the low side of the pump", "bar", 1.0, |f| {
        f.low_side_pressure_bar
    }),
    ("specific_energy_wh_l", "energy for a litre", "Wh/L", 1.0, |f| f.specific_energy_wh_l),
];

type ElementRow = (&'static str, fn(&ElementFigures) -> f64);

const ELEMENT_ROWS: [ElementRow; 10] = [
    ("product_flow_l_h", |e| e.product_flow_l_h),
    ("product_tds_mg_l", |e| e.product_tds_mg_l),
    ("product_conductivity_us_cm_25c", |e| e.product_conductivity_us_cm_25c),
    ("recovery", |e| e.recovery),
    ("feed_flow_l_h", |e| e.feed_flow_l_h),
    ("feed_pressure_bar_gauge", |e| e.feed_pressure_bar),
    ("concentrate_flow_l_h", |e| e.concentrate_flow_l_h),
    ("concentrate_salinity_g_kg", |e| e.concentrate_salinity_g_kg),
    ("flux_l_m2_h", |e| e.flux_l_m2_h),
    ("polarisation_factor", |e| e.polarisation_factor),
];

/// The figures as a JSON object, with `elements`, `specific_energy_boundary`, `uncertainty`, `reasons` and `notes`.
pub(super) fn json(expected: &Expected) -> Map<String, Value> {
    let (mut all, mut uncertainty, mut reasons) = (Map::new(), Map::new(), Map::new());
    for (key, .., of) in ROWS {
        let value = of(&expected.output).and_then(rounded);
        let deviation = value.is_some().then(|| of(&expected.uncertainty).and_then(rounded)).flatten();
        if value.is_none() {
            let why = expected.missing.iter().find(|(missing, _)| *missing == key);
            let why = why.map_or_else(|| "not computed".to_string(), |(_, why)| why.to_string());
            reasons.insert(key.to_string(), json!(why));
        }
        all.insert(key.to_string(), json!(value));
        uncertainty.insert(key.to_string(), json!(deviation));
    }
    all.insert("specific_energy_boundary".to_string(), json!(expected.energy_boundary.name()));
    all.insert("feed_osmotic_pressure_bar".to_string(), json!(rounded(expected.feed_osmotic_pressure_bar)));
    let element = |element: &ElementFigures| {
        ELEMENT_ROWS
            .iter()
            .map(|(key, of)| ((*key).to_string(), json!(rounded(of(element)))))
            .collect::<Map<_, _>>()
    };
    let elements: Vec<Value> = expected
        .output
        .elements
        .iter()
        .zip(&expected.uncertainty.elements)
        .enumerate()
        .map(|(at, (figures, deviations))| {
            let mut object = element(figures);
            object.insert("position".to_string(), json!(at + 1));
            object.insert("uncertainty".to_string(), Value::Object(element(deviations)));
            Value::Object(object)
        })
        .collect();
    all.insert("elements".to_string(), json!(elements));
    all.insert("uncertainty".to_string(), Value::Object(uncertainty));
    all.insert("reasons".to_string(), Value::Object(reasons));
    let notes: Vec<Value> =
        expected.notes.iter().map(|note| json!({ "code": note.code(), "text": note.text() })).collect();
    all.insert("notes".to_string(), json!(notes));
    all
}

/// Six significant digits: far below any uncertainty here, and without the tail of binary numbers. `None` for what is no number.
pub(super) fn rounded(value: f64) -> Option<f64> {
    if !value.is_finite() {
        return None;
    }
    format!("{value:.5e}").parse().ok()
}

/// The figures as lines of a table, each with half of its 95 % interval.
pub(super) fn text(expected: &Expected, units: Units) -> String {
    let mut rows = Vec::new();
    for (key, words, unit, factor, of) in ROWS {
        let (more, unit) = match unit {
            "L/h" => units.flow(),
            "bar" => units.pressure(),
            "Wh/L" => units.per_volume(),
            other => (1.0, other),
        };
        let factor = factor * more;
        match (of(&expected.output), of(&expected.uncertainty)) {
            (Some(value), Some(deviation)) => rows.push(vec![
                sentence(words),
                format!("{} {unit}", format::with_half(factor * value, factor * deviation)),
            ]),
            // Most pumps have no low side: a line about it would be noise.
            _ if key == "low_side_pressure_bar_gauge" => {}
            _ => {
                let why = expected.missing.iter().find(|(missing, _)| *missing == key);
                let why = why.map_or_else(String::new, |(_, why)| format!(": {why}"));
                rows.push(vec![sentence(words), format!("not known{why}")]);
            }
        }
    }
    let mut text = left_table(&rows);
    text.push_str(&format!("\nEnergy is counted for the {}.\n", expected.energy_boundary.name()));
    if 1 < expected.output.elements.len() {
        text.push('\n');
        text.push_str(&elements(expected, units));
    }
    text
}

/// Names to the left, values behind them.
pub(super) fn left_table(rows: &[Vec<String>]) -> String {
    let width = rows.iter().filter_map(|row| row.first()).map(|cell| cell.chars().count()).max().unwrap_or(0);
    let line = |row: &Vec<String>| {
        let pad = " ".repeat(width - row[0].chars().count());
        format!("  {}{pad}  {}\n", row[0], row[1..].join("  "))
    };
    rows.iter().map(line).collect()
}

fn elements(expected: &Expected, units: Units) -> String {
    let ((flow, flow_unit), (pressure, pressure_unit)) = (units.flow(), units.pressure());
    let heads = ["Element", "product", "µS/cm", "recovery", "feed", "at inlet"];
    let mut rows = vec![heads.iter().map(|head| (*head).to_string()).collect::<Vec<_>>()];
    for (at, (figures, deviations)) in
        expected.output.elements.iter().zip(&expected.uncertainty.elements).enumerate()
    {
        let cell = |value: f64, sd: f64, unit: &str| format!("{}{unit}", format::with_half(value, sd));
        rows.push(vec![
            format!("{}", at + 1),
            cell(
                flow * figures.product_flow_l_h,
                flow * deviations.product_flow_l_h,
                &format!(" {flow_unit}"),
            ),
            cell(figures.product_conductivity_us_cm_25c, deviations.product_conductivity_us_cm_25c, ""),
            cell(100.0 * figures.recovery, 100.0 * deviations.recovery, " %"),
            format!("{:.0} {flow_unit}", flow * figures.feed_flow_l_h),
            format!("{:.1} {pressure_unit}", pressure * figures.feed_pressure_bar),
        ]);
    }
    table(&rows)
}
