//! Signs: what follows from readings, observations, log and surroundings, each with how sure it is.
//!
//! A sign that could be looked at and is not so counts as looked at and not found. A sign whose readings are missing is not in the list at all: what was not measured says
//! nothing, neither for nor against.

mod electrical;
mod feed_water;
mod flow;
mod history;
mod instruments;
mod known;
mod pressure;
mod salt;
mod tank;

use super::sign::{Fact, Sign};
use super::situation::Situation;
pub(in crate::judgement) use known::Known;
use known::ramp;
use std::collections::BTreeMap;

/// Certainty of each sign, from -1 (looked at, not so) to 1 (so).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Signs(BTreeMap<Sign, f64>);

impl Signs {
    /// All that can be told.
    pub fn of(situation: &Situation<'_>) -> Self {
        let known = Known::new(situation);
        let mut signs = Self::default();
        for (code, yes) in &situation.seen {
            signs.0.insert(Sign::Seen(code), if *yes { 1.0 } else { -1.0 });
        }
        electrical::tell(&known, &mut signs);
        pressure::tell(&known, &mut signs);
        flow::tell(&known, &mut signs);
        tank::tell(&known, &mut signs);
        salt::tell(&known, &mut signs);
        feed_water::tell(&known, &mut signs);
        instruments::tell(&known, &mut signs);
        history::tell(&known, &mut signs);
        signs
    }

    /// How sure a sign is; `None`: nobody looked.
    pub fn get(&self, sign: Sign) -> Option<f64> {
        self.0.get(&sign).copied()
    }

    /// Share of certainty with which it is so.
    pub fn is(&self, fact: Fact) -> f64 {
        self.get(Sign::Fact(fact)).unwrap_or(0.0).max(0.0)
    }

    /// A share of 0 is "looked, and it is not so".
    fn fact(&mut self, fact: Fact, share: f64) {
        self.put(Sign::Fact(fact), if 0.0 < share { share } else { -1.0 });
    }

    fn yes_no(&mut self, fact: Fact, yes: bool) {
        self.fact(fact, if yes { 1.0 } else { 0.0 });
    }

    fn put(&mut self, sign: Sign, sure: f64) {
        let known = self.0.entry(sign).or_insert(sure);
        *known = known.max(sure);
    }
}
