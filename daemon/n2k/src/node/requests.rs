//! Answers to ISO requests (59904), and what is done with acknowledgements (59392).
//!
//! | asked for | answer |
//! | --- | --- |
//! | 60928 | claim, also while claiming |
//! | 126996, 126998 | the message to everybody, at most once a second; requests in between are answered together |
//! | 126464 | both lists, to who asked |
//! | 126993 | refusal: the heartbeat may not be requested (canboat database, text of a corrigendum) |
//! | a group of the owner | [`Output::Asked`], at most once a second |
//! | anything else | refusal |
//!
//! Refusals (negative acknowledgements) go to who asked, and only if the request was put to us; all 292 recorded ones do so. A request
//! to everybody that cannot be met is met with silence. While claiming nothing but the claim is answered.

use super::limits::{LISTS_MS, LISTS_WAITING, SAME_ANSWER_MS};
use super::outbox::Urgency;
use super::output::{Event, Output};
use super::question::Question;
use super::timers::Timer;
use super::{Answer, Node};
use crate::can_id::{CanId, GLOBAL, NULL_ADDRESS};
use crate::fast_packet::Message;
use crate::pgn::{
    Acknowledgement, AddressClaim, ConfigurationInformation, Content, Heartbeat, IsoAcknowledgement,
    IsoRequest, PgnList, ProductInformation,
};

/// An answer to everybody: when it was given last, and whether it was asked for since.
#[derive(Clone, Debug)]
struct Repeated {
    answer: Answer,
    given_ms: u64,
    waiting: Option<Waiting>,
}

/// Who waits for an answer: the latest who asked.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    by: u8,
    addressed: bool,
}

/// What others have asked for and not got yet.
#[derive(Clone, Debug, Default)]
pub(super) struct Requests {
    /// One per kind of answer: bounded by the groups of the settings.
    repeated: Vec<Repeated>,
    /// Who waits for the lists, and which list (`None` for both).
    lists: Vec<(u8, Option<u8>)>,
    lists_given_ms: Option<u64>,
}

impl Requests {
    pub(super) fn clear(&mut self) {
        for repeated in &mut self.repeated {
            repeated.waiting = None;
        }
        self.lists.clear();
    }
}

impl Node {
    pub(super) fn handle_request(&mut self, now_ms: u64, message: &Message<'_>, out: &mut Vec<Output>) {
        let Some(pgn) = IsoRequest::decode(message.payload).pgn else { return };
        if pgn == AddressClaim::PGN {
            self.claim_requested(now_ms, out);
            return;
        }
        if self.address().is_none() {
            return;
        }
        let addressed = message.destination != GLOBAL;
        match pgn {
            ProductInformation::PGN => {
                self.request(now_ms, Answer::ProductInformation, message.source, addressed, out)
            }
            ConfigurationInformation::PGN => {
                self.request(now_ms, Answer::ConfigurationInformation, message.source, addressed, out);
            }
            PgnList::PGN => self.request_lists(now_ms, message.source, None, out),
            _ if pgn != Heartbeat::PGN && self.settings.sends.contains(&pgn) => {
                self.request(now_ms, Answer::Owner(pgn), message.source, addressed, out);
            }
            _ if addressed => self.refuse(now_ms, message.source, pgn, out),
            _ => {}
        }
    }

    /// Gives an answer to everybody now, or when the last one is a second old.
    pub(super) fn request(
        &mut self,
        now_ms: u64,
        answer: Answer,
        by: u8,
        addressed: bool,
        out: &mut Vec<Output>,
    ) {
        let known = self.requests.repeated.iter_mut().find(|repeated| repeated.answer == answer);
        if let Some(repeated) = known
            && now_ms < repeated.given_ms + SAME_ANSWER_MS
        {
            repeated.waiting = Some(Waiting { by, addressed });
            self.plan_answers();
            return;
        }
        self.give(now_ms, answer, Waiting { by, addressed }, out);
    }

    /// Gives an answer that nobody has asked for.
    pub(super) fn give_answer(&mut self, now_ms: u64, answer: Answer, out: &mut Vec<Output>) {
        self.request(now_ms, answer, NULL_ADDRESS, false, out);
    }

    fn give(&mut self, now_ms: u64, answer: Answer, to: Waiting, out: &mut Vec<Output>) {
        match self.requests.repeated.iter_mut().find(|repeated| repeated.answer == answer) {
            Some(repeated) => (repeated.given_ms, repeated.waiting) = (now_ms, None),
            None => self.requests.repeated.push(Repeated { answer, given_ms: now_ms, waiting: None }),
        }
        match answer {
            Answer::ProductInformation => self.send_product_information(now_ms, out),
            Answer::ConfigurationInformation => self.send_configuration_information(now_ms, out),
            Answer::Heartbeat => self.send_heartbeat(now_ms, out),
            Answer::Owner(pgn) => {
                out.push(Output::Asked(Question { pgn, by: to.by, addressed: to.addressed, pairs: None }));
            }
        }
    }

    fn plan_answers(&mut self) {
        let waiting = self.requests.repeated.iter().filter(|repeated| repeated.waiting.is_some());
        let next_ms = waiting.map(|repeated| repeated.given_ms + SAME_ANSWER_MS).min();
        self.timers.set(Timer::Answers, next_ms);
    }

    pub(super) fn answers_due(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        let is_claimed = self.address().is_some();
        for index in 0..self.requests.repeated.len() {
            let repeated = &mut self.requests.repeated[index];
            if now_ms < repeated.given_ms + SAME_ANSWER_MS {
                continue;
            }
            if let Some(waiting) = repeated.waiting.take()
                && is_claimed
            {
                let answer = repeated.answer;
                self.give(now_ms, answer, waiting, out);
            }
        }
        self.plan_answers();
    }

    /// Sends the lists of groups to who asked, one requester after the other.
    pub(super) fn request_lists(&mut self, now_ms: u64, by: u8, kind: Option<u8>, out: &mut Vec<Output>) {
        if by == NULL_ADDRESS || self.requests.lists.contains(&(by, kind)) {
            return;
        }
        if self.requests.lists.len() >= LISTS_WAITING {
            self.counters.unanswered += 1;
            return;
        }
        self.requests.lists.push((by, kind));
        if self.timers.at(Timer::Lists).is_none() {
            self.lists_due(now_ms, out);
        }
    }

    pub(super) fn lists_due(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        let next_ms = self.requests.lists_given_ms.map_or(0, |at_ms| at_ms + LISTS_MS);
        if now_ms < next_ms {
            self.timers.set(Timer::Lists, next_ms);
            return;
        }
        if self.requests.lists.is_empty() || self.address().is_none() {
            self.requests.lists.clear();
            return;
        }
        let (by, kind) = self.requests.lists.remove(0);
        self.requests.lists_given_ms = Some(now_ms);
        self.send_lists(now_ms, by, kind, out);
        if !self.requests.lists.is_empty() {
            self.timers.set(Timer::Lists, now_ms + LISTS_MS);
        }
    }

    /// Negative acknowledgement to who asked.
    pub(super) fn refuse(&mut self, now_ms: u64, to: u8, pgn: u32, out: &mut Vec<Output>) {
        if to == NULL_ADDRESS {
            return;
        }
        if !self.replies.take(now_ms) {
            self.counters.unanswered += 1;
            return;
        }
        let refusal = IsoAcknowledgement {
            control: Some(Acknowledgement::Negative),
            group_function: None,
            pgn: Some(pgn),
        };
        let mut payload = Vec::new();
        refusal.encode(&mut payload);
        let id = CanId { priority: 6, pgn: IsoAcknowledgement::PGN, source: 0, destination: to };
        self.send_network(now_ms, id, payload, out);
    }

    pub(super) fn handle_acknowledgement(
        &mut self,
        now_ms: u64,
        message: &Message<'_>,
        out: &mut Vec<Output>,
    ) {
        let acknowledgement = IsoAcknowledgement::decode(message.payload);
        let (Some(control), Some(pgn)) = (acknowledgement.control, acknowledgement.pgn) else { return };
        // Undefined codes occur on real networks (191 was recorded) and say nothing.
        if !matches!(control, Acknowledgement::Other(_)) && message.destination != GLOBAL {
            self.tell(now_ms, Event::AcknowledgeReceived { control, pgn, by: message.source }, out);
        }
    }

    /// Answers [`Output::Asked`]: all current messages of the group, each with its priority, or none. Those that the question is about
    /// are sent; when there is none, who asked is told so.
    pub fn answer(
        &mut self,
        now_ms: u64,
        question: &Question,
        current: &[(u8, Content)],
        out: &mut Vec<Output>,
    ) {
        if self.address().is_none() {
            return;
        }
        let mut first_errors = None;
        let mut is_met = false;
        for (priority, content) in current.iter().filter(|(_, content)| content.pgn() == question.pgn) {
            let mut payload = Vec::new();
            content.encode(&mut payload);
            let errors = question.errors(&payload);
            if errors.iter().all(|error| *error == 0) {
                is_met = true;
                let id = CanId { priority: *priority, pgn: question.pgn, source: 0, destination: GLOBAL };
                self.outbox.push(Urgency::Status, id, payload, &mut self.counters);
            } else {
                first_errors.get_or_insert(errors);
            }
        }
        if is_met {
            self.pump(now_ms, out);
        } else if question.addressed {
            match &question.pairs {
                None => self.refuse(now_ms, question.by, question.pgn, out),
                Some(pairs) => self.refuse_pairs(now_ms, question, pairs, first_errors, out),
            }
        }
        self.plan(now_ms);
    }
}
