//! What the engine asks the store to keep.

use barrico_model::findings::{FindingCode, Severity};
use barrico_model::records::{Baseline, LogEntry, OperatingState, RunRecord};
use barrico_model::{Quantity, Stamp};
use barrico_n2k::node::NodeState;

/// One thing to keep. `unit` is the index in the settings.
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// A log entry or a new revision of one.
    Log {
        /// Unit.
        unit: usize,
        /// Entry.
        entry: LogEntry,
    },
    /// A run or a new revision of one.
    Run {
        /// Unit.
        unit: usize,
        /// Run.
        run: RunRecord,
    },
    /// A baseline, new or retired.
    Baseline {
        /// Unit.
        unit: usize,
        /// Baseline.
        baseline: Baseline,
    },
    /// A change in the life of an alert.
    Alert {
        /// Unit.
        unit: usize,
        /// The alert after the change.
        alert: AlertRecord,
    },
    /// The parts list changed or was seen for the first time.
    Parts {
        /// Unit.
        unit: usize,
        /// Fingerprint.
        fingerprint: u64,
    },
    /// What the unit's node on the bus keeps over a restart.
    Node {
        /// Unit.
        unit: usize,
        /// Its state.
        state: NodeState,
    },
    /// One wide row of samples. The last batch of these may be lost at a power cut; nothing else may.
    Sample(SampleRow),
}

/// All quantities of a unit at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct SampleRow {
    /// Unit.
    pub unit: usize,
    /// When.
    pub at: Stamp,
    /// State.
    pub state: Option<OperatingState>,
    /// Number of the open run, 0 if none.
    pub run: u64,
    /// Values at that time, in the order of [`Quantity::ALL`]; `None` where unknown.
    pub values: Vec<Option<f64>>,
}

impl SampleRow {
    /// Value of one quantity.
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.values.get(quantity as usize).copied().flatten()
    }
}

/// Where an alert is in its life.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AlertState {
    /// Condition true, nobody has answered.
    Raised,
    /// Condition true, somebody has seen it.
    Acknowledged,
    /// Condition false, but a person must look first.
    Latched,
    /// Condition false and done with.
    Cleared,
    /// Ended without being measured as cleared: the sensor left the settings, or a person closed it.
    ClosedNotCleared,
}

impl AlertState {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Raised => "raised",
            Self::Acknowledged => "acknowledged",
            Self::Latched => "latched",
            Self::Cleared => "cleared",
            Self::ClosedNotCleared => "closed, not cleared",
        }
    }

    /// Does it still need a place on the page?
    pub const fn is_active(self) -> bool {
        matches!(self, Self::Raised | Self::Acknowledged | Self::Latched)
    }
}

/// One alert as it is remembered.
#[derive(Clone, Debug, PartialEq)]
pub struct AlertRecord {
    /// Which finding.
    pub code: FindingCode,
    /// What it is about, where the code does not say it all.
    pub about: Option<Quantity>,
    /// Counts the times it was raised; an acknowledge carries it, and an old one is ignored.
    pub occurrence: u32,
    /// Where it is in its life.
    pub state: AlertState,
    /// How urgent.
    pub severity: Severity,
    /// One line.
    pub title: String,
    /// When this occurrence was raised.
    pub raised: Stamp,
    /// When it last changed.
    pub changed: Stamp,
    /// Who acknowledged or closed it.
    pub by: Option<String>,
}
