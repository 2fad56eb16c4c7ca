//! What reaches the engine's thread from the others: a bounded queue with a bell.

use super::bell::Bell;
use crate::engine::{Command, Input, Reply};
use barrico_n2k::Frame;
use std::os::fd::BorrowedFd;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, TryRecvError, TrySendError, sync_channel};
use std::time::Duration;

/// Letters that may wait. A batch of frames is one letter: this is seconds of a full bus.
const LETTERS_MAX: usize = 1_024;

/// One letter.
pub enum Letter {
    /// Frames from the bus, in order.
    Frames(Vec<Frame>),
    /// Any other input.
    Input(Input),
    /// A command, and whom to answer.
    Command(Box<Command>, Box<dyn FnOnce(Reply) + Send>),
}

/// The sending end.
#[derive(Clone)]
pub struct Mailbox {
    queue: SyncSender<Letter>,
    bell: Arc<Bell>,
}

/// The receiving end.
pub struct Letters {
    queue: Receiver<Letter>,
    bell: Arc<Bell>,
}

/// Nobody can send any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AllGone;

/// A new mailbox and its receiving end.
///
/// # Errors
/// The process has too many open files.
pub fn mailbox() -> std::io::Result<(Mailbox, Letters)> {
    let (sender, receiver) = sync_channel(LETTERS_MAX);
    let bell = Arc::new(Bell::new()?);
    Ok((Mailbox { queue: sender, bell: bell.clone() }, Letters { queue: receiver, bell }))
}

impl Mailbox {
    /// Puts a letter in and waits for room: for sources that can wait. False: the engine is gone.
    pub fn send(&self, letter: Letter) -> bool {
        let taken = self.queue.send(letter).is_ok();
        self.bell.ring();
        taken
    }

    /// Hands a command over without waiting. False: the queue is full or the engine is gone.
    pub fn command(&self, command: Command, answer: impl FnOnce(Reply) + Send + 'static) -> bool {
        let taken = match self.queue.try_send(Letter::Command(Box::new(command), Box::new(answer))) {
            Ok(()) => true,
            Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => false,
        };
        self.bell.ring();
        taken
    }
}

impl Letters {
    /// The next letter, if one is there.
    ///
    /// # Errors
    /// The queue is empty and stays so.
    pub fn take(&self) -> Result<Option<Letter>, AllGone> {
        match self.queue.try_recv() {
            Ok(letter) => Ok(Some(letter)),
            Err(TryRecvError::Empty) => Ok(None),
            Err(TryRecvError::Disconnected) => Err(AllGone),
        }
    }

    /// Waits for a letter, for something to read on `also`, or for this long. True: there is something to read. Take all letters before waiting.
    pub fn wait(&self, also: Option<BorrowedFd<'_>>, longest: Duration) -> bool {
        self.bell.wait(also, longest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PATIENCE: Duration = Duration::from_secs(20);

    #[test]
    fn a_letter_that_came_before_the_wait_ends_it() {
        let (mailbox, letters) = mailbox().expect("an event counter");
        assert!(mailbox.send(Letter::Input(Input::Stop)));
        assert!(!letters.wait(None, PATIENCE));
        assert!(matches!(letters.take(), Ok(Some(Letter::Input(Input::Stop)))));
        assert!(matches!(letters.take(), Ok(None)));
        drop(mailbox);
        assert!(matches!(letters.take(), Err(AllGone)));
    }

    #[test]
    fn a_letter_that_comes_during_the_wait_ends_it_and_a_socket_does_too() {
        let (mailbox, letters) = mailbox().expect("an event counter");
        let (ours, theirs) = std::os::unix::net::UnixDatagram::pair().expect("a socket pair");
        let also = std::os::fd::AsFd::as_fd(&ours);
        std::thread::scope(|scope| {
            scope.spawn(|| mailbox.send(Letter::Frames(vec![])));
            // The letter may come before or during the wait.
            assert!(!letters.wait(Some(also), PATIENCE));
        });
        assert!(matches!(letters.take(), Ok(Some(Letter::Frames(_)))));
        theirs.send(&[1]).expect("room");
        assert!(letters.wait(Some(also), PATIENCE));
    }
}
