//! Case files, right and wrong, and the schema beside the code.

mod files;
mod schema;

use serde_json::Value;

/// Every sample case and every case of the bank, by its file name.
fn samples() -> Vec<(String, Value)> {
    let folders = ["/examples/cases", "/../tests/cases"];
    let folders = folders.map(|folder| format!("{}{folder}", env!("CARGO_MANIFEST_DIR")));
    let mut samples: Vec<(String, Value)> = folders
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).expect("the samples are there"))
        .map(|entry| entry.expect("readable").path())
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("readable");
            (path.display().to_string(), serde_json::from_str(&text).expect("JSON"))
        })
        .collect();
    samples.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(!samples.is_empty());
    samples
}

/// The worn pump, to be changed.
fn sample() -> Value {
    samples().into_iter().find(|(path, _)| path.contains("worn-pump")).expect("it is there").1
}

/// The sample with the value at a pointer replaced, or added as a new key of what is above it.
fn with(pointer: &str, value: Value) -> Value {
    let mut case = sample();
    let (above, key) = pointer.rsplit_once('/').expect("a pointer");
    match case.pointer_mut(above).expect("the place above is there") {
        Value::Object(map) => {
            map.insert(key.to_string(), value);
        }
        Value::Array(list) => list[key.parse::<usize>().expect("a number")] = value,
        _ => panic!("nothing to change at {pointer}"),
    }
    case
}

/// The sample without a key.
fn without(pointer: &str) -> Value {
    let mut case = sample();
    let (above, key) = pointer.rsplit_once('/').expect("a pointer");
    let map = case.pointer_mut(above).and_then(Value::as_object_mut).expect("an object");
    map.remove(key).expect("it was there");
    case
}
