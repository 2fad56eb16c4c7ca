//! What the unit achieves beside what this water allows, as JSON and as a table.
//!
//! Keys are those of `expect`: at the top level as achieved, under `expected` by the model, under `standardised` and `against_baseline` as
//! compared with the baseline. The figures of the comparison are the engine's; here they are only written down.

use super::figures::{self, left_table, rounded};
use crate::case::Judged;
use crate::engine::view::{ReadingStatus, UnitView};
use crate::publish::format;
use crate::publish::words::sentence;
use barrico_model::judgement::{NotIdentified, OPEN_SEA_G_KG};
use barrico_model::performance::standardised::{FORM, Standardised, of_run};
use barrico_model::plant::Expected;
use barrico_model::{Quantity, math};
use serde_json::{Map, Value, json};

/// A value with its standard deviation.
type Figure = (f64, f64);

/// Numbers under their keys, with deviations and reasons.
#[derive(Default)]
struct Keyed {
    values: Map<String, Value>,
    uncertainty: Map<String, Value>,
    reasons: Map<String, Value>,
}

impl Keyed {
    fn put(&mut self, key: &str, figure: Result<Figure, String>) {
        let (value, deviation) = match figure {
            Ok((value, deviation)) => (rounded(value), rounded(deviation)),
            Err(why) => {
                self.reasons.insert(key.to_string(), json!(why));
                (None, None)
            }
        };
        self.values.insert(key.to_string(), json!(value));
        self.uncertainty.insert(key.to_string(), json!(deviation));
    }

    fn into_map(self) -> Map<String, Value> {
        let mut all = self.values;
        all.insert("uncertainty".to_string(), Value::Object(self.uncertainty));
        all.insert("reasons".to_string(), Value::Object(self.reasons));
        all
    }
}

/// The whole object `performance`.
pub(super) fn json(judged: &Judged) -> Value {
    let mut keyed = Keyed::default();
    for (key, figure) in achieved(&judged.unit) {
        keyed.put(key, figure);
    }
    let mut all = keyed.into_map();
    let expected = judged.engine.expectation(judged.index);
    let from = if judged.unit.baseline.is_some() { "baseline" } else { "specification" };
    all.insert("expected_from".to_string(), json!(from));
    let figures = expected.as_ref().map_or(Value::Null, |expected| Value::Object(figures::json(expected)));
    all.insert("expected".to_string(), figures);
    if let (Err(why), Some(Value::Object(reasons))) = (&expected, all.get_mut("reasons")) {
        reasons.insert("expected".to_string(), json!(why.join("; ")));
    }
    all.insert("standardised".to_string(), standardised_json(judged));
    all.insert("against_baseline".to_string(), against_baseline(judged));
    all.insert("leak_and_diffusion".to_string(), leak(judged));
    all.insert("not_identified".to_string(), not_identified(judged));
    Value::Object(all)
}

fn fresh(unit: &UnitView, quantity: Quantity) -> Option<Figure> {
    let reading = unit.readings.iter().find(|reading| reading.quantity == quantity)?;
    let value = reading.value.filter(|_| reading.status == ReadingStatus::Fresh)?;
    Some((value, reading.sd))
}

/// What was read, and what follows from it by addition and division alone.
fn achieved(unit: &UnitView) -> Vec<(&'static str, Result<Figure, String>)> {
    let read = |quantity: Quantity| {
        fresh(unit, quantity).ok_or_else(|| format!("{} was not measured", quantity.label()))
    };
    let product = read(Quantity::ProductFlow);
    let sum = |a: Figure, b: Figure, sign: f64| (a.0 + sign * b.0, (a.1 * a.1 + b.1 * b.1).sqrt());
    let feed = read(Quantity::FeedFlow).or_else(|why| match (&product, read(Quantity::ConcentrateFlow)) {
        (Ok(product), Ok(concentrate)) => Ok(sum(*product, concentrate, 1.0)),
        _ => Err(format!("{why}, nor was concentrate flow: a timed jug on the concentrate would do")),
    });
    let concentrate = read(Quantity::ConcentrateFlow).or_else(|why| match (&product, &feed) {
        (Ok(product), Ok(feed)) if product.0 < feed.0 => Ok(sum(*feed, *product, -1.0)),
        _ => Err(why),
    });
    let share = |top: &Result<Figure, String>, bottom: &Result<Figure, String>| match (top, bottom) {
        (Ok(top), Ok(bottom)) if 0.0 < bottom.0 => {
            let ratio = top.0 / bottom.0;
            let relative =
                (square(top.1 / top.0.max(f64::MIN_POSITIVE)) + square(bottom.1 / bottom.0)).sqrt();
            Ok((ratio, ratio * relative))
        }
        (Err(why), _) | (_, Err(why)) => Err(why.clone()),
        _ => Err("no flow".to_string()),
    };
    let drop = read(Quantity::DifferentialPressure).or_else(|why| {
        match (read(Quantity::FeedPressure), read(Quantity::ConcentratePressure)) {
            (Ok(inlet), Ok(outlet)) => Ok(sum(inlet, outlet, -1.0)),
            _ => Err(why),
        }
    });
    let power = read(Quantity::SupplyPower);
    vec![
        ("recovery", share(&product, &feed)),
        ("specific_energy_wh_l", share(&power, &product)),
        ("product_flow_l_h", product),
        ("product_conductivity_us_cm_25c", read(Quantity::ProductConductivity)),
        ("product_tds_mg_l", read(Quantity::ProductSalinity)),
        ("feed_flow_l_h", feed),
        ("feed_pressure_bar_gauge", read(Quantity::FeedPressure)),
        ("concentrate_pressure_bar_gauge", read(Quantity::ConcentratePressure)),
        ("differential_pressure_bar", drop),
        ("concentrate_flow_l_h", concentrate),
        ("concentrate_salinity_g_kg", read(Quantity::ConcentrateSalinity)),
        ("shaft_power_w", Err("power at the shaft is not measured aboard".to_string())),
        ("supply_power_w", power),
        ("supply_current_a", read(Quantity::SupplyCurrent)),
    ]
}

fn square(x: f64) -> f64 {
    x * x
}

/// Ratios to the baseline, by the engine's comparison of the latest runs.
fn against_baseline(judged: &Judged) -> Value {
    const NO_FLOW: &str = "neither feed nor concentrate flow was measured: pump and membrane look the same";
    let Some(comparison) = judged.engine.comparison(judged.index) else {
        let why = if judged.unit.baseline.is_some() { "see not_computable" } else { "there is no baseline" };
        return json!({ "reason": why });
    };
    let ratio = |ln: f64, sd: f64| (math::exp(ln), math::exp(ln) * sd);
    let of = |estimate: barrico_model::judgement::Estimate| ratio(estimate.value, estimate.sd);
    let with_flow =
        |figure: Figure| if comparison.flow_measured { Ok(figure) } else { Err(NO_FLOW.to_string()) };
    let mut keyed = Keyed::default();
    keyed.put("product_flow_at_reference_ratio", with_flow(of(comparison.ln_output)));
    keyed.put("product_flow_in_this_water_ratio", Ok(of(comparison.ln_against_model)));
    keyed.put("a25_ratio", with_flow(of(comparison.ln_a)));
    let salt = if comparison.salt_measured {
        Ok(of(comparison.ln_b))
    } else {
        Err("product salinity was not measured, now or at the baseline".to_string())
    };
    keyed.put("b25_ratio", salt);
    let delivery = comparison.ln_delivery.map(of).ok_or_else(|| NO_FLOW.to_string());
    keyed.put("pump_delivery_ratio", delivery);
    let or_needs = |estimate: Option<barrico_model::judgement::Estimate>, what: &str| {
        let missing = comparison.not_identified.iter().find(|missing| missing.what.contains(what));
        estimate.map(of).ok_or_else(|| match missing {
            Some(missing) => format!("to know it: {}", missing.needs),
            None => "not read in the same way at the baseline".to_string(),
        })
    };
    keyed.put("motor_constant_ratio", or_needs(comparison.ln_motor_constant, "motor"));
    let vessel = or_needs(comparison.ln_differential_pressure, "differential pressure");
    keyed.put("differential_pressure_at_baseline_flow_ratio", vessel);
    Value::Object(keyed.into_map())
}

/// Salt permeability and leak over the latest sets; or what would tell them apart.
fn leak(judged: &Judged) -> Value {
    match judged.engine.leak(judged.index) {
        Ok(split) => json!({
            "b25_m_s": rounded(split.b25_m_s.value),
            "leak_share": rounded(split.leak.value),
            "uncertainty": { "b25_m_s": rounded(split.b25_m_s.sd), "leak_share": rounded(split.leak.sd) },
            "covariance_m_s": split.covariance_m_s,
            "sets": split.sets,
        }),
        Err(missing) => json!({
            "b25_m_s": null,
            "leak_share": null,
            "reasons": { "leak_share": cannot_tell(&missing), "b25_m_s": cannot_tell(&missing) },
        }),
    }
}

fn cannot_tell(missing: &NotIdentified) -> String {
    format!("cannot tell {}: take {}", missing.what.replace(" apart", ""), missing.needs)
}

/// What these readings leave open, each with the reading that would tell it.
fn not_identified(judged: &Judged) -> Value {
    let open = judged.engine.comparison(judged.index).map_or(&[][..], |c| c.not_identified.as_slice());
    let rows = open.iter().map(
        |missing| json!({ "what": missing.what, "needs": missing.needs, "quantity": missing.quantity.name() }),
    );
    Value::Array(rows.collect())
}

fn standardised_json(judged: &Judged) -> Value {
    match standardised(judged) {
        Ok((result, assumed)) => json!({
            "product_flow_l_h": rounded(result.product_flow_l_h),
            "product_flow_ratio": rounded(result.flow_ratio),
            "salt_passage": rounded(result.salt_passage),
            "salt_passage_ratio": rounded(result.salt_passage_ratio),
            "net_driving_pressure_bar": rounded(result.actual.net_driving_pressure_bar),
            "assumed": assumed,
            "form": FORM,
            "brought_to": "the baseline's water and pressure",
        }),
        Err(why) => {
            json!({ "product_flow_l_h": null, "salt_passage": null, "reasons": { "product_flow_l_h": why, "salt_passage": why } })
        }
    }
}

/// The latest run brought to the conditions of the baseline, and what was assumed for it.
fn standardised(judged: &Judged) -> Result<(Standardised, Vec<&'static str>), String> {
    let baseline = judged.unit.baseline.as_ref().ok_or("there is no baseline to bring it to")?;
    let run = judged.unit.runs.last().ok_or("there is no run with steady readings")?;
    if baseline.runs.contains(&run.run.id) {
        return Err("there is no run after the baseline".to_string());
    }
    let usual = judged.usual_feed_salinity.unwrap_or(OPEN_SEA_G_KG).0;
    of_run(&run.run.means, &baseline.means, usual).map_err(|why| why.to_string())
}

/// The same as lines, marked as what it is.
fn standardised_text(judged: &Judged) -> String {
    if judged.unit.baseline.is_none() {
        return String::new();
    }
    let body = match standardised(judged) {
        Err(why) => super::print::paragraph("  ", &format!("Not computed: {why}.")),
        Ok((values, assumed)) => {
            let percent = |ratio: f64| format!("{:.0} % of the baseline's", 100.0 * ratio);
            let rows = [
                (
                    "Product flow",
                    format!("{:.1} L/h, {}", values.product_flow_l_h, percent(values.flow_ratio)),
                ),
                (
                    "Salt passage",
                    format!("{:.2} %, {}", 100.0 * values.salt_passage, percent(values.salt_passage_ratio)),
                ),
            ];
            let mut text = left_table(&rows.map(|(label, value)| vec![label.to_string(), value]));
            if !assumed.is_empty() {
                text.push_str(&super::print::paragraph("  Assumed: ", &assumed.join("; ")));
            }
            text
        }
    };
    format!("\n  Standardised: {FORM}\n{body}")
}

/// Key, words, unit and factor of what is shown to people.
const SHOWN: [(&str, &str, &str, f64); 6] = [
    ("product_flow_l_h", "product flow", "L/h", 1.0),
    ("product_conductivity_us_cm_25c", "product conductivity at 25 °C", "µS/cm", 1.0),
    ("recovery", "recovery", "%", 100.0),
    ("concentrate_flow_l_h", "concentrate flow", "L/h", 1.0),
    ("supply_current_a", "current of the motor", "A", 1.0),
    ("specific_energy_wh_l", "energy for a litre", "Wh/L", 1.0),
];

/// Achieved beside expected, as lines.
pub(super) fn text(judged: &Judged) -> String {
    let achieved = achieved(&judged.unit);
    let expected = judged.engine.expectation(judged.index);
    let mut rows =
        vec![vec![String::new(), format!("{:<22}", "achieved"), "expected in this water".to_string()]];
    for (key, words, unit, factor) in SHOWN {
        let cell = |figure: Option<Figure>| {
            figure.map_or("not known".to_string(), |(value, sd)| {
                format!("{} {unit}", format::with_half(factor * value, factor * sd))
            })
        };
        let seen =
            achieved.iter().find(|(known, _)| *known == key).and_then(|(_, figure)| figure.clone().ok());
        let should = expected.as_ref().ok().and_then(|expected| model_figure(expected, key));
        if seen.is_some() || (key == SHOWN[0].0) {
            rows.push(vec![sentence(words), format!("{:<22}", cell(seen)), cell(should)]);
        }
    }
    let mut text = left_table(&rows);
    let ground = match (&expected, &judged.unit.baseline) {
        (Err(why), _) => format!("Nothing can be expected: {}.", why.join("; ")),
        (Ok(_), Some(baseline)) => format!("Expected from this unit's own baseline ({}).", baseline.kind.name()),
        (Ok(_), None) => {
            "Expected from the parts list alone, for information: single elements differ by 15 to 20 % from their sheet, so \
             nothing is concluded from the difference."
                .to_string()
        }
    };
    text.push('\n');
    text.push_str(&super::print::paragraph("  ", &ground));
    text.push_str(&against_text(judged));
    text.push_str(&leak_text(judged));
    text.push_str(&standardised_text(judged));
    text
}

/// Leak beside diffusion, or how to tell them apart; nothing where salt was not measured.
fn leak_text(judged: &Judged) -> String {
    let words = match judged.engine.leak(judged.index) {
        Ok(split) => format!(
            "Leak into the product: {} % of it, over {} sets; the rest of its salt diffuses.",
            format::with_half(100.0 * split.leak.value, 100.0 * split.leak.sd),
            split.sets
        ),
        Err(missing)
            if missing == NotIdentified::LEAK && judged.engine.comparison(judged.index).is_some() =>
        {
            format!("{}.", sentence(&cannot_tell(&missing)))
        }
        Err(_) => return String::new(),
    };
    super::print::paragraph("  ", &words)
}

/// The ratios to the baseline, as changes in percent.
fn against_text(judged: &Judged) -> String {
    const LINES: [(&str, &str); 6] = [
        ("product_flow_at_reference_ratio", "product at the baseline's water, pressure and feed flow"),
        ("product_flow_in_this_water_ratio", "product in this water"),
        ("pump_delivery_ratio", "delivery of the pump"),
        ("b25_ratio", "salt that passes, temperature and flow taken out"),
        ("motor_constant_ratio", "power or current for the same pressure and swept flow"),
        (
            "differential_pressure_at_baseline_flow_ratio",
            "pressure lost in the vessels at the baseline's flow",
        ),
    ];
    let against = against_baseline(judged);
    let mut rows = Vec::new();
    for (key, label) in LINES {
        if let (Some(ratio), Some(sd)) = (against[key].as_f64(), against["uncertainty"][key].as_f64()) {
            let change = 100.0 * (ratio - 1.0);
            let sign = if 0.0 < change { "+" } else { "" };
            rows.push(vec![sentence(label), format!("{sign}{} %", format::with_half(change, 100.0 * sd))]);
        }
    }
    if rows.is_empty() { String::new() } else { format!("\n  Against the baseline\n{}", left_table(&rows)) }
}

fn model_figure(expected: &Expected, key: &str) -> Option<Figure> {
    let json = figures::json(expected);
    Some((json.get(key)?.as_f64()?, json.get("uncertainty")?.get(key)?.as_f64()?))
}
