//! The way to the engine: a command out, its answer back.

use super::limits::COMMAND_TIMEOUT;
use crate::engine::{Command, Reply};
use std::sync::Arc;
use tokio::sync::oneshot;

/// Where the answer to one command goes. Sending does not block and may be done from any thread.
pub type ReplyTo = oneshot::Sender<Reply>;

/// Hands commands to the engine. Cheap to clone.
#[derive(Clone)]
pub struct Commands(Arc<dyn Fn(Command, ReplyTo) -> bool + Send + Sync>);

impl Commands {
    /// Wraps what takes a command to the engine's thread. It must not block; it returns false if the engine's queue is full or closed.
    pub fn new(hand_over: impl Fn(Command, ReplyTo) -> bool + Send + Sync + 'static) -> Self {
        Self(Arc::new(hand_over))
    }

    /// Asks and waits for the answer, which comes after the commit. Without an answer in time nothing is claimed.
    pub async fn send(&self, command: Command) -> Reply {
        let (reply_to, reply) = oneshot::channel();
        if !(self.0)(command, reply_to) {
            return Reply::Refused(
                "barrico is too busy to take this now. Try again in a minute.".to_string(),
            );
        }
        match tokio::time::timeout(COMMAND_TIMEOUT, reply).await {
            Ok(Ok(reply)) => reply,
            Ok(Err(_)) => Reply::Refused("barrico is stopping. Nothing is known to be written.".to_string()),
            Err(_) => Reply::Refused(
                "No answer within 15 s. It may be written or not: look at the log before you try again."
                    .to_string(),
            ),
        }
    }
}
