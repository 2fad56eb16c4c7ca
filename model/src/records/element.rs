//! Elements as things of their own: their marks, their hours, where they are.
//!
//! An element keeps its history wherever it goes: moved, swapped, by-passed, in the locker. Hours and litres are those of the element, not of a place.

use super::{EventKind, LogBody, LogEntry, RunEnd, RunRecord};
use crate::Quantity;

/// Elements that one unit remembers, fitted or not. Beyond that those that left longest ago are forgotten.
pub const KNOWN_ELEMENTS_MAX: usize = 24;

/// What is known of one element.
#[derive(Clone, Debug, PartialEq)]
pub struct ElementAge {
    /// Its serial number, or `position 2` where nothing better was entered.
    pub mark: String,
    /// Place in the train from 1 at the feed; `None`: not fitted, or by-passed.
    pub position: Option<u32>,
    /// Running hours.
    pub hours: f64,
    /// Product it made, L, as far as known: its share by the model, or an equal one.
    pub product_l: f64,
}

/// Where an element went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ElementPlace {
    /// Place in the train from 1 at the feed.
    Position(u32),
    /// In the vessel or beside it, but the water goes past it: re-plumbed.
    ByPassed,
    /// Taken out.
    Removed,
}

/// One move of one element.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ElementMove {
    /// Its mark.
    pub mark: String,
    /// Where it went.
    pub to: ElementPlace,
}

/// The mark of an element without a serial number.
pub fn mark_of_position(position: u32) -> String {
    format!("position {position}")
}

/// An element of the settings, as it came aboard.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedElement {
    /// Its mark.
    pub mark: String,
    /// Place in the train, from 1.
    pub position: u32,
    /// Hours that it had then.
    pub hours: f64,
    /// Litres that it had made then.
    pub product_l: f64,
}

/// Hours and litres of all elements of a unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ElementLedger {
    /// The elements: fitted ones in the order of the flow, then the others.
    pub elements: Vec<ElementAge>,
    /// Running hours since an element was last replaced; `None`: none was.
    pub since_replaced_h: Option<f64>,
}

impl ElementLedger {
    /// From the elements of the settings, the runs and the log. Old run records that name no elements count for those fitted now.
    ///
    /// Runs and entries are taken in the order of their dates, and of their numbers where a date is missing. A replacement that was written down later than
    /// the runs after it corrects them.
    pub fn new<'a>(
        fitted: &[FittedElement],
        runs: impl Iterator<Item = &'a RunRecord>,
        log: &[LogEntry],
    ) -> Self {
        let mut build = Build::new(fitted);
        let mut items: Vec<Item> = runs.map(Item::Run).collect();
        items.extend(log.iter().filter(|entry| !entry.voided).map(Item::Entry));
        items.sort_by_key(Item::id);
        // Where a date is missing the one before it stands in.
        let mut last = i64::MIN;
        let mut dated: Vec<(i64, u64, Item)> = Vec::with_capacity(items.len());
        for item in items {
            last = item.wall_ms().unwrap_or(last);
            dated.push((last, item.id(), item));
        }
        dated.sort_by_key(|(wall, id, _)| (*wall, *id));
        for (_, _, item) in dated {
            match item {
                Item::Run(run) => build.run(run),
                Item::Entry(entry) => build.entry(entry),
            }
        }
        build.done(fitted, log)
    }

    /// Hours of the youngest element that is fitted: what has settled must all have settled.
    pub fn youngest_h(&self) -> Option<f64> {
        let fitted = self.elements.iter().filter(|element| element.position.is_some());
        let youngest = fitted.map(|element| element.hours).reduce(f64::min)?;
        Some(self.since_replaced_h.map_or(youngest, |hours| hours.min(youngest)))
    }

    /// The element with this mark.
    pub fn get(&self, mark: &str) -> Option<&ElementAge> {
        self.elements.iter().find(|element| element.mark == mark)
    }
}

/// Elements that the log says are by-passed now.
pub fn by_passed(log: &[LogEntry]) -> Vec<&str> {
    let mut marks: Vec<&str> = Vec::new();
    for entry in log.iter().filter(|entry| !entry.voided && matches!(entry.body, LogBody::Event(_))) {
        for moved in &entry.elements {
            marks.retain(|mark| *mark != moved.mark);
            if moved.to == ElementPlace::ByPassed {
                marks.push(&moved.mark);
            }
        }
    }
    marks
}

enum Item<'a> {
    Run(&'a RunRecord),
    Entry(&'a LogEntry),
}

impl Item<'_> {
    fn id(&self) -> u64 {
        match self {
            Item::Run(run) => run.id,
            Item::Entry(entry) => entry.id,
        }
    }

    fn wall_ms(&self) -> Option<i64> {
        match self {
            Item::Run(run) => run.start.wall_ms,
            Item::Entry(entry) => entry.at.wall_ms,
        }
    }
}

struct Build {
    elements: Vec<ElementAge>,
    /// Marks whose count began anew, with the number of the entry that said so.
    restarted: Vec<(String, u64)>,
    since_replaced_h: Option<f64>,
    /// Hour meter at the last set of readings, h, and running hours counted since.
    meter: Option<f64>,
    counted_h: f64,
}

impl Build {
    fn new(fitted: &[FittedElement]) -> Self {
        let elements = fitted
            .iter()
            .map(|element| ElementAge {
                mark: element.mark.clone(),
                position: Some(element.position),
                hours: element.hours,
                product_l: element.product_l,
            })
            .collect();
        Self { elements, restarted: Vec::new(), since_replaced_h: None, meter: None, counted_h: 0.0 }
    }

    fn element(&mut self, mark: &str) -> &mut ElementAge {
        let at = match self.elements.iter().position(|element| element.mark == mark) {
            Some(at) => at,
            None => {
                self.elements.push(ElementAge {
                    mark: mark.to_owned(),
                    position: None,
                    hours: 0.0,
                    product_l: 0.0,
                });
                self.elements.len() - 1
            }
        };
        &mut self.elements[at]
    }

    fn run(&mut self, run: &RunRecord) {
        // A record that names its elements names all of them.
        if !run.elements.is_empty() {
            self.elements.iter_mut().for_each(|element| element.position = None);
        }
        for told in &run.elements {
            // A record written before a replacement was known still counts the old element.
            let corrected = self.restarted.iter().any(|(mark, entry)| *mark == told.mark && run.id < *entry);
            let element = self.element(&told.mark);
            element.position = told.position;
            if !corrected {
                element.hours = told.hours;
                element.product_l = told.product_l;
            }
        }
        let hours = self.hours_of(run);
        let fitted = self.elements.iter().filter(|element| element.position.is_some()).count().max(1) as f64;
        let equal = 1.0 / fitted;
        let litres = run.product_l.unwrap_or(0.0);
        for element in self.elements.iter_mut().filter(|element| element.position.is_some()) {
            let place = run.elements.iter().position(|told| told.mark == element.mark);
            let share = place.and_then(|at| run.element_shares.get(at)).copied().unwrap_or(equal);
            element.hours += hours;
            element.product_l += share * litres;
        }
        if let Some(since) = &mut self.since_replaced_h {
            *since += hours;
        }
    }

    /// Length of a run; of a set of readings, what the hour meter has counted since the set before and no run has.
    fn hours_of(&mut self, run: &RunRecord) -> f64 {
        if run.end != RunEnd::ReadingSet {
            self.counted_h += run.duration_s / 3600.0;
            return run.duration_s / 3600.0;
        }
        let Some(meter) = run.mean(Quantity::RunTime).map(|mean| mean.value / 3600.0) else { return 0.0 };
        let since = self.meter.replace(meter).map_or(0.0, |before| meter - before - self.counted_h);
        self.counted_h = 0.0;
        since.max(0.0)
    }

    fn entry(&mut self, entry: &LogEntry) {
        let LogBody::Event(kind) = entry.body else { return };
        for moved in &entry.elements {
            let is_known = self.elements.iter().any(|element| element.mark == moved.mark);
            let element = self.element(&moved.mark);
            element.position = match moved.to {
                ElementPlace::Position(position) => Some(position),
                ElementPlace::ByPassed | ElementPlace::Removed => None,
            };
            // The same mark fitted as a new part: a place without a serial number.
            let placed = matches!(moved.to, ElementPlace::Position(_));
            if kind == EventKind::ElementReplaced && placed && is_known && is_place(&moved.mark) {
                self.restart(&moved.mark, entry.id);
            }
        }
        if kind == EventKind::ElementReplaced {
            self.since_replaced_h = Some(0.0);
            if entry.elements.is_empty() {
                let marks: Vec<String> = self.elements.iter().map(|element| element.mark.clone()).collect();
                marks.iter().filter(|mark| is_place(mark)).for_each(|mark| self.restart(mark, entry.id));
            }
        }
    }

    fn restart(&mut self, mark: &str, entry: u64) {
        let element = self.element(mark);
        element.hours = 0.0;
        element.product_l = 0.0;
        self.restarted.push((mark.to_owned(), entry));
    }

    /// The settings say what is fitted now, less what the log says is by-passed.
    fn done(mut self, fitted: &[FittedElement], log: &[LogEntry]) -> ElementLedger {
        let passed = by_passed(log);
        for element in &mut self.elements {
            let place = fitted.iter().find(|fitted| fitted.mark == element.mark);
            element.position =
                place.filter(|_| !passed.contains(&element.mark.as_str())).map(|fitted| fitted.position);
        }
        self.elements.sort_by_key(|element| element.position.unwrap_or(u32::MAX));
        self.elements.truncate(KNOWN_ELEMENTS_MAX);
        ElementLedger { elements: self.elements, since_replaced_h: self.since_replaced_h }
    }
}

fn is_place(mark: &str) -> bool {
    mark.strip_prefix("position ").is_some_and(|number| number.parse::<u32>().is_ok())
}

#[cfg(test)]
mod tests;
