//! PGN 126464: the groups a device sends or uses. Fast packet, addressed to who asked.

use super::macros::codes;
use crate::field::Code;

codes! {
    /// Which list.
    pub enum PgnListKind {
        /// Groups the device sends.
        Transmit = 0,
        /// Groups the device uses.
        Receive = 1,
    }
}

/// Bytes of one group number.
const PGN_BYTES: usize = 3;
/// Group numbers that fit a fast packet: (223 - 1) / 3.
pub const MAX_PGNS: usize = 74;

/// A list of group numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PgnList {
    /// Which list.
    pub kind: PgnListKind,
    /// Group numbers.
    pub pgns: Vec<u32>,
}

impl PgnList {
    /// Number of this parameter group.
    pub const PGN: u32 = 126464;

    /// Reads a payload of any length; an empty one is an empty list of unknown kind.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let (kind, numbers) = payload.split_first().unwrap_or((&u8::MAX, &[]));
        let pgns = numbers.chunks_exact(PGN_BYTES).map(|pgn| u32::from_le_bytes([pgn[0], pgn[1], pgn[2], 0]));
        Self { kind: PgnListKind::from_raw(*kind), pgns: pgns.collect() }
    }

    /// Appends the payload; group numbers beyond [`MAX_PGNS`] are left out.
    pub fn encode(&self, out: &mut Vec<u8>) {
        out.push(self.kind.to_raw());
        for pgn in self.pgns.iter().take(MAX_PGNS) {
            out.extend_from_slice(&pgn.to_le_bytes()[..PGN_BYTES]);
        }
    }
}
