//! How much a sign says for or against a cause: three grades with one meaning each, so that tables stay a scale and not a list of tuned numbers.
//!
//! A grade is a likelihood ratio: how much more often the sign shows where this cause is at work than where another one is. Nobody has counted that for small units; the
//! three values are ours, a third of a power of ten to a whole one apart, and are the same for every cause.

use crate::math;

/// Strength of one piece of evidence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// It fits, and fits many others too: three times as often as elsewhere.
    Weak,
    /// An experienced person would name the cause on it, and look again: ten times as often.
    Strong,
    /// It shows the cause itself and hardly anything else: a hundred times as often.
    Decisive,
}

impl Grade {
    /// Natural logarithm of the likelihood ratio.
    pub fn log_ratio(self) -> f64 {
        math::ln(match self {
            Self::Weak => 3.0,
            Self::Strong => 10.0,
            Self::Decisive => 100.0,
        })
    }

    /// How often the sign shows if the cause is at work and somebody looks; for planning measurements.
    pub const fn shows(self) -> f64 {
        match self {
            Self::Weak => 0.4,
            Self::Strong => 0.7,
            Self::Decisive => 0.9,
        }
    }
}

/// How often a sign shows where the cause that is weighed says nothing about it.
pub const SHOWS_ELSEWHERE: f64 = 0.1;
/// How often it shows where the cause speaks against it.
pub const SHOWS_AGAINST: f64 = 0.02;

/// How often a cause is at work when something is asked, before anything is known. Ours, from how often owners, workshops and government manuals tell of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Prior {
    /// The unit is sound: by far the commonest truth behind a doubt.
    Sound,
    /// Heard of on most boats.
    Common,
    /// Heard of often.
    Usual,
    /// Heard of now and then.
    Seldom,
}

impl Prior {
    /// Its weight.
    pub const fn weight(self) -> f64 {
        match self {
            Self::Sound => 6.0,
            Self::Common => 2.0,
            Self::Usual => 1.0,
            Self::Seldom => 0.4,
        }
    }
}

/// Weight of "something that is in no table": a weak sign alone never decides against it, a strong one just does.
pub const SOMETHING_ELSE: f64 = 4.0;
