//! `struct can_frame` of the Linux kernel (linux/can.h), as bytes: identifier with three flag bits in the machine's order, length, three bytes of
//! padding, eight data bytes.
//!
//! Read by hand instead of through the `socketcan` crate's types: a full bus is 1,900 frames a second, and each is copied once, straight into the
//! batch that the engine gets.

use super::bus_error::BusError;
use barrico_n2k::Frame;

/// Size of the structure.
pub const SIZE: usize = 16;

/// Flag of a frame with a 29-bit identifier (`CAN_EFF_FLAG`).
const EXTENDED: u32 = 0x8000_0000;
/// Flag of a remote frame (`CAN_RTR_FLAG`).
const REMOTE: u32 = 0x4000_0000;
/// Flag of an error frame (`CAN_ERR_FLAG`).
const ERROR: u32 = 0x2000_0000;

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A data frame with a 29-bit identifier: the only kind that NMEA 2000 uses.
    Frame(Frame),
    /// The driver reports trouble.
    Error(BusError),
    /// 11-bit identifier or remote frame.
    Other,
}

/// Takes a structure apart. `None`: this is no `struct can_frame`.
pub fn read(bytes: &[u8]) -> Option<Heard> {
    let bytes: &[u8; SIZE] = bytes.try_into().ok()?;
    let [a, b, c, d, len, _, _, _, data @ ..] = *bytes;
    let id = u32::from_ne_bytes([a, b, c, d]);
    Some(if id & ERROR != 0 {
        Heard::Error(BusError::new(id & !(EXTENDED | REMOTE | ERROR), data))
    } else if id & EXTENDED == 0 || id & REMOTE != 0 {
        Heard::Other
    } else {
        Heard::Frame(Frame { id: id & Frame::MAX_ID, data, len: len.min(8) })
    })
}

/// The structure of a data frame.
pub fn write(frame: &Frame) -> [u8; SIZE] {
    let mut bytes = [0; SIZE];
    bytes[..4].copy_from_slice(&((frame.id & Frame::MAX_ID) | EXTENDED).to_ne_bytes());
    let payload = frame.payload();
    bytes[4] = payload.len() as u8;
    bytes[8..8 + payload.len()].copy_from_slice(payload);
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use barrico_n2k::CanId;

    fn raw(id: u32, len: u8) -> [u8; SIZE] {
        let mut bytes = [7; SIZE];
        bytes[..4].copy_from_slice(&id.to_ne_bytes());
        bytes[4] = len;
        bytes
    }

    /// Flags and layout: linux/can.h.
    #[test]
    fn what_is_written_is_read_back() {
        for len in 0..=8 {
            let id = CanId { priority: 2, pgn: 126_983, source: 100, destination: 255 };
            let frame = Frame::new(id, &[1, 2, 3, 4, 5, 6, 7, 8][..len]);
            let bytes = write(&frame);
            assert_eq!(u32::from_ne_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]), 0x89F0_0764);
            let Some(Heard::Frame(back)) = read(&bytes) else { panic!("{bytes:?}") };
            assert_eq!((back.id, back.payload()), (frame.id, frame.payload()));
        }
    }

    #[test]
    fn only_extended_data_frames_are_frames() {
        assert_eq!(read(&raw(0x123, 8)), Some(Heard::Other), "11-bit identifier");
        assert_eq!(read(&raw(EXTENDED | REMOTE | 5, 0)), Some(Heard::Other), "remote frame");
        assert!(matches!(read(&raw(ERROR | 0x40, 8)), Some(Heard::Error(_))));
        assert_eq!(read(&[0; 15]), None);
        assert_eq!(read(&[0; 72]), None, "a CAN FD frame is longer");
        let Some(Heard::Frame(frame)) = read(&raw(EXTENDED | 5, 200)) else { panic!() };
        assert_eq!(frame.payload().len(), 8, "a length beyond eight is cut");
    }
}
