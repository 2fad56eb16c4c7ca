//! Signs of instruments, scales, units and senders: what stands beside the readings.

use super::known::SOLIDS_PER_US_CM;
use super::{Known, Signs, ramp};
use crate::judgement::reasoning::sign::{Fact, Sign};
use crate::judgement::reasoning::situation::{Beside, Role};
use crate::{Dimension, Quantity};

/// Factor between the two scales on which meters print "ppm": 0.7 over 0.5, with their rounding (table of a meter handbook: 0.71 and 0.50).
const SCALES: (f64, f64) = (1.34, 1.48);
/// A value that stands still so long is stuck, minutes (our choice).
const STUCK_MIN: f64 = 20.0;

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    second_instruments(known, signs);
    temperature_scale(known, signs);
    senders(known, signs);
    for one in known.s.beside.iter().filter(|one| one.role == Role::Impossible) {
        signs.put(Sign::Impossible(same_thing(one.quantity)), 1.0);
    }
}

/// Conductivity and solids of the product are one thing read in two forms, as are the two ends of the vessel.
const fn same_thing(quantity: Quantity) -> Quantity {
    match quantity {
        Quantity::ProductSalinity => Quantity::ProductConductivity,
        Quantity::ConcentratePressure => Quantity::FeedPressure,
        Quantity::FeedConductivity => Quantity::FeedSalinity,
        other => other,
    }
}

/// How far two instruments may be apart: what two good ones of the boat trade differ by, and what they do not (common practice, no source).
fn apart(quantity: Quantity, a: f64, b: f64) -> f64 {
    let (distance, larger) = ((a - b).abs(), a.abs().max(b.abs()));
    match quantity.dimension() {
        Dimension::Temperature => ramp(distance, 1.0, 3.0),
        Dimension::Pressure | Dimension::PressureDifference => {
            ramp(distance, (0.03 * larger).max(0.1), (0.07 * larger).max(0.3))
        }
        Dimension::Salinity => ramp(distance, 1.0, 3.0),
        Dimension::Flow => ramp(distance / larger.max(1e-9), 0.05, 0.12),
        Dimension::Level => ramp(distance, 4.0, 10.0),
        Dimension::Voltage | Dimension::Frequency | Dimension::Speed => ramp(distance / larger, 0.02, 0.05),
        _ => ramp(distance / larger.max(1e-9), 0.1, 0.25),
    }
}

fn second_instruments(known: &Known<'_>, signs: &mut Signs) {
    let mut salt: Vec<(Quantity, f64)> = vec![];
    for quantity in Quantity::ALL.iter().copied() {
        let product = same_thing(quantity) == Quantity::ProductConductivity;
        let now = known.now(quantity);
        for other in known.second(quantity) {
            if product {
                salt.push((quantity, other));
            } else if now.is_some_and(|now| by_gallon(quantity, now, other)) {
                signs.yes_no(Fact::GallonFactor, true);
            } else if let Some(now) = now {
                let share = apart(quantity, now, other);
                signs.put(Sign::Differs(same_thing(quantity)), if 0.0 < share { share } else { -1.0 });
            }
        }
        if let (true, Some(now)) = (product, now) {
            salt.insert(0, (quantity, now));
        }
    }
    product_meters(&salt, signs);
}

/// Do two flows differ by the litres of a US or an imperial gallon (NIST SP 811)?
fn by_gallon(quantity: Quantity, a: f64, b: f64) -> bool {
    let ratio = a.max(b) / a.min(b).max(1e-9);
    let near = |litres: f64| (ratio / litres - 1.0).abs() < 0.06;
    quantity.dimension() == Dimension::Flow && (near(3.785_411_784) || near(4.546_09))
}

/// Meters on the product: the first is the fitted one.
fn product_meters(salt: &[(Quantity, f64)], signs: &mut Signs) {
    let solids = |(quantity, value): (Quantity, f64)| match quantity {
        Quantity::ProductConductivity => SOLIDS_PER_US_CM * value,
        _ => value,
    };
    let Some(first) = salt.first().copied() else { return };
    let others = &salt[1..];
    if others.is_empty() {
        return;
    }
    // Only readings as ppm can be on the other scale.
    let as_ppm = salt.iter().any(|(quantity, _)| *quantity == Quantity::ProductSalinity);
    let scale = |a: f64, b: f64| (SCALES.0..=SCALES.1).contains(&(a.max(b) / a.min(b).max(1e-9)));
    let by_scale = as_ppm && others.iter().any(|other| scale(solids(first), solids(*other)));
    let differs = others
        .iter()
        .map(|other| (solids(first), solids(*other)))
        .filter(|(a, b)| !(as_ppm && scale(*a, *b)))
        .map(|(a, b)| apart(Quantity::ProductConductivity, a, b))
        .fold(0.0, f64::max);
    signs.yes_no(Fact::PpmScales, by_scale && differs < 0.5);
    signs.put(Sign::Differs(Quantity::ProductConductivity), if 0.0 < differs { differs } else { -1.0 });
}

/// Degrees Fahrenheit taken for Celsius, or the other way round.
fn temperature_scale(known: &Known<'_>, signs: &mut Signs) {
    let impossible =
        |one: &&Beside| one.role == Role::Impossible && one.quantity.dimension() == Dimension::Temperature;
    let shown = known.s.beside.iter().find(impossible).map(|one| one.value);
    let now = known.now(Quantity::FeedTemperature);
    let other = known.second(Quantity::FeedTemperature).next();
    let to_celsius = |value: f64| (value - 32.0) / 1.8;
    let share = match (shown, now, other) {
        (Some(shown), _, Some(other)) | (None, Some(shown), Some(other)) => {
            let near = |a: f64, b: f64| (a - b).abs() < 2.0;
            f64::from(u8::from(
                !near(shown, other) && (near(to_celsius(shown), other) || near(shown, to_celsius(other))),
            ))
        }
        // Impossible in degrees Celsius, an ordinary sea in the other scale.
        (Some(shown), _, None) => 0.8 * f64::from(u8::from((0.0..=36.0).contains(&to_celsius(shown)))),
        _ => return,
    };
    signs.fact(Fact::FahrenheitShift, share);
}

fn senders(known: &Known<'_>, signs: &mut Signs) {
    let mut run_and_stop = 0;
    for quantity in Quantity::ALL.iter().copied() {
        let by_sender: Vec<(&str, f64)> = known
            .s
            .beside
            .iter()
            .filter(|one| one.quantity == quantity)
            .filter_map(|one| match &one.role {
                Role::Sender(name) => Some((name.as_str(), one.value)),
                _ => None,
            })
            .collect();
        let unchanged =
            known.s.unchanged.iter().any(|(stuck, minutes)| *stuck == quantity && STUCK_MIN <= *minutes);
        let Some((name, value)) = by_sender.first().copied() else {
            if unchanged {
                signs.yes_no(Fact::Stuck, true);
            }
            continue;
        };
        let others = || by_sender.iter().filter(move |(other, _)| *other != name);
        if unchanged {
            signs.yes_no(Fact::SenderGone, others().next().is_some());
            continue;
        }
        let share = others().map(|(_, other)| apart(quantity, value, *other)).fold(0.0, f64::max);
        signs.fact(Fact::SendersDiffer, share);
        let plant = matches!(quantity.dimension(), Dimension::Pressure | Dimension::Flow | Dimension::State);
        let stopped = |value: f64| value.abs() < 1.0;
        let both = others().any(|(_, other)| stopped(value) != stopped(*other));
        run_and_stop += usize::from(plant && both);
    }
    if 0 < run_and_stop {
        signs.fact(Fact::SendersRunAndStop, if 1 < run_and_stop { 1.0 } else { 0.8 });
    }
}
