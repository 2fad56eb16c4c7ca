//! The one way out: what waits to be sent, in which order, how fast, and what is dropped.
//!
//! | rule | |
//! | --- | --- |
//! | order | alerts, then network (refusals, acknowledges, heartbeat), then the owner's values, then long information; within one kind as they came |
//! | speed | alerts have a budget of their own, so nothing else delays them (`limits.rs`) |
//! | fast packets | a sequence per group; two messages of one group never interleave, those of different groups may |
//! | newer before older | a waiting value or alert is replaced by a newer one of the same content, and keeps its place |
//! | full | 32 messages may wait. Then the newest waiting message of the least kind is dropped, or the newcomer if it is of the least kind itself; a message under way is never dropped |
//! | address lost | the message under way is cut off (receivers drop it), the waiting ones go out from the next address |
//!
//! [`Gate`] is the only place that makes an [`Output::Transmit`]; in listen-only mode it is shut.

use super::limits::{ALERT_FRAMES, Bucket, FRAMES, QUEUED_MESSAGES};
use super::output::{NodeCounters, Output};
use super::settings::Mode;
use crate::can_id::CanId;
use crate::fast_packet::{MAX_PAYLOAD, split};
use crate::frame::Frame;
use crate::framing::{Framing, framing};
use crate::pgn::WatermakerStatus;
use std::collections::BTreeMap;

/// Kind of a message, the most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// Alerts and their texts.
    Alert,
    /// Refusals, acknowledges, transport control, heartbeat.
    Network,
    /// Values of the owner.
    Status,
    /// Product and configuration information, lists of groups.
    Information,
}

/// Lets frames out, or none.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gate(Mode);

impl Gate {
    pub(super) const fn new(mode: Mode) -> Self {
        Self(mode)
    }

    pub(super) fn is_open(self) -> bool {
        self.0 == Mode::Full
    }

    /// The only function that puts a frame on the bus.
    pub(super) fn pass(self, frame: Frame, counters: &mut NodeCounters, out: &mut Vec<Output>) {
        if self.is_open() {
            counters.frames_sent += 1;
            out.push(Output::Transmit(frame));
        }
    }
}

#[derive(Clone, Debug)]
struct Queued {
    urgency: Urgency,
    /// The source is filled in when a frame goes out.
    id: CanId,
    payload: Vec<u8>,
    /// Frames sent.
    sent: usize,
    sequence: u8,
}

impl Queued {
    /// Whether `newer` says the same thing anew.
    fn is_renewed_by(&self, newer: &Queued) -> bool {
        let same_content = match self.urgency {
            // The first 16 bytes say which alert it is.
            Urgency::Alert => self.payload.get(..16) == newer.payload.get(..16),
            Urgency::Network => self.payload == newer.payload,
            // This group has no instance: what is newer is always the same content. Others may differ in theirs.
            Urgency::Status => self.id.pgn == WatermakerStatus::PGN,
            Urgency::Information => self.payload.first() == newer.payload.first(),
        };
        self.sent == 0 && self.urgency == newer.urgency && self.id == newer.id && same_content
    }
}

/// Messages on their way out.
#[derive(Clone, Debug)]
pub(super) struct Outbox {
    queue: Vec<Queued>,
    sequences: BTreeMap<u32, u8>,
    alerts: Bucket,
    others: Bucket,
}

impl Outbox {
    pub(super) fn new() -> Self {
        Self {
            queue: Vec::new(),
            sequences: BTreeMap::new(),
            alerts: Bucket::new(ALERT_FRAMES),
            others: Bucket::new(FRAMES),
        }
    }

    /// Takes a message; false if it does not fit its framing or was dropped.
    pub(super) fn push(
        &mut self,
        urgency: Urgency,
        id: CanId,
        payload: Vec<u8>,
        counters: &mut NodeCounters,
    ) -> bool {
        let most = if framing(id.pgn) == Framing::Fast { MAX_PAYLOAD } else { 8 };
        if payload.len() > most {
            counters.dropped += 1;
            return false;
        }
        let new = Queued { urgency, id, payload, sent: 0, sequence: 0 };
        if let Some(old) = self.queue.iter_mut().find(|old| old.is_renewed_by(&new)) {
            counters.replaced += 1;
            *old = new;
            return true;
        }
        if self.queue.len() >= QUEUED_MESSAGES {
            counters.dropped += 1;
            let waiting = self.queue.iter().enumerate().filter(|(_, queued)| queued.sent == 0);
            let least = waiting.max_by_key(|(index, queued)| (queued.urgency, *index));
            match least.map(|(index, queued)| (index, queued.urgency)) {
                Some((index, least)) if urgency < least => {
                    self.queue.remove(index);
                }
                _ => return false,
            }
        }
        self.queue.push(new);
        true
    }

    /// Sends as much as the budgets allow.
    pub(super) fn pump(
        &mut self,
        now_ms: u64,
        source: u8,
        gate: Gate,
        counters: &mut NodeCounters,
        out: &mut Vec<Output>,
    ) {
        while self.next_of_lane(true).is_some() && self.alerts.take(now_ms) {
            self.send_one(true, source, gate, counters, out);
        }
        while self.next_of_lane(false).is_some() && self.others.take(now_ms) {
            self.send_one(false, source, gate, counters, out);
        }
    }

    /// When the next frame may go out.
    pub(super) fn next_deadline(&self, now_ms: u64) -> Option<u64> {
        let alert = self.next_of_lane(true).map(|_| self.alerts.next_at(now_ms));
        let other = self.next_of_lane(false).map(|_| self.others.next_at(now_ms));
        alert.into_iter().chain(other).min()
    }

    /// The message whose turn it is among alerts, or among the rest.
    fn next_of_lane(&self, alerts: bool) -> Option<usize> {
        let of_lane =
            self.queue.iter().enumerate().filter(|(_, queued)| (queued.urgency == Urgency::Alert) == alerts);
        let (index, first) = of_lane.min_by_key(|(index, queued)| (queued.urgency, *index))?;
        // A message of the same group that is under way comes first, of whatever kind it is.
        let under_way = |other: &Queued| other.sent > 0 && other.id.pgn == first.id.pgn;
        Some(self.queue.iter().position(under_way).unwrap_or(index))
    }

    fn send_one(
        &mut self,
        alerts: bool,
        source: u8,
        gate: Gate,
        counters: &mut NodeCounters,
        out: &mut Vec<Output>,
    ) {
        let Some(index) = self.next_of_lane(alerts) else { return };
        let queued = &mut self.queue[index];
        let id = CanId { source, ..queued.id };
        if framing(id.pgn) == Framing::Single {
            gate.pass(Frame::new(id, &queued.payload), counters, out);
            self.queue.remove(index);
            return;
        }
        if queued.sent == 0 {
            let sequence = self.sequences.entry(id.pgn).or_insert(0);
            queued.sequence = *sequence;
            *sequence = (*sequence + 1) & 7;
        }
        // The length was checked when it was taken in.
        let frame = split(id, &queued.payload, queued.sequence).ok().and_then(|mut rest| {
            let frame = rest.nth(queued.sent)?;
            Some((frame, rest.len() == 0))
        });
        queued.sent += 1;
        let is_last = frame.is_none_or(|(_, is_last)| is_last);
        if let Some((frame, _)) = frame {
            gate.pass(frame, counters, out);
        }
        if is_last {
            self.queue.remove(index);
        }
    }

    /// Gives up messages under way: their sender's address is no longer ours.
    pub(super) fn cut_off(&mut self, counters: &mut NodeCounters) {
        counters.cut_off += self.queue.iter().filter(|queued| queued.sent > 0).count() as u64;
        self.queue.retain(|queued| queued.sent == 0);
    }

    /// Drops everything: there is no bus, or no address on it.
    pub(super) fn clear(&mut self, counters: &mut NodeCounters) {
        counters.dropped += self.queue.len() as u64;
        self.queue.clear();
    }
}

#[cfg(test)]
mod tests;
