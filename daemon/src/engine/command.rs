//! What people and other programs may ask of the engine, and its answers.

use super::UnitHistory;
use barrico_model::findings::FindingCode;
use barrico_model::records::{Baseline, ElementMove, LogBody, LogEntry};
use barrico_model::{Quantity, WallMs};

/// Something wanted. `unit` is the short name in the settings; `by` is the person or the account.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Write new entries, all or none.
    AddEntries {
        /// Unit.
        unit: String,
        /// Entries in the order of time.
        entries: Vec<NewEntry>,
    },
    /// Amend or strike out an entry. The original is kept.
    ChangeEntry {
        /// Unit.
        unit: String,
        /// Number of the entry.
        id: u64,
        /// What changes.
        change: EntryChange,
        /// Who.
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
        runs: RunSelection,
        /// Who.
        by: String,
    },
    /// End the present baseline.
    RetireBaseline {
        /// Unit.
        unit: String,
        /// Who.
        by: String,
        /// Why.
        reason: String,
    },
    /// All baselines of a unit.
    ListBaselines {
        /// Unit.
        unit: String,
    },
    /// Everything behind a unit: baselines, elements, valve.
    ShowHistory {
        /// Unit.
        unit: String,
    },
    /// Somebody has seen an alert.
    Acknowledge {
        /// Unit.
        unit: String,
        /// Finding.
        code: FindingCode,
        /// What it is about, where the code does not say it all.
        about: Option<Quantity>,
        /// Occurrence that was seen; an old one is ignored.
        occurrence: u32,
        /// Who.
        by: String,
    },
}

/// A log entry before it has a number.
#[derive(Clone, Debug, PartialEq)]
pub struct NewEntry {
    /// Date of the reading or event; `None`: now.
    pub at: Option<WallMs>,
    /// The date was made up at import.
    pub time_invented: bool,
    /// Who.
    pub by: String,
    /// What it says.
    pub body: LogBody,
    /// Free text.
    pub note: String,
    /// Which elements went where, for events that tell it.
    pub elements: Vec<ElementMove>,
}

/// A change to an entry.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryChange {
    /// Replace what it says.
    Amend(LogBody),
    /// Strike it out.
    Void,
}

/// Which runs make a baseline.
#[derive(Clone, Debug, PartialEq)]
pub enum RunSelection {
    /// The latest run.
    Latest,
    /// The latest so many runs.
    LatestCount(usize),
    /// Runs by their numbers, first to last, both included.
    Range(u64, u64),
}

/// The answer to a command, given after the commit.
#[derive(Clone, Debug, PartialEq)]
pub enum Reply {
    /// Entries written, with their numbers; numbers of the runs that became of them.
    Written {
        /// Numbers of the entries.
        entries: Vec<u64>,
        /// Numbers of the runs.
        runs: Vec<u64>,
        /// What the writer should know, such as a value that looks like another unit.
        remarks: Vec<String>,
    },
    /// Entries asked for.
    Log(Vec<LogEntry>),
    /// The baseline taken or retired.
    Baseline(Box<Baseline>),
    /// Baselines asked for.
    Baselines(Vec<Baseline>),
    /// The history asked for.
    History(Box<UnitHistory>),
    /// Done.
    Done,
    /// Not done, with the reason and the remedy.
    Refused(String),
}
