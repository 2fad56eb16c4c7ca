//! A request for a message that only the owner of the data can give.

use super::fields::{self, PairErrors};

/// Somebody asks for a group of the owner (59904, or 126208 with or without pairs).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Group asked for.
    pub pgn: u32,
    /// Address of who asks.
    pub by: u8,
    /// Whether the question was put to this node; then a refusal is told, otherwise not.
    pub addressed: bool,
    /// Pairs of a group function request; `None` for an ISO request.
    pub(super) pairs: Option<AskedPairs>,
}

/// Pairs as they came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct AskedPairs {
    pub(super) announced: u8,
    pub(super) bytes: Vec<u8>,
}

impl Question {
    /// What of the pairs does not fit a payload of the group asked for. Empty for an ISO request.
    pub(super) fn errors(&self, payload: &[u8]) -> PairErrors {
        match &self.pairs {
            Some(pairs) => fields::compare(self.pgn, payload, pairs.announced, &pairs.bytes),
            None => PairErrors::default(),
        }
    }
}
