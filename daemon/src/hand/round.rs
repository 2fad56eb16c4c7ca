//! One round of questions at a terminal, as a state machine: a line in, text out.
//!
//! Nothing is written before the person has seen the whole round and said yes; an end of input at any point writes nothing. The round keeps
//! who read, with which instrument, and when.

use super::recognise::shown;
use super::{
    Answered, FUTURE_MAX_MS, NAME_CHARS_MAX, Question, Recognised, Remembered, questions, recognise, window,
};
use crate::publish::words::sentence;
use crate::quantity_text::{self, Convention, Measure};
use crate::settings::{Settings, UnitSettings};
use crate::table::read_time;
use barrico_model::records::HandReading;
use barrico_model::{Dimension, Quantity, WallMs};
use std::collections::BTreeMap;

/// Longest answer that is looked at; the longest sensible one has about 60 characters.
const ANSWER_CHARS_MAX: usize = 200;

/// How a round ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// To be written down.
    Write {
        /// The readings, in the order of the questions.
        readings: Vec<HandReading>,
        /// Who read them.
        by: String,
        /// When; `None`: now.
        at: Option<WallMs>,
    },
    /// Nothing is to be written.
    Nothing,
}

#[derive(Clone, Debug)]
enum Step {
    Question(usize),
    Which { question: usize, choices: Vec<HandReading>, first_is_usual: bool },
    Who,
    When,
    Confirm,
}

/// A round of questions.
#[derive(Debug)]
pub struct Round<'a> {
    settings: &'a Settings,
    unit: &'a UnitSettings,
    remembered: BTreeMap<Quantity, Remembered>,
    questions: Vec<Question>,
    readings: Vec<Option<HandReading>>,
    by: String,
    at: Option<WallMs>,
    now: WallMs,
    /// A question asked again from the end returns there.
    once_more: bool,
    step: Step,
}

impl<'a> Round<'a> {
    /// A round for this unit. `by`: the account, offered as the person's name. `now`: the computer's date.
    pub fn new(
        settings: &'a Settings,
        unit: &'a UnitSettings,
        remembered: BTreeMap<Quantity, Remembered>,
        by: &str,
        now: WallMs,
    ) -> Self {
        let questions = questions(settings, unit, &remembered);
        Self {
            settings,
            unit,
            readings: vec![None; questions.len()],
            questions,
            remembered,
            by: by.to_owned(),
            at: None,
            now,
            once_more: false,
            step: Step::Question(0),
        }
    }

    /// What is said before the first question.
    pub fn greeting(&self) -> String {
        format!(
            "Readings of {}, all taken while it runs steadily: {} questions.\nGive each with the unit on the instrument. Enter skips, ? tells how to \
             read it.\nNothing is written before the end.\n",
            self.unit.name,
            self.questions.len()
        )
    }

    /// The prompt of the present step; it ends with a space.
    pub fn prompt(&self) -> String {
        match &self.step {
            Step::Question(at) => {
                let question = &self.questions[*at];
                let instrument =
                    question.instrument.as_ref().map(|name| format!(", {name}")).unwrap_or_default();
                format!("{} ({}{instrument}): ", question.words, question.unit)
            }
            Step::Which { choices, first_is_usual, .. } => {
                let enter = if *first_is_usual { "Enter: 1" } else { "Enter: skip it" };
                let numbers =
                    if choices.len() == 1 { "1".to_owned() } else { format!("1 to {}", choices.len()) };
                format!("  {numbers}, or the reading again ({enter}): ")
            }
            Step::Who => format!("Who read this? (Enter: {}): ", self.by),
            Step::When => "When? (Enter: now; or 20 min ago, 2026-03-03 14:05 in UTC): ".to_owned(),
            Step::Confirm => "Write it down? (Enter: yes; n: no; a number: that one again): ".to_owned(),
        }
    }

    /// Takes one answer. The text is what to print; with an outcome the round is over.
    pub fn hear(&mut self, line: &str) -> (String, Option<Outcome>) {
        let line = line.trim();
        if ANSWER_CHARS_MAX < line.chars().count() || line.chars().any(char::is_control) {
            return ("  This is too long, or no plain text. Once more, please.\n".to_owned(), None);
        }
        match self.step.clone() {
            Step::Question(at) => self.answer(at, line),
            Step::Which { question, choices, first_is_usual } => {
                self.which(question, &choices, first_is_usual, line)
            }
            Step::Who => (self.who(line), None),
            Step::When => self.when(line),
            Step::Confirm => self.confirm(line),
        }
    }

    fn answer(&mut self, at: usize, line: &str) -> (String, Option<Outcome>) {
        let quantity = self.questions[at].quantity;
        match line {
            "" => {
                self.readings[at] = None;
                return self.next(at, String::new());
            }
            "?" => return (self.help(at), None),
            _ => {}
        }
        let (last, window) = (self.remembered.get(&quantity), self.window(at));
        match recognise(self.settings, self.unit, quantity, line, window.as_ref(), last) {
            Recognised::Clear(reading) => self.take(at, reading),
            Recognised::Wrong(fault) => (format!("  Not yet: {fault}.\n"), None),
            Recognised::Ask { why, choices, first_is_usual } => {
                let mut text = format!("  {why}\n");
                for (index, choice) in choices.iter().enumerate() {
                    text.push_str(&format!("    {}  {}\n", index + 1, in_full(&choice.reading)));
                }
                let choices = choices.into_iter().map(|choice| choice.reading).collect();
                self.step = Step::Which { question: at, choices, first_is_usual };
                (text, None)
            }
        }
    }

    fn which(
        &mut self,
        at: usize,
        choices: &[HandReading],
        first_is_usual: bool,
        line: &str,
    ) -> (String, Option<Outcome>) {
        let picked = match line {
            "" if first_is_usual => choices.first(),
            "" => {
                self.readings[at] = None;
                return self.next(at, String::new());
            }
            number => match number.parse::<usize>() {
                Ok(index) if (1..=choices.len()).contains(&index) => choices.get(index - 1),
                // A unit alone is an answer too.
                _ => choices.iter().find(|c| {
                    quantity_text::number_of(&c.typed).is_some_and(|n| c.typed == format!("{n} {number}"))
                }),
            },
        };
        match picked {
            Some(reading) => self.take(at, reading.clone()),
            None => {
                self.step = Step::Question(at);
                self.answer(at, line)
            }
        }
    }

    fn take(&mut self, at: usize, reading: HandReading) -> (String, Option<Outcome>) {
        let text = if plain_unit(&reading) { String::new() } else { format!("  {}\n", in_full(&reading)) };
        self.readings[at] = Some(reading);
        self.next(at, text)
    }

    fn next(&mut self, at: usize, mut text: String) -> (String, Option<Outcome>) {
        if self.once_more {
            text.push_str(&self.summary());
            self.step = Step::Confirm;
        } else if at + 1 < self.questions.len() {
            self.step = Step::Question(at + 1);
        } else if self.readings.iter().all(Option::is_none) {
            text.push_str("Nothing was read, so there is nothing to write down.\n");
            return (text, Some(Outcome::Nothing));
        } else {
            self.step = Step::Who;
        }
        (text, None)
    }

    fn who(&mut self, line: &str) -> String {
        if NAME_CHARS_MAX < line.chars().count() {
            return format!("  At most {NAME_CHARS_MAX} characters fit.\n");
        }
        if !line.is_empty() {
            line.clone_into(&mut self.by);
        }
        self.step = Step::When;
        String::new()
    }

    fn when(&mut self, line: &str) -> (String, Option<Outcome>) {
        let at = if line.is_empty() {
            Ok(None)
        } else if let Some(before) = line.strip_suffix("ago") {
            quantity_text::parse_size(before, Measure::Duration, &Convention::default())
                .map(|seconds| Some(self.now - (seconds * 1000.0) as i64))
                .map_err(|error| format!("{error}; {}", error.help()))
        } else {
            read_time(line, None).map(Some).map_err(|_| {
                "this is no time; write `20 min ago`, or `2026-03-03 14:05` in UTC, or with its offset `2026-03-03T14:05+02:00`".to_owned()
            })
        };
        match at {
            Err(why) => (format!("  Not yet: {why}.\n"), None),
            Ok(Some(at)) if self.now + FUTURE_MAX_MS < at => {
                let why = "this lies in the future; the time is UTC unless its offset is written: 2026-03-03T14:05+02:00";
                (format!("  Not yet: {why}.\n"), None)
            }
            Ok(at) => {
                self.at = at;
                self.step = Step::Confirm;
                (self.summary(), None)
            }
        }
    }

    fn confirm(&mut self, line: &str) -> (String, Option<Outcome>) {
        match line.to_ascii_lowercase().as_str() {
            "" | "y" | "yes" => {
                let readings = self.readings.iter().flatten().cloned().collect::<Vec<_>>();
                if readings.is_empty() {
                    return ("There is nothing to write down.\n".to_owned(), Some(Outcome::Nothing));
                }
                let (by, at) = (self.by.clone(), self.at);
                (String::new(), Some(Outcome::Write { readings, by, at }))
            }
            "n" | "no" => ("Nothing was written.\n".to_owned(), Some(Outcome::Nothing)),
            other => match other.parse::<usize>() {
                Ok(number) if (1..=self.questions.len()).contains(&number) => {
                    self.once_more = true;
                    self.step = Step::Question(number - 1);
                    (String::new(), None)
                }
                _ => (
                    format!("  Enter, n, or the number of a question from 1 to {}.\n", self.questions.len()),
                    None,
                ),
            },
        }
    }

    fn help(&self, at: usize) -> String {
        let question = &self.questions[at];
        let examples = Measure::of(question.quantity).map_or("", Measure::examples);
        // What is expected is not told: a person who knows it reads it.
        format!("  {}.\n  Written like {examples}.\n", sentence(question.how))
    }

    fn window(&self, at: usize) -> Option<super::Window> {
        let quantity = self.questions[at].quantity;
        let answered: Answered = self.readings.iter().flatten().map(|r| (r.quantity, r.value)).collect();
        window(self.unit, quantity, &answered, self.remembered.get(&quantity))
    }

    fn summary(&self) -> String {
        let mut text = String::from("This will be written down:\n");
        for (at, (question, reading)) in self.questions.iter().zip(&self.readings).enumerate() {
            let label = question.quantity.label();
            let line = match reading {
                Some(reading) => in_full(reading),
                None => "not read".to_owned(),
            };
            text.push_str(&format!("  {:>2}  {label:<28} {line}\n", at + 1));
        }
        text.push_str(&match self.at {
            Some(at) => {
                format!("  by {}, at {}\n", self.by, crate::publish::format::date_time(at, Some(self.now)))
            }
            None => format!("  by {}, now\n", self.by),
        });
        text
    }
}

/// Is it plain without what it is in our unit? Hours need no seconds beside them.
fn plain_unit(reading: &HandReading) -> bool {
    let number = quantity_text::number_of(&reading.typed).and_then(|number| number.parse::<f64>().ok());
    reading.quantity.dimension() == Dimension::Duration || number == Some(reading.value)
}

/// As typed, with what it is in our unit if that is another, and its instrument.
fn in_full(reading: &HandReading) -> String {
    let ours = if plain_unit(reading) {
        String::new()
    } else {
        format!(" = {}", shown(reading.value, reading.quantity))
    };
    let with = reading.instrument.as_ref().map(|name| format!(", {name}")).unwrap_or_default();
    format!("{}{ours}{with}", reading.typed)
}
