//! Alerts.

use super::WireError;
use super::keyed::quantity_of_name;
use super::stamp::StampJson;
use crate::engine::{AlertRecord, AlertState};
use barrico_model::Quantity;
use barrico_model::findings::{FindingCode, Severity, registry};
use serde::{Deserialize, Serialize};

/// Where an alert is in its life.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AlertStateJson {
    /// Condition true, nobody has answered.
    Raised,
    /// Condition true, somebody has seen it.
    Acknowledged,
    /// Condition false, but a person must look first.
    Latched,
    /// Condition false and done with.
    Cleared,
    /// Ended without being measured as cleared.
    ClosedNotCleared,
}

impl From<AlertState> for AlertStateJson {
    fn from(state: AlertState) -> Self {
        match state {
            AlertState::Raised => Self::Raised,
            AlertState::Acknowledged => Self::Acknowledged,
            AlertState::Latched => Self::Latched,
            AlertState::Cleared => Self::Cleared,
            AlertState::ClosedNotCleared => Self::ClosedNotCleared,
        }
    }
}

impl From<AlertStateJson> for AlertState {
    fn from(json: AlertStateJson) -> Self {
        match json {
            AlertStateJson::Raised => Self::Raised,
            AlertStateJson::Acknowledged => Self::Acknowledged,
            AlertStateJson::Latched => Self::Latched,
            AlertStateJson::Cleared => Self::Cleared,
            AlertStateJson::ClosedNotCleared => Self::ClosedNotCleared,
        }
    }
}

/// How urgent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SeverityJson {
    /// Worth knowing.
    Notice,
    /// In the coming days.
    Advice,
    /// Today.
    Alert,
    /// Now.
    Alarm,
}

impl From<Severity> for SeverityJson {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Notice => Self::Notice,
            Severity::Advice => Self::Advice,
            Severity::Alert => Self::Alert,
            Severity::Alarm => Self::Alarm,
        }
    }
}

impl From<SeverityJson> for Severity {
    fn from(json: SeverityJson) -> Self {
        match json {
            SeverityJson::Notice => Self::Notice,
            SeverityJson::Advice => Self::Advice,
            SeverityJson::Alert => Self::Alert,
            SeverityJson::Alarm => Self::Alarm,
        }
    }
}

/// The finding of a name that people type.
pub fn code_of_name(name: &str) -> Result<FindingCode, WireError> {
    registry::by_name(name).map(|found| found.code).ok_or_else(|| WireError::word("finding", name))
}

/// What an alert is about, if the code does not say it all.
pub fn about_of_name(name: Option<&str>) -> Result<Option<Quantity>, WireError> {
    name.map(quantity_of_name).transpose()
}

/// One alert.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AlertJson {
    /// Which finding, such as `output-low`.
    pub code: String,
    /// What it is about: a quantity by name.
    pub about: Option<String>,
    /// Counts the times it was raised.
    pub occurrence: u32,
    /// Where it is in its life.
    pub state: AlertStateJson,
    /// How urgent.
    pub severity: SeverityJson,
    /// One line.
    pub title: String,
    /// When this occurrence was raised.
    pub raised: StampJson,
    /// When it last changed.
    pub changed: StampJson,
    /// Who acknowledged or closed it.
    pub by: Option<String>,
}

impl From<&AlertRecord> for AlertJson {
    fn from(alert: &AlertRecord) -> Self {
        Self {
            code: registry::of(alert.code).name.to_owned(),
            about: alert.about.map(|quantity| quantity.name().to_owned()),
            occurrence: alert.occurrence,
            state: alert.state.into(),
            severity: alert.severity.into(),
            title: alert.title.clone(),
            raised: alert.raised.into(),
            changed: alert.changed.into(),
            by: alert.by.clone(),
        }
    }
}

impl TryFrom<AlertJson> for AlertRecord {
    type Error = WireError;

    fn try_from(json: AlertJson) -> Result<Self, WireError> {
        Ok(Self {
            code: code_of_name(&json.code)?,
            about: about_of_name(json.about.as_deref())?,
            occurrence: json.occurrence,
            state: json.state.into(),
            severity: json.severity.into(),
            title: json.title,
            raised: json.raised.into(),
            changed: json.changed.into(),
            by: json.by,
        })
    }
}
