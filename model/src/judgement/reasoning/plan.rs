//! The next measurement: the look that takes most doubt away for its effort.
//!
//! For every sign that nobody has looked at, the tables say how often it shows under each cause. What a look is expected to take from the doubt is the mutual information of the
//! sign and the causes (Shannon 1948; Lindley 1956, Ann. Math. Statist. 27, 986), in bits; a look that answers several signs counts by the best of them. That is divided by the
//! effort of the look.

use super::grade::{SHOWS_AGAINST, SHOWS_ELSEWHERE, SOMETHING_ELSE};
use super::look::Look;
use super::row::Row;
use super::sign::Sign;
use super::signs::{Known, Signs};
use super::situation::Situation;
use super::weighing::Weight;
use crate::{Quantity, math};
use std::collections::BTreeMap;

/// Causes that are planned for: the rest is noise.
const CAUSES_PLANNED: usize = 8;
/// Looks that are named.
pub const LOOKS_MAX: usize = 3;
/// A gauge that has never been read has to be found or fitted first: so many times the effort (our choice).
const NOT_FITTED: f64 = 4.0;
/// Least information that is worth a walk, bits (our choice).
const LEAST_BITS: f64 = 0.02;

/// A look that was planned.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// The look.
    pub look: Look,
    /// The sign that it would tell best.
    pub sign: Sign,
    /// Bits of doubt that it is expected to take away.
    pub bits: f64,
}

/// The looks worth most, best first.
pub fn plan(situation: &Situation<'_>, signs: &Signs, weights: &[Weight]) -> Vec<Planned> {
    let causes: Vec<(&Row, f64)> =
        weights.iter().take(CAUSES_PLANNED).map(|weight| (weight.row, weight.probability)).collect();
    let known = Known::new(situation);
    let mut best: BTreeMap<Look, Planned> = BTreeMap::new();
    let mut offer = |look: Look, sign: Sign, bits: f64| {
        let offered = Planned { look, sign, bits };
        let at = best.entry(look).or_insert_with(|| offered.clone());
        if at.bits < bits {
            *at = offered;
        }
    };
    for sign in all_signs(&causes) {
        if signs.get(sign).is_some() || is_history(sign) {
            continue;
        }
        let bits = information(sign, &causes);
        match sign.look() {
            // To measure again what is measured already is to take a second instrument.
            Look::Read(quantity) if known.now(quantity).is_some() => {}
            look => offer(look, sign, bits),
        }
    }
    // What carries a cause is worth asking for even where no sign says so, and more the more causes hang on it.
    let mut carries: BTreeMap<Quantity, (Sign, f64)> = BTreeMap::new();
    for (row, probability) in &causes {
        for any in row.needs.iter().filter(|any| any.iter().all(|quantity| known.now(*quantity).is_none())) {
            if let (Some(quantity), Some((sign, _))) = (any.first(), row.fits.first()) {
                carries.entry(*quantity).or_insert((*sign, 0.0)).1 += 0.5 * probability;
            }
        }
    }
    for (quantity, (sign, bits)) in carries {
        offer(Look::Read(quantity), sign, bits);
    }
    for (row, probability) in &causes {
        for look in row.told_by {
            if let Some((sign, _)) = row.fits.first() {
                offer(*look, *sign, 0.5 * probability);
            }
        }
    }
    let fitted = |look: Look| match look {
        Look::Read(quantity) => known.base(quantity).is_some() || !known.series(quantity).is_empty(),
        _ => true,
    };
    let worth = |planned: &Planned| {
        let there = planned.look.is_at_hand() || fitted(planned.look);
        let effort = planned.look.effort() * if there { 1.0 } else { NOT_FITTED };
        planned.bits / effort.sqrt()
    };
    let mut planned: Vec<Planned> = best.into_values().filter(|planned| LEAST_BITS < planned.bits).collect();
    // Figures against a baseline without a flow are nobody's: neither the pump's nor the membrane's. The jug comes before all else.
    let without_flow = situation.comparison.as_ref().is_some_and(|(comparison, _)| !comparison.flow_measured);
    let jug = |planned: &Planned| without_flow && planned.look == Look::Read(Quantity::ConcentrateFlow);
    planned.sort_by(|a, b| jug(b).cmp(&jug(a)).then(worth(b).total_cmp(&worth(a))).then(a.look.cmp(&b.look)));
    planned.truncate(LOOKS_MAX);
    planned
}

/// What the log and the clock say is not looked at, it is entered.
fn is_history(sign: Sign) -> bool {
    use super::sign::Fact as F;
    match sign {
        Sign::Lately(_) | Sign::Impossible(_) => true,
        Sign::Fact(fact) => {
            matches!(fact, F::FirstMinutes | F::NewElement | F::OldElement | F::RiverNear | F::InHarbour)
        }
        _ => false,
    }
}

fn all_signs(causes: &[(&Row, f64)]) -> Vec<Sign> {
    let of = |row: &Row| {
        let lists = [row.fits, row.against, row.missed];
        lists.into_iter().flatten().map(|(sign, _)| *sign).collect::<Vec<_>>()
    };
    let mut all: Vec<Sign> = causes.iter().flat_map(|(row, _)| of(row)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// How often the sign shows if this is the cause.
fn shows(sign: Sign, row: &Row) -> f64 {
    let of = |list: &[(Sign, super::grade::Grade)]| {
        list.iter().find(|(known, _)| *known == sign).map(|(_, grade)| *grade)
    };
    match (of(row.fits), of(row.against), of(row.missed)) {
        (Some(grade), ..) | (None, None, Some(grade)) => grade.shows(),
        (None, Some(_), _) => SHOWS_AGAINST,
        (None, None, None) => SHOWS_ELSEWHERE,
    }
}

/// Mutual information of a sign and the causes, bits.
fn information(sign: Sign, causes: &[(&Row, f64)]) -> f64 {
    let known: f64 = causes.iter().map(|(_, p)| p).sum();
    let rest = (1.0 - known).max(0.0).max(0.01 * SOMETHING_ELSE);
    let total = known + rest;
    let with = |f: &dyn Fn(f64) -> f64| {
        let named: f64 = causes.iter().map(|(row, p)| p / total * f(shows(sign, row))).sum();
        named + rest / total * f(SHOWS_ELSEWHERE)
    };
    let mean = with(&|p| p);
    entropy(mean) - with(&entropy)
}

/// Entropy of yes and no, bits.
fn entropy(p: f64) -> f64 {
    let part = |p: f64| if p <= 0.0 { 0.0 } else { -p * math::ln(p) / std::f64::consts::LN_2 };
    part(p) + part(1.0 - p)
}
