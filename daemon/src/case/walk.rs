//! Reading JSON key by key: every wrong type, missing and unknown key is reported with its pointer, none stops the reading.

use super::CaseProblem;
use super::reading::shown;
use crate::settings::nearest::nearest;
use serde_json::{Map, Value};

/// Longest text of any kind, in characters.
pub(super) const TEXT_CHARS_MAX: usize = 2_000;

/// Collects problems.
#[derive(Debug, Default)]
pub(super) struct Walk {
    pub problems: Vec<CaseProblem>,
}

/// One object with its place.
pub(super) struct Object<'v> {
    pub map: &'v Map<String, Value>,
    pub pointer: String,
}

impl Object<'_> {
    /// Pointer of one of its keys.
    pub fn at(&self, key: &str) -> String {
        child(&self.pointer, key)
    }
}

/// Pointer of a key below a pointer, escaped by RFC 6901.
pub(super) fn child(pointer: &str, key: &str) -> String {
    format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1"))
}

impl Walk {
    pub fn bad(&mut self, pointer: impl Into<String>, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(CaseProblem::new(pointer, message, help));
    }

    /// An object with these keys and no others.
    pub fn object<'v>(
        &mut self,
        value: &'v Value,
        pointer: &str,
        keys: &[&str],
        needed: &[&str],
    ) -> Option<Object<'v>> {
        let map = self.any_object(value, pointer)?;
        for key in map.keys().filter(|key| !keys.contains(&key.as_str())) {
            let help = match nearest(key, keys.iter().copied().filter(|known| !map.contains_key(*known))) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the keys here are: {}", keys.join(", ")),
            };
            self.bad(child(pointer, key), "unknown key", help);
        }
        for key in needed.iter().filter(|key| !map.contains_key(**key)) {
            self.bad(child(pointer, key), "this key is missing", "add it");
        }
        Some(Object { map, pointer: pointer.to_string() })
    }

    /// Any object.
    pub fn any_object<'v>(&mut self, value: &'v Value, pointer: &str) -> Option<&'v Map<String, Value>> {
        if value.is_object() {
            return value.as_object();
        }
        self.wrong_type(value, pointer, "an object", "write `{ … }` with its keys");
        None
    }

    /// The list under a key, at most so long; empty if the key is not there.
    pub fn list<'v>(&mut self, object: &Object<'v>, key: &str, most: usize) -> &'v [Value] {
        let Some(value) = object.map.get(key) else { return &[] };
        let Some(list) = value.as_array() else {
            self.wrong_type(value, &object.at(key), "a list", "write `[ … ]`");
            return &[];
        };
        if most < list.len() {
            self.bad(
                object.at(key),
                format!("{} items; at most {most} are taken", list.len()),
                "leave out the oldest",
            );
        }
        &list[..most.min(list.len())]
    }

    /// The text under a key.
    pub fn text<'v>(&mut self, object: &Object<'v>, key: &str) -> Option<&'v str> {
        let value = object.map.get(key)?;
        let Some(text) = value.as_str() else {
            let help = if value.is_number() {
                "write it in quotes, with its unit if it has one: `\"55 bar\"`"
            } else {
                "write it in quotes"
            };
            self.wrong_type(value, &object.at(key), "a text", help);
            return None;
        };
        let text = text.trim();
        if text.is_empty() || TEXT_CHARS_MAX < text.chars().count() {
            let message = if text.is_empty() { "the text is empty" } else { "the text is too long" };
            self.bad(
                object.at(key),
                message,
                format!("write 1 to {TEXT_CHARS_MAX} characters, or leave the key out"),
            );
            return None;
        }
        Some(text)
    }

    /// One of several words under a key.
    pub fn word<T: Copy>(&mut self, object: &Object<'_>, key: &str, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(object, key)?;
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == text) {
            return Some(*meaning);
        }
        let names = || words.iter().map(|(word, _)| *word);
        let help = match nearest(text, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("one of: {}", names().collect::<Vec<_>>().join(", ")),
        };
        self.bad(object.at(key), format!("`{}` is not known here", shown(text)), help);
        None
    }

    /// A finite number of at least zero under a key.
    pub fn amount(&mut self, object: &Object<'_>, key: &str, most: f64) -> Option<f64> {
        let value = object.map.get(key)?;
        match value.as_f64() {
            Some(number) if 0.0 <= number && number <= most => Some(number),
            Some(_) => {
                self.bad(
                    object.at(key),
                    "this number is not possible here",
                    format!("write a number from 0 to {most}"),
                );
                None
            }
            None => {
                self.wrong_type(
                    value,
                    &object.at(key),
                    "a number",
                    "write it without quotes; its unit is in the key",
                );
                None
            }
        }
    }

    /// True or false under a key.
    pub fn yes_no(&mut self, object: &Object<'_>, key: &str) -> Option<bool> {
        let value = object.map.get(key)?;
        if !value.is_boolean() {
            self.wrong_type(value, &object.at(key), "true or false", "write it without quotes");
        }
        value.as_bool()
    }

    /// A date with its time and offset under a key, as milliseconds since 1970.
    pub fn time(&mut self, object: &Object<'_>, key: &str) -> Option<i64> {
        let text = self.text(object, key)?;
        match text.parse::<jiff::Timestamp>() {
            Ok(time) => Some(time.as_millisecond()),
            Err(_) => {
                let help = "write date, time and offset by RFC 3339: `2026-03-03T14:05:00Z` or `2026-03-03T14:05:00+02:00`";
                self.bad(object.at(key), format!("`{}` is not a time", shown(text)), help);
                None
            }
        }
    }

    pub fn wrong_type(&mut self, value: &Value, pointer: &str, wanted: &str, help: &str) {
        let found = match value {
            Value::Null => "null",
            Value::Bool(_) => "true or false",
            Value::Number(_) => "a number",
            Value::String(_) => "a text",
            Value::Array(_) => "a list",
            Value::Object(_) => "an object",
        };
        let help = if value.is_null() { "leave the key out if it is not known" } else { help };
        self.bad(pointer, format!("{wanted} is expected, this is {found}"), help);
    }
}
