//! Alerts: 126983 alert, 126984 response, 126985 text, 126986 configuration, 126987 threshold, 126988 value.
//!
//! All are fast packets with priority 2 and share the first 16 bytes. Source: the canboat PGN database; it marks
//! 126986, 126987 and 126988 as uncertain in fields, lengths and resolution: they are read, and not to be sent.
//! Not here: when an alert is raised, repeated or acknowledged.

use super::macros::{codes, group};
use crate::field::{Codec, Reader, Writer, code, count, flag, name, plain, plain_code};
use crate::name::Name;

codes! {
    /// How serious an alert is.
    pub enum AlertType {
        /// Danger to life or ship, act at once.
        EmergencyAlarm = 1,
        /// Act at once.
        Alarm = 2,
        /// Attention needed.
        Warning = 5,
        /// Worth knowing.
        Caution = 8,
    }
}

codes! {
    /// What an alert is about.
    pub enum AlertCategory {
        /// Navigation.
        Navigational = 0,
        /// Machinery.
        Technical = 1,
    }
}

codes! {
    /// What set the alert off.
    pub enum TriggerCondition {
        /// A person.
        Manual = 0,
        /// A measurement.
        Auto = 1,
        /// A test.
        Test = 2,
        /// Nothing, it is switched off.
        Disabled = 3,
    }
}

codes! {
    /// Where the value is in relation to its threshold.
    pub enum ThresholdStatus {
        /// Within limits.
        Normal = 0,
        /// Beyond the limit.
        Exceeded = 1,
        /// Far beyond the limit.
        ExtremeExceeded = 2,
        /// Below the lower limit.
        LowExceeded = 3,
        /// Acknowledged.
        Acknowledged = 4,
        /// Waiting for somebody to acknowledge.
        AwaitingAcknowledge = 5,
    }
}

codes! {
    /// Where an alert is in its life.
    pub enum AlertState {
        /// Switched off.
        Disabled = 0,
        /// Not active.
        Normal = 1,
        /// Active.
        Active = 2,
        /// Active, sound switched off for a while.
        Silenced = 3,
        /// Active, somebody has taken note.
        Acknowledged = 4,
        /// No longer active, nobody has taken note yet.
        AwaitingAcknowledge = 5,
    }
}

codes! {
    /// What a response asks for.
    pub enum ResponseCommand {
        /// Take note.
        Acknowledge = 0,
        /// Switch the sound off for a while.
        TemporarySilence = 1,
        /// End the test.
        TestOff = 2,
        /// Start a test.
        TestOn = 3,
    }
}

group! {
    /// The first 16 bytes of every alert group: which alert.
    pub struct AlertHead, 16 bytes {
        /// How serious.
        alert_type: AlertType = code(0, 4);
        /// About what.
        category: AlertCategory = code(4, 4);
        /// System; the list is not public.
        system: u8 = count(8, 8);
        /// Part of the system.
        sub_system: u8 = count(16, 8);
        /// Number of the alert, chosen by the sender.
        alert_id: u16 = count(24, 16);
        /// NAME of the device the data comes from.
        data_source_name: Name = name(40);
        /// Instance of the data.
        data_source_instance: u8 = count(104, 8);
        /// Index or source of the data.
        data_source_index: u8 = count(112, 8);
        /// How often the alert has become active.
        occurrence: u8 = count(120, 8);
    }
}

group! {
    /// Alert, PGN 126983, 28 bytes.
    pub struct Alert = 126983, 28 bytes {
        @part
        /// Which alert.
        head: AlertHead;
        /// The sound is off for a while.
        temporary_silence: bool = flag(128);
        /// Somebody has taken note.
        acknowledged: bool = flag(129);
        /// It has become more serious.
        escalated: bool = flag(130);
        /// The sound can be switched off for a while.
        temporary_silence_supported: bool = flag(131);
        /// Taking note is possible.
        acknowledge_supported: bool = flag(132);
        /// It can become more serious.
        escalation_supported: bool = flag(133);
        /// NAME of the device where somebody took note.
        acknowledge_source_name: Name = name(136);
        /// What set it off.
        trigger_condition: TriggerCondition = code(200, 4);
        /// Value in relation to the threshold.
        threshold_status: ThresholdStatus = code(204, 4);
        /// Priority; its meaning is not public.
        priority: u8 = count(208, 8);
        /// Where it is in its life.
        state: AlertState = code(216, 8);
    }
}

group! {
    /// Alert response, PGN 126984, 25 bytes.
    pub struct AlertResponse = 126984, 25 bytes {
        @part
        /// Which alert.
        head: AlertHead;
        /// NAME of the device that answers.
        acknowledge_source_name: Name = name(128);
        /// What is asked for.
        command: ResponseCommand = plain_code(192, 2);
    }
}

codes! {
    /// Language of a text.
    pub enum Language {
        /// English as in the United States.
        EnglishUs = 0,
        /// English as in the United Kingdom.
        EnglishUk = 1,
        /// Arabic.
        Arabic = 2,
        /// Chinese.
        Chinese = 3,
        /// Croatian.
        Croatian = 4,
        /// Danish.
        Danish = 5,
        /// Dutch.
        Dutch = 6,
        /// Finnish.
        Finnish = 7,
        /// French.
        French = 8,
        /// German.
        German = 9,
        /// Greek.
        Greek = 10,
        /// Italian.
        Italian = 11,
        /// Japanese.
        Japanese = 12,
        /// Korean.
        Korean = 13,
        /// Norwegian.
        Norwegian = 14,
        /// Polish.
        Polish = 15,
        /// Portuguese.
        Portuguese = 16,
        /// Russian.
        Russian = 17,
        /// Spanish.
        Spanish = 18,
        /// Swedish.
        Swedish = 19,
    }
}

group! {
    /// Alert text, PGN 126985: 17 bytes and two texts. Each text is cut at 101 bytes, so that both fit a fast packet.
    pub struct AlertText = 126985, 17 bytes {
        @part
        /// Which alert.
        head: AlertHead;
        /// Language of both texts.
        language: Language = code(128, 8);
        @texts 101 {
            /// What is wrong.
            description;
            /// Where.
            location;
        }
    }
}

group! {
    /// Alert configuration, PGN 126986, 20 bytes. Uncertain; the unit of the periods is not known.
    pub struct AlertConfiguration = 126986, 20 bytes {
        @part
        /// Which alert.
        head: AlertHead;
        /// Alert control.
        control: u8 = count(128, 2);
        /// User defined assignment.
        user_defined_assignment: u8 = count(130, 2);
        /// Reactivation period, unit unknown.
        reactivation_period: u8 = count(136, 8);
        /// Temporary silence period, unit unknown.
        temporary_silence_period: u8 = count(144, 8);
        /// Escalation period, unit unknown.
        escalation_period: u8 = count(152, 8);
    }
}

group! {
    /// One parameter of an alert threshold.
    pub struct AlertThresholdParameter, 11 bytes {
        /// Number of the parameter.
        parameter: u8 = count(0, 8);
        /// How the alert is triggered.
        trigger_method: u8 = count(8, 8);
        /// Format of the level.
        data_format: u8 = count(16, 8);
        /// Level, as it stands.
        level: u64 = plain(24, 64);
    }
}

group! {
    /// One parameter of an alert value.
    pub struct AlertValueParameter, 10 bytes {
        /// Number of the parameter.
        parameter: u8 = count(0, 8);
        /// Format of the value.
        data_format: u8 = count(8, 8);
        /// Value, as it stands.
        value: u64 = plain(16, 64);
    }
}

/// Byte that holds the number of parameters in 126987 and 126988.
const PARAMETER_COUNT_BIT: u32 = 128;
/// First parameter of 126987 and 126988.
const FIRST_PARAMETER: usize = 17;

/// Alert threshold, PGN 126987. Uncertain, never sent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AlertThreshold {
    /// Which alert.
    pub head: AlertHead,
    /// Number of parameters announced.
    pub parameter_count: Option<u8>,
    /// Parameters that are fully in the payload.
    pub parameters: Vec<AlertThresholdParameter>,
}

impl AlertThreshold {
    /// Number of this parameter group.
    pub const PGN: u32 = 126987;

    /// Reads a payload of any length.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let (head, parameter_count, parts) = parameters(payload, AlertThresholdParameter::LENGTH);
        Self { head, parameter_count, parameters: parts.map(AlertThresholdParameter::decode).collect() }
    }

    /// Appends the payload, for tests of readers. Not to be sent: the layout is uncertain.
    pub fn encode(&self, out: &mut Vec<u8>) {
        encode_head(&self.head, self.parameters.len(), out);
        for parameter in &self.parameters {
            parameter.encode(out);
        }
    }
}

/// Alert value, PGN 126988. Uncertain, never sent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AlertValue {
    /// Which alert.
    pub head: AlertHead,
    /// Number of parameters announced.
    pub parameter_count: Option<u8>,
    /// Parameters that are fully in the payload.
    pub parameters: Vec<AlertValueParameter>,
}

impl AlertValue {
    /// Number of this parameter group.
    pub const PGN: u32 = 126988;

    /// Reads a payload of any length.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let (head, parameter_count, parts) = parameters(payload, AlertValueParameter::LENGTH);
        Self { head, parameter_count, parameters: parts.map(AlertValueParameter::decode).collect() }
    }

    /// Appends the payload, for tests of readers. Not to be sent: the layout is uncertain.
    pub fn encode(&self, out: &mut Vec<u8>) {
        encode_head(&self.head, self.parameters.len(), out);
        for parameter in &self.parameters {
            parameter.encode(out);
        }
    }
}

fn parameters(payload: &[u8], length: usize) -> (AlertHead, Option<u8>, impl Iterator<Item = &[u8]>) {
    let from = Reader::new(payload);
    let announced: Option<u8> = count(PARAMETER_COUNT_BIT, 8).read(&from).ok();
    let parts = payload.get(FIRST_PARAMETER..).unwrap_or(&[]).chunks_exact(length);
    (AlertHead::read(&from), announced, parts.take(usize::from(announced.unwrap_or(0))))
}

fn encode_head(head: &AlertHead, parameters: usize, out: &mut Vec<u8>) {
    let mut to = Writer::append(out, FIRST_PARAMETER);
    head.write(&mut to);
    count(PARAMETER_COUNT_BIT, 8).write(&mut to, Some(parameters as u64));
}
