//! What may be behind a difference to the baseline, and how probable each explanation is.
//!
//! The residuals are ln A25, ln B25 and, if the flow is measured, ln of the pump's delivery, each against the baseline. Every cause moves them in a direction. For
//! membranes that direction is the residual itself; for instruments and beliefs it is the derivative of the fit, so it depends on this unit and this water. The
//! strength of a cause is not known: its evidence is averaged over small, middle and large. Bayes' rule gives the posterior; "nothing changed" competes with the rest.
//!
//! Without a measured feed or concentrate flow the pump's wear shows as a change of A25 and competes with the membrane in the same numbers: then neither can win, and that is
//! the point.

use super::cause_list;
use super::comparison::Comparison;
use super::observed::Input;
use crate::findings::RankedCause;
use crate::{Quantity, math};

/// One explanation: code, prior weight and strengths. Its words are in [`cause_list`].
struct Cause {
    code: &'static str,
    /// Prior weight (our choice from how often such causes are reported: feed and pump three times as often as an element).
    prior: f64,
    /// What it moves.
    moves: Moves,
    /// Strengths to average over, in the unit of what it moves.
    strengths: [f64; 4],
    /// The reading that would decide for or against it.
    decided_by: Quantity,
}

enum Moves {
    Nothing,
    /// ln A25, ln B25 per unit of strength.
    Membrane(f64, f64),
    /// ln of the delivery per unit of strength; seen in the flow, or in A25 and B25 if the flow is assumed.
    Delivery,
    /// An input that is read or believed wrong: strength is the error of the reading, as a share of the value.
    Share(Input),
    /// The same in the unit of the input.
    Absolute(Input),
}

const CAUSES: [Cause; 12] = [
    Cause {
        code: "nothing-changed",
        prior: 6.0,
        moves: Moves::Nothing,
        strengths: [0.0; 4],
        decided_by: Quantity::ProductFlow,
    },
    Cause {
        code: "membrane-fouled",
        prior: 1.0,
        moves: Moves::Membrane(-1.0, 0.05),
        strengths: [0.08, 0.15, 0.25, 0.4],
        decided_by: Quantity::ConcentrateFlow,
    },
    Cause {
        code: "membrane-scaled",
        prior: 0.4,
        moves: Moves::Membrane(-1.0, 1.0),
        strengths: [0.08, 0.15, 0.25, 0.4],
        decided_by: Quantity::ConcentrateFlow,
    },
    Cause {
        code: "membrane-oxidised",
        prior: 0.6,
        moves: Moves::Membrane(0.12, 1.0),
        strengths: [0.3, 0.6, 1.0, 1.5],
        decided_by: Quantity::ProductSalinity,
    },
    Cause {
        code: "leak-to-product",
        prior: 1.0,
        moves: Moves::Membrane(0.02, 1.0),
        strengths: [0.2, 0.5, 1.0, 1.8],
        decided_by: Quantity::ProductSalinity,
    },
    Cause {
        code: "pump-worn",
        prior: 2.0,
        moves: Moves::Delivery,
        strengths: [-0.06, -0.12, -0.2, -0.35],
        decided_by: Quantity::ConcentrateFlow,
    },
    Cause {
        code: "sea-saltier",
        prior: 1.2,
        moves: Moves::Absolute(Input::Salinity),
        strengths: [-1.0, -2.0, -3.0, -5.0],
        decided_by: Quantity::FeedSalinity,
    },
    Cause {
        code: "sea-fresher",
        prior: 0.8,
        moves: Moves::Absolute(Input::Salinity),
        strengths: [1.0, 2.0, 4.0, 8.0],
        decided_by: Quantity::FeedSalinity,
    },
    Cause {
        code: "pressure-reading",
        prior: 1.0,
        moves: Moves::Absolute(Input::Pressure),
        strengths: [-3.0, -1.5, 1.5, 3.0],
        decided_by: Quantity::FeedPressure,
    },
    Cause {
        code: "temperature-reading",
        prior: 0.6,
        moves: Moves::Absolute(Input::Temperature),
        strengths: [-4.0, -2.0, 2.0, 4.0],
        decided_by: Quantity::FeedTemperature,
    },
    Cause {
        code: "product-flow-reading",
        prior: 0.8,
        moves: Moves::Share(Input::ProductFlow),
        strengths: [-0.15, -0.07, 0.07, 0.15],
        decided_by: Quantity::ProductFlow,
    },
    Cause {
        code: "product-salinity-reading",
        prior: 1.0,
        moves: Moves::Share(Input::ProductSalinity),
        strengths: [-0.3, -0.15, 0.15, 0.3],
        decided_by: Quantity::ProductConductivity,
    },
];

/// The explanations, most probable first, and the reading that would decide between the first two real ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// Causes with their probability; together 1.
    pub causes: Vec<RankedCause>,
    /// What to measure next.
    pub decided_by: Quantity,
}

/// Weighs all explanations. `inputs` are the run's values in the order of [`Input`].
pub fn weigh(comparison: &Comparison, inputs: &[f64; Input::COUNT]) -> Weighed {
    let z = [comparison.ln_a.value, comparison.ln_b.value];
    let covariance = [
        [comparison.ln_a.sd * comparison.ln_a.sd, comparison.covariance_ab],
        [comparison.covariance_ab, comparison.ln_b.sd * comparison.ln_b.sd],
    ];
    let evidence: Vec<f64> = CAUSES
        .iter()
        .map(|cause| {
            let mean: f64 = cause
                .strengths
                .iter()
                .map(|&strength| {
                    let (moved, delivery) = moved(cause, strength, comparison, inputs);
                    likelihood([z[0] - moved[0], z[1] - moved[1]], covariance, comparison.salt_measured)
                        * delivery_likelihood(comparison, delivery)
                })
                .sum::<f64>()
                / cause.strengths.len() as f64;
            cause.prior * mean
        })
        .collect();
    let total: f64 = evidence.iter().sum();
    let mut order: Vec<usize> = (0..CAUSES.len()).collect();
    order.sort_by(|&a, &b| evidence[b].total_cmp(&evidence[a]).then(a.cmp(&b)));
    let causes = order
        .iter()
        .map(|&index| RankedCause {
            code: CAUSES[index].code,
            title: cause_list::of(CAUSES[index].code).map_or("", |cause| cause.title),
            probability: if 0.0 < total { evidence[index] / total } else { 1.0 / CAUSES.len() as f64 },
        })
        .collect();
    Weighed { causes, decided_by: deciding(&order, comparison) }
}

/// The reading that tells the first two real causes apart: without a measured flow that is always the jug on the concentrate.
fn deciding(order: &[usize], comparison: &Comparison) -> Quantity {
    if !comparison.flow_measured {
        return Quantity::ConcentrateFlow;
    }
    let real = order.iter().find(|&&index| !matches!(CAUSES[index].moves, Moves::Nothing));
    real.map_or(Quantity::ProductFlow, |&index| CAUSES[index].decided_by)
}

/// What a cause does to ln A25 and ln B25, and to the delivery.
fn moved(
    cause: &Cause,
    strength: f64,
    comparison: &Comparison,
    inputs: &[f64; Input::COUNT],
) -> ([f64; 2], f64) {
    let j = |input: Input, error: f64| {
        [comparison.by_input[0][input as usize] * error, comparison.by_input[1][input as usize] * error]
    };
    match cause.moves {
        Moves::Nothing => ([0.0; 2], 0.0),
        Moves::Membrane(a, b) => ([a * strength, b * strength], 0.0),
        Moves::Delivery if comparison.flow_measured => ([0.0; 2], strength),
        Moves::Delivery => {
            // The true flow is lower than the one believed: the belief is too high by so much.
            let feed = inputs[Input::FeedFlow as usize];
            (j(Input::FeedFlow, feed * (1.0 - math::exp(strength))), strength)
        }
        Moves::Share(input) => (j(input, strength * inputs[input as usize]), 0.0),
        Moves::Absolute(input) => (j(input, strength), 0.0),
    }
}

/// Density of a two-dimensional normal distribution, or of its first coordinate if salt was not measured.
fn likelihood(d: [f64; 2], covariance: [[f64; 2]; 2], salt_measured: bool) -> f64 {
    if !salt_measured {
        return math::exp(-0.5 * d[0] * d[0] / covariance[0][0]);
    }
    let determinant = covariance[0][0] * covariance[1][1] - covariance[0][1] * covariance[0][1];
    if determinant <= 0.0 {
        return 0.0;
    }
    let square = (d[0] * d[0] * covariance[1][1] - 2.0 * d[0] * d[1] * covariance[0][1]
        + d[1] * d[1] * covariance[0][0])
        / determinant;
    // A Gaussian would rule a cause out for ever at ten standard deviations; a heavier tail (Student, 4 degrees of freedom) does not.
    math::pow(1.0 + square / 4.0, -3.0)
}

fn delivery_likelihood(comparison: &Comparison, delivery: f64) -> f64 {
    match comparison.ln_delivery {
        Some(measured) if comparison.flow_measured => {
            let distance = (measured.value - delivery) / measured.sd;
            math::pow(1.0 + distance * distance / 4.0, -2.5)
        }
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_explanation_has_its_words() {
        for cause in &CAUSES {
            assert!(cause_list::of(cause.code).is_some(), "{}", cause.code);
        }
    }
}
