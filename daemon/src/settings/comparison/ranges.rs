//! Ranges of the numbers in a comparison file. Wide, as those of the settings: they catch slips.

use super::super::ranges::{Range, of, plain};
use crate::quantity_text::Measure;

const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 86_400.0;
/// Prices in any currency: from a free gift to a number that is no price of a boat's part.
const PRICE_MAX: f64 = 10_000_000.0;

/// One row per key that holds a number.
pub(in crate::settings) const RANGES: &[Range] = &[
    plain("need.persons", 1.0, 50.0),
    of("need.per_person.<id>", Measure::Volume, 0.0, 1000.0),
    of("need.per_boat.<id>", Measure::Volume, 0.0, 20_000.0),
    of("need.between_fillings", Measure::Duration, 0.25 * DAY_S, 60.0 * DAY_S),
    of("need.tank", Measure::Volume, 5.0, 50_000.0),
    plain("need.days_per_year", 1.0, 366.0),
    of("need.product_conductivity", Measure::Conductivity, 10.0, 5000.0),
    of("waters.<id>.temperature", Measure::Temperature, -2.0, 40.0),
    of("waters.<id>.salinity", Measure::Salinity, 0.1, 60.0),
    of("waters.<id>.share", Measure::Percent, 0.0, 100.0),
    of("waters.<id>.solar", Measure::Energy, 0.0, 100_000.0),
    of("supplies.<id>.current", Measure::Current, 1.0, 1000.0),
    of("supplies.<id>.start_current", Measure::Current, 1.0, 5000.0),
    of("supplies.<id>.power", Measure::ApparentPower, 100.0, 200_000.0),
    of("supplies.<id>.capacity", Measure::Charge, 10.0, 10_000.0),
    of("supplies.<id>.voltage", Measure::Voltage, 6.0, 600.0),
    of("supplies.<id>.usable", Measure::Percent, 10.0, 100.0),
    of("supplies.<id>.inverter_efficiency", Measure::Percent, 50.0, 100.0),
    of("supplies.<id>.charge_power", Measure::Power, 20.0, 50_000.0),
    of("supplies.<id>.idle_fuel", Measure::Flow, 0.0, 50.0),
    of("supplies.<id>.fuel_per_kwh", Measure::Volume, 0.05, 5.0),
    plain("supplies.<id>.fuel_litre_price", 0.0, PRICE_MAX),
    plain("supplies.<id>.kwh_price", 0.0, PRICE_MAX),
    plain("supplies.<id>.service_hour_price", 0.0, PRICE_MAX),
    plain("items.<id>.price", 0.0, PRICE_MAX),
    of("items.<id>.weight", Measure::Mass, 0.0, 5000.0),
    plain("consumables.<id>.price", 0.0, PRICE_MAX),
    of("consumables.<id>.after_hours", Measure::Duration, HOUR_S, 100_000.0 * HOUR_S),
    of("consumables.<id>.after_product", Measure::Volume, 10.0, 100_000_000.0),
    of("consumables.<id>.after_feed", Measure::Volume, 10.0, 1_000_000_000.0),
    plain("consumables.<id>.after_years", 0.05, 30.0),
    of("candidates.<id>.other_power", Measure::Power, 0.0, 10_000.0),
    plain("candidates.<id>.buy.<id>", 0.0, 100.0),
    plain("candidates.<id>.uses.<id>", 0.0, 100.0),
];

/// Most candidates: more do not fit beside each other on one page.
pub(super) const CANDIDATES_MAX: usize = 4;
/// Most waters: more do not fit beside each other on one page.
pub(super) const WATERS_MAX: usize = 5;
/// Most supplies: two for each candidate.
pub(super) const SUPPLIES_MAX: usize = 2 * CANDIDATES_MAX;
/// Most uses of water in one list. Nobody counts by more.
pub(super) const USES_MAX: usize = 16;
/// Most items or consumables in a price list of one file.
pub(super) const ITEMS_MAX: usize = 64;
/// Most notes: they stand at the top of the page.
pub(super) const NOTES_MAX: usize = 4;
