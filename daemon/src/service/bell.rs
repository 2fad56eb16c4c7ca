//! Wakes the engine's thread while it waits for the bus too: a queue alone cannot be waited for together with a socket.

use rustix::event::{EventfdFlags, PollFd, PollFlags, eventfd, poll};
use std::os::fd::{BorrowedFd, OwnedFd};
use std::time::Duration;

/// An event counter of the kernel.
#[derive(Debug)]
pub struct Bell(OwnedFd);

impl Bell {
    /// A silent one.
    ///
    /// # Errors
    /// The process has too many open files.
    pub fn new() -> std::io::Result<Self> {
        Ok(Self(eventfd(0, EventfdFlags::NONBLOCK | EventfdFlags::CLOEXEC)?))
    }

    /// Wakes who waits, now or when it waits next.
    pub fn ring(&self) {
        // It can only be full of rings, and then the thread wakes anyway.
        let _ = rustix::io::write(&self.0, &1_u64.to_ne_bytes());
    }

    /// Waits for a ring, for something to read on `also`, or for this long. True: there is something to read.
    pub fn wait(&self, also: Option<BorrowedFd<'_>>, longest: Duration) -> bool {
        let longest = longest.try_into().ok();
        let bell = PollFd::new(&self.0, PollFlags::IN);
        let happened = |fd: &PollFd<'_>| !fd.revents().is_empty();
        // An error means interrupted by a signal: the caller looks again.
        let (rung, readable) = match also {
            Some(also) => {
                let mut both = [bell, PollFd::from_borrowed_fd(also, PollFlags::IN)];
                let woken = poll(&mut both, longest.as_ref()).is_ok();
                (woken && happened(&both[0]), woken && happened(&both[1]))
            }
            None => {
                let mut one = [bell];
                (poll(&mut one, longest.as_ref()).is_ok() && happened(&one[0]), false)
            }
        };
        if rung {
            // Nothing to read means that nobody rang.
            let _ = rustix::io::read(&self.0, &mut [0; 8]);
        }
        readable
    }
}
