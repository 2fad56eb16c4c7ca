//! Claiming an address and keeping it (ISO 11783-5 as cited in public sources; figures without source are ours and say so).
//!
//! ```text
//! Off ─start─► Listening ─1 s─► Claiming ─250 ms─► Claimed
//!  ▲  (ask who is there)          │  ▲                │ lower NAME claims it: next free address
//!  │                 lower NAME   ▼  │                ▼
//! link lost          next free address, or GivingUp ─0-153 ms─► CannotClaim ─5 min─► Listening
//!                    twin NAME: Moving ─0.1-2.1 s─► next free address
//! ```
//!
//! In one search no address is claimed twice, so nobody can lead this node in a circle. Every claim is paid for from a bucket; when
//! it is empty the claim waits, and the 250 ms count from the moment it is out.

use super::limits::{Bucket, CLAIMS};
use super::outbox::Urgency;
use super::output::{Event, Output};
use super::settings::{ADDRESS_MAX, UNIQUE_NUMBER_MAX};
use super::timers::Timer;
use super::{Answer, Node};
use crate::can_id::{CanId, GLOBAL, NULL_ADDRESS};
use crate::fast_packet::Message;
use crate::frame::Frame;
use crate::name::Name;
use crate::pgn::{AddressClaim, IsoRequest};
use crate::senders::{CLAIM_WAIT_MS, Change, Senders};

/// Listening before the first claim, so that a free address is tried first. Recorded nodes answer a request within some 100 ms; one
/// second is what an open-source claimer takes.
pub(super) const LISTEN_MS: u64 = 1_000;
/// Several nodes that start at once ask at different times, and only the first one asks.
const ASK_WITHIN_MS: u64 = 50;
/// Random delay before saying that no address can be claimed, 0 to 153 ms (ISO 11783-5, from memory; an open-source implementation
/// uses the same window).
const CANNOT_CLAIM_DELAY_MS: u64 = 154;
/// Time until a node without an address tries again (no source: minutes, not at once).
pub(super) const RETRY_MS: u64 = 5 * 60_000;
/// An address held so long ends the search in which it was found (no source).
const STABLE_MS: u64 = 60_000;
/// Random delay before leaving an address that a twin uses too, on top of [`TWIN_DELAY_LEAST_MS`] (no source).
const TWIN_DELAY_MS: u64 = 2_000;
/// Least delay before leaving an address that a twin uses too.
const TWIN_DELAY_LEAST_MS: u64 = 100;
/// A twin is reported, and makes us move, at most so often: it cannot be won against (no source).
pub(super) const TWIN_QUIET_MS: u64 = 60_000;
/// A new unique number is drawn at most so often: displays know a device by it (no source).
const REDRAW_MS: u64 = 60 * 60_000;
/// Our own claim may come back from a gateway within this time and is then no twin (no source).
const ECHO_MS: u64 = 50;

/// Where the claiming stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Phase {
    /// Not on the bus.
    Off,
    /// Learns who is there.
    Listening,
    /// Has claimed, or is about to; 250 ms must pass.
    Claiming { address: u8, is_said: bool },
    /// Has an address.
    Claimed { address: u8 },
    /// Keeps silent before it leaves an address with a twin.
    Moving { from: u8 },
    /// Waits a random time before it says that it cannot claim.
    GivingUp,
    /// Has no address.
    CannotClaim,
}

/// State of the claiming.
#[derive(Clone, Debug)]
pub(super) struct Claim {
    pub(super) phase: Phase,
    /// Addresses lost in this search.
    tried: [bool; ADDRESS_MAX as usize + 1],
    bucket: Bucket,
    claimed_ms: u64,
    /// Address and time of our latest claim, while it may come back.
    echo: Option<(u8, u64)>,
    twin_ms: Option<u64>,
    redrawn_ms: Option<u64>,
    /// Product and configuration information were sent since the link is up.
    introduced: bool,
}

impl Claim {
    pub(super) const fn new() -> Self {
        Self {
            phase: Phase::Off,
            tried: [false; ADDRESS_MAX as usize + 1],
            bucket: Bucket::new(CLAIMS),
            claimed_ms: 0,
            echo: None,
            twin_ms: None,
            redrawn_ms: None,
            introduced: false,
        }
    }

    /// The address under which anything but claims may be sent.
    pub(super) const fn address(&self) -> Option<u8> {
        match self.phase {
            Phase::Claimed { address } => Some(address),
            _ => None,
        }
    }
}

impl Node {
    /// Begins from nothing: asks who is there, then claims.
    pub(super) fn begin_listening(&mut self, now_ms: u64) {
        self.claim.phase = Phase::Listening;
        self.timers.set(Timer::AskClaims, now_ms + self.random.below(ASK_WITHIN_MS));
        self.timers.set(Timer::Phase, now_ms + LISTEN_MS);
    }

    /// After a break of the link: the address used last is claimed at once.
    pub(super) fn begin_again(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.claim.tried.fill(false);
        self.claim.introduced = false;
        self.claim_address(now_ms, self.first_address(), out);
    }

    fn first_address(&self) -> u8 {
        self.state.address.unwrap_or(self.settings.preferred_address).min(ADDRESS_MAX)
    }

    pub(super) fn ask_claims(&mut self, out: &mut Vec<Output>) {
        let mut payload = Vec::new();
        IsoRequest { pgn: Some(AddressClaim::PGN) }.encode(&mut payload);
        let id = CanId { priority: 6, pgn: IsoRequest::PGN, source: NULL_ADDRESS, destination: GLOBAL };
        self.gate.pass(Frame::new(id, &payload), &mut self.counters, out);
    }

    pub(super) fn end_of_phase(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        match self.claim.phase {
            Phase::Off | Phase::Claimed { .. } => {}
            Phase::Listening => {
                let first = self.first_address();
                if self.is_free(first) {
                    self.claim_address(now_ms, first, out);
                } else {
                    self.claim_next(now_ms, first, out);
                }
            }
            Phase::Claiming { address, .. } => self.settle(now_ms, address, out),
            Phase::Moving { from } => self.leave_twin(now_ms, from, out),
            Phase::GivingUp => {
                self.claim.phase = Phase::CannotClaim;
                self.outbox.clear(&mut self.counters);
                self.say_claim(now_ms, out);
                self.timers.set(Timer::Phase, now_ms + RETRY_MS);
                out.push(Output::Event(Event::CannotClaim));
            }
            Phase::CannotClaim => {
                self.claim.tried.fill(false);
                self.senders = Senders::new();
                self.begin_listening(now_ms);
            }
        }
    }

    fn settle(&mut self, now_ms: u64, address: u8, out: &mut Vec<Output>) {
        self.claim.phase = Phase::Claimed { address };
        self.claim.claimed_ms = now_ms;
        if self.state.address != Some(address) {
            self.state.address = Some(address);
            self.store(now_ms, out);
        }
        out.push(Output::Event(Event::Claimed { address }));
        self.begin_heartbeat(now_ms, out);
        if !self.claim.introduced {
            self.claim.introduced = true;
            self.give_answer(now_ms, Answer::ProductInformation, out);
            self.give_answer(now_ms, Answer::ConfigurationInformation, out);
        }
    }

    fn is_free(&self, address: u8) -> bool {
        !self.claim.tried[usize::from(address)] && self.senders.name_at(address).is_none()
    }

    fn claim_next(&mut self, now_ms: u64, from: u8, out: &mut Vec<Output>) {
        let count = u16::from(ADDRESS_MAX) + 1;
        let next = (1..=count).map(|step| ((u16::from(from) + step) % count) as u8);
        match next.into_iter().find(|address| self.is_free(*address)) {
            Some(address) => self.claim_address(now_ms, address, out),
            None => {
                self.claim.phase = Phase::GivingUp;
                self.timers.clear(Timer::Claim);
                let delay_ms = self.random.below(CANNOT_CLAIM_DELAY_MS);
                self.timers.set(Timer::Phase, now_ms + delay_ms);
            }
        }
    }

    pub(super) fn claim_address(&mut self, now_ms: u64, address: u8, out: &mut Vec<Output>) {
        self.outbox.cut_off(&mut self.counters);
        self.receiver.clear();
        self.timers.clear(Timer::AskClaims);
        self.timers.clear(Timer::Phase);
        self.timers.clear(Timer::Heartbeat);
        self.claim.phase = Phase::Claiming { address, is_said: false };
        self.say_claim(now_ms, out);
    }

    /// Says the claim, now or when the limit allows it.
    pub(super) fn say_claim(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        let source = match self.claim.phase {
            Phase::Claiming { address, .. } | Phase::Claimed { address } => address,
            Phase::CannotClaim => NULL_ADDRESS,
            Phase::Off | Phase::Listening | Phase::Moving { .. } | Phase::GivingUp => return,
        };
        if !self.claim.bucket.take(now_ms) {
            self.timers.set(Timer::Claim, self.claim.bucket.next_at(now_ms));
            return;
        }
        self.timers.clear(Timer::Claim);
        if let Phase::Claiming { is_said, .. } = &mut self.claim.phase
            && !*is_said
        {
            *is_said = true;
            self.timers.set(Timer::Phase, now_ms + CLAIM_WAIT_MS);
        }
        self.claim.echo = Some((source, now_ms));
        let id = CanId { priority: 6, pgn: AddressClaim::PGN, source, destination: GLOBAL };
        self.gate.pass(Frame::new(id, &self.name().to_bytes()), &mut self.counters, out);
    }

    /// Somebody asks for our claim.
    pub(super) fn claim_requested(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        match self.claim.phase {
            Phase::CannotClaim => {
                if self.timers.at(Timer::Claim).is_none() {
                    let delay_ms = self.random.below(CANNOT_CLAIM_DELAY_MS);
                    self.timers.set(Timer::Claim, now_ms + delay_ms);
                }
            }
            // The request of another node that starts serves us as well.
            Phase::Listening => self.timers.clear(Timer::AskClaims),
            _ => self.say_claim(now_ms, out),
        }
    }

    pub(super) fn handle_claim(&mut self, now_ms: u64, message: &Message<'_>, out: &mut Vec<Output>) {
        let Some(bytes) = message.payload.first_chunk() else { return };
        let (name, source) = (Name::from_bytes(*bytes), message.source);
        if name == self.name() {
            self.handle_own_name(now_ms, source, out);
            return;
        }
        self.follow_claim(now_ms, source, message.payload, out);
        match self.claim.phase {
            Phase::Claiming { address, .. } | Phase::Claimed { address } if address == source => {
                if self.name() < name {
                    self.say_claim(now_ms, out);
                } else {
                    self.lose(now_ms, address, name, out);
                }
            }
            _ => {}
        }
    }

    fn follow_claim(&mut self, now_ms: u64, source: u8, payload: &[u8], out: &mut Vec<Output>) {
        let id = CanId { priority: 6, pgn: AddressClaim::PGN, source, destination: GLOBAL };
        let mut changes = std::mem::take(&mut self.changes);
        self.senders.handle(now_ms, id, payload, &mut changes);
        self.tell_changes(&mut changes, out);
        self.changes = changes;
    }

    pub(super) fn follow_time(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        let mut changes = std::mem::take(&mut self.changes);
        self.senders.handle_timeout(now_ms, &mut changes);
        self.tell_changes(&mut changes, out);
        self.changes = changes;
    }

    fn tell_changes(&mut self, changes: &mut Vec<Change>, out: &mut Vec<Output>) {
        for change in changes.drain(..) {
            let left = match change {
                Change::Claimed { moved_from, .. } => moved_from,
                Change::Lost { address, .. } => Some(address),
            };
            if let Some(address) = left {
                self.receiver.forget_source(address);
                out.push(Output::AddressLeft(address));
            }
        }
    }

    fn lose(&mut self, now_ms: u64, address: u8, to: Name, out: &mut Vec<Output>) {
        let was_claimed = matches!(self.claim.phase, Phase::Claimed { .. });
        if was_claimed && now_ms.saturating_sub(self.claim.claimed_ms) >= STABLE_MS {
            self.claim.tried.fill(false);
        }
        self.claim.tried[usize::from(address)] = true;
        out.push(Output::Event(Event::LostAddress { address, to }));
        self.claim_next(now_ms, address, out);
    }

    /// A claim with our own NAME: our own one that comes back, or a twin.
    fn handle_own_name(&mut self, now_ms: u64, source: u8, out: &mut Vec<Output>) {
        if let Some((address, at_ms)) = self.claim.echo
            && address == source
            && now_ms.saturating_sub(at_ms) <= ECHO_MS
        {
            self.claim.echo = None;
            return;
        }
        let own = match self.claim.phase {
            Phase::Claiming { address, .. } | Phase::Claimed { address } => Some(address),
            _ => None,
        };
        if let Some(tried) = self.claim.tried.get_mut(usize::from(source))
            && own != Some(source)
        {
            *tried = true;
        }
        let quiet = self.claim.twin_ms.is_some_and(|at_ms| now_ms.saturating_sub(at_ms) < TWIN_QUIET_MS);
        if quiet || self.claim.phase == Phase::Off {
            return;
        }
        self.claim.twin_ms = Some(now_ms);
        let name = self.name();
        let may_redraw = self.settings.unique_number.is_none()
            && self.claim.redrawn_ms.is_none_or(|at_ms| now_ms.saturating_sub(at_ms) >= REDRAW_MS);
        let new_unique_number = may_redraw.then(|| self.draw_unique_number());
        if let Some(unique_number) = new_unique_number {
            self.claim.redrawn_ms = Some(now_ms);
            self.state.unique_number = unique_number;
            self.store(now_ms, out);
        }
        out.push(Output::Event(Event::TwinName { name, address: source, new_unique_number }));
        if let Some(address) = own
            && (address == source || new_unique_number.is_some())
        {
            self.outbox.cut_off(&mut self.counters);
            self.timers.clear(Timer::Heartbeat);
            self.timers.clear(Timer::Claim);
            self.claim.phase = Phase::Moving { from: address };
            let delay_ms = TWIN_DELAY_LEAST_MS + self.random.below(TWIN_DELAY_MS);
            self.timers.set(Timer::Phase, now_ms + delay_ms);
        }
    }

    fn leave_twin(&mut self, now_ms: u64, from: u8, out: &mut Vec<Output>) {
        self.claim.tried[usize::from(from)] = true;
        self.claim_next(now_ms, from, out);
    }

    /// A unique number at random, never 0 and never the largest.
    pub(super) fn draw_unique_number(&mut self) -> u32 {
        1 + self.random.below(u64::from(UNIQUE_NUMBER_MAX)) as u32
    }

    /// 65240: take another address. Only a command for our NAME counts.
    pub(super) fn handle_commanded_address(
        &mut self,
        now_ms: u64,
        by: u8,
        payload: &[u8],
        out: &mut Vec<Output>,
    ) {
        let Some((name, [address, ..])) = payload.split_first_chunk::<8>() else { return };
        if Name::from_bytes(*name) != self.name() || *address > ADDRESS_MAX {
            return;
        }
        let current = match self.claim.phase {
            Phase::Off => return,
            Phase::Claiming { address, .. } | Phase::Claimed { address } => Some(address),
            _ => None,
        };
        if current == Some(*address) {
            self.say_claim(now_ms, out);
            return;
        }
        self.tell(now_ms, Event::AddressCommanded { address: *address, by }, out);
        self.claim.tried[usize::from(*address)] = false;
        self.claim_address(now_ms, *address, out);
    }

    /// The NAME has changed: claim with the new one, after what was said before.
    pub(super) fn claim_anew(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        if let Some(address) = self.claim.address() {
            self.pump(now_ms, out);
            self.claim_address(now_ms, address, out);
        }
    }

    pub(super) fn send_network(&mut self, now_ms: u64, id: CanId, payload: Vec<u8>, out: &mut Vec<Output>) {
        self.outbox.push(Urgency::Network, id, payload, &mut self.counters);
        self.pump(now_ms, out);
    }
}
