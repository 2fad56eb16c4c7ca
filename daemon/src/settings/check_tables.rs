//! Mappings of tables. Their words are read here only as far as their form goes; names of columns are compared with the file at import.

use super::check::{Check, ID_CHARS_MAX, TEXT_CHARS_MAX, is_id, shown};
use super::check_boat::ID_HELP;
use super::problem::Problem;
use super::raw::RawTable;
use super::typed::{Field, Named, NamedTable};
use super::types::TableWords;

/// Most words in one list: every quantity twice.
const WORDS_MAX: usize = 60;

/// All mappings of one unit, in the order of the file.
pub(super) fn all(check: &mut Check, field: &Field<Named<RawTable>>) -> Vec<TableWords> {
    let named = field.value.as_ref().map_or(&[][..], |named| &named.0[..]);
    named.iter().map(|table| one(check, table)).collect()
}

fn one(check: &mut Check, named: &NamedTable<RawTable>) -> TableWords {
    let raw = &named.table;
    if !is_id(&named.name) {
        check.problems.push(Problem::new(
            &named.place.path,
            Some(named.span.clone()),
            format!("`{}` is not a short name for a table", shown(&named.name)),
            ID_HELP.replace("{}", &ID_CHARS_MAX.to_string()),
        ));
    }
    check.need_noted(&raw.columns, "[\"p_feed=feed_pressure:bar\"]", "one text for each column that is read");
    if raw.time.given && (raw.start.given || raw.every.given) {
        check.refuse(&raw.start, "a column gives the time already");
        check.refuse(&raw.every, "a column gives the time already");
    } else if raw.start.given != raw.every.given {
        let (there, missing) = if raw.start.given { (&raw.start, "every") } else { (&raw.every, "start") };
        check.bad(
            there,
            "start and step go together",
            format!("add `{missing}`, or leave both to the command line"),
        );
    }
    if raw.time_format.given && !raw.time.given {
        check.refuse(&raw.time_format, "a format says nothing without `time`, the column that has it");
    }
    TableWords {
        name: named.name.clone(),
        columns: words(check, &raw.columns),
        constants: words(check, &raw.constants),
        only: words(check, &raw.only),
        time: check.text(&raw.time),
        time_format: check.text(&raw.time_format),
        start: check.text(&raw.start),
        every: check.text(&raw.every),
    }
}

/// `left=right` each.
fn words(check: &mut Check, field: &Field<Vec<String>>) -> Vec<String> {
    let Some(words) = &field.value else { return Vec::new() };
    if WORDS_MAX < words.len() {
        check.bad(field, format!("more than {WORDS_MAX} texts"), "keep those that are read");
    }
    for word in words {
        let has_form = word
            .split_once('=')
            .is_some_and(|(left, right)| !left.trim().is_empty() && !right.trim().is_empty());
        if !has_form || TEXT_CHARS_MAX < word.chars().count() {
            let message = format!(
                "`{}` has not the form `name=value`, in at most {TEXT_CHARS_MAX} characters",
                shown(word)
            );
            check.bad(field, message, "write `\"p_feed=feed_pressure:bar\"`");
        }
    }
    words.clone()
}
