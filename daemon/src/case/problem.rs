//! What is wrong with a case file.

use super::Fault;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseProblem {
    /// Where, as a JSON pointer (RFC 6901): `/readings/0/value`; empty for the file as a whole.
    pub pointer: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub help: String,
}

impl CaseProblem {
    pub(super) fn new(
        pointer: impl Into<String>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self { pointer: pointer.into(), message: message.into(), help: help.into() }
    }

    pub(super) fn of(pointer: impl Into<String>, fault: Fault) -> Self {
        Self::new(pointer, fault.message, fault.help)
    }
}

/// All that is wrong with one file, at least one thing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", text(.0))]
pub struct CaseProblems(pub Vec<CaseProblem>);

fn text(problems: &[CaseProblem]) -> String {
    let mut text = String::new();
    for problem in problems {
        let place = if problem.pointer.is_empty() { "the file" } else { &problem.pointer };
        text.push_str(&format!("{place}: {}\n    remedy: {}\n", problem.message, problem.help));
    }
    let noun = if problems.len() == 1 { "problem" } else { "problems" };
    text.push_str(&format!("{} {noun} in the case file", problems.len()));
    text
}
