//! Parts and instruments of a case: the same keys and the same checks as in the settings, in JSON form.

use super::CaseProblem;
use super::walk::{Walk, child};
use crate::settings::{self, Settings};
use serde_json::{Map, Value};

/// Name of the unit that a case is about, within the settings made of it.
pub(super) const UNIT: &str = "main";

/// Settings made of the case's parts and instruments. What is wrong is reported; then there are none.
pub(super) fn settings(walk: &mut Walk, parts: &Value, instruments: &Map<String, Value>) -> Option<Settings> {
    let before = walk.problems.len();
    walk.any_object(parts, "/parts")?;
    let unit = toml_of(walk, parts, "/parts");
    let mut tools = toml::Table::new();
    for (name, value) in instruments {
        let pointer = child("/instruments", name);
        if walk.any_object(value, &pointer).is_some()
            && let Some(value) = toml_of(walk, value, &pointer)
        {
            tools.insert(name.clone(), value);
        }
    }
    let unit = unit.filter(|_| walk.problems.len() == before)?;
    let mut boat = toml::Table::new();
    boat.insert("id".into(), "case".into());
    let mut file = toml::Table::new();
    file.insert("boat".into(), boat.into());
    file.insert("instruments".into(), tools.into());
    file.insert("units".into(), toml::Table::from_iter([(UNIT.to_string(), unit)]).into());
    let text = match toml::to_string(&file) {
        Ok(text) => text,
        Err(error) => {
            walk.bad("/parts", format!("this cannot be read as settings: {error}"), "compare with a sample");
            return None;
        }
    };
    match settings::parse(&text, "case") {
        Ok(settings) => Some(settings),
        Err(problems) => {
            walk.problems.extend(problems.iter().map(|problem| {
                let help = problem.help.replace(&format!("units.{UNIT}"), "parts");
                CaseProblem::new(pointer(&problem.key), problem.message.clone(), help)
            }));
            None
        }
    }
}

/// The pointer of a key of the settings: `units.main.elements[2].size` is `/parts/elements/1/size`.
fn pointer(key: &str) -> String {
    let mut pointer = String::new();
    let unit = format!("units.{UNIT}");
    let rest = match key.strip_prefix(&unit) {
        Some(rest) => {
            pointer.push_str("/parts");
            rest
        }
        None => key,
    };
    for part in rest.split('.').filter(|part| !part.is_empty()) {
        let (name, number) = part.split_once('[').unwrap_or((part, ""));
        pointer.push('/');
        pointer.push_str(name);
        // The settings count from 1, pointers from 0.
        if let Some(number) = number.strip_suffix(']').and_then(|number| number.parse::<usize>().ok()) {
            pointer.push_str(&format!("/{}", number.saturating_sub(1)));
        }
    }
    pointer
}

fn toml_of(walk: &mut Walk, value: &Value, pointer: &str) -> Option<toml::Value> {
    match value {
        Value::Null => {
            walk.bad(pointer, "null has no meaning here", "leave the key out if it is not known");
            None
        }
        Value::Bool(yes) => Some((*yes).into()),
        Value::Number(number) => match (number.as_i64(), number.as_f64()) {
            (Some(whole), _) => Some(whole.into()),
            (None, Some(number)) => Some(number.into()),
            (None, None) => {
                walk.bad(pointer, "this number is too large", "check the number");
                None
            }
        },
        Value::String(text) => Some(text.as_str().into()),
        Value::Array(items) => {
            let items = items.iter().enumerate();
            let items: Vec<_> =
                items.filter_map(|(at, item)| toml_of(walk, item, &format!("{pointer}/{at}"))).collect();
            Some(items.into())
        }
        Value::Object(map) => {
            let mut table = toml::Table::new();
            for (key, value) in map {
                if let Some(value) = toml_of(walk, value, &child(pointer, key)) {
                    table.insert(key.clone(), value);
                }
            }
            Some(table.into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::pointer;

    #[test]
    fn keys_of_the_settings_become_pointers_into_the_case() {
        assert_eq!(pointer("units.main.elements[2].size"), "/parts/elements/1/size");
        assert_eq!(pointer("units.main"), "/parts");
        assert_eq!(pointer("instruments.feed-gauge.kind"), "/instruments/feed-gauge/kind");
        assert_eq!(pointer(""), "");
    }
}
