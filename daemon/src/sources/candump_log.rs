//! A candump log, plain or gzip, as a row of timed frames.
//!
//! Monotonic time is the sum of stamp differences. A step back, or forward over ten minutes, is a step of the clock and adds nothing. Damaged lines are counted with their number and
//! never end the reading; a file without a single frame is no log, and that is an error.

use barrico_model::{Monotonic, WallMs};
use barrico_n2k::Frame;
use barrico_n2k::candump::{Kind, Line, LineError, lines, parse_line};
use std::io::Read;
use std::path::{Path, PathBuf};

/// A forward step over this is a clock that was set, not time that passed, µs.
const STEP_US: i64 = 600_000_000;
/// Read at once; a line is far shorter.
const CHUNK: usize = 1 << 20;
/// A line longer than this is no log line and is cut.
const LINE_MAX: usize = 4_096;
/// Gzip files begin so (RFC 1952).
const GZIP: [u8; 2] = [0x1F, 0x8B];

/// One thing in a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Item {
    /// A frame at a time.
    Frame(Frame),
    /// The date was set or stepped; sent at the start and at each step.
    Date(WallMs),
    /// A line that is no frame of NMEA 2000 by design: error frame, remote frame, 11-bit identifier, CAN FD.
    Other,
    /// A damaged line.
    Damaged {
        /// Its number, from 1.
        line: u64,
        /// What is wrong.
        why: LineError,
    },
}

/// What a log held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Lines.
    pub lines: u64,
    /// Frames.
    pub frames: u64,
    /// Error frames, remote frames and other things that are not NMEA 2000.
    pub others: u64,
    /// Damaged lines.
    pub damaged: u64,
    /// First damaged line.
    pub first_damaged: u64,
    /// Steps of the clock.
    pub clock_steps: u64,
}

/// Stamps to monotonic time.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stamps {
    last_us: Option<i64>,
    elapsed_us: u64,
}

impl Stamps {
    /// The next stamp. Gives the time, and true if the clock was set or stepped.
    pub fn next(&mut self, stamp_us: i64) -> (Monotonic, bool) {
        let stepped = match self.last_us {
            None => true,
            Some(last) => {
                let passed = stamp_us.saturating_sub(last);
                if (0..=STEP_US).contains(&passed) {
                    self.elapsed_us += passed as u64;
                }
                // Frames of several interfaces may be a little out of order; that is no step of the clock.
                !(-1_000_000..=STEP_US).contains(&passed)
            }
        };
        if stepped || self.last_us.is_none_or(|last| last < stamp_us) {
            self.last_us = Some(stamp_us);
        }
        (Monotonic(self.elapsed_us / 1000), stepped)
    }
}

/// Why a log cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// The file cannot be opened or read, or is no gzip although it begins so.
    #[error("cannot read {path}: {source}")]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Nothing in it.
    #[error("{path} is empty; a log is recorded with `candump -L can0 > FILE`")]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// Not a single frame.
    #[error(
        "{path} is no candump log: no frame in its {lines} lines; line {line} is not like `(1700000000.123456) can0 \
         19FD0823#FF00FFFFFFFFFFFF`; a log is recorded with `candump -L can0 > FILE`"
    )]
    NoFrame {
        /// The file.
        path: PathBuf,
        /// Lines in it.
        lines: u64,
        /// First line that is no frame.
        line: u64,
    },
}

/// Reads a log and gives every item with its time.
///
/// # Errors
/// [`LogError`]: the file cannot be read, is empty, or holds no frame at all.
pub fn read(path: &Path, give: &mut impl FnMut(Monotonic, Item)) -> Result<Counts, LogError> {
    let failed = |source| LogError::Read { path: path.to_owned(), source };
    let mut file = std::fs::File::open(path).map_err(failed)?;
    let mut head = [0; 2];
    let length = file.read(&mut head).map_err(failed)?;
    let start = std::io::Cursor::new(head[..length].to_vec()).chain(file);
    let counts = if head == GZIP {
        read_from(flate2::read::MultiGzDecoder::new(start), give)
    } else {
        read_from(start, give)
    }
    .map_err(failed)?;
    if counts.lines == 0 {
        return Err(LogError::Empty { path: path.to_owned() });
    }
    if counts.frames == 0 {
        let line = counts.first_damaged.max(1);
        return Err(LogError::NoFrame { path: path.to_owned(), lines: counts.lines, line });
    }
    Ok(counts)
}

fn read_from(mut source: impl Read, give: &mut impl FnMut(Monotonic, Item)) -> std::io::Result<Counts> {
    let mut reader = LogReader::default();
    let mut buffer = vec![0; CHUNK];
    let mut kept = 0;
    loop {
        let read = source.read(&mut buffer[kept..])?;
        let filled = kept + read;
        if read == 0 {
            if 0 < kept {
                reader.lines(&buffer[..kept], give);
            }
            return Ok(reader.counts);
        }
        // Whole lines now, the rest with the next chunk.
        let end = buffer[..filled].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let end = if end == 0 && LINE_MAX <= filled { filled } else { end };
        reader.lines(&buffer[..end], give);
        buffer.copy_within(end..filled, 0);
        kept = filled - end;
    }
}

/// Turns lines into items; keeps time and counts.
#[derive(Clone, Debug, Default)]
pub struct LogReader {
    stamps: Stamps,
    now: Monotonic,
    /// What was read so far.
    pub counts: Counts,
}

impl LogReader {
    /// Takes whole lines.
    pub fn lines(&mut self, text: &[u8], give: &mut impl FnMut(Monotonic, Item)) {
        for line in lines(text) {
            self.counts.lines += 1;
            match parse_line(line) {
                Ok(line) => self.line(&line, give),
                Err(LineError::Empty) => {}
                Err(why) => {
                    self.counts.damaged += 1;
                    if self.counts.damaged == 1 {
                        self.counts.first_damaged = self.counts.lines;
                    }
                    give(self.now, Item::Damaged { line: self.counts.lines, why });
                }
            }
        }
    }

    fn line(&mut self, line: &Line<'_>, give: &mut impl FnMut(Monotonic, Item)) {
        let first = self.counts.frames == 0 && self.counts.others == 0;
        let (now, stepped) = self.stamps.next(line.time_us);
        self.now = now;
        if stepped {
            self.counts.clock_steps += u64::from(!first);
            give(now, Item::Date(line.time_us.div_euclid(1000)));
        }
        match line.kind {
            Kind::Data(frame) => {
                self.counts.frames += 1;
                give(now, Item::Frame(frame));
            }
            _ => {
                self.counts.others += 1;
                give(now, Item::Other);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_the_clock_add_no_time() {
        let mut stamps = Stamps::default();
        let at = |stamps: &mut Stamps, s: i64| {
            let (now, stepped) = stamps.next(s * 1_000_000);
            (now.0, stepped)
        };
        assert_eq!(at(&mut stamps, 1_000_000), (0, true));
        assert_eq!(at(&mut stamps, 1_000_001), (1_000, false));
        // Back by two weeks, then on, then forward again.
        assert_eq!(at(&mut stamps, 1_000), (1_000, true));
        assert_eq!(at(&mut stamps, 1_002), (3_000, false));
        assert_eq!(at(&mut stamps, 1_000_002), (3_000, true));
        // Ten minutes of silence are ten minutes.
        assert_eq!(at(&mut stamps, 1_000_602), (603_000, false));
        assert_eq!(at(&mut stamps, 1_001_203), (603_000, true));
    }

    #[test]
    fn damaged_lines_are_counted_with_their_number() {
        let text = b"(1.0) can0 09F80123#00\nnonsense\n(2.0) can0 09F80123#00\n(2.5) can0 20000004#0000000000000000\n";
        let mut items = vec![];
        let mut reader = LogReader::default();
        reader.lines(text, &mut |now, item| items.push((now.0, item)));
        assert_eq!((reader.counts.frames, reader.counts.damaged, reader.counts.others), (2, 1, 1));
        assert_eq!(reader.counts.first_damaged, 2);
        assert!(items.iter().any(|(_, item)| matches!(item, Item::Damaged { line: 2, .. })));
    }
}
