//! The rows of purchase and year: one figure for each candidate.

use super::Compared;
use barrico_model::plant::Estimate;
use barrico_model::sizing::{Figure, Unknown, Variant, Year};

/// One row.
#[derive(Clone, Copy, Debug)]
pub struct YearRow {
    /// Key in JSON, with the unit; prices are in the comparison's currency.
    pub key: &'static str,
    /// Words for people.
    pub words: &'static str,
    /// Digits after the point for people.
    pub digits: usize,
    /// The figure of one candidate.
    pub of: fn(&Compared, usize) -> Figure,
}

fn year(compared: &Compared, candidate: usize) -> Result<&Year, Unknown> {
    let outcome = compared.outcome(candidate, Variant::AsListed).ok_or(Unknown::NoMeaning("not compared"))?;
    outcome.year.as_ref().map_err(|why| *why)
}

fn entered(value: Option<f64>, what: &'static str) -> Figure {
    value.map(Estimate::exact).ok_or(Unknown::NotEntered(what))
}

const fn row(
    key: &'static str,
    words: &'static str,
    digits: usize,
    of: fn(&Compared, usize) -> Figure,
) -> YearRow {
    YearRow { key, words, digits, of }
}

/// All, in the order in which they are shown.
pub const ROWS: [YearRow; 14] = [
    row("purchase", "purchase", 0, |compared, at| {
        let one = compared.comparison.candidates.get(at);
        entered(one.and_then(|one| one.candidate.purchase), "the price of all that is bought")
    }),
    row("weight_kg", "weight, kg", 0, |compared, at| {
        let one = compared.comparison.candidates.get(at);
        entered(one.and_then(|one| one.candidate.weight_kg), "the weight of all that is bought")
    }),
    row("product_per_year_l", "water a year, L", 0, |compared, at| {
        Ok(Estimate::exact(year(compared, at)?.product_l))
    }),
    row("running_hours_per_year_h", "running hours a year", 0, |compared, at| Ok(year(compared, at)?.hours)),
    row("energy_per_year_kwh", "energy a year, kWh", 0, |compared, at| Ok(year(compared, at)?.energy_kwh)),
    row("engine_hours_per_year_h", "generator or engine hours", 0, |compared, at| {
        year(compared, at)?.engine_hours
    }),
    row("fuel_per_year_l", "fuel a year, L", 0, |compared, at| year(compared, at)?.fuel_l),
    row("fuel_cost_per_year", "fuel, cost a year", 0, |compared, at| year(compared, at)?.fuel_cost),
    row("energy_cost_per_year", "shore power, cost a year", 0, |compared, at| {
        year(compared, at)?.energy_cost
    }),
    row("service_cost_per_year", "engine service, cost a year", 0, |compared, at| {
        year(compared, at)?.service_cost
    }),
    row("consumables_cost_per_year", "consumables, cost a year", 0, |compared, at| {
        year(compared, at)?.consumables_cost
    }),
    row("running_cost_per_year", "running cost a year", 0, |compared, at| year(compared, at)?.cost),
    row("running_cost_per_l", "running cost of a litre", 3, |compared, at| year(compared, at)?.cost_per_l),
    row("first_year_cost", "purchase and first year", 0, |compared, at| {
        let one = compared.comparison.candidates.get(at);
        let purchase =
            entered(one.and_then(|one| one.candidate.purchase), "the price of all that is bought")?;
        let cost = year(compared, at)?.cost?;
        Ok(Estimate::new(purchase.value + cost.value, cost.deviation))
    }),
];

/// Pieces of each consumable in a year, with their names.
pub fn pieces(compared: &Compared, candidate: usize) -> Vec<(String, f64)> {
    let names = compared.comparison.candidates.get(candidate).map_or(&[][..], |one| &one.consumables[..]);
    match year(compared, candidate) {
        Ok(year) => names.iter().cloned().zip(year.pieces.iter().copied()).collect(),
        Err(_) => Vec::new(),
    }
}
