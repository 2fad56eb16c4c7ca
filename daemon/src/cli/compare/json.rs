//! A comparison as JSON: unit in each key, one standard deviation under the same key in `uncertainty`, reasons beside nulls.

use super::super::figures::{self, rounded};
use crate::compare::year::{self, ROWS};
use crate::compare::{Compared, rows, words};
use barrico_model::sizing::{Case, Check, Figure, Unknown, Variant};
use serde_json::{Map, Value, json};

/// The whole.
pub(super) fn of(compared: &Compared) -> Value {
    let comparison = &compared.comparison;
    let waters: Vec<Value> = comparison
        .waters
        .iter()
        .map(|one| {
            json!({
                "id": one.id,
                "name": one.name,
                "feed_temperature_c": rounded(one.water.temperature_c),
                "feed_salinity_g_kg": rounded(one.water.salinity_g_kg),
                "share_of_days": one.water.share.and_then(rounded),
                "solar_wh_per_day": one.water.solar_wh_day.and_then(rounded),
            })
        })
        .collect();
    let candidates: Vec<Value> = (0..comparison.candidates.len()).map(|at| candidate(compared, at)).collect();
    json!({
        "schema": "barrico-compare",
        "schema_version": crate::publish::json::SCHEMA_VERSION,
        "title": comparison.title,
        "notes": comparison.notes,
        "currency": comparison.currency,
        "need": need(compared),
        "waters": waters,
        "candidates": candidates,
        "origins": words::origins(compared),
        "cautions": words::CAUTIONS,
    })
}

fn need(compared: &Compared) -> Value {
    let need = &compared.comparison.need;
    let uses: Vec<Value> = compared
        .comparison
        .uses
        .iter()
        .map(|one| json!({ "name": one.name, "litres_per_day": one.litres, "per_person": one.per_person }))
        .collect();
    let (filling, reason) = match need.filling() {
        Ok(filling) => (
            json!({
                "wanted_l": rounded(filling.wanted_l),
                "litres": rounded(filling.litres),
                "lasts_days": rounded(filling.lasts_days),
                "tank_is_enough": filling.tank_is_enough,
            }),
            None,
        ),
        Err(why) => (Value::Null, Some(words::reason(&why))),
    };
    let mut reasons = Map::new();
    if let Some(reason) = reason {
        reasons.insert("filling".into(), json!(reason));
    }
    json!({
        "persons": need.persons,
        "uses": uses,
        "daily_l": rounded(need.daily_l()),
        "between_fillings_days": need.between_fillings_days,
        "tank_l": need.tank_l,
        "days_per_year": need.days_per_year,
        "product_conductivity_limit_us_cm_25c": need.conductivity_limit_us_cm,
        "filling": filling,
        "reasons": reasons,
    })
}

fn candidate(compared: &Compared, at: usize) -> Value {
    let named = &compared.comparison.candidates[at];
    let mut all = Map::new();
    all.insert("id".into(), json!(named.id));
    all.insert("name".into(), json!(named.name));
    all.insert("supply".into(), json!(named.supply));
    all.insert("parts_from".into(), json!(named.parts_from));
    let buy: Vec<Value> = named
        .bought
        .iter()
        .map(|one| json!({ "name": one.name, "count": one.count, "price": one.price, "weight_kg": one.weight_kg }))
        .collect();
    all.insert("bought".into(), json!(buy));
    let variants: Vec<Value> =
        Variant::ALL.iter().map(|variant| self::variant(compared, at, *variant)).collect();
    all.insert("variants".into(), json!(variants));
    all.insert("year".into(), Value::Object(year(compared, at)));
    if 0 < at {
        all.insert("against_first".into(), json!(against_first(compared, at)));
    }
    Value::Object(all)
}

/// Figures under their keys, with deviations and reasons.
#[derive(Default)]
struct Sheet {
    all: Map<String, Value>,
    uncertainty: Map<String, Value>,
    reasons: Map<String, Value>,
}

impl Sheet {
    fn put(&mut self, key: &str, figure: &Figure) {
        let (value, deviation) = match figure {
            Ok(figure) => (rounded(figure.value), rounded(figure.deviation)),
            Err(why) => {
                self.reasons.insert(key.into(), json!(words::reason(why)));
                (None, None)
            }
        };
        self.all.insert(key.into(), json!(value));
        self.uncertainty.insert(key.into(), json!(deviation));
    }

    fn done(mut self) -> Map<String, Value> {
        self.all.insert("uncertainty".into(), Value::Object(self.uncertainty));
        self.all.insert("reasons".into(), Value::Object(self.reasons));
        self.all
    }
}

fn variant(compared: &Compared, at: usize, variant: Variant) -> Value {
    let outcome = compared.outcome(at, variant);
    let waters: Vec<Value> = outcome
        .map_or(&[][..], |outcome| &outcome.waters[..])
        .iter()
        .zip(&compared.comparison.waters)
        .map(|(case, water)| match case {
            Ok(case) => {
                let mut all = self::case(case);
                all.insert("water".into(), json!(water.id));
                Value::Object(all)
            }
            Err(why) => json!({ "water": water.id, "reasons": { "all": words::reason(why) } }),
        })
        .collect();
    let mut worst = Map::new();
    for row in rows::ALL {
        let water =
            compared.worst_water(at, variant, &row).and_then(|water| compared.comparison.waters.get(water));
        if row.worst.is_some() {
            worst.insert(row.key.into(), json!(water.map(|water| water.id.as_str())));
        }
    }
    let remarks: Vec<Value> = words::remarks(compared, at, variant)
        .iter()
        .map(|one| json!({ "verdict": one.verdict.name(), "text": one.text }))
        .collect();
    json!({
        "variant": variant.name(),
        "waters": waters,
        "worst_water": worst,
        "remarks": remarks,
    })
}

/// One case: the figures of the working point as `expect` gives them, then those of the comparison.
fn case(case: &Case) -> Map<String, Value> {
    let mut all = Map::new();
    all.insert("expected".into(), Value::Object(figures::json(&case.expected)));
    let mut sheet = Sheet::default();
    for row in rows::ALL {
        sheet.put(row.key, &(row.of)(case));
    }
    sheet.put("drawn_from_battery_per_day_wh", &case.day.drawn_wh);
    sheet.put("apparent_energy_per_day_vah", &case.day.apparent_vah);
    sheet.put("apparent_power_va", &case.load.apparent_va);
    all.extend(sheet.done());
    all.insert("checks".into(), json!(case.checks.iter().map(check).collect::<Vec<_>>()));
    all
}

fn check(check: &Check) -> Value {
    let mut sheet = Sheet::default();
    sheet.put("value", &check.value);
    let limit = check.limit.and_then(rounded);
    if limit.is_none() {
        sheet.reasons.insert("limit".into(), json!(words::reason(&Unknown::NotEntered("the limit"))));
    }
    let mut all = sheet.done();
    all.insert("figure".into(), json!(check.kind.name()));
    all.insert("limit".into(), json!(limit));
    all.insert("verdict".into(), json!(check.verdict().name()));
    Value::Object(all)
}

fn year(compared: &Compared, at: usize) -> Map<String, Value> {
    let mut sheet = Sheet::default();
    for row in ROWS {
        sheet.put(row.key, &(row.of)(compared, at));
    }
    let mut all = sheet.done();
    let pieces: Vec<Value> = year::pieces(compared, at)
        .into_iter()
        .map(|(name, pieces)| json!({ "name": name, "pieces_per_year": rounded(pieces) }))
        .collect();
    all.insert("consumables".into(), json!(pieces));
    all
}

fn against_first(compared: &Compared, at: usize) -> Vec<Value> {
    let rows_of = |water: usize| {
        let (mut all, mut reasons) = (Map::new(), Map::new());
        for row in rows::DIFFERENCES {
            let difference = compared.against_first(at, water, &row);
            if let Err(why) = &difference {
                reasons.insert(row.key.into(), json!(words::reason(why)));
            }
            all.insert(
                row.key.into(),
                json!(difference.ok().and_then(|(difference, _)| rounded(difference))),
            );
        }
        reasons.insert(
            "uncertainty".into(),
            json!("most of the error is common to both and was not worked out"),
        );
        all.insert("uncertainty".into(), Value::Null);
        all.insert("reasons".into(), Value::Object(reasons));
        all
    };
    compared
        .comparison
        .waters
        .iter()
        .enumerate()
        .map(|(water, named)| {
            let mut all = rows_of(water);
            all.insert("water".into(), json!(named.id));
            Value::Object(all)
        })
        .collect()
}
