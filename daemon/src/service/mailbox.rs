//! What reaches the engine's thread: a bounded queue.

use crate::engine::{Command, Input, Reply};
use barrico_n2k::Frame;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};

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
pub struct Mailbox(SyncSender<Letter>);

/// A new mailbox and its receiving end.
pub fn mailbox() -> (Mailbox, Receiver<Letter>) {
    let (sender, receiver) = sync_channel(LETTERS_MAX);
    (Mailbox(sender), receiver)
}

impl Mailbox {
    /// Puts a letter in and waits for room: for sources that can wait. False: the engine is gone.
    pub fn send(&self, letter: Letter) -> bool {
        self.0.send(letter).is_ok()
    }

    /// Hands a command over without waiting. False: the queue is full or the engine is gone.
    pub fn command(&self, command: Command, answer: impl FnOnce(Reply) + Send + 'static) -> bool {
        match self.0.try_send(Letter::Command(Box::new(command), Box::new(answer))) {
            Ok(()) => true,
            Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => false,
        }
    }
}
