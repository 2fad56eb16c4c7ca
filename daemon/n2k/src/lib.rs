//! NMEA 2000 without sockets: identifiers, fast packets, parameter groups.
//!
//! What is here: taking CAN frames apart, gluing fast packets, reading and writing the fields of the groups this project
//! needs, following which NAME has which address, being a node of the network, and lines of candump logs. What is not
//! here: sockets, clocks, files, anything that knows what a watermaker is for. Time is an argument, in milliseconds of a monotonic clock.
//!
//! Nothing here panics on bytes from the bus. What is damaged is dropped and counted.
//!
//! ```
//! use barrico_n2k::candump::{Kind, parse_line};
//! use barrico_n2k::pgn::{self, Content, TemperatureSource};
//! use barrico_n2k::Assembler;
//!
//! let line = parse_line(b"(1700000000.000000) can0 15FD0823#FF0000C571FFFFFF")?;
//! let Kind::Data(frame) = line.kind else { return Ok(()) };
//! let mut assembler = Assembler::new();
//! if let Some(message) = assembler.push(0, frame.can_id(), frame.payload())
//!     && let Some(Content::Temperature(temperature)) = pgn::decode(message.pgn, message.payload)
//! {
//!     assert_eq!(temperature.source, Some(TemperatureSource::Sea));
//!     assert_eq!(temperature.actual_temperature_k, Some(291.25));
//! }
//! # Ok::<(), barrico_n2k::candump::LineError>(())
//! ```

pub mod can_id;
pub mod candump;
pub mod fast_packet;
pub mod field;
pub mod frame;
pub mod framing;
pub mod name;
pub mod node;
pub mod pgn;
pub mod senders;
pub mod transport;

pub use can_id::CanId;
pub use fast_packet::{Assembler, Message, split};
pub use frame::Frame;
pub use framing::{Framing, framing};
pub use name::{Name, NameParts};
pub use node::{Node, Nodes};
pub use senders::Senders;
pub use transport::Transport;
