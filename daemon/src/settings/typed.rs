//! Reading TOML into the structs of `raw`: every key with its place, every wrong type and unknown key reported, none of them fatal.
//!
//! Written out rather than derived with serde, which stops at the first error.

use super::nearest::nearest;
use super::problem::Problem;
use super::report::is_secret_key;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Where a value stands: its path with the names that were typed, and the pattern of that path in the documents.
#[derive(Clone, Debug, Default)]
pub(super) struct Place {
    /// `units.main.elements[2].size`
    pub path: String,
    /// `units.<id>.elements.size`
    pub pattern: String,
}

impl Place {
    pub fn key(&self, key: &str) -> Self {
        Self { path: join(&self.path, key), pattern: join(&self.pattern, key) }
    }

    fn named(&self, name: &str) -> Self {
        Self { path: join(&self.path, name), pattern: join(&self.pattern, "<id>") }
    }

    fn item(&self, number: usize) -> Self {
        Self { path: format!("{}[{number}]", self.path), pattern: self.pattern.clone() }
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_string() } else { format!("{path}.{key}") }
}

/// One key as typed.
#[derive(Clone, Debug)]
pub(super) struct Field<T> {
    pub place: Place,
    /// The value, or the table's header if the key is missing; `None` if that is the top of the file.
    pub span: Option<Range<usize>>,
    /// `None` if the key is missing or of a wrong type (which was reported).
    pub value: Option<T>,
    /// The key is there, though perhaps with a value of a wrong type.
    pub given: bool,
}

/// What a value may be, for the documents and for tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Text,
    YesNo,
    Count,
    Number,
    Share,
    Amount,
    Date,
}

/// Can be read from a TOML value.
pub(super) trait Read: Sized {
    /// `None` after reporting what is wrong.
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self>;
    /// Patterns of all keys inside, with their kinds.
    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>);
}

/// Any text.
pub(super) type Text = String;

/// A number with its unit, in quotes.
#[derive(Clone, Debug)]
pub(super) struct Amount(pub String);

/// A share: 0.9 or "90 %".
#[derive(Clone, Debug)]
pub(super) enum Share {
    Number(f64),
    Percent(String),
}

/// A calendar date, in quotes or not.
#[derive(Clone, Debug)]
pub(super) struct Date(pub String);

/// Tables under names of the owner's choice.
#[derive(Clone, Debug)]
pub(super) struct Named<T>(pub Vec<NamedTable<T>>);

/// One of them.
#[derive(Clone, Debug)]
pub(super) struct NamedTable<T> {
    pub name: String,
    pub place: Place,
    /// Where the name stands.
    pub span: Range<usize>,
    pub table: T,
}

fn wrong_type<T>(
    value: &Spanned<DeValue<'_>>,
    place: &Place,
    wanted: &str,
    help: &str,
    out: &mut Vec<Problem>,
) -> Option<T> {
    let found = match value.get_ref() {
        DeValue::String(_) => "text",
        DeValue::Float(number) if finite(value.get_ref()).is_none() => {
            let message = format!("{wanted} is expected, `{}` is not finite", number.as_str());
            out.push(Problem::new(&place.path, Some(value.span()), message, help));
            return None;
        }
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    };
    out.push(Problem::new(
        &place.path,
        Some(value.span()),
        format!("{wanted} is expected, this is {found}"),
        help,
    ));
    None
}

impl Read for String {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => wrong_type(value, place, "text", "write it in quotes", out),
        }
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Text));
    }
}

impl Read for bool {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Boolean(yes) => Some(*yes),
            _ => wrong_type(value, place, "true or false", "write `true` or `false`, without quotes", out),
        }
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::YesNo));
    }
}

impl Read for u32 {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        let number = match value.get_ref() {
            DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix()).ok(),
            _ => None,
        };
        number.or_else(|| {
            wrong_type(
                value,
                place,
                "a whole number",
                "write a whole number without quotes, zero or more",
                out,
            )
        })
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Count));
    }
}

/// A finite number; `nan` and `inf`, which TOML allows, are none.
fn finite(value: &DeValue<'_>) -> Option<f64> {
    let number = match value {
        DeValue::Float(number) => number.as_str().parse::<f64>().ok(),
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse::<f64>().ok(),
        _ => None,
    };
    number.filter(|number| number.is_finite())
}

impl Read for f64 {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        finite(value.get_ref()).or_else(|| {
            wrong_type(
                value,
                place,
                "a plain number",
                "write a finite number with a decimal point, without quotes and unit",
                out,
            )
        })
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Number));
    }
}

impl Read for Share {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(text) => Some(Self::Percent(text.to_string())),
            other => finite(other)
                .map(Self::Number)
                .or_else(|| wrong_type(value, place, "a share", "write `0.9` or `\"90 %\"`", out)),
        }
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Share));
    }
}

impl Read for Amount {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        let wanted = "a number with its unit, in quotes,";
        match value.get_ref() {
            DeValue::String(text) => Some(Self(text.to_string())),
            _ => {
                let measure = super::ranges::find(&place.pattern).and_then(|range| range.measure);
                let examples = measure.map_or(String::new(), |measure| format!(": {}", measure.examples()));
                wrong_type(
                    value,
                    place,
                    wanted,
                    &format!("write number and unit between quotes{examples}"),
                    out,
                )
            }
        }
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Amount));
    }
}

impl Read for Date {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        match value.get_ref() {
            DeValue::String(text) => Some(Self(text.to_string())),
            DeValue::Datetime(date) if date.time.is_none() => Some(Self(date.to_string())),
            _ => wrong_type(value, place, "a date", "write year, month and day: `\"2026-05-01\"`", out),
        }
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        out.push((pattern.to_string(), Kind::Date));
    }
}

impl<T: Read> Read for Vec<T> {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!(
                "write a list, `[…]`, or for tables the header in double brackets: `[[{}]]`",
                place.path
            );
            return wrong_type(value, place, "a list", &help, out);
        };
        let items = items.iter().enumerate();
        Some(items.filter_map(|(at, item)| T::read(item, &place.item(at + 1), out)).collect())
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        T::keys(pattern, out);
    }
}

impl<T: Read> Read for Named<T> {
    fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
        let table = table_of(value, place, out)?;
        let mut named: Vec<NamedTable<T>> = Vec::new();
        for (name, value) in table.iter() {
            let place = place.named(name.get_ref());
            if let Some(table) = T::read(value, &place, out) {
                named.push(NamedTable { name: name.get_ref().to_string(), place, span: name.span(), table });
            }
        }
        // The table comes sorted by name; the owner's order is that of the file.
        named.sort_by_key(|table| table.span.start);
        Some(Self(named))
    }

    fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
        T::keys(&join(pattern, "<id>"), out);
    }
}

/// The table that a value is, or a problem.
pub(super) fn table_of<'v, 'i>(
    value: &'v Spanned<DeValue<'i>>,
    place: &Place,
    out: &mut Vec<Problem>,
) -> Option<&'v DeTable<'i>> {
    match value.get_ref() {
        DeValue::Table(table) => Some(table),
        _ => wrong_type(
            value,
            place,
            "a table",
            &format!("write the header `[{}]` and the keys below it", place.path),
            out,
        ),
    }
}

/// One key of a table.
pub(super) fn field<T: Read>(
    table: &DeTable<'_>,
    key: &str,
    place: &Place,
    header: Option<&Range<usize>>,
    out: &mut Vec<Problem>,
) -> Field<T> {
    let place = place.key(key);
    match table.get(key) {
        Some(value) => {
            let span = Some(value.span());
            Field { value: T::read(value, &place, out), place, span, given: true }
        }
        None => Field { place, span: header.cloned(), value: None, given: false },
    }
}

/// Reports every key that is not one of `keys`.
pub(super) fn unknown_keys(table: &DeTable<'_>, keys: &[&str], place: &Place, out: &mut Vec<Problem>) {
    for (key, value) in table.iter().filter(|(key, _)| !keys.contains(&key.get_ref().as_ref())) {
        let name = key.get_ref().as_ref();
        let path = join(&place.path, name);
        if is_secret_key(name) {
            out.push(
                Problem::new(
                    path,
                    Some(key.span()),
                    "a secret does not belong in this file",
                    "put it in a file of its own, readable by the service alone (mode 0600), and name that file: \
                     `password_file = \"/etc/barrico/page-password\"`; change the secret if others have seen this file",
                )
                .hiding(value.span()),
            );
            continue;
        }
        let near = nearest(name, keys.iter().copied().filter(|key| !table.contains_key(*key)));
        let help = match (near, super::raw::tables_with(name).as_slice()) {
            (Some(key), _) => format!("did you mean `{key}`?"),
            (None, []) => format!("the keys here are: {}", keys.join(", ")),
            (None, tables) => format!("`{name}` belongs under {}", tables.join(" or ")),
        };
        let problem = Problem::new(path, Some(key.span()), "unknown key", help);
        out.push(problem.suggesting(near.map(|key| join(&place.path, key))));
    }
}
