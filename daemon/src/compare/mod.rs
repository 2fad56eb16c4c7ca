//! A comparison file worked out: every candidate in every water and variant, and what is said of it.
//!
//! What this is: the numbers, in [`Compared`], and the words for limits that are passed, not entered or not known, which terminal, JSON and
//! the page for a client share. What it is not: reading of files (that is [`crate::settings::comparison`]) or physics (that is
//! [`barrico_model::sizing`]). What cannot be computed says why in its place.

pub mod rows;
#[cfg(test)]
pub(crate) mod tests;
pub mod words;
pub mod year;

use crate::settings::comparison::Comparison;
use barrico_model::plant::Estimate;
use barrico_model::sizing::{Case, Figure, Outcome, Unknown, Variant, compare, worst};
use rows::Row;

/// The complete invented example.
pub const EXAMPLE: &str = include_str!("../../examples/compare/small-cruiser.toml");
/// Name under which problems of the example would be reported.
pub const EXAMPLE_NAME: &str = "small-cruiser.toml";

/// A comparison with its results.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// What was asked.
    pub comparison: Comparison,
    /// For each candidate one outcome for each variant.
    pub outcomes: Vec<Vec<Outcome>>,
}

/// A figure at its worst.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtWorst {
    /// The figure.
    pub figure: Estimate,
    /// Index of the water; none if it is the same in all.
    pub water: Option<usize>,
}

impl Compared {
    /// Works it out.
    pub fn new(comparison: Comparison) -> Self {
        let waters: Vec<_> = comparison.waters.iter().map(|water| water.water).collect();
        let outcomes = comparison
            .candidates
            .iter()
            .map(|one| compare(&one.candidate, &waters, &comparison.need))
            .collect();
        Self { comparison, outcomes }
    }

    /// What came out for one candidate.
    pub fn outcome(&self, candidate: usize, variant: Variant) -> Option<&Outcome> {
        self.outcomes.get(candidate)?.iter().find(|outcome| outcome.variant == variant)
    }

    /// A figure in one water.
    ///
    /// # Errors
    /// Why it is not known.
    pub fn figure(&self, candidate: usize, variant: Variant, water: usize, row: &Row) -> Figure {
        let outcome = self.outcome(candidate, variant);
        match outcome.and_then(|outcome| outcome.waters.get(water)) {
            Some(Ok(case)) => (row.of)(case),
            Some(Err(why)) => Err(*why),
            None => Err(Unknown::NoMeaning("not compared")),
        }
    }

    /// The water in which a figure is at its worst; none if it is the same in all, or has no bad end.
    pub fn worst_water(&self, candidate: usize, variant: Variant, row: &Row) -> Option<usize> {
        let value = |water| self.figure(candidate, variant, water, row).ok().map(|figure| figure.value);
        let values: Vec<Option<f64>> = (0..self.comparison.waters.len()).map(value).collect();
        worst(&values, row.worst?)
    }

    /// A figure at its worst.
    ///
    /// # Errors
    /// Why it is not known: in one water at least there is none, and that one may be the worst.
    pub fn at_worst(&self, candidate: usize, variant: Variant, row: &Row) -> Result<AtWorst, Unknown> {
        let figures: Vec<Figure> = (0..self.comparison.waters.len())
            .map(|water| self.figure(candidate, variant, water, row))
            .collect();
        if let Some(why) = figures.iter().find_map(|figure| figure.err()) {
            return Err(why);
        }
        let water = self.worst_water(candidate, variant, row);
        let figure =
            figures.get(water.unwrap_or(0)).copied().unwrap_or(Err(Unknown::NoMeaning("no water")))?;
        Ok(AtWorst { figure, water })
    }

    /// What a candidate adds to the first one in the same water: (its figure less the first one's, and that over the first one's).
    ///
    /// # Errors
    /// Why one of the two is not known.
    pub fn against_first(
        &self,
        candidate: usize,
        water: usize,
        row: &Row,
    ) -> Result<(f64, Option<f64>), Unknown> {
        let of = |candidate| self.figure(candidate, Variant::AsListed, water, row);
        let (first, this) = (of(0)?.value, of(candidate)?.value);
        let difference = this - first;
        Ok((difference, (0.0 < first).then(|| difference / first)))
    }

    /// The cases of one candidate with the indices of their waters.
    pub fn cases(&self, candidate: usize, variant: Variant) -> impl Iterator<Item = (usize, &Case)> {
        let outcome = self.outcome(candidate, variant);
        outcome
            .into_iter()
            .flat_map(|outcome| outcome.waters.iter().enumerate())
            .filter_map(|(water, case)| Some((water, case.as_ref().ok()?)))
    }
}
