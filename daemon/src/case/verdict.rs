//! The answer of a judgement in short: what leads, whether that is enough to decide, what to measure next and what to do.
//!
//! It adds no judgement of its own: causes, looks and advice are those of the reasoning, followed by what the findings advise unless a cause forbids it.

use super::Judged;
use super::expectations::Deciding;
use barrico_model::findings::{FindingCode, RankedCause, registry};
pub use barrico_model::judgement::reasoning::DECIDED;
use barrico_model::judgement::reasoning::Look;

/// The answer in short.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Verdict {
    /// Causes, most probable first.
    pub causes: Vec<RankedCause>,
    /// Is the first one decided?
    pub decided: bool,
    /// What would decide or reduce the doubt.
    pub ask: Vec<Deciding>,
    /// Codes of what is advised, in the order of urgency.
    pub actions: Vec<&'static str>,
    /// Findings, most urgent first.
    pub findings: Vec<FindingCode>,
}

/// The answer of a judgement.
pub fn verdict(judged: &Judged) -> Verdict {
    let answer = &judged.answer;
    let mut ask: Vec<Deciding> = vec![];
    for planned in answer.looks.iter().filter(|_| !answer.decided) {
        let deciding = match planned.look {
            Look::Read(quantity) => Deciding::Quantity(quantity),
            Look::Second(_) => Deciding::SecondInstrument,
            Look::ByElement => Deciding::ByElement,
            Look::Inspection => Deciding::Inspection,
        };
        if !ask.contains(&deciding) {
            ask.push(deciding);
        }
    }
    let of_findings = judged.unit.findings.iter().flat_map(|(alert, _)| registry::of(alert.code).act);
    let mut actions: Vec<&'static str> = vec![];
    for action in answer.act.iter().chain(of_findings).filter(|action| !answer.veto.contains(action)) {
        if !actions.contains(&action.code) {
            actions.push(action.code);
        }
    }
    Verdict {
        causes: answer.causes.clone(),
        decided: answer.decided,
        ask,
        actions,
        findings: judged.unit.findings.iter().map(|(alert, _)| alert.code).collect(),
    }
}
