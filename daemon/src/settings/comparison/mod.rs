//! The comparison file: several parts lists, several waters, the crew's need, supplies and prices.
//!
//! It is TOML and is read with the same tools as the settings: every problem at once, each with line, caret and remedy. A candidate's parts
//! are the tables of a unit, or come from a settings file. Every key with its unit, range and default is in `daemon/docs/comparison.md`.

mod check_candidates;
mod check_need;
mod check_supplies;
pub(super) mod ranges;
mod raw;
#[cfg(test)]
mod tests;
mod types;

pub use types::{Bought, Comparison, NamedCandidate, NamedWater, Use};

use super::check::{Check, ID_CHARS_MAX, is_id, shown};
use super::check_boat::ID_HELP;
use super::load;
use super::problem::{Problem, Problems};
use super::typed::{Field, Named, NamedTable};
use super::types::Settings;
use std::path::Path;

/// What stands before the keys of a candidate's parts; behind it they are those of `units.<id>`.
pub(super) const PARTS_PATTERN: &str = "candidates.<id>.parts.";

/// Finds the settings file that a candidate names.
type FindSettings<'a> = dyn Fn(&str) -> Result<Settings, Problems> + 'a;

/// Reads and checks a comparison file, and the settings files that it names, which are looked for beside it.
///
/// # Errors
/// All that is wrong, at once; the program then ends with [`Problems::EXIT_CODE`].
pub fn read_file(path: &Path) -> Result<Comparison, Problems> {
    let name = path.display().to_string();
    let text = load::read_text(path, "`barrico compare --print-example` prints one to begin with")?;
    let folder = path.parent().unwrap_or(Path::new(""));
    check_text(&text, &name, &|settings| load::load(&folder.join(settings)))
}

/// Checks a comparison that was read already. It cannot name settings files.
///
/// # Errors
/// All that is wrong, at once.
pub fn parse(text: &str, file_name: &str) -> Result<Comparison, Problems> {
    check_text(text, file_name, &|settings| {
        Err(Problems::of_file(settings, "no settings file can be named here".into(), "write the parts out"))
    })
}

fn check_text(text: &str, file_name: &str, find: &FindSettings<'_>) -> Result<Comparison, Problems> {
    let table = load::table_of_text(text, file_name)?;
    let mut reported = Vec::new();
    let raw = raw::read(table.get_ref(), &mut reported);
    let mut check = Check { problems: reported };
    let comparison = comparison(&mut check, &raw, find);
    match comparison.filter(|_| check.problems.is_empty()) {
        Some(comparison) => Ok(comparison),
        None => {
            // Keys of parts are known to the checks as those of a unit.
            for problem in &mut check.problems {
                problem.help = problem.help.replace("units.<id>.", PARTS_PATTERN);
            }
            Err(load::problems(file_name, text, check.problems))
        }
    }
}

fn comparison(check: &mut Check, raw: &raw::RawComparison, find: &FindSettings<'_>) -> Option<Comparison> {
    let title = check.text(&raw.title).unwrap_or_else(|| "Watermakers compared".into());
    let notes = check_need::notes(check, &raw.notes);
    let currency = check_need::currency(check, &raw.currency);
    let (need, uses) = check_need::need(check, &raw.need);
    let waters = check_need::waters(check, &raw.waters);
    let supplies = check_supplies::all(check, &raw.supplies);
    let candidates = check_candidates::all(check, raw, &supplies, find);
    Some(Comparison { title, notes, currency, need: need?, uses, waters: waters?, candidates: candidates? })
}

/// The tables under a name, at least `least` and at most `most` of them, each with a name that is one.
fn named<'f, T>(
    check: &mut Check,
    field: &'f Field<Named<T>>,
    least: usize,
    most: usize,
    what: &str,
) -> &'f [NamedTable<T>] {
    let list = field.value.as_ref().map_or(&[][..], |named| &named.0[..]);
    if list.len() < least && (!field.given || field.value.is_some()) {
        let help = format!(
            "describe it: `[{}.one]` with its keys below; `barrico compare --print-example` shows all",
            field.place.path
        );
        check.problems.push(Problem::new(
            &field.place.path,
            field.span.clone(),
            format!("the file has no {what}"),
            help,
        ));
    }
    if most < list.len() {
        let message = format!("{} under `{}`, there can be {most}", list.len(), field.place.path);
        check.problems.push(Problem::new(
            &field.place.path,
            field.span.clone(),
            message,
            "leave some out, or write a second file",
        ));
    }
    for table in list.iter().filter(|table| !is_id(&table.name)) {
        check.problems.push(Problem::new(
            format!("{}.{}", field.place.path, shown(&table.name)),
            Some(table.span.clone()),
            format!("`{}` is not a short name", shown(&table.name)),
            ID_HELP.replace("{}", &ID_CHARS_MAX.to_string()),
        ));
    }
    list
}

/// A table of single values as the field that the checks take.
fn entry<T: Clone>(table: &NamedTable<T>) -> Field<T> {
    Field {
        place: table.place.clone(),
        span: Some(table.span.clone()),
        value: Some(table.table.clone()),
        given: true,
    }
}
