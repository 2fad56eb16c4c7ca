//! The sending side: a payload into frames.

use crate::can_id::CanId;
use crate::frame::Frame;

/// Longest payload: 6 bytes in the first frame, 7 in each of 31 more.
pub const MAX_PAYLOAD: usize = 6 + 31 * 7;
/// Payload bytes of the first frame.
pub(super) const FIRST_BYTES: usize = 6;
/// Payload bytes of each other frame.
pub(super) const NEXT_BYTES: usize = 7;

/// A payload that does not fit a fast packet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("payload of {length} bytes, a fast packet holds {MAX_PAYLOAD}")]
pub struct SplitError {
    /// Bytes of the payload.
    pub length: usize,
}

/// The frames of one message, in order. All have 8 bytes; unused ones are FF.
#[derive(Clone, Debug)]
pub struct Frames<'a> {
    id: CanId,
    payload: &'a [u8],
    sequence: u8,
    next: usize,
}

/// Splits a payload. The sequence (only its low 3 bits are used) counts up by one per message of a group.
///
/// # Errors
/// If the payload has more than [`MAX_PAYLOAD`] bytes.
pub fn split(id: CanId, payload: &[u8], sequence: u8) -> Result<Frames<'_>, SplitError> {
    if payload.len() > MAX_PAYLOAD {
        return Err(SplitError { length: payload.len() });
    }
    Ok(Frames { id, payload, sequence: sequence & 7, next: 0 })
}

/// Frames a payload needs.
pub(super) const fn frame_count(length: usize) -> usize {
    if length <= FIRST_BYTES { 1 } else { 1 + (length - FIRST_BYTES).div_ceil(NEXT_BYTES) }
}

impl Iterator for Frames<'_> {
    type Item = Frame;

    fn next(&mut self) -> Option<Frame> {
        let number = self.next;
        if number >= frame_count(self.payload.len()) {
            return None;
        }
        self.next += 1;
        let mut data = [0xFF; 8];
        data[0] = self.sequence << 5 | number as u8;
        let (start, head) = if number == 0 {
            data[1] = self.payload.len() as u8;
            (0, 2)
        } else {
            (FIRST_BYTES + (number - 1) * NEXT_BYTES, 1)
        };
        let rest = &self.payload[start..];
        let count = rest.len().min(8 - head);
        data[head..head + count].copy_from_slice(&rest[..count]);
        Some(Frame { id: self.id.to_u32(), data, len: 8 })
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = frame_count(self.payload.len()) - self.next;
        (left, Some(left))
    }
}

impl ExactSizeIterator for Frames<'_> {}
