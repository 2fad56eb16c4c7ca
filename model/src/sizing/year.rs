//! A year: what is run, burnt and used up over all waters, and what that costs.

use super::day::Day;
use super::supply::Supply;
use super::unknown::{Figure, Unknown, scaled, sum_together};
use crate::plant::Estimate;

/// Something that is used up. Of the intervals that are given the first that comes counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Consumable {
    /// How many are renewed together.
    pub count: u32,
    /// Price of one.
    pub price: Option<f64>,
    /// Renewed after so many running hours, h.
    pub after_hours: Option<f64>,
    /// Renewed after so much product, L.
    pub after_product_l: Option<f64>,
    /// Renewed after so much feed, L.
    pub after_feed_l: Option<f64>,
    /// Renewed after so many years.
    pub after_years: Option<f64>,
}

impl Consumable {
    /// Renewals in a year of so many hours and litres, each of [`Self::count`] pieces. Zero if no interval was given.
    pub fn renewals(&self, hours: f64, product_l: f64, feed_l: f64) -> f64 {
        let per = |amount: f64, interval: Option<f64>| interval.map_or(0.0, |interval| amount / interval);
        per(hours, self.after_hours)
            .max(per(product_l, self.after_product_l))
            .max(per(feed_l, self.after_feed_l))
            .max(per(1.0, self.after_years))
    }
}

/// A year. Errors of all waters go together, since the membranes are the same: deviations add.
#[derive(Clone, Debug, PartialEq)]
pub struct Year {
    /// Product, L.
    pub product_l: f64,
    /// Running hours, h.
    pub hours: Estimate,
    /// Feed, L.
    pub feed_l: Estimate,
    /// Energy, kWh.
    pub energy_kwh: Estimate,
    /// Hours of the generator or engine, h.
    pub engine_hours: Figure,
    /// Fuel, L.
    pub fuel_l: Figure,
    /// Cost of fuel.
    pub fuel_cost: Figure,
    /// Cost of power from the shore.
    pub energy_cost: Figure,
    /// Cost of service of generator or engine.
    pub service_cost: Figure,
    /// Pieces of each consumable in a year, in the candidate's order.
    pub pieces: Vec<f64>,
    /// Cost of all consumables.
    pub consumables_cost: Figure,
    /// All running cost.
    pub cost: Figure,
    /// Running cost of a litre of product.
    pub cost_per_l: Figure,
}

/// One water's share of the year.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    /// Days a year.
    pub days: f64,
    /// The day there.
    pub day: Day,
    /// Feed flow, L/h.
    pub feed_l_h: f64,
}

impl Year {
    pub(super) fn new(
        parts: &[Part],
        daily_l: f64,
        supply: &Supply,
        consumables: &[Consumable],
    ) -> Result<Self, Unknown> {
        let total = |of: &dyn Fn(&Part) -> Figure| -> Figure {
            let mut all = Vec::with_capacity(parts.len());
            for part in parts.iter().filter(|part| 0.0 < part.days) {
                all.push(scaled(of(part)?, part.days));
            }
            Ok(sum_together(&all))
        };
        let hours = total(&|part| part.day.hours)?;
        let feed_l = total(&|part| Ok(scaled(part.day.hours?, part.feed_l_h)))?;
        let energy_kwh = scaled(total(&|part| part.day.energy_wh)?, 1e-3);
        let product_l = daily_l * parts.iter().map(|part| part.days).sum::<f64>();
        let engine_hours = total(&|part| part.day.engine_hours);
        let fuel_l = total(&|part| part.day.fuel_l);
        let prices = &supply.prices;
        let price = |price: Option<f64>, what| price.ok_or(Unknown::NotEntered(what));
        let burns = !matches!(supply.kind, super::SupplyKind::Shore);
        let fuel_cost = fuel_l.and_then(|fuel| match fuel {
            none if none.value <= 0.0 => Ok(none),
            fuel => Ok(scaled(fuel, price(prices.fuel_per_l, "the price of fuel")?)),
        });
        let service_cost = engine_hours.and_then(|hours| match hours {
            none if none.value <= 0.0 => Ok(none),
            hours => Ok(scaled(hours, price(prices.service_per_hour, "the price of service of the engine")?)),
        });
        let energy_cost = if burns {
            Err(Unknown::NoMeaning("no power is bought from the shore"))
        } else {
            price(prices.energy_per_kwh, "the price of a kilowatt-hour")
                .map(|price| scaled(energy_kwh, price))
        };
        let pieces: Vec<f64> = consumables
            .iter()
            .map(|one| f64::from(one.count) * one.renewals(hours.value, product_l, feed_l.value))
            .collect();
        let consumables_cost = consumables_cost(consumables, product_l, hours, feed_l);
        let bought = if burns { [fuel_cost, service_cost] } else { [energy_cost, Ok(Estimate::exact(0.0))] };
        let cost = (|| Ok(sum_together(&[bought[0]?, bought[1]?, consumables_cost?])))();
        let cost_per_l = match cost {
            Ok(cost) if 0.0 < product_l => Ok(scaled(cost, 1.0 / product_l)),
            Ok(_) => Err(Unknown::NoProduct),
            Err(why) => Err(why),
        };
        Ok(Self {
            product_l,
            hours,
            feed_l,
            energy_kwh,
            engine_hours,
            fuel_l,
            fuel_cost,
            energy_cost,
            service_cost,
            pieces,
            consumables_cost,
            cost,
            cost_per_l,
        })
    }
}

/// Cost of all consumables; its deviation is that of hours and feed where they decide.
fn consumables_cost(list: &[Consumable], product_l: f64, hours: Estimate, feed_l: Estimate) -> Figure {
    let at = |hours: f64, feed_l: f64| -> Result<f64, Unknown> {
        list.iter()
            .map(|one| {
                let price = one.price.ok_or(Unknown::NotEntered("the price of a consumable"))?;
                Ok(price * f64::from(one.count) * one.renewals(hours, product_l, feed_l))
            })
            .sum()
    };
    let value = at(hours.value, feed_l.value)?;
    let more = at(hours.value + hours.deviation, feed_l.value + feed_l.deviation)?;
    Ok(Estimate::new(value, more - value))
}
