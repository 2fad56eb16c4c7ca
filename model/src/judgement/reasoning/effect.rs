//! What a cause does to the figures of membrane and pump, and how well that fits what was measured.
//!
//! The residuals are ln A25, ln B25 and, if the flow is measured, ln of the pump's delivery, each against the baseline. For membranes the direction is the residual
//! itself; for instruments and beliefs it is the derivative of the fit by that input, so it depends on this unit, its pressure control, its sensors and this water. How strong a cause is,
//! is not known: its evidence is averaged over all strengths from small to large.

use crate::judgement::comparison::Comparison;
use crate::judgement::observed::Input;
use crate::math;

/// What a cause moves, with the strengths that are averaged over.
#[derive(Clone, Copy, Debug)]
pub enum Effect {
    /// Nothing of these figures.
    None,
    /// ln A25 and ln B25 per unit of strength.
    Membrane(f64, f64, &'static [f64]),
    /// ln of the delivery; seen in the flow, or in A25 and B25 if the flow is assumed.
    Delivery(&'static [f64]),
    /// The same of a pump that turns slower. The delivery is reckoned at the speed that was read: where that was, nothing moves.
    Slower(&'static [f64]),
    /// An input that is read or believed wrong, as a share of its value.
    Share(Input, &'static [f64]),
    /// The same in the unit of the input.
    Absolute(Input, &'static [f64]),
    /// It may leave the figures alone or do anything to them.
    Anything,
}

/// Standard deviations of ln A25, ln B25 and ln of the delivery over all troubles: what a cause in no table would do (our choice: half, double, a quarter less).
const ANYTHING_SD: [f64; 3] = [0.35, 0.7, 0.25];

/// Likelihood of what was measured if this is the cause, over that of "anything".
pub fn ratio(
    effect: &Effect,
    comparison: &Comparison,
    inputs: &[f64; Input::COUNT],
    speed_read: bool,
) -> f64 {
    let mean = |strengths: &[f64], moved: &dyn Fn(f64) -> ([f64; 2], f64)| {
        let all = between(strengths);
        all.iter().map(|strength| of(comparison, moved(*strength))).sum::<f64>() / all.len().max(1) as f64
    };
    let j = |input: Input, error: f64| {
        [comparison.by_input[0][input as usize] * error, comparison.by_input[1][input as usize] * error]
    };
    let delivery = |strength: f64| {
        if comparison.flow_measured {
            return ([0.0; 2], strength);
        }
        // The true flow is lower than the one believed: the belief is too high by so much.
        let feed = inputs[Input::FeedFlow as usize];
        (j(Input::FeedFlow, feed * (1.0 - math::exp(strength))), strength)
    };
    match effect {
        Effect::Anything => 0.5 + 0.5 * of(comparison, ([0.0; 2], 0.0)),
        Effect::None => of(comparison, ([0.0; 2], 0.0)),
        Effect::Slower(_) if speed_read && comparison.flow_measured => of(comparison, ([0.0; 2], 0.0)),
        Effect::Membrane(a, b, strengths) => mean(strengths, &|strength| ([a * strength, b * strength], 0.0)),
        Effect::Delivery(strengths) | Effect::Slower(strengths) => mean(strengths, &delivery),
        Effect::Share(input, strengths) => {
            mean(strengths, &|share| (j(*input, share * inputs[*input as usize]), 0.0))
        }
        Effect::Absolute(input, strengths) => mean(strengths, &|error| (j(*input, error), 0.0)),
    }
}

/// Steps between two strengths of a list: finer than what instruments tell apart.
const STEPS: usize = 8;

/// The strengths of a list and those between them; a list that changes its sign leaves out what lies around zero, where nothing would be wrong.
fn between(strengths: &[f64]) -> Vec<f64> {
    let mut all: Vec<f64> = strengths.last().copied().into_iter().collect();
    for pair in strengths.windows(2) {
        let steps = if pair[0] * pair[1] < 0.0 { 1 } else { STEPS };
        all.extend((0..steps).map(|step| pair[0] + (pair[1] - pair[0]) * step as f64 / steps as f64));
    }
    all
}

fn of(comparison: &Comparison, (moved, delivery): ([f64; 2], f64)) -> f64 {
    let distance = [comparison.ln_a.value - moved[0], comparison.ln_b.value - moved[1]];
    membrane(comparison, distance) * pump(comparison, delivery)
}

/// Student's distribution with 4 degrees of freedom: a Gaussian would rule a cause out for ever at ten standard deviations.
fn membrane(comparison: &Comparison, d: [f64; 2]) -> f64 {
    let (aa, bb, ab) = (
        comparison.ln_a.sd * comparison.ln_a.sd,
        comparison.ln_b.sd * comparison.ln_b.sd,
        comparison.covariance_ab,
    );
    let [wide_a, wide_b, _] = ANYTHING_SD.map(|sd| sd * sd);
    if !comparison.salt_measured {
        let own = student(d[0] * d[0] / aa, 1) / aa.sqrt();
        let wide = aa + wide_a;
        let level = comparison.ln_a.value;
        return own / (student(level * level / wide, 1) / wide.sqrt());
    }
    let square = |d: [f64; 2], aa: f64, bb: f64| {
        let determinant = aa * bb - ab * ab;
        let square = d[0] * d[0] * bb - 2.0 * d[0] * d[1] * ab + d[1] * d[1] * aa;
        (square / determinant, determinant)
    };
    let (own, determinant) = square(d, aa, bb);
    if determinant <= 0.0 {
        return 0.0;
    }
    let (wide, wide_determinant) =
        square([comparison.ln_a.value, comparison.ln_b.value], aa + wide_a, bb + wide_b);
    student(own, 2) / student(wide, 2) * (wide_determinant / determinant).sqrt()
}

fn pump(comparison: &Comparison, delivery: f64) -> f64 {
    match comparison.ln_delivery.filter(|_| comparison.flow_measured) {
        Some(measured) => {
            let variance = measured.sd * measured.sd;
            let wide = variance + ANYTHING_SD[2] * ANYTHING_SD[2];
            let distance = measured.value - delivery;
            let own = student(distance * distance / variance, 1) / variance.sqrt();
            own / (student(measured.value * measured.value / wide, 1) / wide.sqrt())
        }
        None => 1.0,
    }
}

/// Student's density with 4 degrees of freedom up to its constant, of so many coordinates.
fn student(square: f64, coordinates: u32) -> f64 {
    math::pow(1.0 + square / 4.0, -0.5 * (4.0 + f64::from(coordinates)))
}
