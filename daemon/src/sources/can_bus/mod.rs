//! The boat network through a Linux CAN interface (SocketCAN): one socket for reading and writing, on the engine's own thread.
//!
//! [`link`] decides what the errors of the socket mean, [`outgoing`] what is written when; both are pure. [`port`] makes the system calls, [`bus`]
//! puts them together. The link never ends: an interface that is absent, down, removed or off the bus is a state, told to the engine once per change,
//! and the bus comes back without a restart.
//!
//! A socket does not read its own frames. It does read those of every other program on this computer.

mod bus;
mod bus_error;
mod frame_bytes;
pub mod link;
pub mod outgoing;
mod port;
mod words;

pub use bus::{Brought, CanBus};
pub use port::Wire;
