//! The causes as data, one file a family, and the words that the tables are written in.
//!
//! Grades, priors and paces mean the same in every file. A row states what it rests on: "unit model" is the plant's equations (plunger pump, needle, membrane), "manual" a
//! government manual by its number, "common practice" what workshops and owners say without a source.

mod care;
mod instruments;
mod membrane;
mod normal;
mod outlets;
mod product_line;
mod pump;
mod suction;
mod supply;
mod water;

use super::effect::Effect;
use super::grade::Grade;
use super::grade::Grade::{Decisive, Strong, Weak};
use super::grade::Prior::{Common, Seldom, Sound, Usual};
use super::look::Look;
use super::row::{Family, Only, Pace, Row};
use super::sign::{Fact, Sign};
use crate::Quantity as Q;
use crate::judgement::action_list as act;
use crate::judgement::observed::Input;
use crate::records::EventKind;

/// Every cause.
pub fn rows() -> impl Iterator<Item = &'static Row> {
    [
        normal::ROWS,
        water::ROWS,
        instruments::ROWS,
        supply::ROWS,
        suction::ROWS,
        pump::ROWS,
        outlets::ROWS,
        membrane::ROWS,
        product_line::ROWS,
        care::ROWS,
    ]
    .into_iter()
    .flatten()
}

const fn is(fact: Fact) -> Sign {
    Sign::Fact(fact)
}

const fn seen(code: &'static str) -> Sign {
    Sign::Seen(code)
}

const fn lately(kind: EventKind) -> Sign {
    Sign::Lately(kind)
}

/// Feed or concentrate flow: without one of them no figure is the membrane's alone.
const FLOW: &[Q] = &[Q::ConcentrateFlow, Q::FeedFlow];
/// The product's salinity in either form.
const SALT: &[Q] = &[Q::ProductConductivity, Q::ProductSalinity];
/// No reading carries it: it is decided only by what was seen itself.
const ONLY_IF_SEEN: &[&[Q]] = &[&[]];
