//! What is put on the bus, and when.
//!
//! | message | when |
//! | --- | --- |
//! | 130567 status | every 2.5 s per unit of the settings, once no other sender was heard for that unit for 60 s; stops at once when one appears |
//! | 126985 alert text | before the first 126983 of an occurrence, then every 10 s |
//! | 126983 alert | at once when it changes, then every second while it is active, three times after it ended |

use super::{AlertRecord, AlertState, Engine, Output};
use crate::intake::stream::Field;
use crate::publish::n2k;
use barrico_model::Monotonic;
use barrico_n2k::{CanId, Name, split};
use std::collections::BTreeMap;

/// Interval of PGN 130567, ms (an open-source library's default; the only source known).
const STATUS_MS: u64 = 2_500;
/// Silence of every other sender before we speak for a unit, ms.
const ALONE_MS: u64 = 60_000;
/// Interval of the alert text, ms (same source).
const TEXT_MS: u64 = 10_000;
/// An ended alert is told so often.
const FAREWELLS: u8 = 3;
/// Source address in frames that go to a log. On a real bus the address is claimed first.
const LOG_ADDRESS: u8 = 100;

/// What was said and when.
#[derive(Clone, Debug, Default)]
pub struct Speaker {
    status_at: BTreeMap<usize, Monotonic>,
    text_at: BTreeMap<(usize, u16, u8), Monotonic>,
    farewell: BTreeMap<(usize, u16, u8), (AlertRecord, u8)>,
    sequence: BTreeMap<u32, u8>,
    scratch: Vec<u8>,
}

impl Engine {
    pub(super) fn speak(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            if self.units[unit].is_boat {
                continue;
            }
            self.speak_status(now, unit, out);
            for (alert, _) in self.units[unit].alerts.active() {
                self.speak_alert(now, unit, &alert, out);
            }
        }
        self.speak_ended(now, out);
    }

    fn speak_status(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        let due = self.speaker.status_at.get(&unit).is_none_or(|at| at.plus_ms(STATUS_MS) <= now);
        if !due || now < Monotonic(ALONE_MS) || self.other_sender(now, unit) {
            return;
        }
        self.speaker.status_at.insert(unit, now);
        let this = &self.units[unit];
        let status = n2k::status(this.operating.state, &this.readings.current);
        self.send(130_567, 6, |payload| status.encode(payload), out);
    }

    /// Has another sender spoken for this unit within the last minute?
    fn other_sender(&self, now: Monotonic, unit: usize) -> bool {
        let readings = &self.units[unit].readings;
        let streams = readings.arbiters().iter().flat_map(|arbiter| arbiter.streams());
        streams
            .map(|index| &self.bus.streams[index])
            .any(|stream| matches!(stream.key.field, Field::Status(_)) && now < stream.at.plus_ms(ALONE_MS))
    }

    fn speak_alert(&mut self, now: Monotonic, unit: usize, alert: &AlertRecord, out: &mut Vec<Output>) {
        let key = speaker_key(unit, alert);
        let text_due = self.speaker.text_at.get(&key).is_none_or(|at| at.plus_ms(TEXT_MS) <= now);
        if text_due {
            self.speaker.text_at.insert(key, now);
            let name = self.units[unit].settings.name.clone();
            let text = n2k::alert_text(alert, unit, &name, Name(0));
            self.send(126_985, 2, |payload| text.encode(payload), out);
        }
        let message = n2k::alert(alert, unit, Name(0));
        self.send(126_983, 2, |payload| message.encode(payload), out);
        self.speaker.farewell.remove(&key);
    }

    /// An alert changed: said at once, and when it ended said again twice.
    pub(super) fn speak_change(
        &mut self,
        now: Monotonic,
        unit: usize,
        alert: &AlertRecord,
        out: &mut Vec<Output>,
    ) {
        if !self.options.transmit {
            return;
        }
        if alert.state.is_active() {
            self.speak_alert(now, unit, alert, out);
        } else {
            let key = speaker_key(unit, alert);
            self.speaker.text_at.remove(&key);
            self.speaker.farewell.insert(key, (alert.clone(), FAREWELLS));
        }
    }

    fn speak_ended(&mut self, _now: Monotonic, out: &mut Vec<Output>) {
        let ended: Vec<((usize, u16, u8), AlertRecord)> =
            self.speaker.farewell.iter().map(|(key, (alert, _))| (*key, alert.clone())).collect();
        for (key, alert) in ended {
            let message = n2k::alert(&alert, key.0, Name(0));
            self.send(126_983, 2, |payload| message.encode(payload), out);
            if let Some((_, left)) = self.speaker.farewell.get_mut(&key) {
                *left -= 1;
                if *left == 0 {
                    self.speaker.farewell.remove(&key);
                }
            }
        }
    }

    /// The program stops: displays must not wait for alerts that nobody will repeat.
    pub(super) fn speak_farewell(&mut self, _now: Monotonic, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            for (mut alert, _) in self.units[unit].alerts.active() {
                alert.state = AlertState::Cleared;
                let message = n2k::alert(&alert, unit, Name(0));
                self.send(126_983, 2, |payload| message.encode(payload), out);
            }
        }
    }

    fn send(&mut self, pgn: u32, priority: u8, encode: impl FnOnce(&mut Vec<u8>), out: &mut Vec<Output>) {
        let payload = &mut self.speaker.scratch;
        payload.clear();
        encode(payload);
        let sequence = self.speaker.sequence.entry(pgn).or_insert(0);
        let id = CanId { priority, pgn, source: LOG_ADDRESS, destination: 255 };
        // Our own messages are shorter than the longest fast packet by construction.
        if let Ok(frames) = split(id, payload, *sequence) {
            out.extend(frames.map(Output::Transmit));
        }
        *sequence = (*sequence + 1) & 7;
    }
}

fn speaker_key(unit: usize, alert: &AlertRecord) -> (usize, u16, u8) {
    (unit, n2k::alert_id(alert, unit), alert.about.map_or(0, |quantity| quantity as u8 + 1))
}
