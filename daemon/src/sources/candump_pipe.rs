//! Candump text from a pipe: `candump -L can0 | barrico run --candump -`.
//!
//! Frames are taken at the time they arrive; the stamps in the text are the bus computer's business. Lines that are no frames are counted. The end of the pipe is a state that the
//! engine is told of; the daemon lives on without the bus.

use crate::engine::{Input, SourceState};
use crate::service::mailbox::{Letter, Mailbox};
use barrico_n2k::candump::{Kind, LineError, parse_line};
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// A longer line is no candump line: the rest of it is thrown away.
const LINE_MAX: u64 = 4_096;
/// Frames in one letter at most: at a full bus a twentieth of a second.
const BATCH_MAX: usize = 100;

/// Where the text comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pipe {
    /// Standard input.
    StandardInput,
    /// A named pipe or a device.
    File(PathBuf),
}

impl Pipe {
    /// `-` is standard input.
    pub fn new(name: &Path) -> Self {
        if name == Path::new("-") { Self::StandardInput } else { Self::File(name.to_owned()) }
    }

    fn open(&self) -> std::io::Result<Box<dyn Read + Send>> {
        Ok(match self {
            Self::StandardInput => Box::new(std::io::stdin()),
            Self::File(path) => Box::new(std::fs::File::open(path)?),
        })
    }
}

/// Reads until the end, on the caller's thread.
pub fn read(pipe: &Pipe, mailbox: &Mailbox) {
    let state = |state| mailbox.send(Letter::Input(Input::Source(state)));
    let source = match pipe.open() {
        Ok(source) => source,
        Err(error) => {
            state(SourceState::Failed(format!("bus data cannot be read: {error}")));
            return;
        }
    };
    state(SourceState::Open("bus data comes as candump text".to_owned()));
    match read_lines(BufReader::with_capacity(1 << 16, source), mailbox) {
        Ok(()) => state(SourceState::Ended),
        Err(error) => state(SourceState::Failed(format!("bus data stopped: {error}"))),
    };
}

fn read_lines<R: Read>(mut source: BufReader<R>, mailbox: &Mailbox) -> std::io::Result<()> {
    let mut line = Vec::new();
    let mut frames = Vec::new();
    let mut number = 0;
    loop {
        line.clear();
        let read = (&mut source).take(LINE_MAX).read_until(b'\n', &mut line)?;
        if read == 0 {
            break;
        }
        number += 1;
        match parse_line(line.trim_ascii_end()) {
            Ok(parsed) => {
                if let Kind::Data(frame) = parsed.kind {
                    frames.push(frame);
                }
            }
            Err(LineError::Empty) => {}
            Err(why) => {
                let damaged = Input::DamagedLine { line: number, why: why.to_string() };
                if !mailbox.send(Letter::Input(damaged)) {
                    return Ok(());
                }
            }
        }
        // Hand over what has come so far as soon as no more is waiting, so that no frame waits for the next.
        let waiting = source.buffer().contains(&b'\n');
        let due = !frames.is_empty() && (BATCH_MAX <= frames.len() || !waiting);
        if due && !mailbox.send(Letter::Frames(std::mem::take(&mut frames))) {
            return Ok(());
        }
    }
    if !frames.is_empty() {
        mailbox.send(Letter::Frames(frames));
    }
    Ok(())
}
