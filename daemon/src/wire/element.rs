//! Elements in records: where one went, what one has behind it, and the spells of the valve that stand beside them in a run.

use super::number;
use barrico_model::plant::valve_law::Spell;
use barrico_model::records::{ElementAge, ElementMove, ElementPlace};
use serde::{Deserialize, Serialize};

/// Where an element went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ElementPlaceJson {
    /// Place in the train from 1 at the feed.
    Position(u32),
    /// The water goes past it.
    ByPassed,
    /// Taken out.
    Removed,
}

/// One move of one element.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ElementMoveJson {
    /// Serial number, or `position 2` where there is none.
    pub element: String,
    /// Where it went.
    pub to: ElementPlaceJson,
}

impl From<&ElementMove> for ElementMoveJson {
    fn from(moved: &ElementMove) -> Self {
        let to = match moved.to {
            ElementPlace::Position(position) => ElementPlaceJson::Position(position),
            ElementPlace::ByPassed => ElementPlaceJson::ByPassed,
            ElementPlace::Removed => ElementPlaceJson::Removed,
        };
        Self { element: moved.mark.clone(), to }
    }
}

impl From<ElementMoveJson> for ElementMove {
    fn from(json: ElementMoveJson) -> Self {
        let to = match json.to {
            ElementPlaceJson::Position(position) => ElementPlace::Position(position),
            ElementPlaceJson::ByPassed => ElementPlace::ByPassed,
            ElementPlaceJson::Removed => ElementPlace::Removed,
        };
        Self { mark: json.element, to }
    }
}

/// An element with what it has behind it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ElementAgeJson {
    /// Serial number, or `position 2` where there is none.
    pub element: String,
    /// Place in the train from 1 at the feed; `null`: not fitted, or by-passed.
    pub position: Option<u32>,
    /// Running hours.
    #[serde(with = "number")]
    pub run_time_h: f64,
    /// Product it made, L.
    #[serde(with = "number")]
    pub product_l: f64,
}

impl From<&ElementAge> for ElementAgeJson {
    fn from(age: &ElementAge) -> Self {
        Self {
            element: age.mark.clone(),
            position: age.position,
            run_time_h: age.hours,
            product_l: age.product_l,
        }
    }
}

impl From<ElementAgeJson> for ElementAge {
    fn from(json: ElementAgeJson) -> Self {
        Self {
            mark: json.element,
            position: json.position,
            hours: json.run_time_h,
            product_l: json.product_l,
        }
    }
}

/// A spell in which the concentrate valve stood still: sums of the logarithms of pressure in bar and flow in L/h with the density in t/m3.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpellJson {
    /// Windows of a minute.
    pub windows: u32,
    /// Mean of the flow's logarithm.
    #[serde(with = "number")]
    pub ln_flow: f64,
    /// Mean of the pressure's logarithm.
    #[serde(with = "number")]
    pub ln_pressure: f64,
    /// Sums of squares and products about the means: flow, both, pressure.
    pub sums: [f64; 3],
    /// Error variance of one window: flow, pressure.
    pub error_variance: [f64; 2],
}

impl From<&Spell> for SpellJson {
    fn from(spell: &Spell) -> Self {
        Self {
            windows: spell.count,
            ln_flow: spell.x,
            ln_pressure: spell.y,
            sums: [spell.xx, spell.xy, spell.yy],
            error_variance: [spell.x_variance, spell.y_variance],
        }
    }
}

impl From<SpellJson> for Spell {
    fn from(json: SpellJson) -> Self {
        let [xx, xy, yy] = json.sums;
        let [x_variance, y_variance] = json.error_variance;
        Self { count: json.windows, x: json.ln_flow, y: json.ln_pressure, xx, xy, yy, x_variance, y_variance }
    }
}
