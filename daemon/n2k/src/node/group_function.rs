//! Answers to group functions, 126208.
//!
//! | received, addressed to us | answer |
//! | --- | --- |
//! | request of our information (60928, 126996, 126998, 126464) | the message if all pairs fit and no interval is asked for, else an acknowledge that says what does not |
//! | request of 126993 without pairs, 1 to 60 s or "default" | interval set, one heartbeat. Other intervals: interval error 1. "Send now": PGN error 2, it may not be requested |
//! | request of a group of the owner | [`Output::Asked`]; an interval: interval error 1 |
//! | request of another group | PGN error 1 |
//! | command of 126998, fields 1 and 2 | stored, acknowledged |
//! | command of 60928, fields 3, 4, 8 | stored, acknowledged, claimed again with the new NAME |
//! | command of another group that we send | **refused**: PGN error 3 and parameter error 4 for every pair. Nothing can be started or stopped this way |
//! | command of a group that we do not send | PGN error 1 |
//! | command that changes the priority | priority error 1 |
//! | read or write fields | PGN error 6, or 1 for a group that we do not send |
//! | acknowledge, replies | consumed |
//!
//! What is addressed to everybody is never acknowledged: requests that fit are met, commands ignored. Source: behaviour of
//! ttlappalainen/NMEA2000; the refusal instead of its default "done" is ours.

use super::fields::{self, PairErrors, error};
use super::heartbeat::{ALLOWED_MS, DEFAULT_MS};
use super::information::NETWORK_GROUPS_SENT;
use super::output::{Event, Output};
use super::question::{AskedPairs, Question};
use super::settings::DESCRIPTION_MAX_BYTES;
use super::{Answer, Node};
use crate::can_id::{CanId, GLOBAL, NULL_ADDRESS};
use crate::fast_packet::Message;
use crate::field::read_lau;
use crate::pgn::group_function_126208::{INTERVAL_DEFAULT, INTERVAL_ONCE, OFFSET_NONE};
use crate::pgn::{
    AddressClaim, ConfigurationInformation, GroupAcknowledge, GroupCommand, GroupFunction, GroupRequest,
    Heartbeat, Pair, PgnList, ProductInformation,
};

/// PGN errors of an acknowledge (canboat database).
mod pgn_error {
    pub const NONE: u8 = 0;
    pub const NOT_SUPPORTED: u8 = 1;
    pub const NOT_AVAILABLE: u8 = 2;
    pub const ACCESS_DENIED: u8 = 3;
    pub const READ_WRITE_NOT_SUPPORTED: u8 = 6;
}

/// Interval or priority error "not supported" (canboat database).
const INTERVAL_NOT_SUPPORTED: u8 = 1;
/// Priorities that change nothing: leave it, default, not available.
const PRIORITIES_WITHOUT_CHANGE: [u8; 3] = [8, 9, 15];
/// Priority of what we send of this group, as in the recordings.
const PRIORITY: u8 = 3;

impl Node {
    pub(super) fn handle_group_function(
        &mut self,
        now_ms: u64,
        message: &Message<'_>,
        out: &mut Vec<Output>,
    ) {
        if self.address().is_none() || message.source == NULL_ADDRESS {
            return;
        }
        let addressed = message.destination != GLOBAL;
        match GroupFunction::decode(message.payload) {
            Some(GroupFunction::Request(request)) => {
                self.group_request(now_ms, message.source, addressed, &request, out);
            }
            Some(GroupFunction::Command(command)) if addressed => {
                self.group_command(now_ms, message.source, &command, out);
            }
            Some(GroupFunction::ReadWrite(fields)) if addressed && [3, 5].contains(&fields.function) => {
                let error = if self.sends(fields.pgn) {
                    pgn_error::READ_WRITE_NOT_SUPPORTED
                } else {
                    pgn_error::NOT_SUPPORTED
                };
                self.acknowledge(now_ms, message.source, fields.pgn, (error, 0), Vec::new(), out);
            }
            _ => {}
        }
    }

    fn sends(&self, pgn: u32) -> bool {
        NETWORK_GROUPS_SENT.contains(&pgn) || self.settings.sends.contains(&pgn)
    }

    fn group_request(
        &mut self,
        now_ms: u64,
        by: u8,
        addressed: bool,
        request: &GroupRequest,
        out: &mut Vec<Output>,
    ) {
        let (count, bytes) = (request.pair_count, &request.pairs[..]);
        let compared = |payload: Vec<u8>| fields::compare(request.pgn, &payload, count, bytes);
        let errors = match request.pgn {
            Heartbeat::PGN => {
                self.heartbeat_request(now_ms, by, addressed, request, out);
                return;
            }
            AddressClaim::PGN => compared(self.name().to_bytes().to_vec()),
            ProductInformation::PGN => compared(self.product_information()),
            ConfigurationInformation::PGN => compared(self.configuration_information()),
            PgnList::PGN => fields::each(request.pgn, count, bytes, |pair| match (pair.field, pair.value) {
                (1, [0 | 1]) => error::NONE,
                (1, _) => error::OUT_OF_RANGE,
                _ => error::NOT_SUPPORTED,
            }),
            pgn if self.settings.sends.contains(&pgn) => {
                self.ask_owner(now_ms, by, addressed, request, out);
                return;
            }
            pgn => {
                let error = if self.sends(pgn) { pgn_error::NOT_AVAILABLE } else { pgn_error::NOT_SUPPORTED };
                let none = fields::all(count, bytes, error::NONE);
                self.acknowledge_if(addressed, now_ms, by, pgn, (error, 0), none, out);
                return;
            }
        };
        let interval_error = interval_error(request);
        if interval_error != 0 || errors.iter().any(|error| *error != 0) {
            let errors_of = (pgn_error::NONE, interval_error);
            self.acknowledge_if(addressed, now_ms, by, request.pgn, errors_of, errors, out);
            return;
        }
        match request.pgn {
            AddressClaim::PGN => self.claim_requested(now_ms, out),
            ProductInformation::PGN => self.request(now_ms, Answer::ProductInformation, by, addressed, out),
            ConfigurationInformation::PGN => {
                self.request(now_ms, Answer::ConfigurationInformation, by, addressed, out)
            }
            _ => {
                // The only pair that fits names one of the two lists.
                let kind = (count > 0).then(|| bytes.get(1).copied()).flatten();
                self.request_lists(now_ms, by, kind, out);
            }
        }
    }

    fn heartbeat_request(
        &mut self,
        now_ms: u64,
        by: u8,
        addressed: bool,
        request: &GroupRequest,
        out: &mut Vec<Output>,
    ) {
        let without_pairs = request.pair_count == 0;
        let interval_ms = match request.interval_ms {
            INTERVAL_DEFAULT => DEFAULT_MS,
            interval_ms => interval_ms,
        };
        let has_no_offset = [OFFSET_NONE, 0].contains(&request.offset_10_ms);
        if without_pairs && has_no_offset && ALLOWED_MS.contains(&interval_ms) {
            self.set_heartbeat(now_ms, interval_ms, out);
            return;
        }
        let errors_of = if interval_ms == INTERVAL_ONCE {
            (pgn_error::NOT_AVAILABLE, 0)
        } else {
            (pgn_error::NONE, u8::from(!ALLOWED_MS.contains(&interval_ms) || !has_no_offset))
        };
        let errors = fields::all(request.pair_count, &request.pairs, error::NOT_SUPPORTED);
        self.acknowledge_if(addressed, now_ms, by, Heartbeat::PGN, errors_of, errors, out);
    }

    fn ask_owner(
        &mut self,
        now_ms: u64,
        by: u8,
        addressed: bool,
        request: &GroupRequest,
        out: &mut Vec<Output>,
    ) {
        let interval_error = interval_error(request);
        if interval_error != 0 {
            let none = fields::all(request.pair_count, &request.pairs, error::NONE);
            self.acknowledge_if(addressed, now_ms, by, request.pgn, (0, interval_error), none, out);
        } else if request.pair_count == 0 {
            self.request(now_ms, Answer::Owner(request.pgn), by, addressed, out);
        } else if self.replies.take(now_ms) {
            // Each may be about another alert, so they are not answered together.
            let pairs = Some(AskedPairs { announced: request.pair_count, bytes: request.pairs.clone() });
            out.push(Output::Asked(Question { pgn: request.pgn, by, addressed, pairs }));
        } else {
            self.counters.unanswered += 1;
        }
    }

    /// The owner has no message that fits.
    pub(super) fn refuse_pairs(
        &mut self,
        now_ms: u64,
        question: &Question,
        pairs: &AskedPairs,
        errors: Option<PairErrors>,
        out: &mut Vec<Output>,
    ) {
        let (error, errors) = match errors {
            Some(errors) => (pgn_error::NONE, errors),
            None => (pgn_error::NOT_AVAILABLE, fields::all(pairs.announced, &pairs.bytes, error::NONE)),
        };
        self.acknowledge(now_ms, question.by, question.pgn, (error, 0), errors, out);
    }

    fn group_command(&mut self, now_ms: u64, by: u8, command: &GroupCommand, out: &mut Vec<Output>) {
        let (pgn, count, bytes) = (command.pgn, command.pair_count, &command.pairs[..]);
        let priority_error =
            if PRIORITIES_WITHOUT_CHANGE.contains(&command.priority) { 0 } else { INTERVAL_NOT_SUPPORTED };
        match pgn {
            ConfigurationInformation::PGN => {
                let errors =
                    fields::each(pgn, count, bytes, |pair| self.set_description(now_ms, by, pair, out));
                self.acknowledge(now_ms, by, pgn, (pgn_error::NONE, priority_error), errors, out);
            }
            AddressClaim::PGN => {
                let before = self.name();
                let errors = fields::each(pgn, count, bytes, |pair| self.set_instance(pair));
                self.acknowledge(now_ms, by, pgn, (pgn_error::NONE, priority_error), errors, out);
                if self.name() != before {
                    self.instance_changed(now_ms, by, out);
                }
            }
            _ => {
                let name = self.senders.name_at(by);
                self.tell(now_ms, Event::CommandRefused { pgn, by, name }, out);
                let (of_pgn, of_pair) = if self.sends(pgn) {
                    (pgn_error::ACCESS_DENIED, error::ACCESS_DENIED)
                } else {
                    (pgn_error::NOT_SUPPORTED, error::NONE)
                };
                let errors = fields::all(count, bytes, of_pair);
                self.acknowledge(now_ms, by, pgn, (of_pgn, priority_error), errors, out);
            }
        }
    }

    /// Sets an installation description; gives the error of the pair.
    fn set_description(&mut self, now_ms: u64, by: u8, pair: Pair<'_>, out: &mut Vec<Output>) -> u8 {
        let index = match pair.field {
            1 => 0,
            2 => 1,
            _ => return error::ACCESS_DENIED,
        };
        // Length, encoding, text: a text without its two head bytes cannot be read.
        if pair.value.len() < 2 {
            return error::OUT_OF_RANGE;
        }
        let text = read_lau(pair.value, 0).0.unwrap_or_default();
        if text.len() > DESCRIPTION_MAX_BYTES {
            return error::OUT_OF_RANGE;
        }
        if self.state.description(&self.settings, index) != text {
            self.state.installation_descriptions[index] = Some(text);
            self.store(now_ms, out);
            self.tell(now_ms, Event::DescriptionChanged { number: pair.field, by }, out);
        }
        error::NONE
    }

    /// Sets a part of the instances; gives the error of the pair.
    fn set_instance(&mut self, pair: Pair<'_>) -> u8 {
        let device = self.state.device_instance.unwrap_or(self.settings.device_instance);
        match (pair.field, pair.value) {
            (3, [lower]) if *lower <= 7 => self.state.device_instance = Some(device & 0xF8 | lower),
            (4, [upper]) if *upper <= 31 => self.state.device_instance = Some(device & 7 | upper << 3),
            (8, [system]) if *system <= 15 => self.state.system_instance = Some(*system),
            (3 | 4 | 8, _) => return error::OUT_OF_RANGE,
            _ => return error::ACCESS_DENIED,
        }
        error::NONE
    }

    fn instance_changed(&mut self, now_ms: u64, by: u8, out: &mut Vec<Output>) {
        self.store(now_ms, out);
        let name = self.name();
        let (device_instance, system_instance) = (name.device_instance(), name.system_instance());
        self.tell(now_ms, Event::InstanceChanged { device_instance, system_instance, by }, out);
        self.claim_anew(now_ms, out);
    }

    #[expect(clippy::too_many_arguments, reason = "one condition more than acknowledge")]
    fn acknowledge_if(
        &mut self,
        addressed: bool,
        now_ms: u64,
        to: u8,
        pgn: u32,
        errors_of: (u8, u8),
        parameter_errors: PairErrors,
        out: &mut Vec<Output>,
    ) {
        if addressed {
            self.acknowledge(now_ms, to, pgn, errors_of, parameter_errors, out);
        }
    }

    /// `errors_of`: error of the group, error of interval or priority.
    fn acknowledge(
        &mut self,
        now_ms: u64,
        to: u8,
        pgn: u32,
        (pgn_error, interval_error): (u8, u8),
        parameter_errors: PairErrors,
        out: &mut Vec<Output>,
    ) {
        if !self.replies.take(now_ms) {
            self.counters.unanswered += 1;
            return;
        }
        let acknowledge = GroupAcknowledge { pgn, pgn_error, interval_error, parameter_errors };
        let mut payload = Vec::new();
        GroupFunction::Acknowledge(acknowledge).encode(&mut payload);
        let id = CanId { priority: PRIORITY, pgn: GroupFunction::PGN, source: 0, destination: to };
        self.send_network(now_ms, id, payload, out);
    }
}

/// Error of the interval of a request: only "once", "default" and "stop" without offset change nothing.
fn interval_error(request: &GroupRequest) -> u8 {
    let same = [INTERVAL_ONCE, INTERVAL_DEFAULT, 0].contains(&request.interval_ms);
    if same && [OFFSET_NONE, 0].contains(&request.offset_10_ms) { 0 } else { INTERVAL_NOT_SUPPORTED }
}
