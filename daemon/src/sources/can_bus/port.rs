//! The socket itself, and what the kernel tells of the interface. Nothing is decided here.
//!
//! Reading and writing never wait; the engine's thread does, with poll(2), which reports errors whether asked or not: a link that goes down wakes it. A
//! socket pair serves in place of a CAN socket. The `socketcan` crate opens the socket and sets its options.
//!
//! Only [`Mouth`] can write. It is made by [`Port::mouth`] alone, and a thread that only listens never asks for one.

use super::frame_bytes;
use super::link::{Look, errno};
use super::outgoing::Outgoing;
use nix::sys::socket::{MsgFlags, MultiHeaders, recvmmsg};
use rustix::net::{SendFlags, sockopt};
use socketcan::{CanAddr, CanSocket, Socket, SocketOptions};
use std::io::{self, IoSliceMut};
use std::os::fd::{AsFd, AsRawFd, BorrowedFd, OwnedFd};
use std::sync::Arc;

/// Receive buffer asked for, bytes. It holds 10,900 frames: 5.7 s of a full 250 kbit/s bus. The kernel's usual one holds 278.
const RECEIVE_BUFFER: usize = 4 << 20;
/// `SO_MEMINFO` (asm-generic/socket.h); the ninth of its numbers counts what was dropped.
const SO_MEMINFO: i32 = 55;
/// `SOL_SOCKET` (asm-generic/socket.h).
const SOL_SOCKET: i32 = 1;
const MEMINFO_BYTES: usize = 36;
/// Datagrams read with one system call at most: what comes in 17 ms of a full bus.
pub const FRAMES_PER_CALL: usize = 32;
/// `IFF_UP` (linux/if.h).
const IFF_UP: u32 = 1;

/// Where frames come from.
#[derive(Debug)]
pub enum Wire {
    /// A CAN interface, by its name.
    Interface(String),
    /// One end of a socket pair whose datagrams are `struct can_frame`: for measurements.
    Pair(OwnedFd),
}

impl Wire {
    /// Its name for people.
    pub fn name(&self) -> &str {
        match self {
            Self::Interface(name) => name,
            Self::Pair(_) => "socket pair",
        }
    }

    /// Opens it. Gives the port and the index of the interface.
    ///
    /// # Errors
    /// The error number. `EAFNOSUPPORT` if the kernel has no CAN, even if there is no interface of that name.
    pub fn open(&self) -> Result<(Port, u32), i32> {
        match self {
            Self::Interface(name) => open_interface(name),
            Self::Pair(end) => end.try_clone().map(|end| (Port { socket: Arc::new(end), can: None }, 1)),
        }
        .map_err(|error| error.raw_os_error().unwrap_or(errno::ENODEV))
    }

    /// Looks at the interface.
    pub fn look(&self) -> Look {
        let Self::Interface(name) = self else { return Look { index: Some(1), up: true, carrier: None } };
        // A name with a slash never passes the settings, so this stays inside the folder.
        let read = |what: &str| std::fs::read_to_string(format!("/sys/class/net/{name}/{what}")).ok();
        let flags =
            read("flags").and_then(|text| u32::from_str_radix(text.trim().trim_start_matches("0x"), 16).ok());
        Look {
            index: read("ifindex").and_then(|text| text.trim().parse().ok()),
            up: flags.is_some_and(|flags| flags & IFF_UP != 0),
            carrier: read("carrier").map(|text| text.trim() == "1"),
        }
    }
}

fn open_interface(name: &str) -> io::Result<(Port, u32)> {
    let address = CanAddr::from_iface(name).map_err(|error| {
        // Without CAN in the kernel there is no CAN interface either; tell the cause, not the consequence.
        match CanSocket::open_iface(0) {
            Err(cause) if cause.raw_os_error() == Some(errno::EAFNOSUPPORT) => cause,
            _ => error,
        }
    })?;
    let can = CanSocket::open_addr(&address)?;
    can.set_nonblocking(true)?;
    can.set_error_filter_accept_all()?;
    can.set_recv_own_msgs(false)?;
    let forced = sockopt::set_socket_recv_buffer_size_force(&can, RECEIVE_BUFFER);
    if forced.is_err() {
        sockopt::set_socket_recv_buffer_size(&can, RECEIVE_BUFFER)?;
    }
    let socket = can.as_fd().try_clone_to_owned()?;
    Ok((Port { socket: Arc::new(socket), can: Some(can) }, address.ifindex()))
}

/// An open socket: it listens.
#[derive(Debug)]
pub struct Port {
    socket: Arc<OwnedFd>,
    can: Option<CanSocket>,
}

impl Port {
    /// Frames that the kernel dropped on this socket because its buffer was full.
    pub fn lost(&self) -> Option<u64> {
        let mut bytes = [0; MEMINFO_BYTES];
        let read = self.can.as_ref()?.get_socket_option_bytes(SOL_SOCKET, SO_MEMINFO, &mut bytes).ok()?;
        let [a, b, c, d] = *bytes.last_chunk()?;
        (read == MEMINFO_BYTES).then(|| u64::from(u32::from_ne_bytes([a, b, c, d])))
    }

    /// What to wait for.
    pub fn as_fd(&self) -> BorrowedFd<'_> {
        self.socket.as_fd()
    }

    /// A way to write on this socket.
    pub fn mouth(&self) -> Mouth {
        Mouth(self.socket.clone())
    }
}

/// Room for what one system call reads: on a full bus a call for each frame would cost more than all that is done with it.
pub struct Room {
    bytes: Box<[[u8; frame_bytes::SIZE]; FRAMES_PER_CALL]>,
    headers: MultiHeaders<()>,
}

impl Default for Room {
    fn default() -> Self {
        Self {
            bytes: Box::new([[0; frame_bytes::SIZE]; FRAMES_PER_CALL]),
            headers: MultiHeaders::preallocate(FRAMES_PER_CALL, None),
        }
    }
}

impl Room {
    /// Reads what is there, [`FRAMES_PER_CALL`] datagrams at most, or takes the error that waits, without waiting. Gives the number read.
    ///
    /// # Errors
    /// The system's; `WouldBlock` if there is neither.
    pub fn read(&mut self, port: &Port, mut take: impl FnMut(&[u8])) -> io::Result<usize> {
        let mut slices: Vec<[IoSliceMut<'_>; 1]> =
            self.bytes.iter_mut().map(|bytes| [IoSliceMut::new(bytes)]).collect();
        let (socket, flags) = (port.socket.as_raw_fd(), MsgFlags::MSG_DONTWAIT);
        let read = recvmmsg(socket, &mut self.headers, &mut slices, flags, None)?;
        Ok(read.map(|datagram| take(datagram.iovs().next().unwrap_or_default())).count())
    }
}

/// The way to write.
#[derive(Debug)]
pub struct Mouth(Arc<OwnedFd>);

impl Mouth {
    /// Writes what may go now. An error that says something about the link is given back.
    pub fn speak(&self, now: barrico_model::Monotonic, outgoing: &mut Outgoing) -> Result<(), i32> {
        while let Some(frame) = outgoing.next(now) {
            match send(&self.0, &frame_bytes::write(&frame)) {
                Ok(_) => outgoing.wrote(),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => outgoing.full(now),
                Err(error) => match error.raw_os_error().unwrap_or(errno::ENODEV) {
                    errno::ENOBUFS => outgoing.full(now),
                    other => {
                        outgoing.failed();
                        return Err(other);
                    }
                },
            }
        }
        Ok(())
    }
}

fn send(socket: &OwnedFd, bytes: &[u8]) -> io::Result<usize> {
    // A closed end of a socket pair is an error here, not a signal.
    Ok(rustix::net::send(socket, bytes, SendFlags::DONTWAIT | SendFlags::NOSIGNAL)?)
}
