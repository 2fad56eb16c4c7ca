//! From the file as typed to settings that hold: the tools that all checks use, and the check of the whole.
//!
//! A check never stops at the first problem. It reports each one and goes on with what is left; settings come out only if nothing
//! was reported.

use super::problem::Problem;
use super::ranges;
use super::raw::RawFile;
use super::typed::{Amount, Date, Field, Share};
use super::types::{Boat, Settings};
use super::{check_boat, check_instruments, check_sources, check_unit, nearest::nearest};
use crate::quantity_text::{Convention, Measure, QuantityError, parse_measure};
use std::path::Path;

/// Longest name or other text for people, in characters: it must fit a line on a phone.
pub(super) const TEXT_CHARS_MAX: usize = 80;
/// Longest short name; it becomes part of topics, file names and keys.
pub(super) const ID_CHARS_MAX: usize = 32;

/// Looks at a file that holds a secret; the answer is what is wrong with it and what to do.
pub(super) type SecretLook = dyn Fn(&Path) -> Option<(String, String)>;

/// Collects problems.
pub(super) struct Check {
    pub problems: Vec<Problem>,
}

impl Check {
    /// A problem with the value of a key, or with the lack of it.
    pub fn bad<T>(&mut self, field: &Field<T>, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(Problem::new(&field.place.path, field.span.clone(), message, help));
    }

    /// The value of a key that must be there. `example` is what follows `key = `.
    pub fn need<'f, T>(&mut self, field: &'f Field<T>, example: &str) -> Option<&'f T> {
        self.need_noted(field, example, "")
    }

    /// As [`Check::need`], with a note on what the example means.
    pub fn need_noted<'f, T>(&mut self, field: &'f Field<T>, example: &str, note: &str) -> Option<&'f T> {
        if self.is_missing(field) {
            let (table, key) = field.place.path.rsplit_once('.').unwrap_or(("", &field.place.path));
            let place = if table.is_empty() { "the file".to_string() } else { format!("`{table}`") };
            let note = if note.is_empty() { String::new() } else { format!(", {note}") };
            self.bad(field, "this key is missing", format!("add to {place}: `{key} = {example}`{note}"));
        }
        field.value.as_ref()
    }

    /// Is the key missing, and was it not reported as mistyped already?
    pub fn is_missing<T>(&self, field: &Field<T>) -> bool {
        let is_mistyped = |problem: &Problem| problem.suggests.as_ref() == Some(&field.place.path);
        !field.given && !self.problems.iter().any(is_mistyped)
    }

    /// A problem if the key is there though it has no meaning.
    pub fn refuse<T>(&mut self, field: &Field<T>, why: &str) {
        if field.given {
            self.bad(field, why, "remove it, or correct what it goes with");
        }
    }

    /// A number with its unit, within the range of its key.
    pub fn amount(&mut self, field: &Field<Amount>) -> Option<f64> {
        self.amount_by(field, &Convention::default())
    }

    fn amount_by(&mut self, field: &Field<Amount>, convention: &Convention) -> Option<f64> {
        let text = &field.value.as_ref()?.0;
        let range = ranges::find(&field.place.pattern)?;
        let measure = range.measure?;
        match parse_measure(text, measure, convention) {
            Ok(value) if range.low <= value && value <= range.high => Some(value),
            Ok(value) => {
                self.out_of_range(field, value, range);
                None
            }
            Err(error) => {
                self.not_an_amount(field, &error);
                None
            }
        }
    }

    pub fn not_an_amount<T>(&mut self, field: &Field<T>, error: &QuantityError) {
        let help = match error {
            // There is no instrument here whose habit could be told.
            QuantityError::AskScale { .. } => {
                error.help().split(", or say once").next().unwrap_or("").to_string()
            }
            _ => error.help(),
        };
        self.bad(field, error.to_string(), help);
    }

    fn out_of_range<T>(&mut self, field: &Field<T>, value: f64, range: &ranges::Range) {
        let unit = range.measure.map_or("", Measure::unit);
        let message = format!(
            "{} is outside what is possible here: {} to {}",
            with_unit(value, unit),
            number(range.low),
            with_unit(range.high, unit)
        );
        self.bad(field, message, "check the number, the decimal point and the unit");
    }

    /// As [`Check::amount`], for a key that must be there.
    pub fn need_amount(&mut self, field: &Field<Amount>) -> Option<f64> {
        let examples =
            ranges::find(&field.place.pattern).and_then(|range| range.measure).map_or("", Measure::examples);
        let example = examples.split('`').nth(1).unwrap_or("");
        self.need_noted(field, &format!("\"{example}\""), "with your own number")?;
        self.amount(field)
    }

    /// A share, 0 to 1.
    pub fn share(&mut self, field: &Field<Share>) -> Option<f64> {
        let range = ranges::find(&field.place.pattern)?;
        let share = match field.value.as_ref()? {
            Share::Number(number) if (0.0..=1.0).contains(number) => *number,
            Share::Number(other) => {
                let percent = if (1.0..=100.0).contains(other) { number(*other) } else { "90".to_string() };
                let help =
                    format!("write a number up to 1, such as `0.9`, or percent in quotes: `\"{percent} %\"`");
                self.bad(field, "a share without `%` lies between 0 and 1", help);
                return None;
            }
            Share::Percent(text) => match parse_measure(text, Measure::Percent, &Convention::default()) {
                Ok(percent) => percent / 100.0,
                Err(error) => {
                    self.bad(field, error.to_string(), "write `0.9` or `\"90 %\"`");
                    return None;
                }
            },
        };
        if share < range.low / 100.0 || range.high / 100.0 < share {
            self.out_of_range(field, share * 100.0, range);
            return None;
        }
        Some(share)
    }

    /// As [`Check::share`], for a key that must be there.
    pub fn need_share(&mut self, field: &Field<Share>, example: &str) -> Option<f64> {
        self.need(field, example)?;
        self.share(field)
    }

    /// A plain number within its range.
    pub fn plain(&mut self, field: &Field<f64>) -> Option<f64> {
        let value = *field.value.as_ref()?;
        let range = ranges::find(&field.place.pattern)?;
        if value < range.low || range.high < value {
            self.out_of_range(field, value, range);
            return None;
        }
        Some(value)
    }

    /// A whole number within its range.
    pub fn count(&mut self, field: &Field<u32>) -> Option<u32> {
        let value = *field.value.as_ref()?;
        let range = ranges::find(&field.place.pattern)?;
        if f64::from(value) < range.low || range.high < f64::from(value) {
            self.out_of_range(field, f64::from(value), range);
            return None;
        }
        Some(value)
    }

    /// One of several words.
    pub fn choice<T: Copy>(&mut self, field: &Field<String>, choices: &[(&str, T)]) -> Option<T> {
        let text = field.value.as_ref()?;
        if let Some((_, meaning)) = choices.iter().find(|(word, _)| word == text) {
            return Some(*meaning);
        }
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        let all = words.iter().map(|word| format!("`\"{word}\"`")).collect::<Vec<_>>().join(", ");
        let help = match nearest(text, words) {
            Some(word) => format!("did you mean `\"{word}\"`? One of: {all}"),
            None => format!("one of: {all}"),
        };
        self.bad(field, format!("`{}` is not a choice here", shown(text)), help);
        None
    }

    /// As [`Check::choice`], for a key that must be there.
    pub fn need_choice<T: Copy>(&mut self, field: &Field<String>, choices: &[(&str, T)]) -> Option<T> {
        let all = choices.iter().map(|(word, _)| format!("\"{word}\"")).collect::<Vec<_>>().join(" or ");
        self.need(field, &all)?;
        self.choice(field, choices)
    }

    /// A text for people: not empty, not too long, on one line.
    pub fn text(&mut self, field: &Field<String>) -> Option<String> {
        self.text_up_to(field, TEXT_CHARS_MAX)
    }

    /// As [`Check::text`], with another limit.
    pub fn text_up_to(&mut self, field: &Field<String>, most: usize) -> Option<String> {
        let text = field.value.as_ref()?.trim();
        let problem = if text.is_empty() {
            "the text is empty".to_string()
        } else if most < text.chars().count() {
            format!("the text is longer than {most} characters")
        } else if text.chars().any(char::is_control) {
            "the text has line breaks or control characters".to_string()
        } else {
            return Some(text.to_string());
        };
        self.bad(field, problem, format!("write 1 to {most} characters on one line"));
        None
    }

    /// A date, as milliseconds since 1970 at midnight UTC.
    pub fn date(&mut self, field: &Field<Date>) -> Option<i64> {
        let text = &field.value.as_ref()?.0;
        let help = "write year, month and day: `\"2026-05-01\"`";
        let date = text.parse::<jiff::civil::Date>().ok().filter(|_| text.len() == "2026-05-01".len());
        let Some(date) = date else {
            self.bad(field, format!("`{}` is not a date", shown(text)), help);
            return None;
        };
        if !(YEAR_FIRST..=YEAR_LAST).contains(&date.year()) {
            self.bad(
                field,
                format!("the year {} is not between {YEAR_FIRST} and {YEAR_LAST}", date.year()),
                help,
            );
            return None;
        }
        let midnight = jiff::tz::Offset::UTC.to_timestamp(date.to_datetime(jiff::civil::Time::midnight()));
        midnight.ok().map(|midnight| midnight.as_millisecond())
    }
}

/// No membrane or instrument aboard is older, and a date beyond the last is a slip. Common practice, no source.
const YEAR_FIRST: i16 = 1980;
const YEAR_LAST: i16 = 2100;

/// A number without zeros at its end.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("{} {unit}", number(value)).trim_end().to_string()
}

/// A text from the file as it may stand in a message: short and without control characters.
pub(super) fn shown(text: &str) -> String {
    let plain: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if plain.chars().count() < text.chars().count() { format!("{plain}…") } else { plain }
}

/// Is it a short name, `[a-z][A-Za-z0-9]*`, of up to [`ID_CHARS_MAX`] characters?
pub fn is_id(text: &str) -> bool {
    text.len() <= ID_CHARS_MAX
        && text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.chars().all(|c| c.is_ascii_alphanumeric())
}

/// All checks. Settings, if nothing was reported before or here.
pub(super) fn settings(
    raw: &RawFile,
    text: &str,
    look: &SecretLook,
    reported: Vec<Problem>,
) -> Result<Settings, Vec<Problem>> {
    let mut check = Check { problems: reported };
    let boat = check_boat::boat(&mut check, raw);
    let page = check_boat::page(&mut check, &raw.page, look);
    let (state_folder, runtime_folder) = check_boat::folders(&mut check, &raw.folders);
    let bus = check_boat::bus(&mut check, &raw.bus);
    let instruments = check_instruments::all(&mut check, raw);
    let units = check_unit::all(&mut check, &raw.units, &instruments);
    check_sources::senders_claimed_twice(&mut check, &raw.units, &units);
    let units: Option<Vec<_>> = units.into_iter().map(|unit| unit.settings).collect();
    match (boat, page, state_folder, runtime_folder, units) {
        (Some((id, name)), Some(page), Some(state_folder), Some(runtime_folder), Some(units))
            if check.problems.is_empty() =>
        {
            Ok(Settings {
                boat: Boat { id, name },
                units,
                instruments,
                page,
                bus,
                state_folder,
                runtime_folder,
                text: text.to_string(),
            })
        }
        _ => Err(check.problems),
    }
}
