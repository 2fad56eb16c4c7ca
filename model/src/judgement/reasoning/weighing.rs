//! From signs and figures to probabilities: Bayes' rule over the tables, with "something else" always among the causes.
//!
//! A cause takes part only if something speaks for it: a sign, or figures against a baseline. What speaks for none is no reason to suspect any. Two rules keep an answer from
//! being surer than what it rests on: a cause is not called decided without the readings that carry it (unless it was seen itself), and "something else" loses
//! weight only by evidence, so every reading that is taken away brings it back.

use super::effect::{self, Effect};
use super::grade::{Grade, SOMETHING_ELSE};
use super::row::{Family, Pace, Row};
use super::sign::{Fact, Sign};
use super::signs::{Known, Signs};
use super::situation::Situation;
use super::table;
use crate::{Quantity, math};

/// Probability from which a cause is called decided: more than all others together.
pub const DECIDED: f64 = 0.5;
/// Most that a cause is given without the readings that carry it (our choice: less than decided by more than rounding).
const WITHOUT_ITS_READINGS: f64 = 0.45;

/// A cause with what it has.
#[derive(Clone, Copy, Debug)]
pub struct Weight {
    /// The row.
    pub row: &'static Row,
    /// Share of the probability, 0 to 1.
    pub probability: f64,
    /// Together with its family.
    pub with_family: f64,
    /// The readings that carry it are there, or it was seen itself.
    pub is_carried: bool,
    /// What its readings and signs say for it, without its prior.
    pub evidence: f64,
    /// Share left to it for the readings that the sound unit had and the present has not.
    pub covered: f64,
}

impl Weight {
    /// What may be said.
    pub fn said(&self) -> f64 {
        let said = self.with_family * self.covered;
        if self.is_carried { said } else { said.min(WITHOUT_ITS_READINGS) }
    }
}

/// All causes that take part, most probable first, a family under its most probable name.
pub fn weigh(situation: &Situation<'_>, signs: &Signs) -> Vec<Weight> {
    let speed_read = speed_is_read(situation);
    let known = Known::new(situation);
    let coverage = coverage(&known);
    let mut taking_part: Vec<(&'static Row, f64, bool, f64)> = table::rows()
        .filter(|row| row.is_possible(situation.parts))
        .filter_map(|row| {
            let (ln, speaks, seen_itself) = evidence(row, signs);
            let figures = match &situation.comparison {
                Some((comparison, inputs)) => effect::ratio(&row.effect, comparison, inputs, speed_read),
                None => 1.0,
            };
            let by_figures =
                situation.comparison.is_some() && !matches!(row.effect, Effect::Anything | Effect::None);
            let sound = row.code == "nothing-changed" && situation.comparison.is_some();
            let weight = row.prior.weight() * math::exp(ln) * figures;
            let carried = seen_itself || is_carried(row, &known);
            let few = 1.0 - FEW / (1.0 + present(&known) as f64);
            let covered = if seen_itself { few } else { coverage };
            (speaks || by_figures || sound).then_some((row, weight, carried, covered))
        })
        .collect();
    let total: f64 = taking_part.iter().map(|(_, weight, ..)| weight).sum::<f64>() + SOMETHING_ELSE;
    taking_part.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.code.cmp(b.0.code)));
    let family_of = |family: Family| {
        let sum: f64 = taking_part
            .iter()
            .filter(|(row, ..)| row.family == Some(family))
            .map(|(_, weight, ..)| weight)
            .sum();
        sum / total
    };
    let mut named: Vec<Weight> = taking_part
        .iter()
        .map(|(row, weight, is_carried, covered)| {
            let probability = weight / total;
            let with_family = row.family.map_or(probability, family_of);
            Weight {
                row,
                probability,
                with_family,
                is_carried: *is_carried,
                covered: *covered,
                evidence: weight / row.prior.weight(),
            }
        })
        .collect();
    // The strongest name of a family carries its sum; the others keep their own share behind it.
    let mut met: Vec<Family> = vec![];
    for weight in &mut named {
        match weight.row.family {
            Some(family) if met.contains(&family) => weight.with_family = 0.0,
            Some(family) => met.push(family),
            None => {}
        }
    }
    named.sort_by(|a, b| {
        b.with_family.total_cmp(&a.with_family).then(b.probability.total_cmp(&a.probability))
    });
    named
}

/// Sum of the grades, whether anything speaks for it, and whether a decisive sign was seen for certain.
fn evidence(row: &Row, signs: &Signs) -> (f64, bool, bool) {
    let mut ln = pace(row, signs);
    let (mut speaks, mut seen_itself) = (false, false);
    for (sign, grade) in row.fits {
        let sure = signs.get(*sign).unwrap_or(0.0).max(0.0);
        ln += sure * grade.log_ratio();
        speaks |= 0.3 <= sure && (Grade::Weak < *grade || !sign.is_ordinary());
        seen_itself |= *grade == Grade::Decisive && 0.7 <= sure;
    }
    for (sign, grade) in row.against {
        ln -= signs.get(*sign).unwrap_or(0.0).max(0.0) * grade.log_ratio();
    }
    for (sign, grade) in row.missed {
        ln += signs.get(*sign).unwrap_or(0.0).min(0.0) * grade.log_ratio();
    }
    let told = row.told_of.iter().map(|sign| signs.get(*sign).unwrap_or(0.0)).fold(0.0, f64::max);
    if !row.told_of.is_empty() {
        ln -= (1.0 - told) * Grade::Strong.log_ratio();
    }
    (ln, speaks, seen_itself)
}

/// What comes fast does not drift, and what drifts does not come in a step: weak evidence, since two things can happen at once.
fn pace(row: &Row, signs: &Signs) -> f64 {
    let drifted =
        signs.is(Fact::OutputDrifts).max(signs.is(Fact::SaltDrifts)).max(signs.is(Fact::ProductSinks));
    let stepped = signs.is(Fact::SaltStep).max(signs.is(Fact::OutputStepped));
    let fits = match row.pace {
        Pace::Step => stepped - drifted,
        Pace::Weeks => drifted - stepped,
        Pace::Days | Pace::Any => 0.0,
    };
    fits * Grade::Weak.log_ratio()
}

/// Are the readings there without which it is not decided?
fn is_carried(row: &Row, known: &Known<'_>) -> bool {
    let read = |quantity: Quantity| known.now(quantity).is_some();
    let all = row.needs.iter().all(|any| any.iter().any(|quantity| read(*quantity)));
    all && (!row.needs_baseline || !known.s.baseline.is_empty())
}

/// What remains of an answer for each kind of reading that the sound unit had and the present has not (our choice): less is known, so less is sure.
const PER_MISSING: f64 = 0.85;

/// What no reading can contradict is less sure: share taken away without any reading, halved by the first, a third left by two, and so on (our choice).
const FEW: f64 = 0.25;

/// Kinds of readings that are there now.
fn present(known: &Known<'_>) -> usize {
    Quantity::ALL.iter().filter(|quantity| known.now(**quantity).is_some()).count()
}

fn coverage(known: &Known<'_>) -> f64 {
    let mut had: Vec<Quantity> = known.s.baseline.iter().map(|(quantity, _)| *quantity).collect();
    had.sort_unstable();
    had.dedup();
    let missing = had.iter().filter(|quantity| known.now(**quantity).is_none()).count();
    math::pow(PER_MISSING, missing.min(4) as f64) * (1.0 - FEW / (1.0 + present(known) as f64))
}

/// Two causes for which the same is seen in the same strength are told apart by nothing but how often they are heard of: that decides no case (our choice of how near
/// and how probable the second must be).
const AS_NEAR: f64 = 0.8;
const AS_PROBABLE: f64 = 0.1;

/// The cause that nothing known separates from the first.
pub fn inseparable(weights: &[Weight]) -> Option<&Weight> {
    let (first, rest) = weights.split_first()?;
    let other_family = |other: &&Weight| other.row.family.is_none() || other.row.family != first.row.family;
    rest.iter().filter(other_family).find(|other| {
        AS_NEAR * first.evidence <= other.evidence
            && AS_PROBABLE <= other.probability
            && other.row.code != first.row.code
    })
}

/// Does anything tell the pump's speed?
fn speed_is_read(situation: &Situation<'_>) -> bool {
    let known = Known::new(situation);
    [Quantity::PumpSpeed, Quantity::EngineSpeed, Quantity::SupplyFrequency, Quantity::SupplyVoltage]
        .into_iter()
        .any(|quantity| known.now(quantity).is_some())
}

/// What of the signs a cause rests on, strongest first.
pub fn rests_on(row: &Row, signs: &Signs) -> Vec<Sign> {
    let mut found: Vec<(f64, Sign)> = row
        .fits
        .iter()
        .filter_map(|(sign, grade)| Some((signs.get(*sign)?, *sign, grade)))
        .filter(|(sure, ..)| 0.3 <= *sure)
        .map(|(sure, sign, grade)| (sure * grade.log_ratio(), sign))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, sign)| sign).collect()
}
