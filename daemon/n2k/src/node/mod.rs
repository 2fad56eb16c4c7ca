//! A node of the network: claims an address, answers what a device must answer, sends what its owner says, and otherwise keeps quiet.
//!
//! What is here: the duties of a device that reads sensors and publishes values and alerts, as a state machine without sockets or
//! clock. What is not here: what the values and alerts are (the owner hands them to [`Node::send`] and, when asked, to
//! [`Node::answer`]), sockets, words for people. Nothing on the bus can make a node start, stop or set anything but its own instance
//! numbers, installation texts, heartbeat interval and address.
//!
//! ```text
//! frames ─► Nodes ─► Node::handle ─► claim, requests, group functions, packets ─┐
//!                    Node::handle_timeout ─► timers ────────────────────────────┼─► outbox ─► gate ─► Output::Transmit
//!                    Node::send, Node::answer (owner) ──────────────────────────┘
//! ```
//!
//! [`Nodes`] holds the nodes of one program on one socket and lets them see each other. In [`Mode::ListenOnly`] nothing is ever sent:
//! one gate in `outbox.rs` makes every outgoing frame.
//!
//! Failure: nothing on the bus makes it panic, grow or flood. What is too much is dropped and counted ([`NodeCounters`]); without
//! an address everything is refused ([`Refused`]).
//!
//! Sources: the source of ttlappalainen/NMEA2000 (commit 6589531) for behaviour, the canboat database for layouts, ISO 11783-3 and -5
//! as quoted in the Linux kernel's J1939 sources for claims and timeouts. The NMEA standard itself was not read.

mod alert_answer;
mod claim;
mod fields;
mod group_function;
mod heartbeat;
mod hub;
mod information;
pub mod limits;
mod outbox;
mod output;
mod question;
mod random;
mod receive;
mod requests;
mod settings;
mod timers;

pub use alert_answer::{AlertAnswer, alert_answer};
pub use hub::{NodeOutput, Nodes};
pub use information::{NETWORK_GROUPS_SENT, NETWORK_GROUPS_USED};
pub use outbox::Urgency;
pub use output::{Event, NodeCounters, Output};
pub use question::Question;
pub use settings::{
    ADDRESS_MAX, DESCRIPTION_MAX_BYTES, DEVICE_CLASS, DEVICE_FUNCTION, MANUFACTURER_CODE, Mode, NodeSettings,
    NodeState, UNIQUE_NUMBER_MAX,
};

use crate::can_id::{CanId, GLOBAL};
use crate::fast_packet::Message;
use crate::name::Name;
use crate::pgn::{
    AddressClaim, Content, ControllerState, EquipmentStatus, GroupFunction, IsoAcknowledgement, IsoRequest,
};
use crate::senders::{Change, Senders};
use crate::transport::{CONNECTION_PGN, DATA_PGN, Transport};
use claim::{Claim, Phase};
use heartbeat::Beat;
use limits::Bucket;
use outbox::{Gate, Outbox};
use random::Random;
use receive::Receiver;
use requests::Requests;
use timers::{Timer, Timers};

/// Group of the commanded address; it has 9 bytes and comes in packets.
pub const COMMANDED_ADDRESS_PGN: u32 = 65_240;

/// Whether the bus can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Link {
    /// Interface down or gone, or bus-off.
    Lost,
    /// It works again.
    Back,
}

/// Why a message is not sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// This node only listens.
    #[error("listen-only: nothing is sent")]
    ListenOnly,
    /// There is no address (yet).
    #[error("no address on the bus")]
    NoAddress,
    /// Too many messages of at least this urgency wait, or the payload is too long.
    #[error("too many messages wait, or this one is too long")]
    Full,
}

/// Answers that go to everybody and are given at most once a second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Answer {
    ProductInformation,
    ConfigurationInformation,
    Heartbeat,
    /// A group of the owner.
    Owner(u32),
}

/// One node. See the module.
#[derive(Clone, Debug)]
pub struct Node {
    settings: NodeSettings,
    state: NodeState,
    random: Random,
    senders: Senders,
    claim: Claim,
    timers: Timers,
    outbox: Outbox,
    gate: Gate,
    requests: Requests,
    beat: Beat,
    receiver: Receiver,
    /// Broadcast in packets, for the commanded address.
    broadcasts: Transport,
    replies: Bucket,
    events: Bucket,
    counters: NodeCounters,
    stored_ms: Option<u64>,
    changes: Vec<Change>,
}

impl Node {
    /// A node that is not on the bus yet. `stored` is what [`Output::Store`] gave last; `seed` brings chance, and should differ at
    /// every start.
    #[must_use]
    pub fn new(settings: NodeSettings, stored: Option<NodeState>, seed: u64) -> Self {
        let gate = Gate::new(settings.mode);
        let usable = |number: &u32| (1..=UNIQUE_NUMBER_MAX).contains(number);
        let chosen = settings.unique_number.filter(usable);
        let known = chosen.or(stored.as_ref().map(|state| state.unique_number).filter(usable));
        let mut node = Self {
            settings: NodeSettings { unique_number: chosen, ..settings },
            state: stored.unwrap_or(NodeState::new(0)),
            random: Random::new(seed),
            senders: Senders::new(),
            claim: Claim::new(),
            timers: Timers::default(),
            outbox: Outbox::new(),
            gate,
            requests: Requests::default(),
            beat: Beat::default(),
            receiver: Receiver::default(),
            broadcasts: Transport::new(),
            replies: Bucket::new(limits::REPLIES),
            events: Bucket::new(limits::EVENTS),
            counters: NodeCounters::default(),
            stored_ms: None,
            changes: Vec::new(),
        };
        node.state.unique_number = known.unwrap_or_else(|| node.draw_unique_number());
        node
    }

    /// Goes onto the bus: asks who is there for a second, then claims an address. What must survive a restart is stored at once.
    pub fn start(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.store(now_ms, out);
        if self.gate.is_open() {
            self.begin_listening(now_ms);
        }
        self.plan(now_ms);
    }

    /// The bus went away or came back. After it came back the address is claimed again before anything else is sent.
    pub fn set_link(&mut self, now_ms: u64, link: Link, out: &mut Vec<Output>) {
        match link {
            Link::Lost => self.stop(),
            Link::Back if self.gate.is_open() && self.claim.phase == Phase::Off => {
                self.begin_again(now_ms, out)
            }
            Link::Back => {}
        }
        self.plan(now_ms);
    }

    fn stop(&mut self) {
        let store = self.timers.at(Timer::Store);
        self.timers = Timers::default();
        self.timers.set(Timer::Store, store);
        self.claim.phase = Phase::Off;
        self.outbox.clear(&mut self.counters);
        self.requests.clear();
        self.receiver.clear();
        self.broadcasts = Transport::new();
    }

    /// What the heartbeat says of the CAN controller and of the device.
    pub const fn set_health(&mut self, controller: ControllerState, equipment: EquipmentStatus) {
        self.beat.controller = controller;
        self.beat.equipment = equipment;
    }

    /// Our NAME.
    #[must_use]
    pub fn name(&self) -> Name {
        self.state.name(&self.settings)
    }

    /// Our address, while messages can be sent.
    #[must_use]
    pub const fn address(&self) -> Option<u8> {
        self.claim.address()
    }

    /// What is to survive a restart.
    #[must_use]
    pub const fn state(&self) -> &NodeState {
        &self.state
    }

    /// What was sent and dropped.
    #[must_use]
    pub const fn counters(&self) -> NodeCounters {
        self.counters
    }

    /// Who is where, as this node has heard.
    #[must_use]
    pub const fn senders(&self) -> &Senders {
        &self.senders
    }

    /// Takes an assembled message of another node. Our own messages need not be kept away; those that come back are known.
    pub fn handle(&mut self, now_ms: u64, message: &Message<'_>, out: &mut Vec<Output>) {
        if !is_for_nodes(message.pgn) {
            return;
        }
        if message.pgn == AddressClaim::PGN {
            self.handle_claim(now_ms, message, out);
        } else if self.is_for_us(message) {
            match message.pgn {
                IsoRequest::PGN => self.handle_request(now_ms, message, out),
                IsoAcknowledgement::PGN => self.handle_acknowledgement(now_ms, message, out),
                GroupFunction::PGN => self.handle_group_function(now_ms, message, out),
                CONNECTION_PGN | DATA_PGN if message.destination != GLOBAL => {
                    self.handle_packet(now_ms, message, out);
                }
                CONNECTION_PGN | DATA_PGN => {
                    let whole = self.broadcasts.handle(now_ms, message);
                    if let Some(whole) = whole.filter(|whole| whole.pgn == COMMANDED_ADDRESS_PGN)
                        && let Some(payload) = whole.payload.first_chunk::<9>().copied()
                    {
                        self.handle_commanded_address(now_ms, message.source, &payload, out);
                    }
                }
                _ => {}
            }
        }
        self.plan(now_ms);
    }

    fn is_for_us(&self, message: &Message<'_>) -> bool {
        let address = match self.claim.phase {
            Phase::Off => return false,
            Phase::Claiming { address, .. } | Phase::Claimed { address } => Some(address),
            _ => None,
        };
        let to_us = message.destination == GLOBAL || Some(message.destination) == address;
        to_us && Some(message.source) != address && message.source != GLOBAL
    }

    /// Lets time pass.
    pub fn handle_timeout(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        for timer in Timer::ALL {
            if self.timers.take_due(timer, now_ms) {
                self.run(timer, now_ms, out);
            }
        }
        self.plan(now_ms);
    }

    fn run(&mut self, timer: Timer, now_ms: u64, out: &mut Vec<Output>) {
        match timer {
            Timer::AskClaims => self.ask_claims(out),
            Timer::Claim => self.say_claim(now_ms, out),
            Timer::Phase => self.end_of_phase(now_ms, out),
            Timer::Senders => self.follow_time(now_ms, out),
            Timer::Transport => self.packets_late(now_ms, out),
            Timer::Answers => self.answers_due(now_ms, out),
            Timer::Lists => self.lists_due(now_ms, out),
            Timer::Heartbeat => self.heartbeat_due(now_ms, out),
            Timer::Store => self.store(now_ms, out),
            Timer::Outbox => self.pump(now_ms, out),
        }
    }

    /// Time of the next [`Node::handle_timeout`].
    #[must_use]
    pub fn next_deadline(&self) -> Option<u64> {
        self.timers.next()
    }

    /// Sets the timers that follow from what is there.
    fn plan(&mut self, now_ms: u64) {
        self.timers.set(Timer::Senders, self.senders.next_deadline());
        self.timers.set(Timer::Transport, self.receiver.next_deadline());
        let outbox = self.address().and_then(|_| self.outbox.next_deadline(now_ms));
        self.timers.set(Timer::Outbox, outbox);
    }

    /// Sends a message of the owner to everybody, as soon as its kind and the limits allow.
    ///
    /// # Errors
    /// If it cannot be sent; it is then counted and forgotten.
    pub fn send(
        &mut self,
        now_ms: u64,
        urgency: Urgency,
        priority: u8,
        content: &Content,
        out: &mut Vec<Output>,
    ) -> Result<(), Refused> {
        if !self.gate.is_open() {
            self.counters.refused += 1;
            return Err(Refused::ListenOnly);
        }
        if self.address().is_none() {
            self.counters.refused += 1;
            return Err(Refused::NoAddress);
        }
        let mut payload = Vec::new();
        content.encode(&mut payload);
        let id = CanId { priority, pgn: content.pgn(), source: 0, destination: GLOBAL };
        let taken = self.outbox.push(urgency, id, payload, &mut self.counters);
        self.pump(now_ms, out);
        self.plan(now_ms);
        if taken { Ok(()) } else { Err(Refused::Full) }
    }

    fn pump(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        if let Some(address) = self.address() {
            self.outbox.pump(now_ms, address, self.gate, &mut self.counters, out);
        }
    }

    /// Gives out what is to be stored, now or when the last time is long enough ago.
    fn store(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        match self.stored_ms.map(|at_ms| at_ms + limits::STORE_MS) {
            Some(next_ms) if now_ms < next_ms => self.timers.set(Timer::Store, next_ms),
            _ => {
                self.stored_ms = Some(now_ms);
                self.timers.clear(Timer::Store);
                out.push(Output::Store(self.state.clone()));
            }
        }
    }

    /// Tells an event that a stranger can cause at will.
    fn tell(&mut self, now_ms: u64, event: Event, out: &mut Vec<Output>) {
        if self.events.take(now_ms) {
            out.push(Output::Event(event));
        } else {
            self.counters.events_withheld += 1;
        }
    }
}

/// Whether nodes do anything with a group. All others may be kept away from them.
#[must_use]
pub const fn is_for_nodes(pgn: u32) -> bool {
    matches!(
        pgn,
        AddressClaim::PGN
            | IsoRequest::PGN
            | IsoAcknowledgement::PGN
            | GroupFunction::PGN
            | CONNECTION_PGN
            | DATA_PGN
    )
}
