//! The heartbeat, 126993: every 60 s, and once when its interval is changed by a group function request.

use super::outbox::Urgency;
use super::output::Output;
use super::timers::Timer;
use super::{Answer, Node};
use crate::can_id::{CanId, GLOBAL};
use crate::pgn::{ControllerState, EquipmentStatus, Heartbeat};

/// Interval unless it is changed, ms (canboat database; all recorded senders).
pub(super) const DEFAULT_MS: u32 = 60_000;
/// Shortest and longest interval that may be asked for, ms (canboat database, text of a corrigendum).
pub(super) const ALLOWED_MS: core::ops::RangeInclusive<u32> = 1_000..=60_000;
/// The counter goes from 0 to here and then to 0.
const COUNTER_MAX: u8 = 252;

/// State of the heartbeat.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beat {
    pub(super) interval_ms: u32,
    counter: u8,
    pub(super) controller: ControllerState,
    pub(super) equipment: EquipmentStatus,
}

impl Default for Beat {
    fn default() -> Self {
        Self {
            interval_ms: DEFAULT_MS,
            counter: 0,
            controller: ControllerState::ErrorActive,
            equipment: EquipmentStatus::Operational,
        }
    }
}

impl Node {
    /// An address was claimed.
    pub(super) fn begin_heartbeat(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.timers.set(Timer::Heartbeat, now_ms + u64::from(self.beat.interval_ms));
        self.give_answer(now_ms, Answer::Heartbeat, out);
    }

    pub(super) fn heartbeat_due(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.timers.set(Timer::Heartbeat, now_ms + u64::from(self.beat.interval_ms));
        self.give_answer(now_ms, Answer::Heartbeat, out);
    }

    /// Another interval, told at once by one heartbeat.
    pub(super) fn set_heartbeat(&mut self, now_ms: u64, interval_ms: u32, out: &mut Vec<Output>) {
        self.beat.interval_ms = interval_ms;
        self.heartbeat_due(now_ms, out);
    }

    pub(super) fn send_heartbeat(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        let beat = Heartbeat {
            interval_ms: Some(f64::from(self.beat.interval_ms)),
            sequence_counter: Some(self.beat.counter),
            controller_1: Some(self.beat.controller),
            controller_2: None,
            equipment: Some(self.beat.equipment),
        };
        self.beat.counter = if self.beat.counter >= COUNTER_MAX { 0 } else { self.beat.counter + 1 };
        let mut payload = Vec::new();
        beat.encode(&mut payload);
        let id = CanId { priority: 7, pgn: Heartbeat::PGN, source: 0, destination: GLOBAL };
        self.outbox.push(Urgency::Network, id, payload, &mut self.counters);
        self.pump(now_ms, out);
    }
}
