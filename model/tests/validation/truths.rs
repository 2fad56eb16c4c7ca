//! Simulated faults with known truth: what log-mean standardising shows, what inversion shows, how noisy both are, and what is named.
//!
//! The unit: a plunger pump that feeds 327 L/h, elements of 2.8 m2 and the 700 gal/day class, 20 °C, 33 g/kg, 55.2 bar held at the concentrate outlet. The truth
//! comes in two forms. In the first the simulator shares every equation with the judge: then a zero proves only that the arithmetic is reversible.
//! In the second it has another polarisation, another temperature factor for water and for salt and another osmotic pressure, so that the judge's own
//! forms are wrong, as they will be aboard.

use super::common::{bar, element, l_h, sea};
use super::naming;
use barrico_model::math;
use barrico_model::membrane::{Element, Form, Polarisation, TemperatureResponse, Train, TrainOutput};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::performance::{
    EffectOf, Inversion, Measured, MembraneState, NotComputable, PumpAssumption, Readings, invert,
};
use barrico_model::quantity::{Salinity, SaltPermeability, Temperature, WaterPermeability};
use barrico_model::seawater::salinity_scales::mass_concentration;

/// How the truth is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Simulator {
    /// The judge's own equations.
    Same,
    /// exp(0.7 Y), water by 1.03^(T - 25), salt by 2640 K, osmotic pressure 0.4 % lower, as TEOS-10 has it.
    Other,
}

/// What really happened.
#[derive(Clone, Copy, Debug)]
pub struct Truth {
    pub name: &'static str,
    pub temperature_c: f64,
    pub salinity_g_kg: f64,
    /// What the crew believes of it.
    pub believed_salinity_g_kg: f64,
    pub feed_l_h: f64,
    /// Factors on both permeabilities.
    pub a: f64,
    pub b: f64,
    pub leak: f64,
    /// The unit has a needle in place of a regulator, and its way out is wider by so much.
    pub valve_wider: Option<f64>,
    /// What the naming must contain.
    pub right: Option<&'static str>,
}

/// Feed that the pump is believed to deliver, L/h.
pub const FEED_L_H: f64 = 327.0;
const PRESSURE_BAR: f64 = 55.2;
pub const BASELINE: Truth = Truth {
    name: "nothing",
    temperature_c: 20.0,
    salinity_g_kg: 33.0,
    believed_salinity_g_kg: 33.0,
    feed_l_h: FEED_L_H,
    a: 1.0,
    b: 1.0,
    leak: 0.0,
    valve_wider: None,
    right: None,
};

/// The list.
pub fn all() -> [Truth; 11] {
    let right = Some;
    [
        Truth { name: "A -10 %", a: 0.9, right: right(naming::WATER), ..BASELINE },
        Truth { name: "A -20 %", a: 0.8, right: right(naming::WATER), ..BASELINE },
        Truth {
            name: "pump delivers 10 % less",
            feed_l_h: 0.9 * FEED_L_H,
            right: right(naming::PUMP),
            ..BASELINE
        },
        Truth {
            name: "pump delivers 25 % less",
            feed_l_h: 0.75 * FEED_L_H,
            right: right(naming::PUMP),
            ..BASELINE
        },
        Truth {
            name: "sea of 36 g/kg, taken as 33",
            salinity_g_kg: 36.0,
            right: right(naming::SALINITY),
            ..BASELINE
        },
        Truth {
            name: "sea of 36 g/kg, known",
            salinity_g_kg: 36.0,
            believed_salinity_g_kg: 36.0,
            ..BASELINE
        },
        Truth { name: "sea of 10 °C", temperature_c: 10.0, ..BASELINE },
        Truth { name: "sea of 30 °C", temperature_c: 30.0, ..BASELINE },
        Truth { name: "leak of 0.2 %", leak: 0.002, right: right(naming::SALT), ..BASELINE },
        Truth {
            name: "oxidised: A +20 %, B x 3",
            a: 1.2,
            b: 3.0,
            right: right(naming::OXIDISED),
            ..BASELINE
        },
        Truth { name: "valve 20 % wider", valve_wider: Some(1.2), right: right(naming::VALVE), ..BASELINE },
    ]
}

/// Random errors of the readings, one standard deviation.
#[derive(Clone, Copy, Debug)]
pub struct Noise {
    /// Share of a flow.
    pub flow: f64,
    pub pressure_bar: f64,
    pub temperature_k: f64,
    pub salinity_g_kg: f64,
    /// Share of the product's salinity.
    pub product_salinity: f64,
    /// Share of a delivery that is only believed.
    pub delivery: f64,
}

/// One set of hand readings: jugs, a dial gauge, a thermometer, salinity from a chart. Common practice, no source.
pub const HAND: Noise = Noise {
    flow: 0.02,
    pressure_bar: 1.0,
    temperature_k: 0.5,
    salinity_g_kg: 1.0,
    product_salinity: 0.05,
    delivery: 0.10,
};

/// What is left in a ratio to a baseline taken with the same instruments, salinity measured, each reading taken a few times. Common practice, no source.
pub const REPEATED: Noise = Noise {
    flow: 0.01,
    pressure_bar: 0.3,
    temperature_k: 0.2,
    salinity_g_kg: 0.2,
    product_salinity: 0.02,
    delivery: 0.05,
};

/// What the instruments show, without errors.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    pub product_l_h: f64,
    pub product_g_kg: f64,
    pub concentrate_l_h: f64,
    pub outlet_bar: f64,
    pub inlet_bar: f64,
    pub temperature_c: f64,
    /// Believed.
    pub salinity_g_kg: f64,
}

fn truth_element(simulator: Simulator, truth: &Truth) -> Element {
    let judge = TemperatureResponse::default();
    let t = Temperature::from_celsius(truth.temperature_c).expect("finite");
    // A25 and B25 of the 700 gal/day class at 99.4 %, each with its form of polarisation.
    let (a25, b25) = match simulator {
        Simulator::Same => (4.298579e-12, 5.857768e-8),
        Simulator::Other => {
            let water = math::pow(1.03, truth.temperature_c - 25.0) / judge.water(t);
            let salt = math::exp((2640.0 - judge.salt_k) * TemperatureResponse::reach_per_k(t));
            (4.184711e-12 * water, 5.996516e-8 * salt)
        }
    };
    let mut one = element(a25, b25);
    one.a25 = WaterPermeability::from_m_s_pa(a25 * truth.a).expect("finite");
    one.b25 = SaltPermeability::from_m_s(b25 * truth.b).expect("finite");
    one.leak = truth.leak;
    one
}

fn truth_form(simulator: Simulator) -> Form {
    match simulator {
        Simulator::Same => Form::default(),
        Simulator::Other => {
            Form { polarisation: Polarisation::Exponential, osmotic_factor: 0.996, ..Form::default() }
        }
    }
}

fn solve(simulator: Simulator, truth: &Truth, count: usize, outlet_bar: f64) -> TrainOutput {
    let at = Train::of_equal(truth_element(simulator, truth), count)
        .at(&sea(truth.temperature_c, truth.salinity_g_kg), &truth_form(simulator))
        .expect("in range");
    at.with_outlet_pressure(l_h(truth.feed_l_h), bar(outlet_bar), bar(0.0)).expect("a working point")
}

/// The pressure that a needle with a wider way out leaves: p = p0 (Q/Q0)^2 over the square of the width.
fn needle_bar(simulator: Simulator, truth: &Truth, count: usize, wider: f64) -> f64 {
    let concentrate = |bar: f64| solve(simulator, truth, count, bar).concentrate_m3_s;
    let before = concentrate(PRESSURE_BAR);
    let (mut low, mut high) = (20.0, PRESSURE_BAR);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        let flow = concentrate(middle) / before;
        if middle < PRESSURE_BAR * flow * flow / (wider * wider) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Reads the truth's instruments.
pub fn shown(simulator: Simulator, truth: &Truth, count: usize) -> Shown {
    let outlet_bar = match truth.valve_wider {
        Some(wider) => needle_bar(simulator, truth, count, wider),
        None => PRESSURE_BAR,
    };
    shown_at(simulator, truth, count, outlet_bar)
}

/// The same with the pressure given, as when it is lowered for a few minutes.
pub fn shown_at(simulator: Simulator, truth: &Truth, count: usize, outlet_bar: f64) -> Shown {
    let found = solve(simulator, truth, count, outlet_bar);
    Shown {
        product_l_h: found.product_m3_s * 3.6e6,
        product_g_kg: found.product_g_kg,
        concentrate_l_h: found.concentrate_m3_s * 3.6e6,
        outlet_bar,
        inlet_bar: found.inlet_pa / 1e5,
        temperature_c: truth.temperature_c,
        salinity_g_kg: truth.believed_salinity_g_kg,
    }
}

impl Shown {
    /// For the inversion; without the jug on the concentrate the feed flow is the pump's, as believed.
    pub fn readings(&self, noise: &Noise, concentrate_measured: bool) -> Readings {
        let read = |value: f64, random: f64| Some(Measured::alone(value, random));
        let g_kg = Salinity::from_g_kg(self.product_g_kg).expect("finite");
        let at_25c = Temperature::from_celsius(25.0).expect("finite");
        let tds = mass_concentration(g_kg, at_25c).expect("finite").as_mg_l();
        Readings {
            product_flow_l_h: read(self.product_l_h, noise.flow * self.product_l_h),
            product_tds_mg_l: read(tds, noise.product_salinity * tds),
            concentrate_flow_l_h: read(self.concentrate_l_h, noise.flow * self.concentrate_l_h)
                .filter(|_| concentrate_measured),
            feed_temperature_c: read(self.temperature_c, noise.temperature_k),
            feed_salinity_g_kg: read(self.salinity_g_kg, noise.salinity_g_kg),
            feed_pressure_bar: read(self.inlet_bar, noise.pressure_bar),
            ..Readings::default()
        }
    }

    /// Feed flow that the judge goes by.
    pub fn feed_l_h(&self, concentrate_measured: bool) -> f64 {
        if concentrate_measured { self.product_l_h + self.concentrate_l_h } else { FEED_L_H }
    }

    fn standard_point(&self, feed_l_h: f64) -> StandardPoint {
        StandardPoint {
            feed_flow_l_h: feed_l_h,
            product_flow_l_h: self.product_l_h,
            feed_pressure_bar: self.inlet_bar,
            concentrate_pressure_bar: self.outlet_bar,
            product_pressure_bar: 0.0,
            temperature_c: self.temperature_c,
            feed_salinity_g_kg: self.salinity_g_kg,
            product_salinity_g_kg: self.product_g_kg,
        }
    }
}

/// The judge's train; its permeabilities are a first guess only.
pub fn judge_train(count: usize) -> Train {
    Train::of_equal(element(4.0e-12, 6.0e-8), count)
}

/// Doubt of the temperature laws, K, as the program has it before it has learnt a unit's own.
const SPREAD_K: [f64; 3] = [
    TemperatureResponse::WATER_WARM_SD_K,
    TemperatureResponse::WATER_COLD_SD_K,
    TemperatureResponse::SALT_SD_K,
];

/// The judge's answer. With an assumed flow it is a joint region, of which the state at the believed delivery is taken here.
///
/// # Errors
/// What the inversion answers: no membrane may explain the readings.
pub fn judged(readings: &Readings, count: usize) -> Result<MembraneState, NotComputable> {
    let pump = PumpAssumption { swept_flow_l_h: FEED_L_H, delivery: 1.0, delivery_sd: HAND.delivery };
    match invert(&judge_train(count), &Form::default(), SPREAD_K, readings, Some(pump))? {
        Inversion::Membrane(state) => Ok(state),
        Inversion::Joint(region) => Ok(region.at_believed_delivery),
    }
}

fn ln_log_mean(now: &Shown, then: &Shown, feed_now: f64, feed_then: f64) -> f64 {
    let response = TemperatureResponse::default();
    standardise(&now.standard_point(feed_now), &then.standard_point(feed_then), &response)
        .map_or(f64::NAN, |found| math::ln(found.flow_ratio))
}

/// What one method shows, as a logarithm over the baseline, and its noise.
#[derive(Clone, Copy, Debug)]
pub struct Figure {
    pub ln: f64,
    pub noise: f64,
}

/// One truth, one train, one column.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub log_mean: Figure,
    /// A25 and B25, or why there are none.
    pub inverted: Result<[Figure; 2], NotComputable>,
    /// What is named, or what is asked for.
    pub named: naming::Named,
}

/// Looks at one truth. `concentrate_measured` is the column.
pub fn outcome(simulator: Simulator, truth: &Truth, count: usize, concentrate_measured: bool) -> Outcome {
    let then = shown(simulator, &BASELINE, count);
    let now = shown(simulator, truth, count);
    let base = judged(&then.readings(&HAND, true), count).expect("the baseline is explained");
    let inverted = judged(&now.readings(&HAND, concentrate_measured), count).map(|state| {
        // Chance of the readings, and the doubt of a delivery that was not measured.
        let mut spread = state.random_covariance();
        for effect in state.effects.iter().filter(|effect| effect.of == EffectOf::Delivery) {
            spread.aa += (effect.ln_a * effect.systematic) * (effect.ln_a * effect.systematic);
            spread.bb += (effect.ln_b * effect.systematic) * (effect.ln_b * effect.systematic);
        }
        [
            Figure { ln: math::ln(state.a25.as_m_s_pa() / base.a25.as_m_s_pa()), noise: spread.ln_a_sd() },
            Figure { ln: math::ln(state.b25.as_m_s() / base.b25.as_m_s()), noise: spread.ln_b_sd() },
        ]
    });
    let needle = truth.valve_wider.is_some();
    let base = judged(&then.readings(&REPEATED, true), count).expect("the baseline is explained");
    Outcome {
        log_mean: Figure {
            ln: ln_log_mean(&now, &then, now.feed_l_h(concentrate_measured), then.feed_l_h(true)),
            noise: log_mean_noise(&now, &then, concentrate_measured, &HAND),
        },
        inverted,
        named: naming::name(&then, &now, &base, count, concentrate_measured, needle),
    }
}

/// Carries each reading's error through the log-mean formula by differences.
fn log_mean_noise(now: &Shown, then: &Shown, concentrate_measured: bool, noise: &Noise) -> f64 {
    let feed_then = then.feed_l_h(true);
    let with = |change: &dyn Fn(&mut Shown, &mut f64, f64)| {
        let both = [1.0, -1.0].map(|sign| {
            let (mut other, mut delivery) = (*now, FEED_L_H);
            change(&mut other, &mut delivery, sign);
            let feed = if concentrate_measured { other.feed_l_h(true) } else { delivery };
            ln_log_mean(&other, then, feed, feed_then)
        });
        let half = 0.5 * (both[0] - both[1]);
        half * half
    };
    let variance = with(&|s, _, sign| s.product_l_h *= 1.0 + sign * noise.flow)
        + with(&|s, _, sign| s.concentrate_l_h *= 1.0 + sign * noise.flow)
        + with(&|_, delivery, sign| *delivery *= 1.0 + sign * noise.delivery)
        + with(&|s, _, sign| {
            s.inlet_bar += sign * noise.pressure_bar;
            s.outlet_bar += sign * noise.pressure_bar;
        })
        + with(&|s, _, sign| s.temperature_c += sign * noise.temperature_k)
        + with(&|s, _, sign| s.salinity_g_kg += sign * noise.salinity_g_kg);
    variance.sqrt()
}

/// Noise of the inverted A25 at the baseline by drawing readings, with the same errors: a check on the propagation.
pub fn drawn_noise(
    simulator: Simulator,
    count: usize,
    draws: usize,
    random: &mut super::random::Random,
) -> (f64, usize) {
    let exact = shown(simulator, &BASELINE, count);
    let values: Vec<f64> = (0..draws)
        .filter_map(|_| {
            let mut drawn = exact;
            drawn.product_l_h *= 1.0 + HAND.flow * random.normal();
            drawn.concentrate_l_h *= 1.0 + HAND.flow * random.normal();
            drawn.inlet_bar += HAND.pressure_bar * random.normal();
            drawn.temperature_c += HAND.temperature_k * random.normal();
            drawn.salinity_g_kg += HAND.salinity_g_kg * random.normal();
            drawn.product_g_kg *= 1.0 + HAND.product_salinity * random.normal();
            judged(&drawn.readings(&HAND, true), count).ok().map(|state| math::ln(state.a25.as_m_s_pa()))
        })
        .collect();
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    ((squares / (count - 1.0)).sqrt(), values.len())
}

/// Leak and salt permeability from four pressures, as the crew would take them: leak in percent and B25 over the baseline's.
pub fn leak_from_pressures(simulator: Simulator, truth: &Truth) -> (f64, f64) {
    use barrico_model::membrane::{GivenPressure, Working};
    use barrico_model::performance::leak::{LeakPoint, fit};
    use barrico_model::quantity::Flow;
    let fitted = |truth: &Truth| {
        let points: Vec<LeakPoint> = [40.0, 45.0, 50.0, 55.2]
            .iter()
            .map(|&outlet_bar| {
                let shown = shown_at(simulator, truth, 1, outlet_bar);
                let readings = shown.readings(&HAND, true);
                LeakPoint {
                    temperature: Temperature::from_celsius(shown.temperature_c).expect("finite"),
                    salinity: Salinity::from_g_kg(shown.salinity_g_kg).expect("finite"),
                    working: Working {
                        feed: l_h(shown.feed_l_h(true)),
                        pressure: GivenPressure::Inlet(bar(shown.inlet_bar)),
                        product: bar(0.0),
                    },
                    product: Flow::from_l_h(shown.product_l_h).expect("finite"),
                    product_tds_mg_l: readings.product_tds_mg_l.expect("given").value,
                }
            })
            .collect();
        fit(&judge_train(1), &Form::default(), &points).expect("points of different flux")
    };
    let (now, then) = (fitted(truth), fitted(&BASELINE));
    (100.0 * now.leak, now.b25.as_m_s() / then.b25.as_m_s())
}
