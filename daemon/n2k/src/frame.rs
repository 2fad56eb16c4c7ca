//! One CAN frame as NMEA 2000 uses it: 29-bit identifier, up to eight data bytes.
//!
//! Not here: 11-bit, remote, error and CAN FD frames. They never become a [`Frame`]; the log parser and the socket
//! code report them by kind.

use crate::can_id::CanId;

/// A classic CAN data frame with a 29-bit identifier.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Frame {
    /// The 29-bit identifier, without any flag bits.
    pub id: u32,
    /// Data bytes; those from `len` on carry nothing.
    pub data: [u8; 8],
    /// Number of data bytes [0-8].
    pub len: u8,
}

impl Frame {
    /// Largest 29-bit identifier.
    pub const MAX_ID: u32 = 0x1FFF_FFFF;

    /// A frame from an identifier and at most eight bytes; bytes after the eighth are cut off.
    #[must_use]
    pub fn new(id: CanId, bytes: &[u8]) -> Self {
        let len = bytes.len().min(8);
        let mut data = [0xFF; 8];
        data[..len].copy_from_slice(&bytes[..len]);
        Self { id: id.to_u32(), data, len: len as u8 }
    }

    /// The bytes that carry data.
    #[inline]
    #[must_use]
    pub fn payload(&self) -> &[u8] {
        &self.data[..usize::from(self.len).min(8)]
    }

    /// The identifier taken apart.
    #[inline]
    #[must_use]
    pub fn can_id(&self) -> CanId {
        CanId::from_u32(self.id)
    }
}
