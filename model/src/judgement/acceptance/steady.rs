//! Are the sets far enough apart, and do they agree?

use super::{Obstacle, ReadingSet};
use crate::Quantity;
use crate::records::{Mean, Origin};

/// Sets that are judged together. Two agree easily by chance; more cost a crew's afternoon. Our choice.
pub const SETS: usize = 3;

/// Least and most minutes from one set to the next. Ten are asked; nearer ones repeat the same jug of water, later ones see another sea. Our choice.
pub const SPACING_MIN: (f64, f64) = (8.0, 15.0);

/// Chi-square that three readings of one value exceed in 5 of 100 cases: two degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4).
pub const CHI_SQUARE_95: f64 = 5.991;

/// What must not move from set to set.
const WATCHED: [Quantity; 6] = [
    Quantity::ProductFlow,
    Quantity::FeedPressure,
    Quantity::ConcentratePressure,
    Quantity::FeedTemperature,
    Quantity::ProductConductivity,
    Quantity::ProductSalinity,
];

/// Everything that makes the sets no steady sets.
pub(super) fn check(sets: &[ReadingSet]) -> Vec<Obstacle> {
    if sets.len() < SETS {
        return vec![Obstacle::TooFewSets { count: sets.len() }];
    }
    let mut found = Vec::new();
    for (at, pair) in sets.windows(2).enumerate() {
        let Some(minutes) =
            pair[1].at.zip(pair[0].at).map(|(later, first)| (later - first) as f64 / 60_000.0)
        else {
            found.push(Obstacle::NoTime { set: at + 1 });
            continue;
        };
        if !(SPACING_MIN.0..=SPACING_MIN.1).contains(&minutes) {
            found.push(Obstacle::NotApart { after: at + 1, minutes });
        }
    }
    found.extend(WATCHED.iter().filter_map(|quantity| disagreement(sets, *quantity)));
    found
}

/// Readings of one quantity that differ by more than their random errors allow. Systematic errors are the same in all and do not count.
fn disagreement(sets: &[ReadingSet], quantity: Quantity) -> Option<Obstacle> {
    let readings: Vec<&Mean> = sets.iter().filter_map(|set| find(set, quantity)).collect();
    if readings.len() < SETS {
        return None;
    }
    let mean = readings.iter().map(|reading| reading.value).sum::<f64>() / readings.len() as f64;
    let square = |x: f64| x * x;
    let chi_square: f64 = readings
        .iter()
        .map(|reading| square(reading.value - mean) / square(reading.random).max(f64::MIN_POSITIVE))
        .sum();
    let (low, high) = readings
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), r| (low.min(r.value), high.max(r.value)));
    (CHI_SQUARE_95 < chi_square).then_some(Obstacle::NotAgreeing { quantity, low, high })
}

fn find(set: &ReadingSet, quantity: Quantity) -> Option<&Mean> {
    set.means.iter().find(|mean| mean.quantity == quantity)
}

/// Mean of each quantity over the sets that have it: chance averages out, what the instrument has in common stays.
pub(super) fn mean(sets: &[ReadingSet]) -> Vec<Mean> {
    let mut means = Vec::new();
    for &quantity in Quantity::ALL {
        let readings: Vec<&Mean> = sets.iter().filter_map(|set| find(set, quantity)).collect();
        let Some(first) = readings.first() else { continue };
        let count = readings.len() as f64;
        let over = |of: fn(&Mean) -> f64| readings.iter().map(|reading| of(reading)).sum::<f64>() / count;
        means.push(Mean {
            quantity,
            value: over(|reading| reading.value),
            random: (over(|reading| reading.random * reading.random) / count).sqrt(),
            systematic: over(|reading| reading.systematic),
            instrument: first.instrument,
            origin: if readings.len() == 1 { first.origin } else { Origin::Computed("mean of the sets") },
            count: readings.len() as u32,
        });
    }
    means
}
