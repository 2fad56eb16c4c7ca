//! The network groups of ISO 11783: acknowledgement 59392, request 59904, address claim 60928. Single frames.

use super::macros::{codes, group};
use crate::field::{code, count, name, plain};
use crate::name::Name;

codes! {
    /// Answer to a request.
    pub enum Acknowledgement {
        /// Done.
        Positive = 0,
        /// Not known or not possible.
        Negative = 1,
        /// Not allowed.
        AccessDenied = 2,
        /// Address is busy.
        AddressBusy = 3,
    }
}

group! {
    /// Acknowledgement, PGN 59392, 8 bytes. Undefined control codes occur on real networks and are to be ignored.
    pub struct IsoAcknowledgement = 59392, 8 bytes {
        /// Kind of answer.
        control: Acknowledgement = code(0, 8);
        /// Group function.
        group_function: u8 = count(8, 8);
        /// Group the answer is about.
        pgn: u32 = plain(40, 24);
    }
}

group! {
    /// Request for a group, PGN 59904, 3 bytes and never padded.
    pub struct IsoRequest = 59904, 3 bytes {
        /// Group asked for.
        pgn: u32 = plain(0, 24);
    }
}

group! {
    /// Address claim, PGN 60928: the NAME of the sender.
    pub struct AddressClaim = 60928, 8 bytes {
        /// NAME of the sender.
        name: Name = name(0);
    }
}
