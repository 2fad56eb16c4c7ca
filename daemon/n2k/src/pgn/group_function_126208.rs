//! PGN 126208, group functions: request, command, acknowledge, read and write fields.
//!
//! A pair is a field number (counted from 1, reserved fields included) and its value in whole bytes. How long a value is
//! follows from the definition of the group in question, so pairs are kept as bytes here and [`pairs`] takes them apart
//! with the widths the caller knows. Source: canboat's database and ttlappalainen/NMEA2000.
//!
//! Failure: a payload cut short gives fields without value and fewer pairs; the announced number is kept beside.

use crate::field::{Codec, Missing, Reader, Writer, count, plain};

/// A group function.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum GroupFunction {
    /// Function 0: send a group, perhaps with these fields, perhaps at another interval.
    Request(GroupRequest),
    /// Function 1: set fields.
    Command(GroupCommand),
    /// Function 2: answer to a request or command.
    Acknowledge(GroupAcknowledge),
    /// Functions 3 to 6: read or write fields, and the replies. Also functions that nobody has defined.
    ReadWrite(GroupReadWrite),
}

/// Request, function 0.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GroupRequest {
    /// Group in question.
    pub pgn: u32,
    /// Interval wanted, ms, raw: 0 stop, FFFFFFFE restore the default, FFFFFFFF send once now.
    pub interval_ms: u32,
    /// Offset, 10 ms per unit, raw: FFFF none.
    pub offset_10_ms: u16,
    /// Number of pairs announced.
    pub pair_count: u8,
    /// The pairs, not taken apart.
    pub pairs: Vec<u8>,
}

/// Command, function 1.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GroupCommand {
    /// Group in question.
    pub pgn: u32,
    /// Priority wanted: 8 leave, 9 default, 15 not available.
    pub priority: u8,
    /// Number of pairs announced.
    pub pair_count: u8,
    /// The pairs, not taken apart.
    pub pairs: Vec<u8>,
}

/// Acknowledge, function 2.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GroupAcknowledge {
    /// Group in question.
    pub pgn: u32,
    /// What is wrong with the group: 0 nothing, 1 not supported, 2 not available now, 3 access denied, 4 not supported, 5
    /// tag not supported, 6 read or write not supported.
    pub pgn_error: u8,
    /// What is wrong with interval or priority: 0 nothing, 1 not supported, 2 too low, 3 access denied, 4 not supported.
    pub interval_error: u8,
    /// Per parameter: 0 nothing, 1 invalid field, 2 temporarily unable, 3 out of range, 4 access denied, 5 not supported, 6
    /// read or write not supported.
    pub parameter_errors: Vec<u8>,
}

/// Read or write fields.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct GroupReadWrite {
    /// 3 read, 4 read reply, 5 write, 6 write reply; any other as it came.
    pub function: u8,
    /// Group in question.
    pub pgn: u32,
    /// What follows, not taken apart.
    pub rest: Vec<u8>,
}

/// One pair of a request or command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair<'a> {
    /// Number of the field, from 1.
    pub field: u8,
    /// Its value as it stands.
    pub value: &'a [u8],
}

/// How long the value of a field is in a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairWidth {
    /// So many bytes.
    Bytes(usize),
    /// A text with length.
    Text,
}

/// Bit offset of the first byte after function and group number.
const AFTER_PGN: u32 = 32;
/// First byte of the pairs of a request.
const REQUEST_PAIRS: usize = 11;
/// First byte of the pairs of a command.
const COMMAND_PAIRS: usize = 6;
/// First byte of the errors of an acknowledge.
const ACKNOWLEDGE_ERRORS: u32 = 6;
/// First byte of what follows the group number.
const READ_WRITE_REST: usize = 4;

/// Value for "send once, now" in [`GroupRequest::interval_ms`].
pub const INTERVAL_ONCE: u32 = u32::MAX;
/// Value for "restore the default" in [`GroupRequest::interval_ms`].
pub const INTERVAL_DEFAULT: u32 = u32::MAX - 1;
/// Value for "no offset" in [`GroupRequest::offset_10_ms`].
pub const OFFSET_NONE: u16 = u16::MAX;
/// Value for "leave it" in [`GroupCommand::priority`].
pub const PRIORITY_LEAVE: u8 = 8;

impl GroupFunction {
    /// Number of this parameter group.
    pub const PGN: u32 = 126208;

    /// Reads a payload of any length. `None` if not even function and group number are there.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Option<Self> {
        let from = Reader::new(payload);
        let function = *payload.first()?;
        let pgn: u32 = plain(8, 24).read(&from).ok()?;
        let or_ones = |read: Result<u64, Missing>| read.unwrap_or(u64::MAX);
        let tail = |start: usize| payload.get(start..).unwrap_or(&[]).to_vec();
        Some(match function {
            0 => Self::Request(GroupRequest {
                pgn,
                interval_ms: or_ones(from.unsigned(AFTER_PGN, 32)) as u32,
                offset_10_ms: or_ones(from.unsigned(64, 16)) as u16,
                pair_count: from.unsigned(80, 8).unwrap_or(0) as u8,
                pairs: tail(REQUEST_PAIRS),
            }),
            1 => Self::Command(GroupCommand {
                pgn,
                priority: or_ones(from.unsigned(AFTER_PGN, 4)) as u8 & 0xF,
                pair_count: from.unsigned(40, 8).unwrap_or(0) as u8,
                pairs: tail(COMMAND_PAIRS),
            }),
            2 => {
                let announced: u8 = count(40, 8).read(&from).unwrap_or(0);
                let errors = (0..u32::from(announced))
                    .map(|index| from.unsigned(8 * ACKNOWLEDGE_ERRORS + 4 * index, 4));
                Self::Acknowledge(GroupAcknowledge {
                    pgn,
                    pgn_error: or_ones(from.unsigned(AFTER_PGN, 4)) as u8 & 0xF,
                    interval_error: or_ones(from.unsigned(AFTER_PGN + 4, 4)) as u8 & 0xF,
                    parameter_errors: errors.map_while(Result::ok).map(|error| error as u8).collect(),
                })
            }
            _ => Self::ReadWrite(GroupReadWrite { function, pgn, rest: tail(READ_WRITE_REST) }),
        })
    }

    /// Group in question.
    #[must_use]
    pub fn pgn(&self) -> u32 {
        match self {
            Self::Request(request) => request.pgn,
            Self::Command(command) => command.pgn,
            Self::Acknowledge(acknowledge) => acknowledge.pgn,
            Self::ReadWrite(read_write) => read_write.pgn,
        }
    }

    /// Appends the payload.
    pub fn encode(&self, out: &mut Vec<u8>) {
        match self {
            Self::Request(request) => {
                let mut to = head(out, 0, request.pgn, REQUEST_PAIRS);
                to.unsigned(AFTER_PGN, 32, u64::from(request.interval_ms));
                to.unsigned(64, 16, u64::from(request.offset_10_ms));
                to.unsigned(80, 8, u64::from(request.pair_count));
                out.extend_from_slice(&request.pairs);
            }
            Self::Command(command) => {
                let mut to = head(out, 1, command.pgn, COMMAND_PAIRS);
                to.unsigned(AFTER_PGN, 4, u64::from(command.priority.min(0xF)));
                to.unsigned(40, 8, u64::from(command.pair_count));
                out.extend_from_slice(&command.pairs);
            }
            Self::Acknowledge(acknowledge) => {
                let errors = &acknowledge.parameter_errors[..acknowledge.parameter_errors.len().min(0xFC)];
                let length = ACKNOWLEDGE_ERRORS as usize + errors.len().div_ceil(2);
                let mut to = head(out, 2, acknowledge.pgn, length);
                to.unsigned(AFTER_PGN, 4, u64::from(acknowledge.pgn_error.min(0xF)));
                to.unsigned(AFTER_PGN + 4, 4, u64::from(acknowledge.interval_error.min(0xF)));
                to.unsigned(40, 8, errors.len() as u64);
                for (index, error) in (0u32..).zip(errors) {
                    to.unsigned(8 * ACKNOWLEDGE_ERRORS + 4 * index, 4, u64::from((*error).min(0xF)));
                }
            }
            Self::ReadWrite(read_write) => {
                head(out, read_write.function, read_write.pgn, READ_WRITE_REST);
                out.extend_from_slice(&read_write.rest);
            }
        }
    }
}

fn head(out: &mut Vec<u8>, function: u8, pgn: u32, length: usize) -> Writer<'_> {
    let mut to = Writer::append(out, length);
    to.unsigned(0, 8, u64::from(function));
    to.unsigned(8, 24, u64::from(pgn));
    to
}

/// Takes pairs apart with the widths `width_of` knows. Stops at the first field without a known width (it is given with
/// an empty value), at the end of the bytes, or after `announced` pairs.
pub fn pairs<'a>(
    bytes: &'a [u8],
    announced: u8,
    width_of: impl Fn(u8) -> Option<PairWidth>,
) -> impl Iterator<Item = Pair<'a>> {
    let mut rest = Some(bytes);
    (0..announced).map_while(move |_| {
        let [field, values @ ..] = rest.take()? else { return None };
        let width = match width_of(*field) {
            Some(PairWidth::Bytes(bytes)) => bytes,
            Some(PairWidth::Text) => usize::from(*values.first()?),
            None => return Some(Pair { field: *field, value: &[] }),
        };
        let (value, after) = values.split_at_checked(width)?;
        rest = Some(after);
        Some(Pair { field: *field, value })
    })
}
