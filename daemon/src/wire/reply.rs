//! Answers to commands.

use super::history::UnitHistoryJson;
use super::{BaselineJson, LogEntryJson, WireError};
use crate::engine::Reply;
use barrico_model::records::{Baseline, LogEntry};
use serde::{Deserialize, Serialize};

/// The answer to a command.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReplyJson {
    /// Entries written.
    Written {
        /// Numbers of the entries.
        entries: Vec<u64>,
        /// Numbers of the runs that became of them.
        runs: Vec<u64>,
        /// What the writer should know.
        remarks: Vec<String>,
    },
    /// Entries asked for.
    Log(Vec<LogEntryJson>),
    /// The baseline taken or retired.
    Baseline(Box<BaselineJson>),
    /// Baselines asked for.
    Baselines(Vec<BaselineJson>),
    /// The history asked for.
    History(Box<UnitHistoryJson>),
    /// Done.
    Done,
    /// Not done, with the reason and the remedy.
    Refused(String),
}

impl From<&Reply> for ReplyJson {
    fn from(reply: &Reply) -> Self {
        match reply {
            Reply::Written { entries, runs, remarks } => {
                Self::Written { entries: entries.clone(), runs: runs.clone(), remarks: remarks.clone() }
            }
            Reply::Log(entries) => Self::Log(entries.iter().map(Into::into).collect()),
            Reply::Baseline(baseline) => Self::Baseline(Box::new(baseline.as_ref().into())),
            Reply::Baselines(baselines) => Self::Baselines(baselines.iter().map(Into::into).collect()),
            Reply::History(history) => Self::History(Box::new(history.as_ref().into())),
            Reply::Done => Self::Done,
            Reply::Refused(why) => Self::Refused(why.clone()),
        }
    }
}

impl TryFrom<ReplyJson> for Reply {
    type Error = WireError;

    fn try_from(json: ReplyJson) -> Result<Self, WireError> {
        Ok(match json {
            ReplyJson::Written { entries, runs, remarks } => Self::Written { entries, runs, remarks },
            ReplyJson::Log(entries) => {
                let entries = entries.into_iter().map(LogEntry::try_from);
                Self::Log(entries.collect::<Result<_, WireError>>()?)
            }
            ReplyJson::Baseline(baseline) => Self::Baseline(Box::new((*baseline).try_into()?)),
            ReplyJson::Baselines(baselines) => {
                let baselines = baselines.into_iter().map(Baseline::try_from);
                Self::Baselines(baselines.collect::<Result<_, WireError>>()?)
            }
            ReplyJson::History(history) => Self::History(Box::new((*history).try_into()?)),
            ReplyJson::Done => Self::Done,
            ReplyJson::Refused(why) => Self::Refused(why),
        })
    }
}
