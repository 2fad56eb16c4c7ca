//! Commands, as they come over the control socket.

use super::WireError;
use super::alert::{about_of_name, code_of_name};
use super::element::ElementMoveJson;
use super::log_entry::LogBodyJson;
use super::stamp::{rfc3339, wall_from_rfc3339};
use crate::engine::{Command, EntryChange, NewEntry, RunSelection};
use barrico_model::WallMs;
use barrico_model::findings::registry;
use serde::{Deserialize, Serialize};

/// A log entry before it has a number.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NewEntryJson {
    /// Date, ms since 1970; neither this nor `time`: now.
    #[serde(default)]
    pub wall_ms: Option<WallMs>,
    /// Date as RFC 3339 text; counts only without `wall_ms`.
    #[serde(default)]
    pub time: Option<String>,
    /// The date was made up at import.
    #[serde(default)]
    pub time_invented: bool,
    /// Who; empty: the account that asks.
    #[serde(default)]
    pub by: String,
    /// What it says.
    pub body: LogBodyJson,
    /// Free text.
    #[serde(default)]
    pub note: String,
    /// Which elements went where.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elements: Vec<ElementMoveJson>,
}

impl From<&NewEntry> for NewEntryJson {
    fn from(entry: &NewEntry) -> Self {
        Self {
            wall_ms: entry.at,
            time: entry.at.and_then(rfc3339),
            time_invented: entry.time_invented,
            by: entry.by.clone(),
            body: (&entry.body).into(),
            note: entry.note.clone(),
            elements: entry.elements.iter().map(Into::into).collect(),
        }
    }
}

impl TryFrom<NewEntryJson> for NewEntry {
    type Error = WireError;

    fn try_from(json: NewEntryJson) -> Result<Self, WireError> {
        let at = match (json.wall_ms, &json.time) {
            (Some(wall_ms), _) => Some(wall_ms),
            (None, Some(text)) => {
                Some(wall_from_rfc3339(text).ok_or_else(|| WireError::word("RFC 3339 time", text))?)
            }
            (None, None) => None,
        };
        Ok(Self {
            at,
            time_invented: json.time_invented,
            by: json.by,
            body: json.body.try_into()?,
            note: json.note,
            elements: json.elements.into_iter().map(Into::into).collect(),
        })
    }
}

/// A change to an entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EntryChangeJson {
    /// Replace what it says.
    Amend(LogBodyJson),
    /// Strike it out.
    Void,
}

/// Which runs make a baseline.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum RunSelectionJson {
    /// The latest run.
    Latest,
    /// The latest so many runs.
    LatestCount(usize),
    /// Runs by their numbers, both included.
    Range {
        /// First.
        first: u64,
        /// Last.
        last: u64,
    },
}

/// Something wanted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum CommandJson {
    /// Write new entries, all or none.
    AddEntries {
        /// Unit.
        unit: String,
        /// Entries in the order of time.
        entries: Vec<NewEntryJson>,
    },
    /// Amend or strike out an entry.
    ChangeEntry {
        /// Unit.
        unit: String,
        /// Number of the entry.
        id: u64,
        /// What changes.
        change: EntryChangeJson,
        /// Who; empty: the account that asks.
        #[serde(default)]
        by: String,
        /// Why.
        reason: String,
    },
    /// List the entries, oldest first.
    ListLog {
        /// Unit.
        unit: String,
        /// At most so many, the latest.
        last: usize,
    },
    /// Take a baseline.
    TakeBaseline {
        /// Unit.
        unit: String,
        /// From which runs.
        runs: RunSelectionJson,
        /// Who; empty: the account that asks.
        #[serde(default)]
        by: String,
    },
    /// End the present baseline.
    RetireBaseline {
        /// Unit.
        unit: String,
        /// Who; empty: the account that asks.
        #[serde(default)]
        by: String,
        /// Why.
        reason: String,
    },
    /// All baselines of a unit.
    ListBaselines {
        /// Unit.
        unit: String,
    },
    /// Everything behind a unit.
    ShowHistory {
        /// Unit.
        unit: String,
    },
    /// Somebody has seen an alert.
    Acknowledge {
        /// Unit.
        unit: String,
        /// Finding by name.
        code: String,
        /// Quantity by name, where the code does not say it all.
        #[serde(default)]
        about: Option<String>,
        /// Occurrence that was seen.
        occurrence: u32,
        /// Who; empty: the account that asks.
        #[serde(default)]
        by: String,
    },
}

impl From<&Command> for CommandJson {
    fn from(command: &Command) -> Self {
        match command.clone() {
            Command::AddEntries { unit, entries } => {
                Self::AddEntries { unit, entries: entries.iter().map(Into::into).collect() }
            }
            Command::ChangeEntry { unit, id, change, by, reason } => {
                let change = match &change {
                    EntryChange::Amend(body) => EntryChangeJson::Amend(body.into()),
                    EntryChange::Void => EntryChangeJson::Void,
                };
                Self::ChangeEntry { unit, id, change, by, reason }
            }
            Command::ListLog { unit, last } => Self::ListLog { unit, last },
            Command::TakeBaseline { unit, runs, by } => {
                let runs = match runs {
                    RunSelection::Latest => RunSelectionJson::Latest,
                    RunSelection::LatestCount(count) => RunSelectionJson::LatestCount(count),
                    RunSelection::Range(first, last) => RunSelectionJson::Range { first, last },
                };
                Self::TakeBaseline { unit, runs, by }
            }
            Command::RetireBaseline { unit, by, reason } => Self::RetireBaseline { unit, by, reason },
            Command::ListBaselines { unit } => Self::ListBaselines { unit },
            Command::ShowHistory { unit } => Self::ShowHistory { unit },
            Command::Acknowledge { unit, code, about, occurrence, by } => Self::Acknowledge {
                unit,
                code: registry::of(code).name.to_owned(),
                about: about.map(|quantity| quantity.name().to_owned()),
                occurrence,
                by,
            },
        }
    }
}

impl TryFrom<CommandJson> for Command {
    type Error = WireError;

    fn try_from(json: CommandJson) -> Result<Self, WireError> {
        Ok(match json {
            CommandJson::AddEntries { unit, entries } => {
                let entries = entries.into_iter().map(TryInto::try_into).collect::<Result<_, WireError>>()?;
                Self::AddEntries { unit, entries }
            }
            CommandJson::ChangeEntry { unit, id, change, by, reason } => {
                let change = match change {
                    EntryChangeJson::Amend(body) => EntryChange::Amend(body.try_into()?),
                    EntryChangeJson::Void => EntryChange::Void,
                };
                Self::ChangeEntry { unit, id, change, by, reason }
            }
            CommandJson::ListLog { unit, last } => Self::ListLog { unit, last },
            CommandJson::TakeBaseline { unit, runs, by } => {
                let runs = match runs {
                    RunSelectionJson::Latest => RunSelection::Latest,
                    RunSelectionJson::LatestCount(count) => RunSelection::LatestCount(count),
                    RunSelectionJson::Range { first, last } => RunSelection::Range(first, last),
                };
                Self::TakeBaseline { unit, runs, by }
            }
            CommandJson::RetireBaseline { unit, by, reason } => Self::RetireBaseline { unit, by, reason },
            CommandJson::ListBaselines { unit } => Self::ListBaselines { unit },
            CommandJson::ShowHistory { unit } => Self::ShowHistory { unit },
            CommandJson::Acknowledge { unit, code, about, occurrence, by } => Self::Acknowledge {
                unit,
                code: code_of_name(&code)?,
                about: about_of_name(about.as_deref())?,
                occurrence,
                by,
            },
        })
    }
}
