//! Readings that follow from others without a model of the unit.

use barrico_model::parts::Parts;
use barrico_model::plant::Estimate;
use barrico_model::plant::energy_recovery::{feed_pressure_from_low_side, product_share};
use barrico_model::quantity::{Conductivity, MassConcentration};
use barrico_model::records::{Mean, Origin, Reading};
use barrico_model::seawater::product_water;
use barrico_model::{Monotonic, Quantity};

/// Fills in what follows from fresh readings and is not measured itself.
pub fn complete(now: Monotonic, current: &mut [Option<Reading>]) {
    product_conductivity(now, current);
    feed_salinity(now, current);
    supply_power(now, current);
}

fn derive(
    now: Monotonic,
    current: &mut [Option<Reading>],
    from: &Reading,
    quantity: Quantity,
    value: f64,
    text: &'static str,
) {
    // The relative error carries over: each of these relations is close to proportional.
    let scale = if from.value == 0.0 { 0.0 } else { (value / from.value).abs() };
    if quantity.is_possible(value) && current[quantity as usize].is_none() {
        current[quantity as usize] = Some(Reading {
            quantity,
            value,
            random: from.random * scale,
            systematic: from.systematic * scale,
            instrument: from.instrument,
            origin: Origin::Computed(text),
            at: from.at.min(now),
        });
    }
}

fn product_conductivity(now: Monotonic, current: &mut [Option<Reading>]) {
    let solids = current[Quantity::ProductSalinity as usize];
    let conductivity = current[Quantity::ProductConductivity as usize];
    match (solids, conductivity) {
        (Some(solids), None) => {
            if let Some(value) = conductivity_of(solids.value) {
                derive(now, current, &solids, Quantity::ProductConductivity, value, "product salinity");
            }
        }
        (None, Some(conductivity)) => {
            if let Some(value) = solids_of(conductivity.value) {
                let text = "product conductivity";
                derive(now, current, &conductivity, Quantity::ProductSalinity, value, text);
            }
        }
        _ => {}
    }
}

fn feed_salinity(now: Monotonic, current: &mut [Option<Reading>]) {
    if let (None, Some(conductivity)) =
        (current[Quantity::FeedSalinity as usize], current[Quantity::FeedConductivity as usize])
    {
        let salinity = Conductivity::from_us_cm(conductivity.value)
            .ok()
            .and_then(|value| product_water::salinity_from_conductivity(value).ok());
        if let Some(salinity) = salinity {
            derive(
                now,
                current,
                &conductivity,
                Quantity::FeedSalinity,
                salinity.as_g_kg(),
                "feed conductivity",
            );
        }
    }
}

fn supply_power(now: Monotonic, current: &mut [Option<Reading>]) {
    if let (None, Some(volts), Some(amperes)) = (
        current[Quantity::SupplyPower as usize],
        current[Quantity::SupplyVoltage as usize],
        current[Quantity::SupplyCurrent as usize],
    ) {
        let value = volts.value * amperes.value;
        derive(
            now,
            current,
            &amperes,
            Quantity::SupplyPower,
            value,
            "volts times amperes, without power factor",
        );
    }
}

/// The pressure at the membranes of an energy-recovery unit whose gauge sits on the low side, as one of the means of a run. Its error is many times
/// that of the gauge, so it judges runs and never limits.
pub fn high_side(parts: &Parts, means: &mut Vec<Mean>) {
    let is_of = |mean: &Mean, quantity: Quantity| mean.quantity == quantity;
    let has = |quantity| means.iter().any(|mean| is_of(mean, quantity));
    if has(Quantity::FeedPressure) || has(Quantity::ConcentratePressure) {
        return;
    }
    let Some(low) = means.iter().find(|mean| is_of(mean, Quantity::LowSidePressure)).copied() else { return };
    let from = |deviation| feed_pressure_from_low_side(parts, Estimate::new(low.value, deviation));
    let (Some(whole), Some(exact)) = (from(low.systematic), from(0.0)) else { return };
    let Some(share) = product_share(&parts.pump).filter(|_| Quantity::FeedPressure.is_possible(exact.value))
    else {
        return;
    };
    means.push(Mean {
        quantity: Quantity::FeedPressure,
        value: exact.value,
        random: low.random / share,
        systematic: whole.deviation,
        origin: Origin::Computed("low-side pressure"),
        ..low
    });
    means.sort_by_key(|mean| mean.quantity);
}

/// Conductivity at 25 °C in µS/cm of product with so many mg/L.
pub fn conductivity_of(tds_mg_l: f64) -> Option<f64> {
    let solids = MassConcentration::from_mg_l(tds_mg_l).ok()?;
    Some(product_water::conductivity_from_solids(solids).ok()?.as_us_cm())
}

/// Dissolved solids in mg/L of product with this conductivity at 25 °C in µS/cm.
pub fn solids_of(us_cm: f64) -> Option<f64> {
    let conductivity = Conductivity::from_us_cm(us_cm).ok()?;
    Some(product_water::solids_from_conductivity(conductivity).ok()?.as_mg_l())
}
