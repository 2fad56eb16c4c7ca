//! What the engine wants done.

use super::{AlertRecord, Record, Reply};
use barrico_model::findings::Finding;
use barrico_model::records::{OperatingState, Reading, RunRecord, SenderId};
use barrico_model::{Stamp, WallMs};
use barrico_n2k::Frame;

/// Number of a thing to keep; the store confirms in this order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ticket(pub u64);

/// One action.
#[derive(Clone, Debug, PartialEq)]
pub enum Output {
    /// Put a frame on the bus.
    Transmit(Frame),
    /// Keep this on disk, then answer with [`super::Input::Persisted`].
    Persist(Ticket, Box<Record>),
    /// Answer a command.
    Reply {
        /// Number of the request.
        request: u64,
        /// The answer.
        reply: Box<Reply>,
    },
    /// Something to tell: log lines, replay output, later MQTT.
    Event(Box<Event>),
}

/// Something worth telling. `unit` is the index of the unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// A device on the bus was heard for the first time, or is known better now.
    Sender(SenderReport),
    /// A reading that a unit takes, told at its first value and then once a minute.
    Reading {
        /// Unit.
        unit: usize,
        /// The reading.
        reading: Reading,
    },
    /// The unit changed its state.
    State {
        /// Unit.
        unit: usize,
        /// Before.
        from: Option<OperatingState>,
        /// Now.
        to: Option<OperatingState>,
        /// Told by the unit itself, or inferred.
        inferred: bool,
    },
    /// A run ended or was issued again.
    Run {
        /// Unit.
        unit: usize,
        /// The run.
        run: RunRecord,
    },
    /// An alert was raised, changed or ended.
    Finding {
        /// Unit.
        unit: usize,
        /// The alert after the change.
        alert: AlertRecord,
        /// The finding, while it is there.
        finding: Option<Finding>,
    },
    /// The wall clock was set, stepped, or is not known.
    Clock(ClockChange),
    /// The store fails or works again, in words for the owner.
    Store {
        /// Does it work?
        working: bool,
        /// In words.
        text: String,
    },
    /// The source of frames changed its state, in words for the owner.
    Source {
        /// Does it work?
        working: bool,
        /// In words.
        text: String,
    },
    /// Anything else a person should read once.
    Remark {
        /// Unit, if it concerns one.
        unit: Option<usize>,
        /// In words.
        text: String,
    },
}

/// A device on the bus.
#[derive(Clone, Debug, PartialEq)]
pub struct SenderReport {
    /// Who.
    pub sender: SenderId,
    /// Address at the moment.
    pub address: u8,
    /// Model of its product information, if it told.
    pub product: Option<String>,
    /// What barrico noticed about it, such as fields that are always zero.
    pub remark: Option<String>,
}

/// What happened to the wall clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClockChange {
    /// A date is known from now on.
    Known(Stamp),
    /// It stepped, ms; durations are not touched.
    Stepped {
        /// From.
        from: WallMs,
        /// To.
        to: WallMs,
    },
}
