//! Permeabilities of a run, and how they and the product stand against the baseline.
//!
//! Run and baseline are two states of the same inversion ([`crate::performance::inversion`]), each with its answer to every error: readings, film,
//! osmotic pressure, differential pressure, temperature parameters, pump. In the difference what both have in common cancels as far as the two points answer
//! alike; everything else adds up. So a sound unit that comes from cold into warm, or from the sea into fresher water, is not blamed for what the model does not know.

use super::observed::{Input, NotJudged, Observed, WEAR_SPREAD};
use super::plant_figures::{Difference, NotIdentified, PlantFigures};
use crate::math;
use crate::membrane::{Form, TemperatureResponse, Train};
use crate::performance::answers::{Fit, FitPoint};
use crate::performance::{Covariance, MembraneState, Source, inversion};
use crate::quantity::Temperature;
use crate::records::Baseline;

/// A value with its standard deviation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// The forms of the model and the doubt of its temperature parameters: defaults, or learnt from the unit's own history.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laws {
    /// Forms and parameters.
    pub form: Form,
    /// Standard deviations of the temperature parameters: water above 25 °C, below, salt; K.
    pub temperature_sd_k: [f64; 3],
}

impl Default for Laws {
    fn default() -> Self {
        Self { form: Form::default(), temperature_sd_k: TemperatureResponse::SD_K }
    }
}

/// Permeabilities of one run with their answer to all errors.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// The state of the membranes. Without a measured flow it is no membrane figure by itself.
    pub state: MembraneState,
    /// What was observed.
    pub observed: Observed,
    /// The temperature parameters with which the permeabilities were brought to 25 °C.
    pub response: TemperatureResponse,
}

impl Fitted {
    /// ln of A25 in m/(s Pa) and of B25 in m/s.
    pub fn ln_ab(&self) -> [f64; 2] {
        self.state.answers.ln_ab
    }

    /// Values of the inputs that causes are weighed over, in the order of [`Input`].
    pub fn inputs(&self) -> [f64; Input::COUNT] {
        let point = &self.state.point;
        let mut inputs = [0.0; Input::COUNT];
        inputs[Input::ProductFlow as usize] = point.product_l_h;
        inputs[Input::FeedFlow as usize] = point.feed_l_h;
        inputs[Input::Pressure as usize] = point.pressure_bar;
        inputs[Input::Temperature as usize] = point.temperature_c;
        inputs[Input::Salinity as usize] = point.salinity_g_kg;
        inputs[Input::ProductSalinity as usize] = point.product_g_kg;
        inputs[Input::ProductPressure as usize] = point.product_bar;
        inputs
    }

    /// Standard deviations of ln A25 and ln B25 from the chance of the readings.
    pub fn random_sd(&self) -> [f64; 2] {
        let chance = self.state.random_covariance();
        [chance.ln_a_sd(), chance.ln_b_sd()]
    }

    /// Derivatives of ln A25 and ln B25 by each input.
    fn by_input(&self) -> [[f64; Input::COUNT]; 2] {
        let answers = &self.state.answers;
        let feed_from_product = self.observed.flow_measured && self.observed.readings.feed_flow_l_h.is_none();
        std::array::from_fn(|k| {
            let by = |source: Source| answers.by(source)[k];
            let mut all = [0.0; Input::COUNT];
            // Where the feed is product plus concentrate, a wrong product flow is a wrong feed flow too.
            all[Input::ProductFlow as usize] =
                by(Source::ProductFlow) + if feed_from_product { by(Source::FeedFlow) } else { 0.0 };
            all[Input::FeedFlow as usize] = by(Source::FeedFlow);
            all[Input::Pressure as usize] = by(Source::Pressure);
            all[Input::Temperature as usize] = by(Source::Temperature);
            all[Input::Salinity as usize] = by(Source::Salinity);
            all[Input::ProductSalinity as usize] = by(Source::ProductSalinity);
            all[Input::ProductPressure as usize] = by(Source::ProductPressure);
            all
        })
    }
}

/// What a baseline adds to its mean readings: permeabilities over its runs and how far they can be off by chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BaselineFit {
    /// ln A25 and ln B25.
    pub ln_ab: [f64; 2],
    /// Their covariance from chance.
    pub random: Covariance,
    /// Scatter of both from run to run; 0 if it had one run.
    pub scatter: [f64; 2],
    /// Temperature parameters with which they were brought to 25 °C.
    pub stated_with: TemperatureResponse,
}

impl From<&Baseline> for BaselineFit {
    fn from(baseline: &Baseline) -> Self {
        Self {
            ln_ab: [math::ln(baseline.a25), math::ln(baseline.b25)],
            random: Covariance {
                aa: baseline.ln_a25_random * baseline.ln_a25_random,
                ab: baseline.ln_ab25_covariance,
                bb: baseline.ln_b25_random * baseline.ln_b25_random,
            },
            scatter: [baseline.ln_a25_scatter, baseline.ln_b25_scatter],
            stated_with: TemperatureResponse::from_parameters_k(baseline.temperature_k),
        }
    }
}

/// What a run is compared with.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// The state at the baseline's mean readings, with the baseline's permeabilities.
    pub fitted: Fitted,
    random: Covariance,
    scatter: [f64; 2],
}

/// How a run stands against the baseline.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Was the feed or concentrate flow measured? Without it no figure here is a membrane figure.
    pub flow_measured: bool,
    /// Was the product's salinity measured, now and at the baseline?
    pub salt_measured: bool,
    /// ln of A25 over the baseline's.
    pub ln_a: Estimate,
    /// ln of B25 over the baseline's.
    pub ln_b: Estimate,
    /// Covariance of the two.
    pub covariance_ab: f64,
    /// ln of the product flow at the baseline's water, pressure and feed flow, over the baseline's.
    pub ln_output: Estimate,
    /// ln of the product over what the baseline's membranes would make in this run's water, pressure and feed flow. Where the flow is not measured, the
    /// pump's wear is no error of this figure but one of the things that may show in it.
    pub ln_against_model: Estimate,
    /// ln of the pump's delivery over the baseline's, if both are measured.
    pub ln_delivery: Option<Estimate>,
    /// ln of the motor's constant over the baseline's: electric power or current over pressure rise and swept flow.
    pub ln_motor_constant: Option<Estimate>,
    /// ln of the vessel's differential pressure at the baseline's flow over the baseline's.
    pub ln_differential_pressure: Option<Estimate>,
    /// What cannot be told from these readings, and what would tell it.
    pub not_identified: Vec<NotIdentified>,
    /// Product that the baseline's membranes would make here, L/h, with its standard deviation.
    pub expected_product_l_h: Estimate,
    /// Product, L/h.
    pub product_l_h: f64,
    /// Derivatives of ln A25 and ln B25 by each input, for weighing causes.
    pub by_input: [[f64; Input::COUNT]; 2],
    spread: Spread,
    plant: PlantDifferences,
    output_by_ab: [f64; 2],
    product_by_ab: [f64; 2],
}

/// Differences of the plant's figures, if both sides have them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct PlantDifferences {
    delivery: Option<Difference>,
    motor: Option<Difference>,
    vessel: Option<Difference>,
}

/// Covariance of ln A25 and ln B25 against the baseline, in what every run draws anew, what all runs share, and the wear of a pump whose flow was not measured.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Spread {
    own: Covariance,
    shared: Covariance,
    wear: Covariance,
}

impl Spread {
    /// Covariance of the mean of so many runs.
    fn over(&self, runs: f64, with_wear: bool) -> Covariance {
        let wear = if with_wear { 1.0 } else { 0.0 };
        let sum = |part: fn(&Covariance) -> f64| {
            part(&self.own) / runs + part(&self.shared) + wear * part(&self.wear)
        };
        Covariance { aa: sum(|c| c.aa), ab: sum(|c| c.ab), bb: sum(|c| c.bb) }
    }

    /// The mean of several.
    fn mean<'s>(all: impl ExactSizeIterator<Item = &'s Self>) -> Self {
        let share = 1.0 / all.len().max(1) as f64;
        let mut mean = Self::default();
        for spread in all {
            let parts = [
                (&mut mean.own, &spread.own),
                (&mut mean.shared, &spread.shared),
                (&mut mean.wear, &spread.wear),
            ];
            for (sum, part) in parts {
                sum.aa += share * part.aa;
                sum.ab += share * part.ab;
                sum.bb += share * part.bb;
            }
        }
        mean
    }
}

/// A median of n normal numbers scatters like the mean of n / 1.57 of them (for large n; pi/2).
const MEDIAN_PRICE: f64 = std::f64::consts::FRAC_PI_2;

impl Comparison {
    /// Several runs as one: medians, so that one odd run does not decide; chance averages out, what the runs share does not. The
    /// latest run gives the figures of its own water. `None` if there is none.
    pub fn of_runs(runs: &[Self]) -> Option<Self> {
        let latest = runs.last()?;
        if runs.len() < 3 {
            return Some(latest.clone());
        }
        let median = |of: fn(&Self) -> f64| median(runs.iter().map(of).collect());
        let plant = |of: fn(&PlantDifferences) -> Option<Difference>| {
            of(&latest.plant)?;
            let all: Vec<Difference> = runs.iter().filter_map(|run| of(&run.plant)).collect();
            Some(median_of(&all))
        };
        let mut joint = Self {
            ln_delivery: plant(|plant| plant.delivery),
            ln_motor_constant: plant(|plant| plant.motor),
            ln_differential_pressure: plant(|plant| plant.vessel),
            flow_measured: runs.iter().all(|run| run.flow_measured),
            salt_measured: runs.iter().all(|run| run.salt_measured),
            spread: Spread::mean(runs.iter().map(|run| &run.spread)),
            ..latest.clone()
        };
        joint.ln_a.value = median(|run| run.ln_a.value);
        joint.ln_b.value = median(|run| run.ln_b.value);
        joint.ln_output.value = median(|run| run.ln_output.value);
        joint.ln_against_model.value = median(|run| run.ln_against_model.value);
        joint.spread_over(runs.len() as f64 / MEDIAN_PRICE);
        Some(joint)
    }

    /// Standard deviations of the mean of so many runs.
    fn spread_over(&mut self, runs: f64) {
        let whole = self.spread.over(runs, true);
        (self.ln_a.sd, self.ln_b.sd, self.covariance_ab) = (whole.ln_a_sd(), whole.ln_b_sd(), whole.ab);
        let [a, b] = self.output_by_ab;
        self.ln_output.sd = whole.along(a, b);
        let [a, b] = self.product_by_ab;
        self.ln_against_model.sd = self.spread.over(runs, false).along(a, b);
    }
}

/// Several differences as one.
fn median_of(all: &[Difference]) -> Estimate {
    let count = all.len().max(1) as f64;
    let mean = |of: fn(&Difference) -> f64| all.iter().map(of).sum::<f64>() / count;
    let runs = if all.len() < 3 { 1.0 } else { count / MEDIAN_PRICE };
    Estimate {
        value: median(all.iter().map(|difference| difference.ln).collect()),
        sd: (mean(|difference| difference.own) / runs + mean(|difference| difference.shared)).sqrt(),
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[middle],
        _ => 0.5 * (values[middle - 1] + values[middle]),
    }
}

/// L/h in a m3/s.
const L_H_PER_M3_S: f64 = 3.6e6;

fn state(
    train: &Train,
    observed: &Observed,
    laws: &Laws,
    known: Option<[f64; 2]>,
) -> Result<MembraneState, NotJudged> {
    inversion::state(train, &laws.form, laws.temperature_sd_k, &observed.readings, observed.pump, known)
        .map_err(|_| NotJudged::Contradiction)
}

/// Fits the permeabilities of one run.
///
/// # Errors
/// [`NotJudged::Contradiction`] if no permeability gives these readings.
pub fn fit(train: &Train, observed: &Observed, laws: &Laws) -> Result<Fitted, NotJudged> {
    let state = state(train, observed, laws, None)?;
    Ok(Fitted { state, observed: observed.clone(), response: laws.form.temperature })
}

impl Reference {
    /// From the mean readings of a baseline and what was fitted to its runs. Permeabilities that were brought to 25 °C with other temperature
    /// parameters than those of `laws` are brought back to the baseline's own temperature, where they were found, and from there with these.
    ///
    /// # Errors
    /// [`NotJudged`] if the readings cannot be used.
    pub fn new(
        train: &Train,
        observed: &Observed,
        baseline: &BaselineFit,
        laws: &Laws,
    ) -> Result<Self, NotJudged> {
        let celsius = observed.readings.feed_temperature_c.ok_or(NotJudged::Temperature)?.value;
        let there = Temperature::from_celsius(celsius).map_err(|_| NotJudged::Contradiction)?;
        let (before, after) = (&baseline.stated_with, &laws.form.temperature);
        let ln_ab = [
            baseline.ln_ab[0] + math::ln(before.water(there) / after.water(there)),
            baseline.ln_ab[1] + math::ln(before.salt(there) / after.salt(there)),
        ];
        let state = state(train, observed, laws, Some(ln_ab))?;
        Ok(Self {
            fitted: Fitted { state, observed: observed.clone(), response: laws.form.temperature },
            random: baseline.random,
            scatter: baseline.scatter,
        })
    }
}

/// Compares a run with the baseline.
///
/// # Errors
/// [`NotJudged::Contradiction`] if the model cannot reach either point.
pub fn compare(
    train: &Train,
    run: &Fitted,
    reference: &Reference,
    laws: &Laws,
) -> Result<Comparison, NotJudged> {
    let base = &reference.fitted;
    let (now_ab, then_ab) = (run.ln_ab(), base.ln_ab());
    let model = Fit { train, form: &laws.form };
    let product = |point: &FitPoint, ln_ab: [f64; 2]| {
        model.ln_product(point, ln_ab).map(|ln| ln[0]).map_err(|_| NotJudged::Contradiction)
    };
    let ln_output = product(&base.state.point, now_ab)? - product(&base.state.point, then_ab)?;
    let expected_l_h = math::exp(product(&run.state.point, then_ab)?) * L_H_PER_M3_S;
    let product_l_h = run.state.point.product_l_h;
    let figures = |of: fn(&PlantFigures, &PlantFigures) -> Option<Difference>| {
        of(&run.observed.figures, &base.observed.figures)
    };
    let plant = PlantDifferences {
        delivery: figures(PlantFigures::delivery_over),
        motor: figures(PlantFigures::motor_over),
        vessel: figures(PlantFigures::differential_pressure_over),
    };
    let estimate = |difference: Option<Difference>| difference.map(|difference| difference.estimate());
    let nothing = Estimate::default();
    let mut comparison = Comparison {
        flow_measured: run.observed.flow_measured && base.observed.flow_measured,
        salt_measured: run.observed.salt_measured && base.observed.salt_measured,
        ln_a: Estimate { value: now_ab[0] - then_ab[0], sd: 0.0 },
        ln_b: Estimate { value: now_ab[1] - then_ab[1], sd: 0.0 },
        covariance_ab: 0.0,
        ln_output: Estimate { value: ln_output, sd: 0.0 },
        ln_against_model: Estimate { value: math::ln(product_l_h / expected_l_h), sd: 0.0 },
        ln_delivery: estimate(plant.delivery),
        ln_motor_constant: estimate(plant.motor),
        ln_differential_pressure: estimate(plant.vessel),
        not_identified: run.observed.not_identified.clone(),
        expected_product_l_h: nothing,
        product_l_h,
        by_input: run.by_input(),
        spread: spread(run, reference),
        plant,
        // Against the model in the run's own water the answer is the same as through A and B, to first order.
        output_by_ab: base.state.answers.ln_product_by_ab,
        product_by_ab: run.state.answers.ln_product_by_ab,
    };
    comparison.spread_over(1.0);
    // The interval is for what this meter would show: what it shares with the baseline has cancelled, and the chance of this one reading is
    // shown with the reading.
    let own = run.observed.readings.product_flow_l_h.map_or(0.0, |read| read.random) / product_l_h;
    let sd = comparison.ln_against_model.sd;
    comparison.expected_product_l_h =
        Estimate { value: expected_l_h, sd: expected_l_h * (sd * sd - own * own).max(0.0).sqrt() };
    Ok(comparison)
}

fn spread(run: &Fitted, reference: &Reference) -> Spread {
    let mut own = run.state.random_covariance();
    // Runs scatter by what the instruments promise or by what the baseline's runs showed, whichever is more.
    own.aa = own.aa.max(reference.scatter[0] * reference.scatter[0]);
    own.bb = own.bb.max(reference.scatter[1] * reference.scatter[1]);
    let mut shared = run.state.shared_covariance_over(&reference.fitted.state);
    shared.aa += reference.random.aa;
    shared.ab += reference.random.ab;
    shared.bb += reference.random.bb;
    let mut wear = Covariance::default();
    if !run.observed.flow_measured {
        let [a, b] = run.state.answers.by(Source::FeedFlow);
        wear.add((a, b), WEAR_SPREAD * run.state.point.feed_l_h);
    }
    Spread { own, shared, wear }
}
