//! The comparison file as typed: every table and key there is. Nothing is checked here but names and types.

use super::super::problem::Problem;
use super::super::raw::{RawUnit, tables};
use super::super::typed::{
    Amount, Field, Kind, Named, Place, Read, Share, Text, field, table_of, unknown_keys,
};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

tables! {
    /// The whole file.
    RawComparison {
        title: Text,
        notes: Vec<Text>,
        currency: Text,
        need: RawNeed,
        waters: Named<RawWater>,
        supplies: Named<RawSupply>,
        items: Named<RawItem>,
        consumables: Named<RawConsumable>,
        candidates: Named<RawCandidate>,
    }
    /// `[need]`
    RawNeed {
        persons: u32,
        per_person: Named<Amount>,
        per_boat: Named<Amount>,
        between_fillings: Amount,
        tank: Amount,
        days_per_year: f64,
        product_conductivity: Amount,
    }
    /// `[waters.<id>]`
    RawWater { name: Text, temperature: Amount, salinity: Amount, share: Share, solar: Amount, }
    /// `[supplies.<id>]`
    RawSupply {
        name: Text,
        kind: Text,
        current: Amount,
        start_current: Amount,
        power: Amount,
        capacity: Amount,
        voltage: Amount,
        usable: Share,
        inverter_efficiency: Share,
        charge_power: Amount,
        idle_fuel: Amount,
        fuel_per_kwh: Amount,
        fuel_litre_price: f64,
        kwh_price: f64,
        service_hour_price: f64,
    }
    /// `[items.<id>]`
    RawItem { name: Text, price: f64, weight: Amount, }
    /// `[consumables.<id>]`
    RawConsumable {
        name: Text,
        price: f64,
        after_hours: Amount,
        after_product: Amount,
        after_feed: Amount,
        after_years: f64,
    }
    /// `[candidates.<id>]`
    RawCandidate {
        name: Text,
        supply: Text,
        settings: Text,
        unit: Text,
        parts: RawUnit,
        other_power: Amount,
        buy: Named<u32>,
        uses: Named<u32>,
    }
}

/// The file as typed, from TOML that could be read.
pub(super) fn read(table: &DeTable<'_>, out: &mut Vec<Problem>) -> RawComparison {
    RawComparison::read_table(table, &Place::default(), None, out)
}

/// Every key there is, as the pattern of its path, with its kind; those of the parts left out.
#[cfg(test)]
pub(super) fn own_keys() -> Vec<(String, Kind)> {
    let mut keys = Vec::new();
    RawComparison::keys("", &mut keys);
    keys.retain(|(pattern, _)| !pattern.starts_with(super::PARTS_PATTERN));
    keys
}
