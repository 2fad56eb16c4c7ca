//! The elements of a unit: which are fitted, what each has behind it, and which are by-passed.
//!
//! The settings say what is aboard and in which order; the log says what was by-passed. A by-passed element is left out of the parts list that everything
//! is computed with, until the log says that it is fitted again or the settings no longer list it.

use super::unit::Unit;
use crate::settings::ElementHistory;
use barrico_model::parts::Element;
use barrico_model::records::{ElementLedger, FittedElement, by_passed, mark_of_position};

/// An element of the settings.
#[derive(Clone, Debug)]
pub struct ListedElement {
    /// As in the parts list.
    pub part: Element,
    /// Serial, position, age.
    pub history: ElementHistory,
    /// Its mark.
    pub mark: String,
}

impl Unit {
    /// The elements of the settings with their marks.
    pub(super) fn listed(parts: &[Element], histories: &[ElementHistory]) -> Vec<ListedElement> {
        let history = |index: usize| {
            histories
                .get(index)
                .cloned()
                .unwrap_or_else(|| ElementHistory { position: index as u32 + 1, ..ElementHistory::default() })
        };
        parts
            .iter()
            .enumerate()
            .map(|(index, part)| {
                let history = history(index);
                let serial = history.serial.clone().or_else(|| part.serial.clone());
                let mark = serial
                    .filter(|serial| !serial.is_empty())
                    .unwrap_or_else(|| mark_of_position(history.position));
                ListedElement { part: part.clone(), history, mark }
            })
            .collect()
    }

    /// Reads the log and the runs anew: who is by-passed, and the hours of all.
    pub fn follow_elements(&mut self) {
        let passed = by_passed(&self.log);
        let is_used = |element: &&ListedElement| !passed.contains(&element.mark.as_str());
        let used: Vec<ListedElement> = self.listed.iter().filter(is_used).cloned().collect();
        // A unit without any element is none: then the log is wrong and the settings stand.
        let used = if used.is_empty() { self.listed.clone() } else { used };
        self.settings.parts.elements = used.iter().map(|element| element.part.clone()).collect();
        self.settings.element_history = used.iter().map(|element| element.history.clone()).collect();
        let usual_h = self.settings.second_hand.element_hours.unwrap_or(0.0);
        let fitted: Vec<FittedElement> = self
            .listed
            .iter()
            .map(|element| FittedElement {
                mark: element.mark.clone(),
                position: element.history.position,
                hours: element.history.hours.unwrap_or(usual_h),
                product_l: element.history.product_l.unwrap_or(0.0),
            })
            .collect();
        self.elements = ElementLedger::new(&fitted, self.runs.iter(), &self.log);
    }

    /// Marks of the elements that the water goes through, in its order.
    pub fn train_marks(&self) -> Vec<String> {
        let used = &self.settings.parts.elements;
        Self::listed(used, &self.settings.element_history).into_iter().map(|element| element.mark).collect()
    }

    /// Running hours of the youngest element.
    pub fn element_hours(&self) -> f64 {
        self.elements.youngest_h().unwrap_or(0.0)
    }

    /// Share of the product for each element of a record, from the shares of those that the water goes through.
    pub(super) fn shares_of(
        &self,
        record: &[barrico_model::records::ElementAge],
        shares: &[f64],
    ) -> Vec<f64> {
        let marks = self.train_marks();
        if shares.len() != marks.len() || record.is_empty() {
            return vec![];
        }
        let share = |mark: &str| marks.iter().position(|known| known == mark).map_or(0.0, |at| shares[at]);
        record.iter().map(|element| share(&element.mark)).collect()
    }
}
