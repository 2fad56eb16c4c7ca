//! `salt-passage-up`: more salt passes than at the baseline.
//!
//! Judged on run records, on the salt permeability at 25 °C over the baseline's. Temperature, flux and salinity of the sea are taken out by the model; what remains is membrane,
//! leak or meter. Uncertainty grows away from the baseline's temperature, since the salt's answer to temperature is known only roughly.

use super::output_low::HALF_90;
use super::{Assessment, Evidence, Finding, FindingCode, Registration, Severity};
use crate::Quantity;
use crate::judgement::Comparison;
use crate::judgement::action_list;
use crate::judgement::reasoning::Answer;
use crate::math;

/// Severity, by how much it must have risen, and beyond which rise its 90 % interval must lie. Our choice: hand meters are good to 5 to 10 %.
pub const STEPS: [(Severity, f64, f64); 3] =
    [(Severity::Alert, 2.0, 1.5), (Severity::Advice, 1.5, 1.25), (Severity::Notice, 1.25, 1.1)];

/// Half of a 95 % interval, for people.
const HALF_95: f64 = 1.96;

/// The texts.
pub const REGISTRATION: Registration = Registration {
    code: FindingCode::SaltPassageUp,
    name: "salt-passage-up",
    title: "More salt passes than at the baseline",
    meaning: "With temperature, pressure and salinity of the sea taken into account, more salt comes through than when the unit was known to be sound.",
    condition: "salt permeability at 25 °C up 25 % (notice), 50 % (advice) or 100 % (alert), and its 90 % interval wholly above +10, +25 or +50 %",
    hold: "none: it is judged on whole runs",
    clears: "when the ratio is back below the notice step",
    latched: false,
    needs: &[
        Quantity::ProductConductivity,
        Quantity::ProductFlow,
        Quantity::FeedPressure,
        Quantity::FeedTemperature,
    ],
    other_explanations: "A meter that drifts or has another scale; product of the first minutes; preservative not yet rinsed out. A step points to a seal or tear, a slow rise to ageing or \
                         an oxidant.",
    act: &[action_list::CHECK_SECOND_METER, action_list::LOOK_IN_LOG_FOR_SALT, action_list::KEEP_OUT_OF_TANK],
    act_not: &[
        "Do not open a vessel before it is without pressure by the gauge and by the manual.",
        "Do not clean the membrane for this alone: cleaning does not mend a leak.",
    ],
    caution: "Salinity says nothing about microbes, fuel, solvents or boron.",
    sources: &[
        "steps on the salt permeability: our choice",
        "salt passage +5 to +10 % as a sign is commonly repeated without a source",
        "direction by cause: US Army QM4922 (rise of product flow with salt: damaged element)",
    ],
};

/// Has the salt passage risen?
pub fn assess(comparison: &Comparison, answer: &Answer, runs: usize) -> Assessment {
    if !comparison.salt_measured {
        return Assessment::cannot("product salinity was not measured, now or at the baseline");
    }
    let ratio = math::exp(comparison.ln_b.value);
    let lower = math::exp(comparison.ln_b.value - HALF_90 * comparison.ln_b.sd);
    let step = STEPS.iter().find(|(_, up, beyond)| *up <= ratio && *beyond < lower);
    match step {
        Some((severity, ..)) => Assessment::yes(finding(comparison, answer, *severity, runs)),
        None if STEPS[2].1 <= ratio => Assessment::Between,
        None => Assessment::False,
    }
}

fn finding(comparison: &Comparison, answer: &Answer, severity: Severity, runs: usize) -> Finding {
    let times = |sds: f64| math::exp(comparison.ln_b.value + sds * comparison.ln_b.sd);
    let over = if runs == 1 { "the latest run".to_owned() } else { format!("the latest {runs} runs") };
    Finding {
        code: FindingCode::SaltPassageUp,
        about: None,
        severity,
        title: "More salt passes than at the baseline".to_owned(),
        evidence: vec![Evidence {
            what: "salt permeability at 25 °C".to_owned(),
            seen: format!(
                "{:.1} times ({:.1} to {:.1}) over {over}",
                times(0.0),
                times(-HALF_95),
                times(HALF_95)
            ),
            against: "your baseline".to_owned(),
        }],
        causes: answer.explanations(),
        next_measurement: answer.next_measurement(),
    }
}
