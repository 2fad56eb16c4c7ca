//! What a comparison file says, after every check.

use barrico_model::sizing::{Candidate, Need, Water};

/// A whole comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Headline.
    pub title: String,
    /// What the reader must know first, such as that all is invented.
    pub notes: Vec<String>,
    /// Currency of all prices.
    pub currency: String,
    /// The crew's need.
    pub need: Need,
    /// The uses it is made of.
    pub uses: Vec<Use>,
    /// The waters, in the order of the file.
    pub waters: Vec<NamedWater>,
    /// The candidates, in the order of the file.
    pub candidates: Vec<NamedCandidate>,
}

/// One use of water.
#[derive(Clone, Debug, PartialEq)]
pub struct Use {
    /// Its name.
    pub name: String,
    /// Litres a day, of one person or of the boat.
    pub litres: f64,
    /// Of one person?
    pub per_person: bool,
}

/// A water with its name.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedWater {
    /// Short name.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// The water.
    pub water: Water,
}

/// A candidate with its names.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedCandidate {
    /// Short name.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Name of the supply.
    pub supply: String,
    /// The settings file that the parts come from, if they do.
    pub parts_from: Option<String>,
    /// The candidate.
    pub candidate: Candidate,
    /// What has to be bought.
    pub bought: Vec<Bought>,
    /// Names of the consumables, in the candidate's order.
    pub consumables: Vec<String>,
}

/// One line of the purchase.
#[derive(Clone, Debug, PartialEq)]
pub struct Bought {
    /// Name.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Price of one.
    pub price: Option<f64>,
    /// Weight of one, kg.
    pub weight_kg: Option<f64>,
}
