//! One thing that is wrong with the settings, and all of them together.

use std::fmt;
use std::ops::Range;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The key it is about, such as `units.main.pump.flow`; empty if it is about the file as a whole.
    pub key: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// Where it stands, in bytes of the file; `None` for the file as a whole.
    pub(super) span: Option<Range<usize>>,
    /// A second place it has to do with, and why.
    pub(super) also: Option<(Range<usize>, String)>,
    /// Path of the key that was probably meant by an unknown one; then that one is not reported as missing too.
    pub(super) suggests: Option<String>,
    /// A value that must not be shown.
    pub(super) secret: Option<Range<usize>>,
}

impl Problem {
    pub(super) fn new(
        key: impl Into<String>,
        span: Option<Range<usize>>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self {
            key: key.into(),
            message: message.into(),
            help: help.into(),
            span,
            also: None,
            suggests: None,
            secret: None,
        }
    }

    pub(super) fn also(mut self, span: Option<Range<usize>>, why: &str) -> Self {
        self.also = span.map(|span| (span, why.to_string()));
        self
    }

    pub(super) fn suggesting(mut self, path: Option<String>) -> Self {
        self.suggests = path;
        self
    }

    pub(super) fn hiding(mut self, secret: Range<usize>) -> Self {
        self.secret = Some(secret);
        self
    }
}

/// All that is wrong with one file, at least one thing. `Display` is the whole report for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problems {
    pub(super) file_name: String,
    /// The file with every secret blotted out; empty if it could not be read as text.
    pub(super) source: String,
    pub(super) list: Vec<Problem>,
}

impl Problems {
    /// Exit code for wrong settings (`EX_CONFIG` of sysexits.h): the service manager does not start again until a person has looked.
    pub const EXIT_CODE: u8 = 78;

    /// For a file that could not be read at all.
    pub(super) fn of_file(file_name: &str, message: String, help: &str) -> Self {
        let list = vec![Problem::new("", None, message, help)];
        Self { file_name: file_name.to_string(), source: String::new(), list }
    }

    /// How many.
    pub fn count(&self) -> usize {
        self.list.len()
    }

    /// Each problem, in the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = &Problem> {
        self.list.iter()
    }

    /// Line of a problem, from 1; `None` for one about the file as a whole.
    pub fn line(&self, problem: &Problem) -> Option<usize> {
        let start = problem.span.as_ref()?.start;
        Some(self.source.as_bytes().iter().take(start).filter(|byte| **byte == b'\n').count() + 1)
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&super::report::render(self))
    }
}

impl std::error::Error for Problems {}
