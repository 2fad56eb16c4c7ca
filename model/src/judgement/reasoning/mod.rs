//! What may be behind it, how sure, and what to look at next: one reasoning for the live unit, for `diagnose` and for case files.
//!
//! [`Situation`] holds what is known; `signs` tells what follows from it; `table` holds the causes as data, one file a family; `effect` sets the figures against the
//! baseline beside what each cause would do to them; `weighing` applies Bayes' rule; `plan` finds the next look. Nothing here raises a finding.
//!
//! An answer can be "it cannot be told": then it names the causes that stay together and the looks that would tell them apart.

mod effect;
mod grade;
mod look;
mod plan;
mod row;
mod sign;
mod signs;
mod situation;
mod table;
#[cfg(test)]
mod tests;
mod weighing;

pub use look::Look;
pub use plan::Planned;
pub use sign::{Fact, Sign};
pub use situation::{
    Beside, CoursePoint, PastEvent, Position, ReadingSet, Role, Situation, Surroundings, Tide,
};
pub use weighing::DECIDED;

use super::action_list::Action;
use super::cause_list::{self, Group};
use crate::Quantity;
use crate::findings::{NextMeasurement, RankedCause};
use crate::judgement::observation_list;
use signs::Signs;
use weighing::Weight;

/// Causes that an answer names.
const CAUSES_NAMED: usize = 12;
/// Causes that a finding names, and the least probability that is worth a line.
const EXPLANATIONS_MAX: usize = 5;
const LEAST_NAMED: f64 = 0.02;
/// A cause from here on has its word in what is advised and what is not.
const ADVISES: f64 = 0.25;

/// The answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// Causes, most probable first; together 1 or less, the rest is "something else".
    pub causes: Vec<RankedCause>,
    /// Is the first one more probable than all others together, and carried by its readings?
    pub decided: bool,
    /// Two causes that nothing known separates.
    pub pair: Option<(&'static str, &'static str)>,
    /// What the first one rests on, in words, strongest first.
    pub rests_on: Vec<String>,
    /// Where what is known of the first one comes from.
    pub source: &'static str,
    /// The looks that would take most doubt away, best first.
    pub looks: Vec<Planned>,
    /// What to do, in this order.
    pub act: Vec<Action>,
    /// What must not be advised.
    pub veto: Vec<Action>,
}

impl Answer {
    /// Does it decide for an instrument, a unit of measure or the network? Then findings that rest on the reading wait.
    pub fn blames_a_reading(&self) -> bool {
        let group = self.causes.first().and_then(|first| cause_list::of(first.code)).map(|cause| cause.group);
        self.decided && matches!(group, Some(Group::Sensor | Group::Units | Group::Network))
    }

    /// Readings that are no ground for anything until their instrument, unit or sender is settled.
    pub fn doubted(&self) -> Vec<Quantity> {
        use Quantity as Q;
        let first = self.causes.first().filter(|_| self.decided);
        match first.map_or("", |first| first.code) {
            "pressure-reading" | "unit-psi-bar" => vec![Q::FeedPressure, Q::ConcentratePressure],
            "temperature-reading" | "unit-celsius-fahrenheit" => vec![Q::FeedTemperature],
            "product-flow-reading" | "unit-gallon-litre" => vec![Q::ProductFlow],
            "product-salinity-reading" | "unit-ppm-scale" | "probe-crosstalk" => {
                vec![Q::ProductConductivity, Q::ProductSalinity]
            }
            "feed-flow-reading" => vec![Q::FeedFlow],
            "concentrate-flow-reading" => vec![Q::ConcentrateFlow],
            "feed-salinity-reading" => vec![Q::FeedSalinity, Q::FeedConductivity],
            _ => vec![],
        }
    }

    /// What can be behind a finding on output or salt: care that is due explains neither.
    pub fn explanations(&self) -> Vec<RankedCause> {
        let explains = |cause: &&RankedCause| {
            let group = cause_list::of(cause.code).map(|known| known.group);
            LEAST_NAMED <= cause.probability && group != Some(Group::Care)
        };
        self.causes.iter().filter(explains).take(EXPLANATIONS_MAX).cloned().collect()
    }

    /// How to take the best look, and what each outcome would mean.
    pub fn next_measurement(&self) -> Option<NextMeasurement> {
        let planned = self.looks.first()?;
        let mut next = planned.look.how();
        if let (Look::Inspection, Sign::Seen(code)) = (planned.look, planned.sign)
            && let Some(known) = observation_list::of(code)
        {
            next.how = format!("{} {}", known.question, next.how);
        }
        Some(next)
    }
}

/// Weighs everything that is known.
pub fn reason(situation: &Situation<'_>) -> Answer {
    let signs = Signs::of(situation);
    let weights = weighing::weigh(situation, &signs);
    let Some(first) = weights.first() else { return Answer::default() };
    let pair = weighing::inseparable(&weights).map(|other| other.row.code);
    let decided = DECIDED < first.said() && pair.is_none();
    let advising: Vec<&Weight> =
        weights.iter().filter(|weight| ADVISES <= weight.with_family.max(weight.probability)).collect();
    let mut act: Vec<Action> = vec![];
    for action in advising.iter().flat_map(|weight| weight.row.act) {
        if !act.contains(action) {
            act.push(*action);
        }
    }
    Answer {
        causes: named(&weights, pair.is_some()),
        decided,
        pair: pair.map(|other| (first.row.code, other)),
        rests_on: weighing::rests_on(first.row, &signs).into_iter().map(Sign::words).collect(),
        source: first.row.source,
        looks: plan::plan(situation, &signs, &weights),
        act,
        veto: advising.iter().flat_map(|weight| weight.row.veto).copied().collect(),
    }
}

/// The causes of an answer: of a family its strongest name, of rows with one code the first.
fn named(weights: &[Weight], pair: bool) -> Vec<RankedCause> {
    let mut causes: Vec<RankedCause> = vec![];
    for weight in weights.iter().filter(|weight| 0.0 < weight.with_family) {
        if causes.len() < CAUSES_NAMED && causes.iter().all(|known| known.code != weight.row.code) {
            causes.push(ranked(weight, pair));
        }
    }
    causes
}

/// Does any cause know this observation?
pub fn weighs(code: &str) -> bool {
    let known = |list: &[(Sign, grade::Grade)]| {
        list.iter().any(|(sign, _)| matches!(sign, Sign::Seen(seen) if *seen == code))
    };
    table::rows().any(|row| known(row.fits) || known(row.against) || known(row.missed))
}

/// Codes of all that a cause advises.
#[cfg(test)]
pub(super) fn advised() -> impl Iterator<Item = &'static str> {
    table::rows().flat_map(|row| row.act).map(|action| action.code)
}

/// A pair that nothing separates is given no more than what is undecided.
fn ranked(weight: &Weight, pair: bool) -> RankedCause {
    let code = weight.row.code;
    let title = cause_list::of(code).map_or("", |cause| cause.title);
    let said = weight.said();
    RankedCause { code, title, probability: if pair { said.min(DECIDED) } else { said } }
}
