//! Which quantity a set of readings points at, or which reading would tell.
//!
//! Three residuals against the baseline: ln A25, ln B25 and ln of the pump's delivery (product plus concentrate). Each explanation is tried at all strengths in
//! its range; what lies within four of the best sum of squares, weighted by the readings' errors, cannot be told from it. This is the least
//! that any judge must do; it leaves out how probable causes are beforehand. A jug is taken as timed twice, so the product flow itself is not doubted.

use super::truths::{REPEATED, Shown, judged};
use barrico_model::math;
use barrico_model::performance::{EffectOf, MembraneState};

pub const NOTHING: &str = "nothing";
pub const WATER: &str = "A25 down";
pub const SALT: &str = "B25 up or a leak";
pub const OXIDISED: &str = "A25 and B25 up";
pub const PUMP: &str = "pump delivery";
pub const SALINITY: &str = "feed salinity";
pub const PRESSURE: &str = "pressure gauge";
pub const TEMPERATURE: &str = "thermometer";
pub const LAWS: &str = "laws of temperature";
pub const VALVE: &str = "valve moved";

pub const VALVE_OR_PUMP: &str = "valve or pump: cannot tell";
pub const CONTRADICTION: &str = "no membrane explains the readings";
pub const CANNOT_TELL: &str = "pump, membrane or sea: cannot tell";

/// The jug that an inversion without a measured flow asks for.
const JUG: &str = "concentrate flow, by jug";

/// What is said.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Explanations that cannot be told apart, the simplest first.
    pub explanations: Vec<&'static str>,
    /// Readings that would tell.
    pub measure: Vec<&'static str>,
}

impl Named {
    pub fn text(&self) -> String {
        if self.measure.is_empty() {
            return self.explanations.join(" and ");
        }
        format!("{}; measure: {}", self.explanations.join(" or "), self.measure.join(", "))
    }

    /// Is the right one among few, or is a deciding reading asked for?
    pub fn serves(&self, right: Option<&str>) -> bool {
        let right = right.map_or(vec![NOTHING, LAWS], |right| vec![right]);
        let told = |explanation: &&str| right.contains(explanation);
        self.explanations
            .iter()
            .any(|explanation| told(explanation) || [CANNOT_TELL, VALVE_OR_PUMP].contains(explanation))
    }
}

/// Furthest sum of squares from the best that counts as no worse: two standard deviations.
const NO_WORSE: f64 = 4.0;

/// Distance from the baseline's temperature from which the laws are doubted, K.
const LAWS_FROM_K: f64 = 5.0;

/// Steps on each side of zero at which a strength is tried.
const STRENGTHS: i32 = 40;

type Residual = [f64; 3];

/// Names what the readings show against the baseline's.
pub fn name(
    then: &Shown,
    now: &Shown,
    base: &MembraneState,
    count: usize,
    concentrate_measured: bool,
    needle: bool,
) -> Named {
    let mut named =
        if concentrate_measured { explained(then, now, base, count) } else { joint(now, base, count) };
    // A needle's number p/Q^2, or a regulator's pressure. Behind a needle the pressure alone cannot tell valve from pump.
    let number = |shown: &Shown| {
        let flow = if needle && concentrate_measured { shown.concentrate_l_h } else { 1.0 };
        math::ln(shown.outlet_bar / (flow * flow))
    };
    let number_sd = REPEATED.pressure_bar / now.outlet_bar + 2.0 * REPEATED.flow;
    if 3.0 * number_sd < (number(now) - number(then)).abs() {
        named.explanations.retain(|explanation| *explanation != NOTHING);
        if concentrate_measured || !needle {
            named.explanations.push(VALVE);
        } else {
            named = Named { explanations: vec![VALVE_OR_PUMP], measure: vec![JUG] };
        }
    }
    named
}

/// Without a measured flow the answer is a region of pump and membrane; only "nothing" can be said with certainty.
fn joint(now: &Shown, base: &MembraneState, count: usize) -> Named {
    let Ok(state) = judged(&now.readings(&REPEATED, false), count) else {
        return Named { explanations: vec![CANNOT_TELL], measure: vec![JUG] };
    };
    let c = covariance(&state, base, 1.0);
    let a = math::ln(state.a25.as_m_s_pa() / base.a25.as_m_s_pa());
    let b = math::ln(state.b25.as_m_s() / base.b25.as_m_s());
    let determinant = c[0][0] * c[1][1] - c[0][1] * c[0][1];
    if (a * a * c[1][1] - 2.0 * a * b * c[0][1] + b * b * c[0][0]) / determinant <= NO_WORSE {
        return Named { explanations: vec![NOTHING], measure: Vec::new() };
    }
    Named { explanations: vec![CANNOT_TELL], measure: vec![JUG] }
}

fn explained(then: &Shown, now: &Shown, base: &MembraneState, count: usize) -> Named {
    let Ok(state) = judged(&now.readings(&REPEATED, true), count) else {
        return Named { explanations: vec![CONTRADICTION], measure: vec!["every reading anew"] };
    };
    let residual = |state: &MembraneState, shown: &Shown| -> Residual {
        [
            math::ln(state.a25.as_m_s_pa() / base.a25.as_m_s_pa()),
            math::ln(state.b25.as_m_s() / base.b25.as_m_s()),
            math::ln(shown.feed_l_h(true) / then.feed_l_h(true)),
        ]
    };
    let weights = inverse(&covariance(&state, base, 1.0));
    let here = residual(&state, now);
    let squares = |r: Residual| weighted(&weights, r);
    let along = |direction: Residual, most: f64| {
        let trial = |step: i32| {
            let strength = most * f64::from(step) / f64::from(STRENGTHS);
            squares([0, 1, 2].map(|i| here[i] - strength * direction[i]))
        };
        (1..=STRENGTHS).map(trial).fold(f64::INFINITY, f64::min)
    };
    // A reading that is wrong is put right by so much, and the inversion done again: beliefs act far from in proportion.
    let corrected = |most: f64, correct: fn(&mut Shown, f64)| {
        let trial = |step: i32| {
            let mut other = *now;
            correct(&mut other, most * f64::from(step) / f64::from(STRENGTHS / 2));
            judged(&other.readings(&REPEATED, true), count)
                .map_or(f64::INFINITY, |state| squares(residual(&state, &other)))
        };
        (-STRENGTHS / 2..=STRENGTHS / 2).map(trial).fold(f64::INFINITY, f64::min)
    };
    if squares(here) <= NO_WORSE {
        return Named { explanations: vec![NOTHING], measure: Vec::new() };
    }
    let oxidised = [0.05, 0.1, 0.15, 0.2, 0.3, 0.5].map(|share| along([share, 1.0, 0.0], 2.0));
    // Far from the baseline's temperature the laws themselves may be as wrong as three of their standard deviations.
    let other_laws = if LAWS_FROM_K < (now.temperature_c - then.temperature_c).abs() {
        weighted(&inverse(&covariance(&state, base, 3.0)), here)
    } else {
        f64::INFINITY
    };
    let tried = [
        (WATER, along([-1.0, 0.0, 0.0], 0.8), ""),
        (SALT, along([0.0, 1.0, 0.0], 2.0), "product salinity at other pressures"),
        (OXIDISED, oxidised.into_iter().fold(f64::INFINITY, f64::min), "product salinity at other pressures"),
        (PUMP, along([0.0, 0.0, -1.0], 0.8), ""),
        (SALINITY, corrected(6.0, |shown, step| shown.salinity_g_kg += step), "feed salinity"),
        (
            PRESSURE,
            corrected(4.0, |shown, step| {
                shown.inlet_bar += step;
                shown.outlet_bar += step;
            }),
            "pressure, by a second gauge",
        ),
        (LAWS, other_laws, "again in water as warm as at the baseline"),
        (
            TEMPERATURE,
            corrected(4.0, |shown, step| shown.temperature_c += step),
            "temperature, by a second thermometer",
        ),
    ];
    let best = tried.iter().map(|(_, squares, _)| *squares).fold(f64::INFINITY, f64::min);
    let mut named = Named { explanations: Vec::new(), measure: Vec::new() };
    for (explanation, squares, measure) in tried {
        if squares <= best + NO_WORSE {
            named.explanations.push(explanation);
            named.measure.push(measure);
        }
    }
    if named.explanations.len() == 1 && named.explanations[0] != SALT {
        named.measure.clear();
    }
    named.measure.retain(|measure| !measure.is_empty());
    named.measure.dedup();
    named
}

fn weighted(weights: &[[f64; 3]; 3], r: Residual) -> f64 {
    let mut sum = 0.0;
    for (i, row) in weights.iter().enumerate() {
        for (j, weight) in row.iter().enumerate() {
            sum += r[i] * weight * r[j];
        }
    }
    sum
}

/// Covariance of the three residuals: chance in the readings of now and of the baseline, and what the model's own parameters do differently at the two points, so many times as large as believed.
fn covariance(now: &MembraneState, base: &MembraneState, model: f64) -> [[f64; 3]; 3] {
    let mut sum = [[0.0; 3]; 3];
    let mut add = |by: Residual| {
        for (i, row) in sum.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell += by[i] * by[j];
            }
        }
    };
    for state in [now, base] {
        for effect in &state.effects {
            let flow = matches!(effect.of, EffectOf::ProductFlow | EffectOf::ConcentrateFlow);
            let by = [effect.ln_a, effect.ln_b, if flow { 1.0 / state.feed_flow_l_h } else { 0.0 }];
            add(by.map(|slope| slope * effect.random));
        }
    }
    for effect in
        now.effects.iter().filter(|effect| effect.systematic > 0.0 && effect.of != EffectOf::Delivery)
    {
        let then = base.effects.iter().find(|other| other.of == effect.of);
        let (ln_a, ln_b) = then.map_or((0.0, 0.0), |then| (then.ln_a, then.ln_b));
        add([effect.ln_a - ln_a, effect.ln_b - ln_b, 0.0].map(|slope| model * slope * effect.systematic));
    }
    sum
}

fn inverse(m: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let cofactor = |i: usize, j: usize| {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let determinant = (0..3).map(|j| m[0][j] * cofactor(0, j)).sum::<f64>();
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| cofactor(j, i) / determinant))
}
