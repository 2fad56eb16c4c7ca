//! One candidate through all waters and variants.

use super::candidate::{Candidate, Water};
use super::checks::{self, Check, CheckKind};
use super::day::{Day, Demand};
use super::need::Need;
use super::supply::SupplyKind;
use super::unknown::{Figure, Unknown, scaled};
use super::variant::Variant;
use super::year::{Part, Year};
use crate::parts::{DriveKind, Parts};
use crate::plant::{Calibration, Condition, Estimate, Expected, expect};

/// What the supply has to carry while the unit runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Power, W: at the motor terminals, or at the shaft for a unit on the engine; other power on the same supply included.
    pub power_w: Estimate,
    /// Current, A.
    pub current_a: Figure,
    /// Apparent power, VA; alternating current only.
    pub apparent_va: Figure,
    /// Current at the moment of the start, A.
    pub start_current_a: Figure,
}

/// A candidate in one water.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// What the unit should make.
    pub expected: Expected,
    /// What the supply has to carry.
    pub load: Load,
    /// The day.
    pub day: Day,
    /// Energy of a litre, other power on the same supply included, Wh/L.
    pub specific_energy_wh_l: Figure,
    /// Apparent energy of a litre, VAh/L.
    pub specific_apparent_vah_l: Figure,
    /// Figures against limits.
    pub checks: Vec<Check>,
}

/// A candidate in one variant, in all waters.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Which variant.
    pub variant: Variant,
    /// One for each water.
    pub waters: Vec<Result<Case, Unknown>>,
    /// The year over all waters.
    pub year: Result<Year, Unknown>,
}

/// Takes a candidate through all variants and waters. Anything that cannot be computed says why in its place.
pub fn compare(candidate: &Candidate, waters: &[Water], need: &Need) -> Vec<Outcome> {
    Variant::ALL.iter().map(|variant| outcome(*variant, candidate, waters, need)).collect()
}

fn outcome(variant: Variant, candidate: &Candidate, waters: &[Water], need: &Need) -> Outcome {
    let applied = variant.apply(&candidate.parts);
    let cases: Vec<Result<Case, Unknown>> = waters
        .iter()
        .map(|water| match &applied {
            Ok((parts, calibration)) => case(candidate, parts, calibration, water, need),
            Err(why) => Err(*why),
        })
        .collect();
    let year = year(&cases, candidate, waters, need);
    Outcome { variant, waters: cases, year }
}

fn case(
    candidate: &Candidate,
    parts: &Parts,
    calibration: &Calibration,
    water: &Water,
    need: &Need,
) -> Result<Case, Unknown> {
    let condition = Condition {
        feed_temperature_c: Some(Estimate::exact(water.temperature_c)),
        feed_salinity_g_kg: Some(Estimate::exact(water.salinity_g_kg)),
        ..Condition::default()
    };
    let expected = expect(parts, &condition, calibration)?;
    let (output, sd) = (&expected.output, &expected.uncertainty);
    let product = Estimate::new(output.product_flow_l_h, sd.product_flow_l_h);
    let load = load(candidate, parts, &expected);
    let demand = Demand {
        daily_l: need.daily_l(),
        filling_l: need.filling().map(|filling| filling.litres),
        product_l_h: product,
        power_w: load.power_w,
        apparent_va: load.apparent_va,
        solar_wh: water.solar_wh_day,
    };
    let day = Day::new(&demand, &candidate.supply);
    let per_litre = |power: Estimate| per_litre(power, product);
    let mut checks = checks::of_parts(parts, &expected, water.temperature_c);
    checks.push(checks::check(
        CheckKind::ProductConductivity,
        Ok(Estimate::new(output.product_conductivity_us_cm_25c, sd.product_conductivity_us_cm_25c)),
        need.conductivity_limit_us_cm.or(parts.limits.product_conductivity_us_cm),
    ));
    let supply = &candidate.supply;
    if supply.kind != SupplyKind::Engine {
        checks.push(checks::check(CheckKind::SupplyCurrent, load.current_a, supply.current_limit_a));
        if load.apparent_va.is_ok() {
            checks.push(checks::check(CheckKind::SupplyPower, load.apparent_va, supply.power_limit_va));
        }
        checks.push(checks::check(CheckKind::StartCurrent, load.start_current_a, supply.start_limit_a));
    }
    checks.push(checks::check(CheckKind::HoursOfTheDay, day.hours, Some(HOURS_OF_A_DAY)));
    checks.sort_by_key(|check| check.kind);
    Ok(Case {
        specific_energy_wh_l: per_litre(load.power_w),
        specific_apparent_vah_l: load.apparent_va.and_then(per_litre),
        expected,
        load,
        day,
        checks,
    })
}

const HOURS_OF_A_DAY: f64 = 24.0;

fn load(candidate: &Candidate, parts: &Parts, expected: &Expected) -> Load {
    let (output, sd) = (&expected.output, &expected.uncertainty);
    let other_w = candidate.other_power_w;
    let none = Unknown::NoMeaning("the pump has no electric motor");
    let motor = output.supply_power_w.zip(sd.supply_power_w).map(|(w, sd)| Estimate::new(w, sd));
    let pump_w = motor.unwrap_or(Estimate::new(output.shaft_power_w, sd.shaft_power_w));
    let power_w = Estimate::new(pump_w.value + other_w, pump_w.deviation);
    // What else runs on the supply is taken to have the motor's power factor.
    let more = if 0.0 < pump_w.value { power_w.value / pump_w.value } else { 1.0 };
    let current = output.supply_current_a.zip(sd.supply_current_a).map(|(a, sd)| Estimate::new(a, sd));
    let current_a = current.map(|current| scaled(current, more)).ok_or(none);
    let volts = match parts.drive.kind {
        DriveKind::AcSinglePhase { voltage_v, .. } | DriveKind::Inverter { voltage_v, .. } => Ok(voltage_v),
        DriveKind::AcThreePhase { voltage_v, .. } => Ok(voltage_v * 3.0_f64.sqrt()),
        DriveKind::Dc { .. } => Err(Unknown::NoMeaning("direct current has no apparent power")),
        DriveKind::Belt { .. } | DriveKind::Hydraulic => Err(none),
    };
    let apparent_va = volts.and_then(|volts| Ok(scaled(current_a?, volts)));
    let start = output.start_current_a.zip(sd.start_current_a).map(|(a, sd)| Estimate::new(a, sd));
    Load { power_w, current_a, apparent_va, start_current_a: start.ok_or(none) }
}

fn per_litre(power: Estimate, product: Estimate) -> Figure {
    if product.value <= 0.0 {
        return Err(Unknown::NoProduct);
    }
    let value = power.value / product.value;
    let (a, b) = (power.deviation / power.value.max(f64::MIN_POSITIVE), product.deviation / product.value);
    Ok(Estimate::new(value, value * (a * a + b * b).sqrt()))
}

fn year(
    cases: &[Result<Case, Unknown>],
    candidate: &Candidate,
    waters: &[Water],
    need: &Need,
) -> Result<Year, Unknown> {
    let days = need.days_per_year.ok_or(Unknown::NotEntered("the days of a year on which water is made"))?;
    let mut parts = Vec::with_capacity(cases.len());
    for (case, water) in cases.iter().zip(waters) {
        let share = water.share.ok_or(Unknown::NotEntered("each water's share of the year"))?;
        if share <= 0.0 {
            continue;
        }
        let case = case.as_ref().map_err(|why| *why)?;
        parts.push(Part { days: days * share, day: case.day, feed_l_h: case.expected.output.feed_flow_l_h });
    }
    Year::new(&parts, need.daily_l(), &candidate.supply, &candidate.consumables)
}

/// Which end of a figure is the bad one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worst {
    /// The lowest value, as of a product flow.
    Lowest,
    /// The highest value, as of running hours.
    Highest,
}

/// Figures that differ by less are shown alike: relative to the worst one, far below any error here.
const ALIKE: f64 = 0.01;

/// The water in which a figure is at its worst; the first of several alike. None if it is known nowhere, or about the same everywhere.
pub fn worst(values: &[Option<f64>], which: Worst) -> Option<usize> {
    let known = || values.iter().enumerate().filter_map(|(at, value)| Some((at, (*value)?)));
    let sign = if which == Worst::Highest { 1.0 } else { -1.0 };
    let mut found: Option<(usize, f64)> = None;
    for (at, value) in known() {
        if found.is_none_or(|(_, best)| sign * best < sign * value) {
            found = Some((at, value));
        }
    }
    let (at, value) = found?;
    known().any(|(_, other)| ALIKE * value.abs() < (other - value).abs()).then_some(at)
}
