//! What is put on the bus, and when.
//!
//! | message | when |
//! | --- | --- |
//! | 130567 status | every 2.5 s per unit of the settings, once no other sender was heard for that unit for 60 s; stops at once when one appears |
//! | 130316 temperature, 130314 pressure | every 2 s, only what barrico alone has: read by a person within the last ten minutes |
//! | 126985 alert text | before the first 126983 of an occurrence, then every 10 s |
//! | 126983 alert | at once when it changes, then every second while it is active, three times after it ended |
//! | any of these | at once when another device asks for it |
//!
//! Each unit speaks through its own node ([`super::network`]): without an address nothing goes out.

use super::{AlertRecord, AlertState, Engine, Output};
use crate::intake::stream::Field;
use crate::publish::n2k::{self, Answered};
use barrico_model::Monotonic;
use barrico_model::records::{Origin, Reading};
use barrico_n2k::Name;
use barrico_n2k::node::{AlertAnswer, Urgency, alert_answer};
use barrico_n2k::pgn::{Alert, AlertResponse, AlertText, Content, ResponseCommand, WatermakerStatus};
use std::collections::BTreeMap;

/// Interval of PGN 130567, ms (an open-source library's default; the only source known).
const STATUS_MS: u64 = 2_500;
/// Silence of every other sender before we speak for a unit, ms.
const ALONE_MS: u64 = 60_000;
/// Interval of temperatures and pressures, ms (default of the open canboat database).
const VALUES_MS: u64 = 2_000;
/// A reading by hand is a present value for displays for so long, ms; later it is history (our choice).
const HAND_LIVE_MS: u64 = 600_000;
/// Interval of the alert text, ms (source as for 130567).
const TEXT_MS: u64 = 10_000;
/// An ended alert is told so often.
const FAREWELLS: u8 = 3;
/// A display's "silence for a while" lasts so long, ms (our choice; the standard's own figure is not public).
pub const SILENCE_MS: u64 = 300_000;
/// Priorities (open library ttlappalainen/NMEA2000; canboat database for values).
const ALERT_PRIORITY: u8 = 2;
const STATUS_PRIORITY: u8 = 6;
const VALUE_PRIORITY: u8 = 5;

/// Unit, number on the bus and instance of an alert.
type Key = (usize, u16, u8);

/// What was said and when, and what displays answered.
#[derive(Clone, Debug, Default)]
pub struct Speaker {
    status_at: BTreeMap<usize, Monotonic>,
    values_at: BTreeMap<usize, Monotonic>,
    text_at: BTreeMap<Key, Monotonic>,
    farewell: BTreeMap<Key, (AlertRecord, u8)>,
    answers: BTreeMap<Key, DisplayAnswer>,
}

/// What a display answered to one occurrence of an alert.
#[derive(Clone, Copy, Debug)]
struct DisplayAnswer {
    occurrence: u32,
    silent_until: Option<Monotonic>,
    acknowledged_by: Option<Name>,
}

impl Engine {
    pub(super) fn speak(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            if self.units[unit].is_boat {
                continue;
            }
            self.speak_status(now, unit, out);
            self.speak_values(now, unit, out);
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
        let status = self.status(now, unit);
        self.send(now, unit, Urgency::Status, STATUS_PRIORITY, &status, out);
    }

    fn status(&self, now: Monotonic, unit: usize) -> Content {
        let this = &self.units[unit];
        let live: Vec<Option<Reading>> = this
            .readings
            .current
            .iter()
            .map(|reading| reading.filter(|reading| is_live(now, reading)))
            .collect();
        Content::WatermakerStatus(n2k::status(this.operating.state, &live))
    }

    /// Has another sender spoken for this unit within the last minute?
    fn other_sender(&self, now: Monotonic, unit: usize) -> bool {
        let readings = &self.units[unit].readings;
        let streams = readings.arbiters().iter().flat_map(|arbiter| arbiter.streams());
        streams
            .map(|index| &self.bus.streams[index])
            .any(|stream| matches!(stream.key.field, Field::Status(_)) && now < stream.at.plus_ms(ALONE_MS))
    }

    fn speak_values(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        if self.speaker.values_at.get(&unit).is_some_and(|at| now < at.plus_ms(VALUES_MS)) {
            return;
        }
        let own = self.own_values(now, unit);
        if own.is_empty() {
            return;
        }
        self.speaker.values_at.insert(unit, now);
        for content in own {
            self.send(now, unit, Urgency::Status, VALUE_PRIORITY, &content, out);
        }
    }

    /// Messages of readings that nobody else on the bus has.
    fn own_values(&self, now: Monotonic, unit: usize) -> Vec<Content> {
        let readings = self.units[unit].readings.current.iter().flatten();
        readings
            .filter(|reading| matches!(reading.origin, Origin::Hand { .. }) && is_live(now, reading))
            .filter_map(|reading| n2k::value(reading, unit))
            .collect()
    }

    fn speak_alert(&mut self, now: Monotonic, unit: usize, alert: &AlertRecord, out: &mut Vec<Output>) {
        let key = speaker_key(unit, alert);
        let text_due = self.speaker.text_at.get(&key).is_none_or(|at| at.plus_ms(TEXT_MS) <= now);
        if text_due
            && let Some(text) = self.alert_text(unit, alert)
            && self.send(now, unit, Urgency::Alert, ALERT_PRIORITY, &text, out)
        {
            self.speaker.text_at.insert(key, now);
        }
        if let Some(message) = self.alert_message(now, unit, alert) {
            self.send(now, unit, Urgency::Alert, ALERT_PRIORITY, &message, out);
        }
        self.speaker.farewell.remove(&key);
    }

    fn alert_message(&self, now: Monotonic, unit: usize, alert: &AlertRecord) -> Option<Content> {
        let name = self.network.name(unit)?;
        let answer = self.speaker.answers.get(&speaker_key(unit, alert));
        let answer = answer.filter(|answer| answer.occurrence == alert.occurrence);
        let answered = Answered {
            silent: answer.is_some_and(|answer| answer.silent_until.is_some_and(|until| now < until)),
            by: answer.and_then(|answer| answer.acknowledged_by),
        };
        Some(Content::Alert(n2k::alert(alert, unit, name, answered)))
    }

    fn alert_text(&self, unit: usize, alert: &AlertRecord) -> Option<Content> {
        let name = self.network.name(unit)?;
        Some(Content::AlertText(n2k::alert_text(alert, unit, &self.units[unit].settings.name, name)))
    }

    /// All messages of a group as they are now, with their priority: the answer to a question of another device.
    pub(super) fn present_messages(&self, now: Monotonic, unit: usize, pgn: u32) -> Vec<(u8, Content)> {
        let alerts = || self.units[unit].alerts.active().into_iter().map(|(alert, _)| alert);
        match pgn {
            WatermakerStatus::PGN if self.other_sender(now, unit) => vec![],
            WatermakerStatus::PGN => vec![(STATUS_PRIORITY, self.status(now, unit))],
            Alert::PGN => alerts()
                .filter_map(|alert| Some((ALERT_PRIORITY, self.alert_message(now, unit, &alert)?)))
                .collect(),
            AlertText::PGN => {
                alerts().filter_map(|alert| Some((ALERT_PRIORITY, self.alert_text(unit, &alert)?))).collect()
            }
            _ => {
                let own = self.own_values(now, unit).into_iter().filter(|content| content.pgn() == pgn);
                own.map(|content| (VALUE_PRIORITY, content)).collect()
            }
        }
    }

    /// A display answers to an alert. What is about another device's alert, or about an earlier occurrence, changes nothing.
    pub(super) fn alert_answered(
        &mut self,
        now: Monotonic,
        address: u8,
        response: &AlertResponse,
        out: &mut Vec<Output>,
    ) {
        for unit in 0..self.units.len() {
            let Some(name) = self.network.name(unit) else { continue };
            for (alert, _) in self.units[unit].alerts.active() {
                let head = n2k::head(&alert, unit, name);
                if alert_answer(response, &head) == AlertAnswer::This {
                    self.answer_one(now, unit, &alert, (address, response), out);
                }
            }
        }
    }

    fn answer_one(
        &mut self,
        now: Monotonic,
        unit: usize,
        alert: &AlertRecord,
        (address, response): (u8, &AlertResponse),
        out: &mut Vec<Output>,
    ) {
        let key = speaker_key(unit, alert);
        let mut answer =
            DisplayAnswer { occurrence: alert.occurrence, silent_until: None, acknowledged_by: None };
        if let Some(known) =
            self.speaker.answers.get(&key).filter(|known| known.occurrence == alert.occurrence)
        {
            answer = *known;
        }
        match response.command {
            Some(ResponseCommand::Acknowledge) => {
                answer.acknowledged_by = response.acknowledge_source_name;
                self.speaker.answers.insert(key, answer);
                let by = self.device(address);
                self.acknowledge(now, unit, (alert.code, alert.about), alert.occurrence, &by, out);
            }
            Some(ResponseCommand::TemporarySilence) => {
                answer.silent_until = Some(now.plus_ms(SILENCE_MS));
                self.speaker.answers.insert(key, answer);
                self.speak_alert(now, unit, alert, out);
            }
            // Tests are not offered.
            _ => {}
        }
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
            self.speaker.answers.remove(&key);
            self.speaker.farewell.insert(key, (alert.clone(), FAREWELLS));
        }
    }

    fn speak_ended(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        let ended: Vec<(Key, AlertRecord)> =
            self.speaker.farewell.iter().map(|(key, (alert, _))| (*key, alert.clone())).collect();
        for (key, alert) in ended {
            if let Some(message) = self.alert_message(now, key.0, &alert) {
                self.send(now, key.0, Urgency::Alert, ALERT_PRIORITY, &message, out);
            }
            if let Some((_, left)) = self.speaker.farewell.get_mut(&key) {
                *left -= 1;
                if *left == 0 {
                    self.speaker.farewell.remove(&key);
                }
            }
        }
    }

    /// The program stops: displays must not wait for alerts that nobody will repeat.
    pub(super) fn speak_farewell(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            for (mut alert, _) in self.units[unit].alerts.active() {
                alert.state = AlertState::Cleared;
                if let Some(message) = self.alert_message(now, unit, &alert) {
                    self.send(now, unit, Urgency::Alert, ALERT_PRIORITY, &message, out);
                }
            }
        }
    }
}

/// Is it what a display may show as the present value?
fn is_live(now: Monotonic, reading: &Reading) -> bool {
    !matches!(reading.origin, Origin::Hand { .. }) || now < reading.at.plus_ms(HAND_LIVE_MS)
}

fn speaker_key(unit: usize, alert: &AlertRecord) -> Key {
    (unit, n2k::alert_id(alert, unit), alert.about.map_or(0, |quantity| quantity as u8 + 1))
}
