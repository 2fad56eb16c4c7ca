//! NMEA 2000 without sockets: identifiers, fast packets, parameter groups.
//!
//! What is here: taking CAN frames apart, gluing fast packets, reading and writing the fields of the groups this project
//! needs, following which NAME has which address, and lines of candump logs. What is not here: sockets, clocks, files,
//! anything that knows what a watermaker is for. Time is an argument, in milliseconds of a monotonic clock.
//!
//! Nothing here panics on bytes from the bus. What is damaged is dropped and counted.

pub mod can_id;
pub mod candump;
pub mod fast_packet;
pub mod field;
pub mod frame;
pub mod framing;
pub mod name;
pub mod pgn;
pub mod senders;

pub use can_id::CanId;
pub use fast_packet::{Assembler, Message, split};
pub use frame::Frame;
pub use framing::{Framing, framing};
pub use name::{Name, NameParts};
pub use senders::Senders;
