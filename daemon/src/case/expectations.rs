//! What a test expects of the judgement of a case: its causes, what would decide, what must not be claimed, and where it comes from.

use super::CaseProblem;
use super::reading::{Fault, quantity};
use super::walk::{Object, Walk};
use barrico_model::Quantity;
use serde_json::Value;

/// Longest list of names.
const NAMES_MAX: usize = 50;

/// Something that would decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deciding {
    /// A reading.
    Quantity(Quantity),
    /// Salinity of each element's product alone.
    ByElement,
    /// Another gauge, meter or thermometer on the same quantity.
    SecondInstrument,
    /// Looking, listening, smelling, a strip test, an entry in the log, closing one valve.
    Inspection,
}

impl Deciding {
    /// Those that are no quantity, by name.
    pub const WORDS: [(&'static str, Deciding); 3] = [
        ("product_conductivity_per_element", Deciding::ByElement),
        ("second_instrument", Deciding::SecondInstrument),
        ("inspection", Deciding::Inspection),
    ];

    /// The one of this name.
    ///
    /// # Errors
    /// [`Fault`] with the nearest name of a quantity, or with all.
    pub fn from_name(name: &str) -> Result<Self, Fault> {
        match Self::WORDS.iter().find(|(word, _)| *word == name) {
            Some((_, deciding)) => Ok(*deciding),
            None => quantity(name).map(Self::Quantity),
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Quantity(quantity) => quantity.name(),
            other => Self::WORDS.iter().find(|(_, deciding)| *deciding == other).map_or("", |(word, _)| word),
        }
    }
}

/// How well founded a case is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tier {
    /// An owner or operator described it.
    Reported,
    /// A public manual.
    Manual,
    /// Published research.
    Paper,
    /// A thread of an open-source project.
    Thread,
    /// Common practice or a trade page, no case behind it.
    Trade,
    /// Worked out with a reference unit, not measured.
    Computed,
}

impl Tier {
    /// All with their word in case files.
    pub const ALL: [(&'static str, Tier); 6] = [
        ("reported", Tier::Reported),
        ("manual", Tier::Manual),
        ("paper", Tier::Paper),
        ("thread", Tier::Thread),
        ("trade", Tier::Trade),
        ("computed", Tier::Computed),
    ];
}

/// What a test expects of the judgement.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expectations {
    /// How well founded the case is.
    pub tier: Option<Tier>,
    /// Codes of causes that may lead; empty: nothing is expected.
    pub causes: Vec<String>,
    /// Can it be decided from these readings?
    pub decidable: Option<bool>,
    /// Decidable: readings that carry the decision. Otherwise: readings of which any one would decide or halve the doubt.
    pub deciding: Vec<Deciding>,
    /// Words for causes and actions that must not be claimed.
    pub forbidden_claims: Vec<String>,
}

/// Reads them.
pub(super) fn expectations(walk: &mut Walk, root: &Object<'_>) -> Expectations {
    let deciding = one_or_more(walk, root, "deciding_reading");
    let deciding = deciding.into_iter().filter_map(|(pointer, name)| {
        Deciding::from_name(&name).map_err(|fault| walk.problems.push(CaseProblem::of(pointer, fault))).ok()
    });
    let deciding = deciding.collect();
    Expectations {
        tier: walk.word(root, "tier", &Tier::ALL),
        causes: one_or_more(walk, root, "expect_cause").into_iter().map(|(_, name)| name).collect(),
        decidable: walk.yes_no(root, "decidable"),
        deciding,
        forbidden_claims: names(walk, root, "forbidden_claims").into_iter().map(|(_, name)| name).collect(),
    }
}

/// A name or a list of names, each with its pointer.
fn one_or_more(walk: &mut Walk, object: &Object<'_>, key: &str) -> Vec<(String, String)> {
    match object.map.get(key) {
        Some(Value::String(_)) => {
            walk.text(object, key).map(|name| (object.at(key), name.to_string())).into_iter().collect()
        }
        _ => names(walk, object, key),
    }
}

fn names(walk: &mut Walk, object: &Object<'_>, key: &str) -> Vec<(String, String)> {
    let mut names = Vec::new();
    for (at, value) in walk.list(object, key, NAMES_MAX).iter().enumerate() {
        let pointer = format!("{}/{at}", object.at(key));
        match value.as_str().map(str::trim).filter(|name| !name.is_empty()) {
            Some(name) => names.push((pointer, name.to_string())),
            None => walk.wrong_type(value, &pointer, "a text", "write a name in quotes"),
        }
    }
    names
}
