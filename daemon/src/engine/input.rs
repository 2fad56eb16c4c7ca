//! Everything that can wake the engine.

use super::{AlertRecord, Command};
use barrico_model::WallMs;
use barrico_model::judgement::Learnt;
use barrico_model::records::{Baseline, LogEntry, RunRecord};
use barrico_n2k::Frame;
use barrico_n2k::node::NodeState;

/// One thing that happened.
#[derive(Clone, Debug)]
pub enum Input {
    /// What the store remembers. Always the first input.
    Restored(Box<Restored>),
    /// A frame from the bus.
    Frame(Frame),
    /// A line of the source that was no frame; counted, never fatal.
    DamagedLine {
        /// Line number in the source, from 1.
        line: u64,
        /// What was wrong with it.
        why: String,
    },
    /// The date, as a clock that is trusted says.
    WallClock(WallMs),
    /// A person or another program wants something.
    Command {
        /// Number to answer under.
        request: u64,
        /// What is wanted.
        command: Box<Command>,
    },
    /// The store has committed everything up to this ticket.
    Persisted(super::Ticket),
    /// The store could not commit; the text says why, in the owner's words.
    PersistFailed {
        /// First ticket that is not on disk.
        ticket: super::Ticket,
        /// Why.
        why: String,
    },
    /// The store's queue is filling up (true) or has drained (false).
    StoreLagging(bool),
    /// The source of frames opened, closed or failed, in words for the owner.
    Source(SourceState),
    /// What the CAN interface counts, after it changed.
    BusCounts(BusCounts),
    /// The program is about to stop.
    Stop,
}

/// State of the source of frames.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SourceState {
    /// Frames can come. Told again when the bus was gone for a moment: whoever has an address there must claim it anew.
    Open(String),
    /// Frames can come, but something is wrong that a person should know.
    Impaired(String),
    /// No more frames: end of a recording or of a pipe.
    Ended,
    /// Failed, with the reason.
    Failed(String),
}

/// What a CAN interface has counted since the program started.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BusCounts {
    /// Frames that the kernel dropped because this program did not take them in time.
    pub lost: u64,
    /// Error frames.
    pub errors: u64,
    /// Frames that are not NMEA 2000: 11-bit identifiers, remote frames.
    pub others: u64,
    /// Frames written.
    pub sent: u64,
    /// Messages given up: they were not out in time, or there were too many.
    pub given_up: u64,
    /// Messages refused because their source address was not claimed.
    pub refused: u64,
}

/// What the store remembers.
#[derive(Clone, Debug, Default)]
pub struct Restored {
    /// Random number of this store; sequence numbers belong to it.
    pub store_id: u64,
    /// Random number of this start of the program.
    pub boot: u64,
    /// One entry per unit in the settings, in that order.
    pub units: Vec<RestoredUnit>,
    /// Highest number that a record of any kind has used.
    pub last_id: u64,
}

/// What the store remembers of one unit.
#[derive(Clone, Debug, Default)]
pub struct RestoredUnit {
    /// Latest revision of each log entry of the last two years, oldest first.
    pub log: Vec<LogEntry>,
    /// Latest revision of the last 500 runs, oldest first.
    pub runs: Vec<RunRecord>,
    /// All baselines, oldest first.
    pub baselines: Vec<Baseline>,
    /// Latest state of each alert that had not ended, and the occurrence count of all.
    pub alerts: Vec<AlertRecord>,
    /// Fingerprint of the parts list that the history belongs to.
    pub parts_fingerprint: Option<u64>,
    /// What the unit's node on the bus keeps.
    pub node: Option<NodeState>,
    /// A run that was open when the program ended, rebuilt from stored samples.
    pub cut_run: Option<RunRecord>,
    /// Temperature parameters learnt from runs that are not among these.
    pub learnt: Learnt,
}
