//! What a unit has behind it, for people: baselines, elements, valve, and what a change of the train brought.

use super::unit::Unit;
use super::{Command, Engine, Reply};
use barrico_model::plant::train_change::{Marked, train_change};
use barrico_model::plant::valve_law::LearntExponent;
use barrico_model::plant::{ConcentrateValve, TrainChange};
use barrico_model::records::{Baseline, BaselineKind, ElementAge, by_passed};

/// The history of one unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UnitHistory {
    /// All baselines, oldest first.
    pub baselines: Vec<Baseline>,
    /// Every element that is known, fitted ones first.
    pub elements: Vec<ElementAge>,
    /// Marks of those that are by-passed.
    pub by_passed: Vec<String>,
    /// What was learnt of the concentrate valve; `None`: it has none.
    pub valve: Option<LearntExponent>,
    /// Where the valve stands.
    pub valve_setting: Option<ConcentrateValve>,
    /// The latest change of the number of elements.
    pub train_change: Option<TrainChange>,
    /// Hours that the youngest element still needs before a baseline can be confirmed; zero: none.
    pub settles_in_h: f64,
}

impl Engine {
    /// The history of a unit.
    pub(super) fn show_history(&self, unit: usize) -> Reply {
        Reply::History(Box::new(self.units[unit].history()))
    }
}

impl Command {
    /// A question for the history of a unit.
    pub fn history(unit: &str) -> Self {
        Self::ShowHistory { unit: unit.to_owned() }
    }
}

impl Unit {
    /// Everything behind it.
    pub fn history(&self) -> UnitHistory {
        UnitHistory {
            baselines: self.baselines.clone(),
            elements: self.elements.elements.clone(),
            by_passed: self.by_passed_marks(),
            valve: self.valve_law(),
            valve_setting: self.valve_setting(),
            train_change: self.train_change(),
            settles_in_h: (super::baselines::SETTLED_H - self.element_hours()).max(0.0),
        }
    }

    /// Marks of the elements that are aboard and by-passed.
    pub fn by_passed_marks(&self) -> Vec<String> {
        by_passed(&self.log)
            .into_iter()
            .filter(|mark| self.listed.iter().any(|listed| listed.mark == *mark))
            .map(str::to_owned)
            .collect()
    }

    /// What the change from the last train with another number of elements brought, if there was one.
    pub fn train_change(&self) -> Option<TrainChange> {
        let marks = self.train_marks();
        let measured = |baseline: &&Baseline| {
            baseline.kind != BaselineKind::Specification && !baseline.elements.is_empty()
        };
        let old = self
            .baselines
            .iter()
            .rev()
            .filter(measured)
            .find(|baseline| baseline.elements.len() != marks.len())
            .filter(|baseline| baseline.retired.is_some())?;
        let new = self.baseline().filter(|baseline| baseline.elements.len() == marks.len());
        let aboard: Vec<Marked<'_>> =
            self.listed.iter().map(|listed| Marked { mark: &listed.mark, part: &listed.part }).collect();
        train_change(&self.settings.parts, &marks, &aboard, old, new).ok()
    }
}
