//! The bounded set of messages that are open, and of those just completed (to know their stray repetitions).

use super::split::{FIRST_BYTES, NEXT_BYTES, frame_count};
use super::{Counters, EARLY_HOLD_MS, FRAME_TIMEOUT_MS, SLOTS};
use crate::can_id::CanId;

/// Room for a payload: 6 + 31 * 7.
const BUFFER_BYTES: usize = FIRST_BYTES + 31 * NEXT_BYTES;

/// Key of a slot nobody uses. No frame has it: group numbers have 18 bits.
const FREE: u64 = u64::MAX;

/// What is known of a slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Continuations without their first frame, since the time given.
    Early { since_ms: u64 },
    /// The first frame is there, frames are missing.
    Open,
    /// Given out; kept to recognise repetitions.
    Done,
}

#[derive(Clone, Debug)]
struct Slot {
    last_ms: u64,
    state: State,
    /// Announced length; meaningless while early.
    length: u8,
    /// One bit per frame number that is there.
    frames: u32,
    /// One bit per frame that brought fewer bytes than it has room for.
    short: u32,
    buffer: [u8; BUFFER_BYTES],
    /// Payload bytes each frame brought; fewer than 7 if it was short.
    received: [u8; 32],
}

/// The slots, found by key through a small hash table with chains.
#[derive(Debug)]
pub(super) struct Store {
    keys: [u64; SLOTS],
    /// First slot of each chain.
    heads: [u8; BUCKETS],
    /// Next slot of a chain.
    nexts: [u8; SLOTS],
    slots: Vec<Slot>,
    /// Where the search for a slot to reuse goes on.
    hand: usize,
}

/// Chains. Twice the slots, so that most chains are empty or hold one.
const BUCKETS: usize = 2 * SLOTS;
/// End of a chain.
const END: u8 = u8::MAX;

/// Chain of a key (Fibonacci hashing; 57 leaves 7 bits for 128 chains).
#[inline]
const fn bucket(key: u64) -> usize {
    (key.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 57) as usize % BUCKETS
}

/// Source, destination, group and sequence as one number.
#[inline]
pub(super) const fn key(id: CanId, sequence: u8) -> u64 {
    (id.pgn as u64) << 24 | (id.destination as u64) << 16 | (sequence as u64) << 8 | id.source as u64
}

/// Place of a frame in the buffer.
const fn range_of(number: u8) -> (usize, usize) {
    if number == 0 {
        (0, FIRST_BYTES)
    } else {
        (FIRST_BYTES + (number as usize - 1) * NEXT_BYTES, NEXT_BYTES)
    }
}

/// A bit for each of the first `count` frames.
const fn frames_up_to(count: usize) -> u32 {
    if count >= 32 { u32::MAX } else { (1 << count) - 1 }
}

impl Store {
    pub(super) fn new() -> Self {
        let slot = Slot {
            last_ms: 0,
            state: State::Done,
            length: 0,
            frames: 0,
            short: 0,
            buffer: [0; BUFFER_BYTES],
            received: [0; 32],
        };
        Self {
            keys: [FREE; SLOTS],
            heads: [END; BUCKETS],
            nexts: [END; SLOTS],
            slots: vec![slot; SLOTS],
            hand: 0,
        }
    }

    pub(super) fn payload(&self, slot: usize) -> &[u8] {
        let slot = &self.slots[slot];
        &slot.buffer[..usize::from(slot.length)]
    }

    /// A first frame; gives the slot if the message is complete.
    pub(super) fn first(
        &mut self,
        now_ms: u64,
        key: u64,
        length: u8,
        bytes: &[u8],
        counters: &mut Counters,
    ) -> Option<usize> {
        let index = match self.find(key) {
            None => self.take(now_ms, key, counters),
            Some(index) => {
                let slot = &mut self.slots[index];
                slot.drop_if_late(now_ms, counters);
                match slot.state {
                    State::Early { .. } => {}
                    State::Open if slot.repeats_first(length, bytes) => {
                        counters.duplicates += 1;
                        slot.last_ms = now_ms;
                        return None;
                    }
                    State::Open => {
                        counters.restarted += 1;
                        slot.clear();
                    }
                    // A repetition of the whole message looks like this too; it is given out again.
                    State::Done => slot.clear(),
                }
                index
            }
        };
        let slot = &mut self.slots[index];
        slot.length = length;
        slot.state = State::Open;
        slot.drop_beyond_length(counters);
        slot.put(now_ms, 0, bytes);
        slot.complete(index)
    }

    /// Any other frame; gives the slot if the message is complete.
    pub(super) fn continuation(
        &mut self,
        now_ms: u64,
        key: u64,
        number: u8,
        bytes: &[u8],
        counters: &mut Counters,
    ) -> Option<usize> {
        let index = match self.find(key) {
            None => {
                let index = self.take(now_ms, key, counters);
                self.slots[index].state = State::Early { since_ms: now_ms };
                index
            }
            Some(index) => {
                let slot = &mut self.slots[index];
                slot.drop_if_late(now_ms, counters);
                if slot.state == State::Done {
                    if slot.repeats(number, bytes) {
                        counters.stray += 1;
                        return None;
                    }
                    slot.clear();
                    slot.state = State::Early { since_ms: now_ms };
                }
                index
            }
        };
        let slot = &mut self.slots[index];
        if slot.state == State::Open && usize::from(number) >= frame_count(usize::from(slot.length)) {
            counters.beyond_length += 1;
            return None;
        }
        if slot.frames & (1 << number) != 0 {
            if slot.repeats(number, bytes) {
                counters.duplicates += 1;
                slot.last_ms = now_ms;
            } else {
                counters.conflicting += 1;
                self.release(index);
            }
            return None;
        }
        slot.put(now_ms, number, bytes);
        slot.complete(index)
    }

    #[inline]
    fn find(&self, key: u64) -> Option<usize> {
        let mut at = self.heads[bucket(key)];
        while at != END {
            let index = usize::from(at);
            if self.keys[index] == key {
                return Some(index);
            }
            at = self.nexts[index];
        }
        None
    }

    /// A slot for a new message: the next free or completed one in the round, which is the one completed longest ago or
    /// nearly so; if all are open, the one longest without a frame.
    fn take(&mut self, now_ms: u64, key: u64, counters: &mut Counters) -> usize {
        let round = (0..SLOTS).map(|step| (self.hand + step) % SLOTS);
        let usable = |index: &usize| self.keys[*index] == FREE || self.slots[*index].state == State::Done;
        let index = round.clone().find(usable).unwrap_or_else(|| {
            let oldest = round.min_by_key(|index| self.slots[*index].last_ms).unwrap_or(0);
            self.slots[oldest].drop_if_late(now_ms, counters);
            counters.evicted += u64::from(self.slots[oldest].state != State::Done);
            oldest
        });
        self.hand = (index + 1) % SLOTS;
        self.release(index);
        self.slots[index].clear();
        self.slots[index].last_ms = now_ms;
        self.keys[index] = key;
        let head = &mut self.heads[bucket(key)];
        self.nexts[index] = *head;
        *head = index as u8;
        index
    }

    /// Takes a slot out of its chain.
    fn release(&mut self, index: usize) {
        let key = std::mem::replace(&mut self.keys[index], FREE);
        if key == FREE {
            return;
        }
        let after = self.nexts[index];
        let head = &mut self.heads[bucket(key)];
        if usize::from(*head) == index {
            *head = after;
            return;
        }
        let mut at = *head;
        while at != END {
            let next = self.nexts[usize::from(at)];
            if usize::from(next) == index {
                self.nexts[usize::from(at)] = after;
                return;
            }
            at = next;
        }
    }

    /// Drops the open messages of one source; gives their number.
    pub(super) fn forget_source(&mut self, source: u8) -> u64 {
        let mut dropped = 0;
        for index in 0..SLOTS {
            let key = self.keys[index];
            if key != FREE && key as u8 == source {
                dropped += u64::from(self.slots[index].state != State::Done);
                self.release(index);
            }
        }
        dropped
    }

    /// Drops open messages that have waited too long; gives their number.
    pub(super) fn expire(&mut self, now_ms: u64) -> u64 {
        let mut counters = Counters::default();
        for (key, slot) in self.keys.iter().zip(&mut self.slots) {
            if *key != FREE {
                slot.drop_if_late(now_ms, &mut counters);
            }
        }
        counters.timed_out
    }
}

impl Slot {
    /// Turns an open message that has waited too long into an empty completed one.
    fn drop_if_late(&mut self, now_ms: u64, counters: &mut Counters) {
        let late = match self.state {
            State::Early { since_ms } => now_ms.saturating_sub(since_ms) > EARLY_HOLD_MS,
            State::Open => now_ms.saturating_sub(self.last_ms) > FRAME_TIMEOUT_MS,
            State::Done => false,
        };
        if late {
            counters.timed_out += 1;
            self.state = State::Done;
            self.clear();
        }
    }

    /// Bytes this frame must bring, given the length of the message.
    fn wanted(&self, number: u8) -> usize {
        let (start, room) = range_of(number);
        usize::from(self.length).saturating_sub(start).min(room)
    }

    fn clear(&mut self) {
        self.frames = 0;
        self.short = 0;
    }

    #[inline]
    fn put(&mut self, now_ms: u64, number: u8, bytes: &[u8]) {
        let (start, room) = range_of(number);
        self.frames |= 1 << number;
        self.last_ms = now_ms;
        // The common case apart: its copy has a fixed length.
        if let (Ok(bytes), Some(place)) = (
            <&[u8; NEXT_BYTES]>::try_from(bytes),
            self.buffer[start..].first_chunk_mut::<NEXT_BYTES>().filter(|_| room == NEXT_BYTES),
        ) {
            *place = *bytes;
            self.received[usize::from(number)] = NEXT_BYTES as u8;
            return;
        }
        let bytes = &bytes[..bytes.len().min(room)];
        self.buffer[start..start + bytes.len()].copy_from_slice(bytes);
        self.received[usize::from(number)] = bytes.len() as u8;
        self.short |= u32::from(bytes.len() < room) << number;
    }

    /// Whether frame `number` is there with the same bytes.
    fn repeats(&self, number: u8, bytes: &[u8]) -> bool {
        let (start, room) = range_of(number);
        let bytes = &bytes[..bytes.len().min(room)];
        self.frames & (1 << number) != 0
            && usize::from(self.received[usize::from(number)]) == bytes.len()
            && self.buffer[start..start + bytes.len()] == *bytes
    }

    fn repeats_first(&self, length: u8, bytes: &[u8]) -> bool {
        self.length == length && self.repeats(0, bytes)
    }

    /// Drops frames held early that the message, now that its length is known, does not have.
    fn drop_beyond_length(&mut self, counters: &mut Counters) {
        let count = frame_count(usize::from(self.length));
        let known = frames_up_to(count);
        counters.beyond_length += u64::from((self.frames & !known).count_ones());
        self.frames &= known;
    }

    /// The slot's own number, and the slot becomes completed, if every byte is there.
    fn complete(&mut self, index: usize) -> Option<usize> {
        if self.state != State::Open {
            return None;
        }
        let count = frame_count(usize::from(self.length));
        if self.frames != frames_up_to(count) {
            return None;
        }
        if self.short != 0 && (0..count as u8).any(|number| self.short_of(number)) {
            return None;
        }
        self.state = State::Done;
        Some(index)
    }

    fn short_of(&self, number: u8) -> bool {
        usize::from(self.received[usize::from(number)]) < self.wanted(number)
    }
}
