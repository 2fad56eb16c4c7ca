//! Frames that are put out, as a candump log.

use barrico_model::WallMs;
use barrico_n2k::Frame;
use barrico_n2k::candump::write_line;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

/// A candump log that is being written. A disk that is full is told once; the daemon goes on.
pub struct FrameLog {
    file: BufWriter<File>,
    line: Vec<u8>,
    failed: bool,
}

impl FrameLog {
    /// Begins a log.
    ///
    /// # Errors
    /// The file cannot be made.
    pub fn create(path: &Path) -> std::io::Result<Self> {
        Ok(Self { file: BufWriter::new(File::create(path)?), line: Vec::new(), failed: false })
    }

    /// Adds a frame.
    pub fn frame(&mut self, wall_ms: WallMs, frame: &Frame) {
        self.line.clear();
        write_line(&mut self.line, wall_ms * 1000, "barrico", frame);
        let written = self.file.write_all(&self.line).and_then(|()| self.file.flush());
        if let Err(error) = written
            && !std::mem::replace(&mut self.failed, true)
        {
            tracing::warn!("frames cannot be written any more: {error}");
        }
    }
}
