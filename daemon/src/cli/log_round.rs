//! `log add` without options at a terminal: the round of questions of [`crate::hand`], line by line.
//!
//! Only reading and writing lines happens here. The end of the input before the last yes writes nothing, and says so.

use super::print::print;
use super::send::send;
use crate::engine::{Command, NewEntry, Reply};
use crate::hand::{Outcome, Round, remembered};
use crate::settings::{Settings, UnitSettings};
use barrico_model::WallMs;
use barrico_model::records::LogBody;
use std::io::{BufRead, IsTerminal, Read};
use std::sync::Arc;

/// So many of the latest entries tell which unit each instrument shows.
const ENTRIES_REMEMBERED: usize = 200;
/// Most bytes of one line; the rest of a longer one is the next answer and is refused there.
const LINE_BYTES_MAX: u64 = 1000;

/// Can a person be asked?
pub(super) fn at_a_terminal() -> bool {
    std::io::stdin().is_terminal()
}

/// Asks. `None`: nothing is to be written, which has been said.
pub(super) fn ask(
    settings: &Arc<Settings>,
    unit: &UnitSettings,
    by: &str,
    now: WallMs,
) -> anyhow::Result<Option<Command>> {
    let log = send(settings, &Command::ListLog { unit: unit.id.clone(), last: ENTRIES_REMEMBERED })?;
    let Reply::Log(log) = log else { anyhow::bail!("the log was not given") };
    let mut round = Round::new(settings, unit, remembered(settings, unit, &log), by, now);
    let mut input = std::io::stdin().lock();
    match converse(&mut round, &mut input)? {
        Outcome::Nothing => Ok(None),
        Outcome::Write { readings, by, at } => {
            let body = LogBody::Readings(readings);
            let entry =
                NewEntry { at, time_invented: false, by, body, note: String::new(), elements: vec![] };
            Ok(Some(Command::AddEntries { unit: unit.id.clone(), entries: vec![entry] }))
        }
    }
}

fn converse(round: &mut Round<'_>, input: &mut impl BufRead) -> anyhow::Result<Outcome> {
    print(&round.greeting())?;
    loop {
        print(&round.prompt())?;
        let mut line = String::new();
        let bytes = input.by_ref().take(LINE_BYTES_MAX).read_line(&mut line)?;
        if bytes == 0 {
            print("\nEnded before the end of the questions: nothing was written.\n")?;
            return Ok(Outcome::Nothing);
        }
        let (text, outcome) = round.hear(line.trim_end_matches(['\r', '\n']));
        print(&text)?;
        if let Some(outcome) = outcome {
            return Ok(outcome);
        }
    }
}
