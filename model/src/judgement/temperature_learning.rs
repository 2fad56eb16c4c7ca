//! Temperature parameters of the membranes, learnt from a unit's own history.
//!
//! Every run with a measured flow gives ln A and ln B at its own temperature. Along the history stands
//!
//! y = level(t) + E (1/298.15 - 1/T) + shared errors + chance,
//!
//! with E the parameter, a level that drifts by fouling and ageing (a random walk on knots with a trend, begun anew by each cleaning or changed part), and the systematic
//! errors of instruments and model as unknowns of their own with their stated spread. All priors are normal, so the posterior of E is that of a linear
//! least-squares problem (Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, section 2.7: explicit basis functions; own derivation for this case). Odd runs
//! count less and less the odder they are (M-estimation; Huber 1964, Ann. Math. Statist. 35, 73). How fast the level drifts is not known: several speeds are weighed by their evidence. Steady
//! fouling in water of one temperature is all level and teaches E nothing; a season's swing with a steady membrane teaches it.
//!
//! Below 25 °C the prior is one-sided: the truth may lie far below the default and hardly above.

use super::comparison::Laws;
use super::temperature_history::HistoryPoint;
use crate::math;
use crate::membrane::{Form, TemperatureResponse};
use crate::performance::membrane_state::SharedKey;
use crate::quantity::Temperature;
use crate::solve::cholesky::Cholesky;

/// What was learnt: the parameters and how far they can still be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learnt {
    /// The parameters; the defaults where nothing could be learnt.
    pub response: TemperatureResponse,
    /// Their standard deviations: water at and above 25 °C, below, salt; K.
    pub sd_k: [f64; 3],
    /// Runs that were used.
    pub runs: usize,
}

impl Default for Learnt {
    fn default() -> Self {
        Self { response: TemperatureResponse::default(), sd_k: TemperatureResponse::SD_K, runs: 0 }
    }
}

impl Learnt {
    /// The forms of the model with these parameters and their doubt.
    pub fn laws(&self) -> Laws {
        let form = Form { temperature: self.response, ..Form::default() };
        Laws { form, temperature_sd_k: self.sd_k }
    }
}

/// Fewest runs: below, a level and a trend explain everything.
pub const RUNS_MIN: usize = 6;

/// Shortest distance of knots, days: faster drift than from month to month is left to chance (our choice).
const KNOT_DAYS: f64 = 30.0;

/// Most knots in a segment; longer histories have wider ones. Bounds the work.
const KNOTS_MAX: f64 = 40.0;

/// Speeds of drift that are weighed, as standard deviation of the logarithm over 30 days (our choice: from a hardly ageing membrane to one that fouls visibly).
const DRIFTS: [f64; 5] = [0.0025, 0.005, 0.01, 0.02, 0.04];

/// Index in [`DRIFTS`] with which odd runs are found.
const USUAL_DRIFT: usize = 2;

/// Standard deviation of the steady trend, 1/day: 30 % in a year (our choice).
const TREND_SD_PER_DAY: f64 = 0.3 / 365.0;

/// Scatter from run to run beside that of the readings (our choice).
const FLOOR: f64 = 0.01;

/// Precision of the first level of a segment: nothing is known of it.
const LEVEL_PRECISION: f64 = 1e-4;

/// Residual, in standard deviations, at which a run counts half; at ten it counts a hundredth (our choice).
const ODD: f64 = 3.0;

/// Rounds of weighing odd runs down; each changes the answer by about a tenth of the last.
const ROUNDS: usize = 5;

/// Parameters are solved for in this unit, K, so that all unknowns are of one size.
const UNIT_K: f64 = 1000.0;

/// Stands for "no prior" while the data's own say on the cold parameter is sought, K.
const WIDE_K: f64 = 5000.0;

/// Prior of the cold parameter, below and above the default, K. Together their root mean square distance from the default is that of the
/// interval 2450 to 3020 K from its upper end, 329 K; above it is narrow, since real cold water hardly gives less than the default says.
const COLD_SIDES_K: (f64, f64) = (367.0, 100.0);

/// Learns from a history, oldest first. With too few runs, or runs of one temperature, the defaults come back with their spread.
pub fn learn(points: &[HistoryPoint]) -> Learnt {
    let default = TemperatureResponse::default();
    let mut learnt = Learnt::default();
    if !swings(points) {
        return learnt;
    }
    let points = &smooth(points);
    let water: Vec<Row> = points.iter().filter_map(|point| Row::new(point, 0)).collect();
    let prior =
        [(default.water_cold_k, WIDE_K), (default.water_warm_k, TemperatureResponse::WATER_WARM_SD_K)];
    if let Some([cold, warm]) = posterior(&water, prior) {
        let cold = one_sided(cold, default.water_cold_k);
        learnt.runs = water.len();
        (learnt.response.water_cold_k, learnt.sd_k[1]) = cold;
        (learnt.response.water_warm_k, learnt.sd_k[0]) = warm;
    }
    let salt: Vec<Row> = points.iter().filter_map(|point| Row::new(point, 1)).collect();
    let salt_prior = (default.salt_k, TemperatureResponse::SALT_SD_K);
    if let Some([both, _]) = posterior(&salt, [salt_prior, (0.0, 1.0)]) {
        (learnt.response.salt_k, learnt.sd_k[2]) = both;
    }
    learnt
}

/// The effects of shared errors and the chance of each run as smooth functions of temperature alone. Taken at the readings themselves they would rise and fall with the
/// readings' own errors, just as the permeabilities do, and seem to explain them.
fn smooth(points: &[HistoryPoint]) -> Vec<HistoryPoint> {
    let mut keys: Vec<SharedKey> =
        points.iter().flat_map(|point| point.shared.iter().map(|(key, _)| *key)).collect();
    keys.sort_unstable();
    keys.dedup();
    let mut smoothed = points.to_vec();
    let lay = |smoothed: &mut Vec<HistoryPoint>,
               of: &mut dyn FnMut(&mut HistoryPoint) -> Option<&mut f64>| {
        let samples: Vec<(f64, f64)> = smoothed
            .iter_mut()
            .filter_map(|point| {
                let celsius = point.temperature_c;
                of(point).map(|value| (celsius, *value))
            })
            .collect();
        let Some(curve) = Curve::through(&samples) else { return };
        for point in smoothed.iter_mut() {
            let celsius = point.temperature_c;
            if let Some(value) = of(point) {
                *value = curve.at(celsius);
            }
        }
    };
    for k in 0..2 {
        lay(&mut smoothed, &mut |point| Some(&mut point.random_sd[k]));
        for key in &keys {
            lay(&mut smoothed, &mut |point| {
                point.shared.iter_mut().find(|(known, _)| known == key).map(|(_, effect)| &mut effect[k])
            });
        }
    }
    smoothed.iter_mut().for_each(|point| point.random_sd = point.random_sd.map(|sd| sd.max(0.0)));
    smoothed
}

/// A parabola in temperature.
struct Curve {
    middle_c: f64,
    factors: Vec<f64>,
}

/// Unit of the temperature in a curve, K, so that all factors are of one size.
const CURVE_K: f64 = 10.0;

/// Keeps a curve through few or equal temperatures from bending; against sums over dozens of runs it is nothing.
const CURVE_RIDGE: f64 = 1e-3;

impl Curve {
    fn through(samples: &[(f64, f64)]) -> Option<Self> {
        let middle_c = samples.iter().map(|(celsius, _)| celsius).sum::<f64>() / samples.len().max(1) as f64;
        let (mut matrix, mut right) = (vec![0.0; 9], vec![0.0; 3]);
        for (celsius, value) in samples {
            let powers = Self::powers(celsius - middle_c);
            for (i, one) in powers.iter().enumerate() {
                right[i] += one * value;
                for (j, other) in powers.iter().enumerate() {
                    matrix[3 * i + j] += one * other;
                }
            }
        }
        matrix[4] += CURVE_RIDGE;
        matrix[8] += CURVE_RIDGE;
        Some(Self { middle_c, factors: Cholesky::new(matrix, 3)?.solve(&right) })
    }

    fn powers(from_middle_k: f64) -> [f64; 3] {
        let x = from_middle_k / CURVE_K;
        [1.0, x, x * x]
    }

    fn at(&self, celsius: f64) -> f64 {
        Self::powers(celsius - self.middle_c)
            .iter()
            .zip(&self.factors)
            .map(|(one, factor)| one * factor)
            .sum()
    }
}

/// Does the sea's temperature vary far more than the chance of its readings? Otherwise that chance would flatten every response (errors in variables: the slope shrinks by its share
/// of the variance; Fuller, Measurement Error Models, 1987).
fn swings(points: &[HistoryPoint]) -> bool {
    let count = points.len().max(1) as f64;
    let mean = |of: &dyn Fn(&HistoryPoint) -> f64| points.iter().map(of).sum::<f64>() / count;
    let middle = mean(&|point| point.temperature_c);
    let variance = mean(&|point| (point.temperature_c - middle) * (point.temperature_c - middle));
    let chance = mean(&|point| point.temperature_random_k * point.temperature_random_k);
    chance < CHANCE_SHARE_MAX * variance && SWING_MIN_K * SWING_MIN_K < variance
}

/// Largest share of chance in the variance of the temperatures: the response then shrinks by a fiftieth.
const CHANCE_SHARE_MAX: f64 = 0.02;

/// Least standard deviation of the temperatures, K: below, nothing is to be learnt (our choice).
const SWING_MIN_K: f64 = 1.0;

/// One equation: a run's ln A or ln B.
struct Row {
    days: f64,
    segment: u32,
    /// 1/298.15 - 1/T on each side of 25 °C; all of it on the first for salt.
    reach: [f64; 2],
    value: f64,
    variance: f64,
    shared: Vec<(SharedKey, f64)>,
}

impl Row {
    /// `k`: 0 for water, 1 for salt.
    fn new(point: &HistoryPoint, k: usize) -> Option<Self> {
        if k == 1 && !point.salt_measured {
            return None;
        }
        let reach = TemperatureResponse::reach_per_k(Temperature::from_celsius(point.temperature_c).ok()?);
        let side = if k == 0 && 0.0 < reach { [0.0, reach] } else { [reach, 0.0] };
        let sd = point.random_sd[k];
        Some(Self {
            days: point.days,
            segment: point.segment,
            reach: side,
            value: point.ln_ab[k],
            variance: sd * sd + FLOOR * FLOOR,
            shared: point.shared.iter().map(|(key, effect)| (*key, effect[k])).collect(),
        })
        .filter(|row| row.value.is_finite() && row.variance.is_finite())
    }
}

/// Mean and standard deviation of both parameters, with these normal priors; `None` with too few runs.
fn posterior(rows: &[Row], prior: [(f64, f64); 2]) -> Option<[(f64, f64); 2]> {
    if rows.len() < RUNS_MIN {
        return None;
    }
    let problem = Problem::new(rows, prior);
    let mut weights = vec![1.0; rows.len()];
    let mut scale = 1.0_f64;
    for _ in 0..ROUNDS {
        let solution = problem.solve(DRIFTS[USUAL_DRIFT], &weights, scale)?;
        let deviations: Vec<f64> = rows
            .iter()
            .zip(&solution.residuals)
            .map(|(row, left)| left.abs() / row.variance.sqrt())
            .collect();
        scale = spread(&deviations).max(1.0);
        for (weight, deviation) in weights.iter_mut().zip(&deviations) {
            let far = deviation / (ODD * scale);
            *weight = 1.0 / (1.0 + far * far * far * far);
        }
    }
    let solutions: Vec<Solution> =
        DRIFTS.iter().filter_map(|drift| problem.solve(*drift, &weights, scale)).collect();
    let best = solutions.iter().map(|solution| solution.ln_evidence).reduce(f64::max)?;
    let share: Vec<f64> = solutions.iter().map(|solution| math::exp(solution.ln_evidence - best)).collect();
    let total: f64 = share.iter().sum();
    Some(std::array::from_fn(|k| {
        let over = |of: &dyn Fn(&Solution) -> f64| {
            solutions.iter().zip(&share).map(|(solution, share)| share * of(solution)).sum::<f64>() / total
        };
        let mean = over(&|solution| solution.parameter[k].0);
        let square = over(&|solution| {
            let (value, sd) = solution.parameter[k];
            sd * sd + (value - mean) * (value - mean)
        });
        (mean, square.sqrt())
    }))
}

/// A standard deviation from the median of absolute deviations, which a few odd ones do not move (1.4826: normal distribution).
fn spread(deviations: &[f64]) -> f64 {
    let mut sorted = deviations.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).map_or(1.0, |middle| 1.4826 * middle)
}

/// The data's say on the cold parameter with its one-sided prior: the most probable value and the root mean square distance from it.
fn one_sided((mean, sd): (f64, f64), default_k: f64) -> (f64, f64) {
    let precision = (1.0 / (sd * sd) - 1.0 / (WIDE_K * WIDE_K)).max(0.0);
    if precision <= 0.0 {
        return (default_k, TemperatureResponse::WATER_COLD_SD_K);
    }
    // What the data alone say, without the wide prior.
    let said = (mean / (sd * sd) - default_k / (WIDE_K * WIDE_K)) / precision;
    let (below, above) = COLD_SIDES_K;
    let side = if said < default_k { below } else { above };
    let own = 1.0 / (side * side);
    let mode = (own * default_k + precision * said) / (own + precision);
    // Both sides as halves of normal densities; their second moments about the mode, by Simpson's rule over six standard deviations of the wider one.
    let density = |k: f64| {
        let side = if k < default_k { below } else { above };
        let (to_prior, to_data) = ((k - default_k) / side, k - said);
        math::exp(
            -0.5 * (to_prior * to_prior + precision * to_data * to_data
                - at_mode(mode, said, precision, default_k)),
        )
    };
    const STEPS: u32 = 200;
    let reach = 6.0 / (1.0 / (below * below) + precision).sqrt();
    let (mut mass, mut moment) = (0.0, 0.0);
    for i in 0..=STEPS {
        let k = mode - reach + 2.0 * reach * f64::from(i) / f64::from(STEPS);
        let simpson = if i == 0 || i == STEPS {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        };
        let weight = simpson * density(k);
        mass += weight;
        moment += weight * (k - mode) * (k - mode);
    }
    (mode, (moment / mass).sqrt())
}

/// Exponent of the density at its mode, so that it is one there.
fn at_mode(mode: f64, said: f64, precision: f64, default_k: f64) -> f64 {
    let (below, above) = COLD_SIDES_K;
    let side = if mode < default_k { below } else { above };
    let to_prior = (mode - default_k) / side;
    to_prior * to_prior + precision * (mode - said) * (mode - said)
}

/// Where a row stands between the knots of its segment.
struct Place {
    knot: usize,
    /// Share of the next knot.
    next: f64,
}

/// The least-squares problem: two parameters, a trend, the shared errors, the knots.
struct Problem<'a> {
    rows: &'a [Row],
    prior: [(f64, f64); 2],
    keys: Vec<SharedKey>,
    places: Vec<Place>,
    /// Neighbours along a segment and the days between them.
    steps: Vec<(usize, usize, f64)>,
    /// First knot of each segment.
    firsts: Vec<usize>,
    unknowns: usize,
    centre: f64,
}

struct Solution {
    parameter: [(f64, f64); 2],
    residuals: Vec<f64>,
    ln_evidence: f64,
}

/// Unknowns before the shared errors: two parameters and the trend.
const HEAD: usize = 3;
const TREND: usize = 2;

impl<'a> Problem<'a> {
    fn new(rows: &'a [Row], prior: [(f64, f64); 2]) -> Self {
        let mut keys: Vec<SharedKey> =
            rows.iter().flat_map(|row| row.shared.iter().map(|(key, _)| *key)).collect();
        keys.sort_unstable();
        keys.dedup();
        let mut segments: Vec<u32> = rows.iter().map(|row| row.segment).collect();
        segments.sort_unstable();
        segments.dedup();
        let mut unknowns = HEAD + keys.len();
        let (mut steps, mut firsts) = (Vec::new(), Vec::new());
        let mut grids = Vec::with_capacity(segments.len());
        for segment in &segments {
            let days = rows.iter().filter(|row| row.segment == *segment).map(|row| row.days);
            let (low, high) = days
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), day| (low.min(day), high.max(day)));
            let width = KNOT_DAYS.max((high - low) / KNOTS_MAX);
            let intervals = ((high - low) / width).ceil() as usize;
            firsts.push(unknowns);
            steps.extend((0..intervals).map(|i| (unknowns + i, unknowns + i + 1, width)));
            grids.push((*segment, low, width, unknowns, intervals));
            unknowns += intervals + 1;
        }
        let places = rows
            .iter()
            .map(|row| {
                let grid = grids.iter().find(|grid| grid.0 == row.segment);
                let Some(&(_, low, width, first, intervals)) = grid else {
                    return Place { knot: HEAD, next: 0.0 };
                };
                let along = (row.days - low) / width;
                let cell = (along.floor().max(0.0) as usize).min(intervals.saturating_sub(1));
                Place { knot: first + cell, next: if intervals == 0 { 0.0 } else { along - cell as f64 } }
            })
            .collect();
        let centre = rows.iter().map(|row| row.value).sum::<f64>() / rows.len().max(1) as f64;
        Self { rows, prior, keys, places, steps, firsts, unknowns, centre }
    }

    /// The equation of a row: unknowns with their factors, and what remains to be explained.
    fn equation(&self, row: &Row, place: &Place) -> (Vec<(usize, f64)>, f64) {
        let mut factors = Vec::with_capacity(4 + row.shared.len());
        factors.push((0, row.reach[0] * UNIT_K));
        factors.push((1, row.reach[1] * UNIT_K));
        factors.push((place.knot, 1.0 - place.next));
        if place.next != 0.0 {
            factors.push((place.knot + 1, place.next));
        }
        for (key, effect) in &row.shared {
            if let Ok(at) = self.keys.binary_search(key) {
                factors.push((HEAD + at, *effect));
            }
        }
        let expected = row.reach[0] * self.prior[0].0 + row.reach[1] * self.prior[1].0;
        (factors, row.value - self.centre - expected)
    }

    fn solve(&self, drift: f64, weights: &[f64], scale: f64) -> Option<Solution> {
        let n = self.unknowns;
        let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
        let mut ln_prior = 0.0;
        let mut add = |factors: &[(usize, f64)], value: f64, precision: f64| {
            for &(i, a) in factors {
                right[i] += precision * a * value;
                for &(j, b) in factors {
                    matrix[i * n + j] += precision * a * b;
                }
            }
        };
        for (k, (_, sd)) in self.prior.iter().enumerate() {
            add(&[(k, 1.0)], 0.0, (UNIT_K / sd) * (UNIT_K / sd));
        }
        add(&[(TREND, 1.0)], 0.0, 1.0);
        for at in 0..self.keys.len() {
            add(&[(HEAD + at, 1.0)], 0.0, 1.0);
        }
        for &first in &self.firsts {
            add(&[(first, 1.0)], 0.0, LEVEL_PRECISION);
        }
        for &(one, other, days) in &self.steps {
            let precision = KNOT_DAYS / (days * drift * drift);
            add(&[(other, 1.0), (one, -1.0), (TREND, -days * TREND_SD_PER_DAY)], 0.0, precision);
            ln_prior += math::ln(precision);
        }
        let equations: Vec<_> =
            self.rows.iter().zip(&self.places).map(|(row, place)| self.equation(row, place)).collect();
        for ((row, weight), (factors, value)) in self.rows.iter().zip(weights).zip(&equations) {
            add(factors, *value, weight / (row.variance * scale * scale));
        }
        let factor = Cholesky::new(matrix, n)?;
        let found = factor.solve(&right);
        let residuals: Vec<f64> = equations
            .iter()
            .map(|(factors, value)| value - factors.iter().map(|&(i, a)| a * found[i]).sum::<f64>())
            .collect();
        // The minimum of the sum of squares is what is to be explained less what the solution explains.
        let to_explain: f64 = self
            .rows
            .iter()
            .zip(weights)
            .zip(&equations)
            .map(|((row, weight), (_, value))| weight * value * value / (row.variance * scale * scale))
            .sum();
        let explained: f64 = right.iter().zip(&found).map(|(right, found)| right * found).sum();
        let parameter = std::array::from_fn(|k| {
            let variance = factor.inverse_column(k)[k];
            (self.prior[k].0 + UNIT_K * found[k], UNIT_K * variance.sqrt())
        });
        let ln_evidence = 0.5 * (ln_prior - factor.ln_determinant() - (to_explain - explained));
        Some(Solution { parameter, residuals, ln_evidence })
    }
}
