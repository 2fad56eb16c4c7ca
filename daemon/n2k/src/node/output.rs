//! What a node tells its owner.

use super::question::Question;
use super::settings::NodeState;
use crate::frame::Frame;
use crate::name::Name;
use crate::pgn::Acknowledgement;

/// What is to be done, or has happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Output {
    /// Put this frame on the bus.
    Transmit(Frame),
    /// Keep this; give it to [`super::Node::new`] at the next start.
    Store(NodeState),
    /// Somebody asks for a message of the owner: call [`super::Node::answer`].
    Asked(Question),
    /// A device has left this address: drop its open messages and what was learnt about the sender there.
    AddressLeft(u8),
    /// Something to show or to log.
    Event(Event),
}

/// What has happened; no words, the owner has them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// The address is ours, messages can be sent.
    Claimed {
        /// Ours now.
        address: u8,
    },
    /// Another device with a lower NAME has taken the address.
    LostAddress {
        /// The address that was ours.
        address: u8,
        /// Who has it now.
        to: Name,
    },
    /// No address is left. Nothing is sent until a retry some minutes later.
    CannotClaim,
    /// Another device has our NAME: a copied configuration.
    TwinName {
        /// The NAME both have.
        name: Name,
        /// Where the other one is.
        address: u8,
        /// Unique number that we take from now on; `None` if the user has set it and must change it.
        new_unique_number: Option<u32>,
    },
    /// An installer's tool has told us to take another address.
    AddressCommanded {
        /// The new address.
        address: u8,
        /// Address of who told us.
        by: u8,
    },
    /// Somebody tried to set or start something that is not to be set from the bus.
    CommandRefused {
        /// Group of the command.
        pgn: u32,
        /// Address of who sent it.
        by: u8,
        /// NAME of who sent it, if known.
        name: Option<Name>,
    },
    /// Device or system instance was changed from the bus.
    InstanceChanged {
        /// Device instance [0-255].
        device_instance: u8,
        /// System instance [0-15].
        system_instance: u8,
        /// Address of who changed it.
        by: u8,
    },
    /// An installation description was changed from the bus.
    DescriptionChanged {
        /// 1 or 2.
        number: u8,
        /// Address of who changed it.
        by: u8,
    },
    /// Somebody answers something we sent (59392).
    AcknowledgeReceived {
        /// What the answer is.
        control: Acknowledgement,
        /// Group it is about.
        pgn: u32,
        /// Address of who answers.
        by: u8,
    },
}

/// What a node has sent and dropped. Numbers only grow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NodeCounters {
    /// Frames given out for the bus.
    pub frames_sent: u64,
    /// Messages of the owner refused because there is no address (or nothing may be sent at all).
    pub refused: u64,
    /// Messages dropped because too many waited.
    pub dropped: u64,
    /// Messages replaced by a newer one of the same content before they were sent.
    pub replaced: u64,
    /// Requests left without an answer because of the rate limits.
    pub unanswered: u64,
    /// Events not told because of the rate limit.
    pub events_withheld: u64,
    /// Messages cut off in the middle because the address was lost.
    pub cut_off: u64,
}
