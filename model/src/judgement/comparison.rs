//! Permeabilities of a run, and how they and the product stand against the baseline.
//!
//! The fit is two readings for two unknowns, ln A25 and ln B25. How they answer to an error of each input follows from the derivatives of the forward
//! model (implicit differentiation), so eight marches give the fit's whole covariance. In the difference to the baseline the systematic part of an
//! instrument that served both cancels as far as the two points answer alike; everything else adds up.

use super::observed::{Input, NotJudged, Observed, salinity};
use crate::math;
use crate::membrane::{
    Form, GivenPressure, Permeabilities, Salt, TemperatureResponse, Train, Water, Working,
};
use crate::quantity::{Flow, Pressure, Temperature};

/// A value with its standard deviation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// Permeabilities of one run with their answer to errors of the inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// ln of A25 in m/(s Pa) and of B25 in m/s.
    pub ln_ab: [f64; 2],
    /// What was observed.
    pub observed: Observed,
    /// Derivatives of ln A25 and ln B25 by each input, per unit of the input.
    pub by_input: [[f64; Input::COUNT]; 2],
    /// Derivatives of ln of the model's product flow by each input, at fixed permeabilities.
    pub ln_product_by_input: [f64; Input::COUNT],
    /// Derivatives of ln of the model's product flow by ln A25 and ln B25.
    pub ln_product_by_ab: [f64; 2],
}

/// What a run is compared with.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// The fit at the baseline's mean readings, with the baseline's permeabilities.
    pub fitted: Fitted,
    /// Standard deviation of ln A25 and ln B25 of the baseline from chance.
    pub random: [f64; 2],
    /// Scatter of ln A25 and ln B25 from run to run, as seen in the baseline; 0 if it had one run.
    pub scatter: [f64; 2],
    /// Pump delivery at the baseline.
    pub delivery: Option<f64>,
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
    /// ln of the product over what the baseline's membranes would make in this run's water, pressure and feed flow.
    pub ln_against_model: Estimate,
    /// ln of the pump's delivery over the baseline's, if both are measured.
    pub ln_delivery: Option<Estimate>,
    /// Product that the baseline's membranes would make here, L/h, with its standard deviation.
    pub expected_product_l_h: Estimate,
    /// Product, L/h.
    pub product_l_h: f64,
    /// Derivatives of ln A25 and ln B25 by each input, for weighing causes.
    pub by_input: [[f64; Input::COUNT]; 2],
    covariance: Covariance,
    output_by_ab: [f64; 2],
    product_by_ab: [f64; 2],
}

/// Covariance of ln A25 and ln B25 against the baseline, in what every run draws anew and what all runs share.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Covariance {
    own: [[f64; 2]; 2],
    shared: [[f64; 2]; 2],
}

impl Covariance {
    fn add(part: &mut [[f64; 2]; 2], j: [f64; 2], sd: f64) {
        for k in 0..2 {
            for l in 0..2 {
                part[k][l] += j[k] * j[l] * sd * sd;
            }
        }
    }

    /// Covariance of the mean of so many runs.
    fn over(&self, runs: f64) -> [[f64; 2]; 2] {
        std::array::from_fn(|k| std::array::from_fn(|l| self.own[k][l] / runs + self.shared[k][l]))
    }
}

/// Variance of a linear combination.
fn variance(by: [f64; 2], covariance: [[f64; 2]; 2]) -> f64 {
    (by[0] * by[0] * covariance[0][0]
        + 2.0 * by[0] * by[1] * covariance[0][1]
        + by[1] * by[1] * covariance[1][1])
        .max(0.0)
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
        let count = runs.len() as f64;
        let mut covariance = Covariance::default();
        for run in runs {
            for k in 0..2 {
                for l in 0..2 {
                    covariance.own[k][l] += run.covariance.own[k][l] / count;
                    covariance.shared[k][l] += run.covariance.shared[k][l] / count;
                }
            }
        }
        let over = covariance.over(count / MEDIAN_PRICE);
        let deliveries: Vec<Estimate> = runs.iter().filter_map(|run| run.ln_delivery).collect();
        Some(Self {
            ln_a: Estimate { value: median(|run| run.ln_a.value), sd: over[0][0].sqrt() },
            ln_b: Estimate { value: median(|run| run.ln_b.value), sd: over[1][1].sqrt() },
            covariance_ab: over[0][1],
            ln_output: Estimate {
                value: median(|run| run.ln_output.value),
                sd: variance(latest.output_by_ab, over).sqrt(),
            },
            ln_against_model: Estimate {
                value: median(|run| run.ln_against_model.value),
                sd: variance(latest.product_by_ab, over).sqrt(),
            },
            ln_delivery: latest.ln_delivery.map(|last| Estimate {
                value: self::median(deliveries.iter().map(|delivery| delivery.value).collect()),
                sd: last.sd,
            }),
            flow_measured: runs.iter().all(|run| run.flow_measured),
            salt_measured: runs.iter().all(|run| run.salt_measured),
            covariance,
            ..latest.clone()
        })
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

/// ln of product flow (m3/s) and product salinity (g/kg) that the model gives.
fn forward(train: &Train, x: &[f64; Input::COUNT], ln_ab: [f64; 2], form: &Form) -> Option<[f64; 2]> {
    let water = Water {
        temperature: Temperature::from_celsius(x[Input::Temperature as usize]).ok()?,
        salinity: salinity(x[Input::Salinity as usize])?,
        salt: Salt::Sea,
    };
    let mut at = train.at(&water, form).ok()?;
    at.set_ln_permeabilities(ln_ab[0], ln_ab[1]);
    let output = at
        .with_inlet_pressure(
            Flow::from_l_h(x[Input::FeedFlow as usize]).ok()?,
            Pressure::from_bar(x[Input::Pressure as usize]).ok()?,
            Pressure::from_bar(x[Input::ProductPressure as usize]).ok()?,
        )
        .ok()?;
    let positive = 0.0 < output.product_m3_s && 0.0 < output.product_g_kg;
    positive.then(|| [math::ln(output.product_m3_s), math::ln(output.product_g_kg)])
}

/// Fits the permeabilities of one run.
///
/// # Errors
/// [`NotJudged::Contradiction`] if no permeability gives these readings.
pub fn fit(train: &Train, observed: &Observed, form: &Form) -> Result<Fitted, NotJudged> {
    let permeabilities = invert(train, observed, form).ok_or(NotJudged::Contradiction)?;
    let ln_ab = [math::ln(permeabilities.a25.as_m_s_pa()), math::ln(permeabilities.b25.as_m_s())];
    linearise(train, observed, ln_ab, form).ok_or(NotJudged::Contradiction)
}

fn invert(train: &Train, observed: &Observed, form: &Form) -> Option<Permeabilities> {
    let value = |input: Input| observed.value(input);
    let water = Water {
        temperature: Temperature::from_celsius(value(Input::Temperature)).ok()?,
        salinity: salinity(value(Input::Salinity))?,
        salt: Salt::Sea,
    };
    train
        .at(&water, form)
        .ok()?
        .fit(
            &Working {
                feed: Flow::from_l_h(value(Input::FeedFlow)).ok()?,
                pressure: GivenPressure::Inlet(Pressure::from_bar(value(Input::Pressure)).ok()?),
                product: Pressure::from_bar(value(Input::ProductPressure)).ok()?,
            },
            Flow::from_l_h(value(Input::ProductFlow)).ok()?,
            salinity(value(Input::ProductSalinity))?,
        )
        .ok()
}

/// Derivatives at a point with known permeabilities.
fn linearise(train: &Train, observed: &Observed, ln_ab: [f64; 2], form: &Form) -> Option<Fitted> {
    let x = std::array::from_fn(|index| observed.entries[index].value);
    let here = forward(train, &x, ln_ab, form)?;
    let slope = |there: [f64; 2], step: f64| [(there[0] - here[0]) / step, (there[1] - here[1]) / step];
    // Steps small against curvature and large against the search's tolerance of 1e-9.
    const STEP_LN: f64 = 1e-3;
    let by_a = slope(forward(train, &x, [ln_ab[0] + STEP_LN, ln_ab[1]], form)?, STEP_LN);
    let by_b = slope(forward(train, &x, [ln_ab[0], ln_ab[1] + STEP_LN], form)?, STEP_LN);
    let mut model_by_input = [[0.0; Input::COUNT]; 2];
    let steps = [
        (Input::FeedFlow, 1e-3 * x[Input::FeedFlow as usize]),
        (Input::Pressure, 0.01),
        (Input::Temperature, 0.01),
        (Input::Salinity, 0.01),
        (Input::ProductPressure, 0.01),
    ];
    for (input, step) in steps {
        let mut there = x;
        there[input as usize] += step;
        let by = slope(forward(train, &there, ln_ab, form)?, step);
        model_by_input[0][input as usize] = by[0];
        model_by_input[1][input as usize] = by[1];
    }
    // F(ln A, ln B, x) = model(x) - observed = 0, so d(ln A, ln B)/dx = -M^-1 dF/dx.
    let determinant = by_a[0] * by_b[1] - by_b[0] * by_a[1];
    if determinant.abs() < 1e-9 {
        return None;
    }
    let mut by_input = [[0.0; Input::COUNT]; 2];
    for index in 0..Input::COUNT {
        let mut f = [model_by_input[0][index], model_by_input[1][index]];
        if index == Input::ProductFlow as usize {
            f[0] -= 1.0 / x[index];
        } else if index == Input::ProductSalinity as usize {
            f[1] -= 1.0 / x[index];
        }
        by_input[0][index] = -(by_b[1] * f[0] - by_b[0] * f[1]) / determinant;
        by_input[1][index] = -(by_a[0] * f[1] - by_a[1] * f[0]) / determinant;
    }
    Some(Fitted {
        ln_ab,
        observed: observed.clone(),
        by_input,
        ln_product_by_input: model_by_input[0],
        ln_product_by_ab: [by_a[0], by_b[0]],
    })
}

impl Reference {
    /// From the mean readings of a baseline and its permeabilities.
    ///
    /// # Errors
    /// [`NotJudged`] if the readings cannot be used.
    pub fn new(
        train: &Train,
        observed: &Observed,
        ln_ab: [f64; 2],
        random: [f64; 2],
        scatter: [f64; 2],
        delivery: Option<f64>,
        form: &Form,
    ) -> Result<Self, NotJudged> {
        let fitted = linearise(train, observed, ln_ab, form).ok_or(NotJudged::Contradiction)?;
        Ok(Self { fitted, random, scatter, delivery })
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
    form: &Form,
) -> Result<Comparison, NotJudged> {
    let base = &reference.fitted;
    let ln_ab: [f64; 2] = std::array::from_fn(|k| run.ln_ab[k] - base.ln_ab[k]);
    let covariance = covariance_of_difference(run, reference);
    let over = covariance.over(1.0);
    let x_base = std::array::from_fn(|index| base.observed.entries[index].value);
    let x_run: [f64; Input::COUNT] = std::array::from_fn(|index| run.observed.entries[index].value);
    let at_base = |ab: [f64; 2]| forward(train, &x_base, ab, form).ok_or(NotJudged::Contradiction);
    let ln_output =
        at_base([base.ln_ab[0] + ln_ab[0], base.ln_ab[1] + ln_ab[1]])?[0] - at_base(base.ln_ab)?[0];
    let expected = forward(train, &x_run, base.ln_ab, form).ok_or(NotJudged::Contradiction)?[0];
    let expected_l_h = math::exp(expected) * L_H_PER_M3_S;
    let product_l_h = x_run[Input::ProductFlow as usize];
    // Against the model in the run's own water the answer is the same as through A and B, to first order.
    let against_variance = variance(run.ln_product_by_ab, over);
    // The interval is for what this meter would show: what it shares with the baseline has cancelled, and the chance of this one reading is
    // shown with the reading.
    let own = run.observed.entries[Input::ProductFlow as usize].random / product_l_h;
    Ok(Comparison {
        flow_measured: run.observed.flow_measured && base.observed.flow_measured,
        salt_measured: run.observed.salt_measured && base.observed.salt_measured,
        ln_a: Estimate { value: ln_ab[0], sd: over[0][0].sqrt() },
        ln_b: Estimate { value: ln_ab[1], sd: over[1][1].sqrt() },
        covariance_ab: over[0][1],
        ln_output: Estimate { value: ln_output, sd: variance(base.ln_product_by_ab, over).sqrt() },
        ln_against_model: Estimate {
            value: math::ln(product_l_h / expected_l_h),
            sd: against_variance.sqrt(),
        },
        ln_delivery: delivery(run, reference),
        expected_product_l_h: Estimate {
            value: expected_l_h,
            sd: expected_l_h * (against_variance - own * own).max(0.0).sqrt(),
        },
        product_l_h,
        by_input: run.by_input,
        covariance,
        output_by_ab: base.ln_product_by_ab,
        product_by_ab: run.ln_product_by_ab,
    })
}

fn covariance_of_difference(run: &Fitted, reference: &Reference) -> Covariance {
    let base = &reference.fitted;
    let mut total = Covariance::default();
    for index in 0..Input::COUNT {
        let (now, then) = (&run.observed.entries[index], &base.observed.entries[index]);
        let j_now = [run.by_input[0][index], run.by_input[1][index]];
        let j_then = [base.by_input[0][index], base.by_input[1][index]];
        Covariance::add(&mut total.own, j_now, now.random);
        if now.instrument.is_some() && now.instrument == then.instrument {
            // One instrument, one error: the baseline's share of it is subtracted. Errors that grow with the value scale along.
            let ratio = if now.systematic == 0.0 { 0.0 } else { then.systematic / now.systematic };
            let difference = [j_now[0] - ratio * j_then[0], j_now[1] - ratio * j_then[1]];
            Covariance::add(&mut total.shared, difference, now.systematic);
        } else {
            Covariance::add(&mut total.shared, j_now, now.systematic);
            Covariance::add(&mut total.shared, j_then, then.systematic);
            if then.instrument.is_none() {
                Covariance::add(&mut total.shared, j_then, then.random);
            }
        }
    }
    let reach =
        temperature_doubt(run.observed.value(Input::Temperature), base.observed.value(Input::Temperature));
    for (k, reach) in reach.into_iter().enumerate() {
        // Runs scatter by what the instruments promise or by what the baseline's runs showed, whichever is more.
        let seen = reference.scatter[k] * reference.scatter[k];
        total.own[k][k] = total.own[k][k].max(seen);
        total.shared[k][k] += reference.random[k] * reference.random[k] + reach * reach;
    }
    total
}

/// Standard deviation of ln A25 and ln B25 from the doubt of the temperature response, away from the baseline's temperature.
fn temperature_doubt(now_c: f64, then_c: f64) -> [f64; 2] {
    let reach =
        |celsius: f64| Temperature::from_celsius(celsius).map_or(0.0, TemperatureResponse::reach_per_k);
    let distance = (reach(now_c) - reach(then_c)).abs();
    let cold = now_c.min(then_c) < 25.0;
    let water =
        if cold { TemperatureResponse::WATER_COLD_SD_K } else { TemperatureResponse::WATER_WARM_SD_K };
    [distance * water, distance * TemperatureResponse::SALT_SD_K]
}

fn delivery(run: &Fitted, reference: &Reference) -> Option<Estimate> {
    let (now, sd) = run.observed.delivery?;
    let then = reference.delivery?;
    let positive = 0.0 < now && 0.0 < then;
    positive.then(|| Estimate { value: math::ln(now / then), sd: sd / now })
}
