//! What a unit has behind it, as it goes over the control socket.

use super::element::ElementAgeJson;
use super::{BaselineJson, WireError, number};
use crate::engine::UnitHistory;
use barrico_model::plant::valve_law::LearntExponent;
use barrico_model::plant::{ConcentrateValve, Estimate, TrainChange};
use barrico_model::records::{Baseline, ElementAge};
use serde::{Deserialize, Serialize};

/// A value with one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct EstimateJson {
    /// The value.
    #[serde(with = "number")]
    pub value: f64,
    /// One standard deviation.
    #[serde(with = "number")]
    pub uncertainty: f64,
}

impl From<Estimate> for EstimateJson {
    fn from(of: Estimate) -> Self {
        Self { value: of.value, uncertainty: of.deviation }
    }
}

impl From<EstimateJson> for Estimate {
    fn from(of: EstimateJson) -> Self {
        Self::new(of.value, of.uncertainty)
    }
}

/// What was learnt of the concentrate valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ValveJson {
    /// Exponent of the pressure over the flow.
    pub exponent: EstimateJson,
    /// Windows of a minute that it rests on.
    pub windows: u32,
    /// Share of the certainty that comes from this unit.
    #[serde(with = "number")]
    pub own_share: f64,
}

/// Where the valve stands: pressure in bar gauge, flow in L/h, density in kg/m3.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ValveSettingJson {
    /// Pressure at the concentrate outlet.
    #[serde(with = "number")]
    pub concentrate_pressure_bar_gauge: f64,
    /// Flow at that pressure.
    #[serde(with = "number")]
    pub concentrate_flow_l_h: f64,
    /// Density that both hold at.
    pub density_kg_m3: Option<f64>,
    /// Exponent.
    #[serde(with = "number")]
    pub exponent: f64,
}

/// What a change of the train brought, L/h.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrainChangeJson {
    /// Number of the old baseline.
    pub old_baseline: u64,
    /// Elements before and now.
    pub elements: [usize; 2],
    /// Product before.
    pub product_before_l_h: EstimateJson,
    /// Gain by the nominal values of the sheets.
    pub gain_nominal_l_h: EstimateJson,
    /// Gain by their minimum values.
    pub gain_minimum_l_h: EstimateJson,
    /// Gain by the new baseline.
    pub gain_achieved_l_h: Option<EstimateJson>,
}

impl From<&TrainChange> for TrainChangeJson {
    fn from(change: &TrainChange) -> Self {
        Self {
            old_baseline: change.old_baseline,
            elements: [change.before, change.now],
            product_before_l_h: change.product_before_l_h.into(),
            gain_nominal_l_h: change.gain_nominal_l_h.into(),
            gain_minimum_l_h: change.gain_minimum_l_h.into(),
            gain_achieved_l_h: change.gain_achieved_l_h.map(Into::into),
        }
    }
}

impl From<TrainChangeJson> for TrainChange {
    fn from(json: TrainChangeJson) -> Self {
        let [before, now] = json.elements;
        Self {
            old_baseline: json.old_baseline,
            before,
            now,
            product_before_l_h: json.product_before_l_h.into(),
            gain_nominal_l_h: json.gain_nominal_l_h.into(),
            gain_minimum_l_h: json.gain_minimum_l_h.into(),
            gain_achieved_l_h: json.gain_achieved_l_h.map(Into::into),
        }
    }
}

/// The history of one unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitHistoryJson {
    /// All baselines.
    pub baselines: Vec<BaselineJson>,
    /// Every element that is known.
    pub elements: Vec<ElementAgeJson>,
    /// Marks of those that are by-passed.
    pub by_passed: Vec<String>,
    /// The concentrate valve.
    pub valve: Option<ValveJson>,
    /// Where it stands.
    pub valve_setting: Option<ValveSettingJson>,
    /// The latest change of the number of elements.
    pub train_change: Option<TrainChangeJson>,
    /// Hours until the youngest element has settled.
    #[serde(with = "number")]
    pub settles_in_h: f64,
}

impl From<&UnitHistory> for UnitHistoryJson {
    fn from(of: &UnitHistory) -> Self {
        Self {
            baselines: of.baselines.iter().map(Into::into).collect(),
            elements: of.elements.iter().map(Into::into).collect(),
            by_passed: of.by_passed.clone(),
            valve: of.valve.map(|law| ValveJson {
                exponent: law.exponent.into(),
                windows: law.windows,
                own_share: law.own_share,
            }),
            valve_setting: of.valve_setting.map(|valve| ValveSettingJson {
                concentrate_pressure_bar_gauge: valve.pressure_bar,
                concentrate_flow_l_h: valve.concentrate_flow_l_h,
                density_kg_m3: valve.density_kg_m3,
                exponent: valve.exponent,
            }),
            train_change: of.train_change.as_ref().map(Into::into),
            settles_in_h: of.settles_in_h,
        }
    }
}

impl TryFrom<UnitHistoryJson> for UnitHistory {
    type Error = WireError;

    fn try_from(json: UnitHistoryJson) -> Result<Self, WireError> {
        let baselines = json.baselines.into_iter().map(Baseline::try_from);
        Ok(Self {
            baselines: baselines.collect::<Result<_, WireError>>()?,
            elements: json.elements.into_iter().map(ElementAge::from).collect(),
            by_passed: json.by_passed,
            valve: json.valve.map(|law| LearntExponent {
                exponent: law.exponent.into(),
                windows: law.windows,
                own_share: law.own_share,
            }),
            valve_setting: json.valve_setting.map(|valve| ConcentrateValve {
                pressure_bar: valve.concentrate_pressure_bar_gauge,
                concentrate_flow_l_h: valve.concentrate_flow_l_h,
                density_kg_m3: valve.density_kg_m3,
                exponent: valve.exponent,
            }),
            train_change: json.train_change.map(Into::into),
            settles_in_h: json.settles_in_h,
        })
    }
}
