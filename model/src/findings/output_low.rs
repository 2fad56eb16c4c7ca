//! `output-low`: less product than this water allows.
//!
//! Judged on run records against the baseline. With feed or concentrate flow measured the figure is the product at the baseline's water, pressure and feed
//! flow, a membrane figure. Without, it is the product against the model in this water, and names no part: pump and membrane look the same.

use super::{Assessment, Evidence, Finding, FindingCode, Registration, Severity};
use crate::Quantity;
use crate::judgement::action_list;
use crate::judgement::reasoning::Answer;
use crate::judgement::{Comparison, Estimate};
use crate::math;

/// Severity, how far the ratio must have fallen, and beyond which fall its 90 % interval must lie. Our choice; industrial manuals clean at -10 %.
pub const STEPS: [(Severity, f64, f64); 3] =
    [(Severity::Alert, 0.85, 0.92), (Severity::Advice, 0.90, 0.95), (Severity::Notice, 0.95, 0.98)];

/// Half of a two-sided 90 % interval, in standard deviations.
pub const HALF_90: f64 = 1.645;
/// Half of a 95 % interval, for people.
const HALF_95: f64 = 1.96;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::OutputLow,
    name: "output-low",
    title: "Less product than this water allows",
    meaning: "Compared with its own baseline, and with temperature, salinity, pressure and feed flow taken into account, the unit makes less than it should.",
    condition: "product at reference conditions down 5 % (notice), 10 % (advice) or 15 % (alert), and its 90 % interval wholly below -2, -5 or -8 %",
    hold: "none: it is judged on whole runs",
    clears: "when the ratio is back above the notice step",
    latched: false,
    needs: &[
        Quantity::ProductFlow,
        Quantity::FeedPressure,
        Quantity::FeedTemperature,
        Quantity::ConcentrateFlow,
        Quantity::FeedSalinity,
    ],
    other_explanations: "A saltier sea than believed, a gauge that reads high, a worn pump and a fouled membrane look alike until the concentrate flow and the salinity are measured.",
    act: &[action_list::MEASURE_NEXT, action_list::LOOK_AT_SUCTION, action_list::COMPARE_LOG],
    act_not: &[
        "Do not win the flow back by setting a higher pressure.",
        "Do not clean the membranes before pump, feed and salinity are excluded by measurement.",
        "Never close or kink the concentrate line.",
    ],
    caution: "High pressure and mains voltage: measure only at open ends of hoses, with the unit run by its manual. Work on pump or wiring belongs to qualified people.",
    sources: &[
        "steps of 5, 10 and 15 % on the product at reference conditions: our choice",
        "cleaning at -10 % of normalised flow: industrial RO manual, 1999; US Army TM 10-4610-309-14",
        "standardising flow: ASTM D4516 (scope); inversion instead, since the log-mean shifts with the pump",
    ],
};

/// Is the output low?
pub fn assess(comparison: &Comparison, answer: &Answer, runs: usize) -> Assessment {
    let figure = figure(comparison);
    let ratio = math::exp(figure.value);
    let upper = math::exp(figure.value + HALF_90 * figure.sd);
    let step = STEPS.iter().find(|(_, down, beyond)| ratio <= *down && upper < *beyond);
    match step {
        Some((severity, ..)) => Assessment::yes(finding(comparison, answer, *severity, figure, runs)),
        None if ratio <= STEPS[2].1 => Assessment::Between,
        None => Assessment::False,
    }
}

/// The figure that is judged: at reference conditions if the flow is measured, against the model otherwise.
fn figure(comparison: &Comparison) -> Estimate {
    if comparison.flow_measured { comparison.ln_output } else { comparison.ln_against_model }
}

fn finding(
    comparison: &Comparison,
    answer: &Answer,
    severity: Severity,
    figure: Estimate,
    runs: usize,
) -> Finding {
    let percent = |ln: f64| 100.0 * (math::exp(ln) - 1.0);
    let (low, high) =
        (percent(figure.value - HALF_95 * figure.sd), percent(figure.value + HALF_95 * figure.sd));
    let over = if runs == 1 { "the latest run".to_owned() } else { format!("the latest {runs} runs") };
    let mut evidence = vec![Evidence {
        what: if comparison.flow_measured {
            "product at reference conditions".to_owned()
        } else {
            "product against this water; feed flow not measured, so no membrane figure".to_owned()
        },
        seen: format!("{:+.0} % ({low:+.0} to {high:+.0} %) over {over}", percent(figure.value)),
        against: "your baseline".to_owned(),
    }];
    let expected = comparison.expected_product_l_h;
    evidence.push(Evidence {
        what: "product flow".to_owned(),
        seen: format!("{:.0} L/h", comparison.product_l_h),
        against: format!(
            "{:.0} to {:.0} L/h expected in this water",
            (expected.value - HALF_95 * expected.sd).max(0.0),
            expected.value + HALF_95 * expected.sd
        ),
    });
    Finding {
        code: FindingCode::OutputLow,
        about: None,
        severity,
        title: "Less product than this water allows".to_owned(),
        evidence,
        causes: answer.explanations(),
        next_measurement: answer.next_measurement(),
    }
}
