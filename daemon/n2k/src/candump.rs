//! Lines of candump logs: `(1700000000.123456) can0 19FE0723#0102030405060708`.
//!
//! Format: the log format of `candump -L` in can-utils. An optional direction (` R` or ` T`) may follow. Remote frames
//! (`#R`), CAN FD frames (`##`), 11-bit identifiers (three digits) and error frames (error flag in the identifier) are
//! told apart and carry no data here: they are not NMEA 2000.
//!
//! Failure: a line that is not of this form gives an error that names the column; nothing panics and nothing allocates.

use crate::frame::Frame;

/// One line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line<'a> {
    /// Time stamp, microseconds since 1970-01-01.
    pub time_us: i64,
    /// Name of the interface.
    pub interface: &'a [u8],
    /// What was seen.
    pub kind: Kind,
    /// Direction, if the log has it.
    pub direction: Option<Direction>,
}

/// What a line shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A data frame with a 29-bit identifier.
    Data(Frame),
    /// A data frame with an 11-bit identifier: not NMEA 2000.
    Standard,
    /// A remote frame: not NMEA 2000.
    Remote,
    /// A CAN FD frame: not NMEA 2000.
    FlexibleDataRate,
    /// An error frame, with its error class bits (`linux/can/error.h`).
    Error {
        /// Error class.
        class: u32,
    },
}

/// Direction of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Received.
    Received,
    /// Sent by the recording machine.
    Transmitted,
}

/// What is wrong with a line. Columns count from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// Nothing on the line.
    #[error("empty line")]
    Empty,
    /// No `(seconds.fraction)` at the start.
    #[error("column {column}: expected a time like (1700000000.123456)")]
    Time {
        /// Where.
        column: usize,
    },
    /// No interface name.
    #[error("column {column}: expected an interface name")]
    Interface {
        /// Where.
        column: usize,
    },
    /// The identifier is not 3 or 8 hexadecimal digits followed by `#`.
    #[error("column {column}: expected an identifier of 3 or 8 hexadecimal digits and #")]
    Identifier {
        /// Where.
        column: usize,
    },
    /// The data is not pairs of hexadecimal digits.
    #[error("column {column}: expected pairs of hexadecimal digits")]
    Data {
        /// Where.
        column: usize,
    },
    /// More than eight data bytes.
    #[error("column {column}: more than 8 data bytes")]
    TooLong {
        /// Where.
        column: usize,
    },
    /// Something follows that is not a direction.
    #[error("column {column}: expected R, T or the end of the line")]
    Rest {
        /// Where.
        column: usize,
    },
}

/// Value of each hexadecimal digit; [`NOT_HEX`] for everything else.
static HEX: [u8; 256] = {
    let mut table = [NOT_HEX; 256];
    let mut digit = 0;
    while digit < 16u8 {
        table[b"0123456789ABCDEF"[digit as usize] as usize] = digit;
        table[b"0123456789abcdef"[digit as usize] as usize] = digit;
        digit += 1;
    }
    table
};
const NOT_HEX: u8 = 0xFF;

/// Error flag in the identifier (`CAN_ERR_FLAG`).
const ERROR_FLAG: u32 = 0x2000_0000;

/// Digits of the seconds beyond which the time would not fit microseconds in 63 bits.
const MAX_SECOND_DIGITS: usize = 12;

/// Reads one line, with or without its line end.
///
/// # Errors
/// If the line is not of the form described above.
#[inline]
pub fn parse_line(line: &[u8]) -> Result<Line<'_>, LineError> {
    let line = line.trim_ascii_end();
    if line.is_empty() {
        return Err(LineError::Empty);
    }
    let (time_us, after_time) = parse_time(line)?;
    let length = line[after_time..].iter().position(|byte| *byte == b' ').unwrap_or(0);
    if length == 0 {
        return Err(LineError::Interface { column: after_time + 1 });
    }
    let interface = &line[after_time..after_time + length];
    let id_start = after_time + length + 1;
    let text = &line[id_start..];
    let (kind, used) = parse_frame(text, id_start)?;
    let direction = parse_direction(line, id_start + used)?;
    Ok(Line { time_us, interface, kind, direction })
}

/// Time and the column after it and one blank.
#[inline]
fn parse_time(line: &[u8]) -> Result<(i64, usize), LineError> {
    if let Some(head) = line.first_chunk()
        && let Some(time_us) = usual_time(head)
    {
        return Ok((time_us, USUAL_TIME_BYTES));
    }
    parse_unusual_time(line)
}

/// Bytes of `(1700000000.123456) `.
const USUAL_TIME_BYTES: usize = 20;

/// A time with ten digits before and six behind the point, as nearly all logs have it.
#[inline]
fn usual_time(head: &[u8; USUAL_TIME_BYTES]) -> Option<i64> {
    let [b'(', seconds @ .., b')', b' '] = head else { return None };
    let (seconds, [b'.', fraction @ ..]) = seconds.split_first_chunk::<10>()? else { return None };
    let [first @ .., tens, units] = seconds;
    let first = eight_digits(first)?;
    let last = eight_digits(&[b'0', b'0', b'0', b'0', b'0', b'0', *tens, *units])?;
    let [a, b, c, d, e, f] = fraction else { return None };
    let fraction = eight_digits(&[b'0', b'0', *a, *b, *c, *d, *e, *f])?;
    Some((first * 100 + last) * 1_000_000 + fraction)
}

/// Eight decimal digits at once: first pairs, then groups of four, then all are added up within one 64-bit number.
#[inline]
fn eight_digits(digits: &[u8; 8]) -> Option<i64> {
    const HIGH: u64 = 0xF0F0_F0F0_F0F0_F0F0;
    const ZEROS: u64 = 0x3030_3030_3030_3030;
    let text = u64::from_le_bytes(*digits);
    // Every byte is 3x, and still is after adding 6.
    if text & HIGH != ZEROS || text.wrapping_add(0x0606_0606_0606_0606) & HIGH != ZEROS {
        return None;
    }
    let ones = text - ZEROS;
    let pairs = ones.wrapping_mul(10).wrapping_add(ones >> 8);
    let low = (pairs & 0x0000_00FF_0000_00FF).wrapping_mul(100 + (1_000_000 << 32));
    let high = (pairs >> 16 & 0x0000_00FF_0000_00FF).wrapping_mul(1 + (10_000 << 32));
    Some((low.wrapping_add(high) >> 32) as i64)
}

fn parse_unusual_time(line: &[u8]) -> Result<(i64, usize), LineError> {
    let error = |column: usize| Err(LineError::Time { column: column + 1 });
    if line[0] != b'(' {
        return error(0);
    }
    let (seconds, digits) = decimal(&line[1..]);
    let mut at = 1 + digits;
    if digits == 0 || digits > MAX_SECOND_DIGITS || line.get(at) != Some(&b'.') {
        return error(at);
    }
    at += 1;
    let (mut fraction, digits) = decimal(&line[at..]);
    if digits == 0 || digits > 9 {
        return error(at);
    }
    for _ in digits..6 {
        fraction *= 10;
    }
    for _ in 6..digits {
        fraction /= 10;
    }
    at += digits;
    if line.get(at..at + 2) != Some(b") ") {
        return error(at);
    }
    Ok((seconds * 1_000_000 + fraction, at + 2))
}

/// Value and number of the decimal digits at the start. More than 18 digits are read as 19.
#[inline]
fn decimal(text: &[u8]) -> (i64, usize) {
    let mut value = 0;
    let mut digits = 0;
    for byte in text.iter().take(19) {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        digits += 1;
        if digits < 19 {
            value = value * 10 + i64::from(digit);
        }
    }
    (value, digits)
}

/// What follows the interface: the kind of frame and the bytes used up. `start` is the column before `text`.
#[inline]
fn parse_frame(text: &[u8], start: usize) -> Result<(Kind, usize), LineError> {
    let (id, data_start, extended) = match text {
        _ if text.get(8) == Some(&b'#') => (hex_number(&text[..8]), 9, true),
        _ if text.get(3) == Some(&b'#') => (hex_number(&text[..3]), 4, false),
        _ => (None, 0, false),
    };
    let Some(id) = id else {
        let bad = text.iter().take(8).position(|byte| HEX[usize::from(*byte)] == NOT_HEX);
        return Err(LineError::Identifier { column: start + 1 + bad.unwrap_or(text.len().min(8)) });
    };
    let rest = &text[data_start..];
    if let Some(b'R' | b'#') = rest.first() {
        let word = rest.iter().position(|byte| *byte == b' ').unwrap_or(rest.len());
        let kind = if rest[0] == b'R' { Kind::Remote } else { Kind::FlexibleDataRate };
        return Ok((kind, data_start + word));
    }
    let (data, len, used) = parse_data(rest, start + data_start)?;
    let kind = if !extended {
        Kind::Standard
    } else if id & ERROR_FLAG != 0 {
        Kind::Error { class: id & Frame::MAX_ID }
    } else if id <= Frame::MAX_ID {
        Kind::Data(Frame { id, data, len })
    } else {
        return Err(LineError::Identifier { column: start + 1 });
    };
    Ok((kind, data_start + used))
}

#[inline]
fn hex_number(digits: &[u8]) -> Option<u32> {
    let mut value = 0;
    let mut wrong = 0;
    for byte in digits {
        let digit = HEX[usize::from(*byte)];
        wrong |= digit;
        value = value << 4 | u32::from(digit & 0xF);
    }
    if wrong < 16 { Some(value) } else { None }
}

/// Data bytes, their number, and the characters used up (with a length code behind, if any).
#[inline]
fn parse_data(text: &[u8], start: usize) -> Result<([u8; 8], u8, usize), LineError> {
    if text.len() == 16
        && let (pairs, []) = text.as_chunks()
        && let Some(data) = eight_bytes(pairs)
    {
        return Ok((data, 8, 16));
    }
    let mut data = [0xFF; 8];
    let mut len = 0;
    for pair in text.chunks(2) {
        let high = HEX[usize::from(pair[0])];
        if high == NOT_HEX && matches!(pair[0], b' ' | b'_') {
            break;
        }
        let low = pair.get(1).map_or(NOT_HEX, |byte| HEX[usize::from(*byte)]);
        if (high | low) > 0xF {
            let column = start + 1 + 2 * len + usize::from(high <= 0xF);
            return Err(LineError::Data { column });
        }
        if len == 8 {
            return Err(LineError::TooLong { column: start + 1 + 16 });
        }
        data[len] = high << 4 | low;
        len += 1;
    }
    let mut used = 2 * len;
    // can-utils writes the raw length code of a classic frame as `_9` to `_F` behind eight bytes.
    if len == 8
        && let Some([b'_', code]) = text.get(16..18)
        && (9..=15).contains(&HEX[usize::from(*code)])
    {
        used += 2;
    }
    Ok((data, len as u8, used))
}

/// Eight bytes, all in one go; `None` if a digit is not hexadecimal.
#[inline]
fn eight_bytes(pairs: &[[u8; 2]]) -> Option<[u8; 8]> {
    let mut data = [0; 8];
    let mut wrong = 0;
    for (byte, [high, low]) in data.iter_mut().zip(pairs) {
        let (high, low) = (HEX[usize::from(*high)], HEX[usize::from(*low)]);
        wrong |= high | low;
        *byte = high << 4 | low;
    }
    if wrong < 16 { Some(data) } else { None }
}

#[inline]
fn parse_direction(line: &[u8], at: usize) -> Result<Option<Direction>, LineError> {
    match line.get(at..).unwrap_or(&[]) {
        [] => Ok(None),
        [b' ', b'R'] => Ok(Some(Direction::Received)),
        [b' ', b'T'] => Ok(Some(Direction::Transmitted)),
        _ => Err(LineError::Rest { column: at + 1 }),
    }
}

/// The lines of a log, without their line ends. Faster than a search byte by byte.
pub fn lines(log: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut rest = log;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let (line, after) = match line_end(rest) {
            Some(end) => (&rest[..end], &rest[end + 1..]),
            None => (rest, &[][..]),
        };
        rest = after;
        Some(line)
    })
}

/// Place of the first line end. Sixteen bytes at a time, without a branch per byte.
#[inline]
fn line_end(text: &[u8]) -> Option<usize> {
    let (blocks, tail) = text.as_chunks::<16>();
    for (index, block) in blocks.iter().enumerate() {
        if block.iter().fold(false, |found, byte| found | (*byte == b'\n')) {
            return block.iter().position(|byte| *byte == b'\n').map(|place| 16 * index + place);
        }
    }
    tail.iter().position(|byte| *byte == b'\n').map(|place| text.len() - tail.len() + place)
}

/// Appends one line with its line end. Times before 1970 are written as 0.
pub fn write_line(out: &mut Vec<u8>, time_us: i64, interface: &str, frame: &Frame) {
    let time_us = time_us.max(0) as u64;
    out.push(b'(');
    push_decimal(out, time_us / 1_000_000, 10);
    out.push(b'.');
    push_decimal(out, time_us % 1_000_000, 6);
    out.extend_from_slice(b") ");
    out.extend_from_slice(interface.as_bytes());
    out.push(b' ');
    push_hex(out, &(frame.id & Frame::MAX_ID).to_be_bytes());
    out.push(b'#');
    push_hex(out, frame.payload());
    out.push(b'\n');
}

fn push_hex(out: &mut Vec<u8>, bytes: &[u8]) {
    const DIGITS: &[u8; 16] = b"0123456789ABCDEF";
    for byte in bytes {
        out.extend_from_slice(&[DIGITS[usize::from(byte >> 4)], DIGITS[usize::from(byte & 0xF)]]);
    }
}

/// A number with leading zeros up to `width` digits.
fn push_decimal(out: &mut Vec<u8>, value: u64, width: usize) {
    let mut digits = [b'0'; 20];
    let mut rest = value;
    let mut start = digits.len();
    while rest > 0 || digits.len() - start < width {
        start -= 1;
        digits[start] = b'0' + (rest % 10) as u8;
        rest /= 10;
    }
    out.extend_from_slice(&digits[start..]);
}

#[cfg(test)]
mod tests;
