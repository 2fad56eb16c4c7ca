//! The answer of a judgement in short: what leads, whether that is enough to decide, what to measure next and what to do.
//!
//! It adds no judgement of its own. Causes are those of the most urgent finding that names any, otherwise those that the comparison with the baseline weighs;
//! without either there is none, and the answer is that it cannot be told.

use super::Judged;
use super::expectations::Deciding;
use barrico_model::Quantity;
use barrico_model::findings::{Finding, FindingCode, RankedCause, registry};
use barrico_model::judgement::cause_list;

/// A cause is called decided when it is more probable than all others together.
pub const DECIDED: f64 = 0.5;
/// Probability of the cause that a finding states by itself, such as a sensor whose reading cannot be (our choice).
const STATED: f64 = 0.9;

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
    let active = || judged.unit.findings.iter().filter_map(|(_, finding)| finding.as_ref());
    let causes = active()
        .map(causes)
        .find(|causes| !causes.is_empty())
        .or_else(|| judged.engine.weighed(judged.index).map(|weighed| weighed.causes.clone()));
    let causes = causes.unwrap_or_default();
    let decided = causes.first().is_some_and(|first| DECIDED < first.probability);
    let mut ask: Vec<Deciding> = vec![];
    let next = active().filter_map(|finding| finding.next_measurement.as_ref()?.quantity);
    let weighed = judged.engine.weighed(judged.index).filter(|_| !decided).map(|weighed| weighed.decided_by);
    for quantity in next.chain(weighed) {
        ask.push(Deciding::Quantity(quantity));
        // To measure again what is measured already is to take a second instrument.
        if judged.unit.readings.iter().any(|reading| reading.quantity == quantity && reading.value.is_some())
        {
            ask.push(Deciding::SecondInstrument);
        }
    }
    ask.dedup();
    let actions = judged.unit.findings.iter().flat_map(|(alert, _)| registry::of(alert.code).act);
    Verdict {
        causes,
        decided,
        ask,
        actions: actions.map(|action| action.code).collect(),
        findings: judged.unit.findings.iter().map(|(alert, _)| alert.code).collect(),
    }
}

/// The causes that a finding names, or the one that it states.
fn causes(finding: &Finding) -> Vec<RankedCause> {
    let stated = match finding.code {
        FindingCode::ReadingUnreliable => finding.about.and_then(sensor),
        FindingCode::IdleWithoutFlush => Some("idle-too-long"),
        _ => None,
    };
    let stated = stated.and_then(cause_list::of).map(|cause| RankedCause {
        code: cause.code,
        title: cause.title,
        probability: STATED,
    });
    stated.map_or_else(|| finding.causes.clone(), |stated| vec![stated])
}

/// The cause that says: this reading is wrong.
fn sensor(quantity: Quantity) -> Option<&'static str> {
    Some(match quantity {
        Quantity::FeedPressure | Quantity::ConcentratePressure => "pressure-reading",
        Quantity::FeedTemperature => "temperature-reading",
        Quantity::ProductFlow => "product-flow-reading",
        Quantity::ProductConductivity | Quantity::ProductSalinity => "product-salinity-reading",
        Quantity::FeedFlow => "feed-flow-reading",
        Quantity::ConcentrateFlow => "concentrate-flow-reading",
        Quantity::FeedSalinity | Quantity::FeedConductivity => "feed-salinity-reading",
        Quantity::InletPressure | Quantity::PrefilterInletPressure => "inlet-pressure-reading",
        Quantity::PrefilterDifferentialPressure => "filter-drop-reading",
        Quantity::SupplyVoltage | Quantity::SupplyCurrent | Quantity::SupplyPower => "supply-reading",
        Quantity::PumpSpeed | Quantity::EngineSpeed => "speed-reading",
        Quantity::TankLevel => "tank-level-reading",
        _ => return None,
    })
}
