//! Closes a run that was open when the computer lost power, from the samples that were stored.
//!
//! Pure: samples in, record out. Coarser than a run closed alive: samples come every 10 s, not every second, the last batch may be
//! missing, and there are no steady windows. The record says so by its end, "power lost".

use crate::engine::SampleRow;
use barrico_model::Quantity;
use barrico_model::records::{Mean, OperatingState, Origin, RunEnd, RunRecord};

/// After the start nothing is averaged for so long, s: pressure and temperature settle (common practice, no source).
const QUIET_S: f64 = 300.0;
/// Between samples further apart than this nothing was watched, s: six missed samples.
const GAP_S: f64 = 60.0;
/// Fewer samples make no mean: five minutes' worth.
const SAMPLES_MIN: u32 = 30;
/// Standard deviation that stands for an instrument that no earlier run tells of, as a share of the value: wide, since nothing
/// is known (common practice, no source).
const UNKNOWN_INSTRUMENT: f64 = 0.05;
/// Why a mean of unknown origin is there.
const FROM_SAMPLES: &str = "stored samples of a run that was cut";

/// The run as it is known from its samples, in the order of time. `earlier` are closed runs of the unit, oldest first: the instruments
/// and their errors are taken from them, since samples do not carry them.
pub fn close(open: &RunRecord, samples: &[SampleRow], earlier: &[RunRecord]) -> RunRecord {
    let running: Vec<&SampleRow> = samples
        .iter()
        .filter(|sample| {
            sample.state == Some(OperatingState::Running) && open.start.monotonic <= sample.at.monotonic
        })
        .collect();
    let since_start = |sample: &SampleRow| sample.at.monotonic.seconds_since(open.start.monotonic);
    let steady: Vec<&SampleRow> =
        running.iter().copied().filter(|sample| QUIET_S <= since_start(sample)).collect();
    RunRecord {
        revision: open.revision + 1,
        end: RunEnd::PowerLost,
        duration_s: running.last().map_or(open.duration_s, |last| since_start(last)),
        steady_s: watched_s(&steady),
        means: Quantity::ALL.iter().filter_map(|quantity| mean(*quantity, &steady, earlier)).collect(),
        product_l: litres(&running).or(open.product_l),
        ..open.clone()
    }
}

fn watched_s(samples: &[&SampleRow]) -> f64 {
    let between = |pair: &[&SampleRow]| pair[1].at.monotonic.seconds_since(pair[0].at.monotonic);
    samples.windows(2).map(between).filter(|seconds| *seconds <= GAP_S).sum()
}

/// Litres by the trapezoidal rule over the stretches that were watched.
fn litres(samples: &[&SampleRow]) -> Option<f64> {
    let flow = |sample: &SampleRow| sample.value(Quantity::ProductFlow);
    let mut total = None;
    for pair in samples.windows(2) {
        let seconds = pair[1].at.monotonic.seconds_since(pair[0].at.monotonic);
        let (Some(before), Some(after)) = (flow(pair[0]), flow(pair[1])) else { continue };
        if seconds <= GAP_S {
            *total.get_or_insert(0.0) += (before + after) / 2.0 * seconds / 3600.0;
        }
    }
    total
}

fn mean(quantity: Quantity, samples: &[&SampleRow], earlier: &[RunRecord]) -> Option<Mean> {
    // States, routes and counters have no mean.
    if matches!(
        quantity,
        Quantity::OperatingState | Quantity::ProductRoute | Quantity::RunTime | Quantity::TankLevel
    ) {
        return None;
    }
    let values: Vec<f64> = samples.iter().filter_map(|sample| sample.value(quantity)).collect();
    let count = u32::try_from(values.len()).unwrap_or(u32::MAX);
    if count < SAMPLES_MIN {
        return None;
    }
    let n = f64::from(count);
    let value = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|one| (one - value) * (one - value)).sum();
    let random = (squares / (n - 1.0) / n).sqrt();
    let before = earlier.iter().rev().find_map(|run| run.mean(quantity));
    Some(match before {
        Some(before) => Mean { value, random, count, ..*before },
        None => Mean {
            quantity,
            value,
            random,
            systematic: UNKNOWN_INSTRUMENT * value.abs(),
            instrument: 0,
            origin: Origin::Computed(FROM_SAMPLES),
            count,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use barrico_model::{Monotonic, Stamp};

    fn at(seconds: u64) -> Stamp {
        Stamp { boot: 1, monotonic: Monotonic(seconds * 1000), wall_ms: None }
    }

    fn sample(seconds: u64, flow: f64) -> SampleRow {
        let mut values = vec![None; Quantity::ALL.len()];
        values[Quantity::ProductFlow as usize] = Some(flow);
        SampleRow { unit: 0, at: at(seconds), state: Some(OperatingState::Running), run: 3, values }
    }

    fn open() -> RunRecord {
        RunRecord {
            id: 3,
            revision: 0,
            start: at(100),
            duration_s: 0.0,
            end: RunEnd::Open,
            time_invented: false,
            steady_s: 0.0,
            means: vec![],
            product_l: None,
            element_hours: Some(10.0),
            valve_moved: false,
            valve: vec![],
            elements: vec![],
            element_shares: vec![],
        }
    }

    /// By hand: 60 L/h for one hour is 60 L; the mean leaves the first five minutes out, where the flow was lower.
    #[test]
    fn an_hour_at_60_litres_an_hour_is_60_litres() {
        let samples: Vec<_> =
            (0..=360).map(|i| sample(100 + i * 10, if i < 30 { 50.0 } else { 60.0 })).collect();
        let run = close(&open(), &samples, &[]);
        assert_eq!((run.end, run.revision, run.id), (RunEnd::PowerLost, 1, 3));
        assert_eq!((run.duration_s, run.steady_s), (3600.0, 3300.0));
        // 30 steps of 10 s, half a step of which is at the mean of both: 295 s at 50 L/h, 5 s at 60 L/h more or less.
        let expected = (50.0 * 290.0 + 55.0 * 10.0 + 60.0 * 3300.0) / 3600.0;
        assert!((run.product_l.unwrap() - expected).abs() < 1e-9, "{:?}", run.product_l);
        let mean = run.mean(Quantity::ProductFlow).unwrap();
        assert_eq!((mean.value, mean.random, mean.count), (60.0, 0.0, 331));
        assert_eq!(mean.systematic, 3.0);
    }

    #[test]
    fn a_gap_makes_no_litres_and_few_samples_no_mean() {
        let samples = [sample(100, 60.0), sample(160, 60.0), sample(1000, 60.0)];
        let run = close(&open(), &samples, &[]);
        assert_eq!(run.product_l, Some(1.0));
        assert_eq!(run.duration_s, 900.0);
        assert!(run.means.is_empty());
        let without = close(&open(), &[], &[]);
        assert_eq!((without.end, without.duration_s, without.product_l), (RunEnd::PowerLost, 0.0, None));
    }

    #[test]
    fn the_instrument_is_that_of_the_run_before() {
        let samples: Vec<_> = (0..60).map(|i| sample(400 + i * 10, 60.0)).collect();
        let mut before = close(&open(), &samples, &[]);
        before.means[0].instrument = 4;
        before.means[0].systematic = 1.25;
        let mean = *close(&open(), &samples, &[before]).mean(Quantity::ProductFlow).unwrap();
        assert_eq!((mean.instrument, mean.systematic, mean.count), (4, 1.25, 60));
    }
}
