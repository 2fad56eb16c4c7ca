//! Baselines.

use super::run::MeansJson;
use super::stamp::StampJson;
use super::{WireError, number};
use barrico_model::records::{Baseline, BaselineKind};
use serde::{Deserialize, Serialize};

/// Kind of baseline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BaselineKindJson {
    /// From the parts list alone.
    Specification,
    /// From one steady run, or from runs that do not make a confirmed one.
    Provisional,
    /// From runs that agree.
    Confirmed,
}

impl From<BaselineKind> for BaselineKindJson {
    fn from(kind: BaselineKind) -> Self {
        match kind {
            BaselineKind::Specification => Self::Specification,
            BaselineKind::Provisional => Self::Provisional,
            BaselineKind::Confirmed => Self::Confirmed,
        }
    }
}

impl From<BaselineKindJson> for BaselineKind {
    fn from(json: BaselineKindJson) -> Self {
        match json {
            BaselineKindJson::Specification => Self::Specification,
            BaselineKindJson::Provisional => Self::Provisional,
            BaselineKindJson::Confirmed => Self::Confirmed,
        }
    }
}

/// Vessel differential pressure and the flow it belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct DifferentialPressureJson {
    /// Pressure drop along the vessels, bar.
    #[serde(with = "number")]
    pub differential_pressure_bar: f64,
    /// Mean of feed and concentrate flow, L/h.
    #[serde(with = "number")]
    pub mean_flow_l_h: f64,
}

/// Temperature parameters, K.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TemperatureJson {
    /// Water permeability at and above 25 °C.
    pub water_warm: f64,
    /// Water permeability below 25 °C.
    pub water_cold: f64,
    /// Salt permeability.
    pub salt: f64,
}

impl Default for TemperatureJson {
    /// What version 1 was written with; never to be changed.
    fn default() -> Self {
        Self { water_warm: 2640.0, water_cold: 3020.0, salt: 4000.0 }
    }
}

/// When and why a baseline ended.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RetiredJson {
    /// When.
    pub at: StampJson,
    /// Why.
    pub reason: String,
}

/// One baseline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BaselineJson {
    /// Number in its store.
    pub id: u64,
    /// Its kind.
    pub kind: BaselineKindJson,
    /// When it was taken.
    pub taken: StampJson,
    /// By whom.
    pub by: String,
    /// Runs it was made of.
    pub runs: Vec<u64>,
    /// Water permeability at 25 °C, m/(s Pa).
    #[serde(with = "number")]
    pub a25_m_s_pa: f64,
    /// Standard deviation of ln(A25) from chance alone.
    #[serde(with = "number")]
    pub ln_a25_random: f64,
    /// Covariance of ln(A25) and ln(B25) from chance alone. Not in records of version 1: then zero.
    #[serde(default)]
    pub ln_ab25_covariance: f64,
    /// Temperature parameters with which both were brought to 25 °C. Not in records of version 1: then those that were fixed at the time.
    #[serde(default)]
    pub temperature_parameters_k: TemperatureJson,
    /// Scatter of ln(A25) from run to run.
    #[serde(with = "number")]
    pub ln_a25_scatter: f64,
    /// Salt permeability at 25 °C, m/s.
    #[serde(with = "number")]
    pub b25_m_s: f64,
    /// Standard deviation of ln(B25) from chance alone.
    #[serde(with = "number")]
    pub ln_b25_random: f64,
    /// Scatter of ln(B25) from run to run.
    #[serde(with = "number")]
    pub ln_b25_scatter: f64,
    /// Pump delivery as a share of the nameplate.
    pub delivery: Option<f64>,
    /// Was the feed or the concentrate flow measured?
    pub flow_measured: bool,
    /// Vessel differential pressure.
    pub vessel: Option<DifferentialPressureJson>,
    /// Marks of the elements that the water went through.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elements: Vec<String>,
    /// When and why it ended, if it did.
    pub retired: Option<RetiredJson>,
    /// Mean readings over its runs.
    #[serde(flatten)]
    pub means: MeansJson,
}

impl From<&Baseline> for BaselineJson {
    fn from(baseline: &Baseline) -> Self {
        Self {
            id: baseline.id,
            kind: baseline.kind.into(),
            taken: baseline.taken.into(),
            by: baseline.by.clone(),
            runs: baseline.runs.clone(),
            a25_m_s_pa: baseline.a25,
            ln_a25_random: baseline.ln_a25_random,
            ln_ab25_covariance: number::finite(baseline.ln_ab25_covariance).unwrap_or(0.0),
            temperature_parameters_k: {
                let [water_warm, water_cold, salt] = baseline.temperature_k;
                TemperatureJson { water_warm, water_cold, salt }
            },
            ln_a25_scatter: baseline.ln_a25_scatter,
            b25_m_s: baseline.b25,
            ln_b25_random: baseline.ln_b25_random,
            ln_b25_scatter: baseline.ln_b25_scatter,
            delivery: baseline.delivery.and_then(number::finite),
            flow_measured: baseline.flow_measured,
            vessel: baseline.differential_pressure.map(|(bar, flow)| DifferentialPressureJson {
                differential_pressure_bar: bar,
                mean_flow_l_h: flow,
            }),
            elements: baseline.elements.clone(),
            retired: baseline
                .retired
                .as_ref()
                .map(|(at, reason)| RetiredJson { at: (*at).into(), reason: reason.clone() }),
            means: baseline.means.as_slice().into(),
        }
    }
}

impl TryFrom<BaselineJson> for Baseline {
    type Error = WireError;

    fn try_from(json: BaselineJson) -> Result<Self, WireError> {
        Ok(Self {
            id: json.id,
            kind: json.kind.into(),
            taken: json.taken.into(),
            by: json.by,
            runs: json.runs,
            means: json.means.try_into()?,
            a25: json.a25_m_s_pa,
            ln_a25_random: json.ln_a25_random,
            b25: json.b25_m_s,
            ln_b25_random: json.ln_b25_random,
            ln_ab25_covariance: json.ln_ab25_covariance,
            temperature_k: {
                let json = json.temperature_parameters_k;
                [json.water_warm, json.water_cold, json.salt]
            },
            ln_a25_scatter: json.ln_a25_scatter,
            ln_b25_scatter: json.ln_b25_scatter,
            delivery: json.delivery,
            flow_measured: json.flow_measured,
            differential_pressure: json
                .vessel
                .map(|vessel| (vessel.differential_pressure_bar, vessel.mean_flow_l_h)),
            elements: json.elements,
            retired: json.retired.map(|retired| (retired.at.into(), retired.reason)),
        })
    }
}
