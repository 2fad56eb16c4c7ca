//! The record of one run. Also the payload that goes ashore.

use super::element::{ElementAgeJson, SpellJson};
use super::keyed::{self, Keyed, quantity_of_key};
use super::reading::MeanJson;
use super::stamp::StampJson;
use super::{WireError, number};
use barrico_model::records::{Mean, RunEnd, RunRecord};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How a run came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunEndJson {
    /// Still running.
    Open,
    /// The unit stopped.
    Stopped,
    /// Power or program went away; closed afterwards from stored samples.
    PowerLost,
    /// One set of readings taken by hand.
    ReadingSet,
}

impl From<RunEnd> for RunEndJson {
    fn from(end: RunEnd) -> Self {
        match end {
            RunEnd::Open => Self::Open,
            RunEnd::Stopped => Self::Stopped,
            RunEnd::PowerLost => Self::PowerLost,
            RunEnd::ReadingSet => Self::ReadingSet,
        }
    }
}

impl From<RunEndJson> for RunEnd {
    fn from(json: RunEndJson) -> Self {
        match json {
            RunEndJson::Open => Self::Open,
            RunEndJson::Stopped => Self::Stopped,
            RunEndJson::PowerLost => Self::PowerLost,
            RunEndJson::ReadingSet => Self::ReadingSet,
        }
    }
}

/// Means with their errors: four objects with the same keys.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MeansJson {
    /// Key with unit to mean.
    pub means: Keyed,
    /// One standard deviation in all: root of the sum of the squares of the two parts below. Not read back.
    #[serde(default)]
    pub uncertainty: Keyed,
    /// The part of it that is chance.
    pub uncertainty_random: Keyed,
    /// The part that all readings of the instrument share.
    pub uncertainty_systematic: Keyed,
    /// How each was measured.
    pub measured: BTreeMap<String, MeanJson>,
}

impl From<&[Mean]> for MeansJson {
    fn from(means: &[Mean]) -> Self {
        let mut json = Self::default();
        for mean in means {
            let total = (mean.random * mean.random + mean.systematic * mean.systematic).sqrt();
            keyed::put(&mut json.means, mean.quantity, mean.value);
            keyed::put(&mut json.uncertainty, mean.quantity, total);
            keyed::put(&mut json.uncertainty_random, mean.quantity, mean.random);
            keyed::put(&mut json.uncertainty_systematic, mean.quantity, mean.systematic);
            json.measured.insert(mean.quantity.json_key().to_owned(), mean.into());
        }
        json
    }
}

impl TryFrom<MeansJson> for Vec<Mean> {
    type Error = WireError;

    fn try_from(json: MeansJson) -> Result<Self, WireError> {
        let mut means = Vec::with_capacity(json.measured.len());
        for (key, measured) in json.measured {
            means.push(Mean {
                quantity: quantity_of_key(&key)?,
                value: keyed::get(&json.means, &key),
                random: keyed::get(&json.uncertainty_random, &key),
                systematic: keyed::get(&json.uncertainty_systematic, &key),
                instrument: measured.instrument,
                origin: measured.origin.into(),
                count: measured.count,
            });
        }
        means.sort_by_key(|mean| mean.quantity);
        Ok(means)
    }
}

/// One run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunJson {
    /// Number in its store.
    pub id: u64,
    /// Raised each time it is issued again; receivers keep the highest.
    pub revision: u32,
    /// Start.
    pub start: StampJson,
    /// The date was made up at import.
    pub time_invented: bool,
    /// How it ended.
    pub end: RunEndJson,
    /// Length, s.
    #[serde(with = "number")]
    pub duration_s: f64,
    /// Seconds within steady windows.
    #[serde(with = "number")]
    pub steady_s: f64,
    /// Product made, L.
    pub product_l: Option<f64>,
    /// Running hours of the element at the start.
    pub element_hours: Option<f64>,
    /// The valve was moved since the run before.
    pub valve_moved: bool,
    /// Spells in which the concentrate valve stood still.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub valve: Vec<SpellJson>,
    /// The elements at the start.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elements: Vec<ElementAgeJson>,
    /// Share of the product that each of them made.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub element_shares: Vec<f64>,
    /// Means over the steady windows.
    #[serde(flatten)]
    pub means: MeansJson,
}

impl From<&RunRecord> for RunJson {
    fn from(run: &RunRecord) -> Self {
        Self {
            id: run.id,
            revision: run.revision,
            start: run.start.into(),
            time_invented: run.time_invented,
            end: run.end.into(),
            duration_s: run.duration_s,
            steady_s: run.steady_s,
            product_l: run.product_l.and_then(number::finite),
            element_hours: run.element_hours.and_then(number::finite),
            valve_moved: run.valve_moved,
            valve: run.valve.iter().map(Into::into).collect(),
            elements: run.elements.iter().map(Into::into).collect(),
            element_shares: run.element_shares.clone(),
            means: run.means.as_slice().into(),
        }
    }
}

impl TryFrom<RunJson> for RunRecord {
    type Error = WireError;

    fn try_from(json: RunJson) -> Result<Self, WireError> {
        Ok(Self {
            id: json.id,
            revision: json.revision,
            start: json.start.into(),
            duration_s: json.duration_s,
            end: json.end.into(),
            time_invented: json.time_invented,
            steady_s: json.steady_s,
            means: json.means.try_into()?,
            product_l: json.product_l,
            element_hours: json.element_hours,
            valve_moved: json.valve_moved,
            valve: json.valve.into_iter().map(Into::into).collect(),
            elements: json.elements.into_iter().map(Into::into).collect(),
            element_shares: json.element_shares,
        })
    }
}
