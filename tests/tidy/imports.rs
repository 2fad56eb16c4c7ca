//! Who may use what: the rules that keep the core pure and each outside library behind one module.

use crate::tree::{File, hits, report, tree};

/// Code whose answers depend on nothing but its arguments: the same log must give the same bytes on every machine.
const PURE: &[&str] = &[
    "model/src/",
    "daemon/n2k/src/",
    "daemon/src/engine/",
    "daemon/src/alerts/",
    "daemon/src/intake/",
    "daemon/src/publish/",
];

/// What pure code must not name: each would bring a clock, a disk, a network, or a thread.
const IMPURE: &[&str] = &[
    "tokio",
    "rusqlite",
    "axum",
    "async",
    "await",
    "Instant",
    "std::time",
    "std::fs",
    "std::net",
    "std::env",
    "std::thread",
    "std::process",
];

/// The innermost part: it decides, and knows no wire format, no log and no report to a person at a terminal.
const CORE: &[&str] = &["model/src/", "daemon/n2k/src/", "daemon/src/engine/"];

/// What the core must not name on top of [`IMPURE`]. What goes over a wire is a promise to strangers and has types of its own.
const NOT_IN_CORE: &[&str] = &["serde", "serde_json", "toml", "anyhow", "tracing", "std::io"];

/// A library that talks to the outside sits behind one module, so that it can be changed in one place.
const BEHIND: &[(&str, &[&str])] = &[
    ("rusqlite", &["daemon/src/store/"]),
    ("axum", &["daemon/src/web/"]),
    ("hyper", &["daemon/src/web/"]),
    ("hyper_util", &["daemon/src/web/"]),
    ("tower", &["daemon/src/web/"]),
    ("askama", &["daemon/src/web/", "daemon/src/publish/"]),
    ("argon2", &["daemon/src/web/"]),
    ("socketcan", &["daemon/src/sources/can_bus/"]),
    ("annotate_snippets", &["daemon/src/settings/"]),
    ("anyhow", &["daemon/src/cli/", "daemon/src/main.rs"]),
    // The bus knows nothing of the plant, the plant nothing of the bus.
    ("barrico_model", &["daemon/src/", "model/"]),
    ("barrico_n2k", &["daemon/src/", "daemon/n2k/"]),
];

/// The methods of `f64` whose last bit depends on the platform; `barrico_model::math` has the ones that do not.
const PLATFORM_MATHS: &[&str] = &[
    "exp", "exp2", "exp_m1", "ln", "ln_1p", "log10", "log2", "powf", "powi", "cbrt", "hypot", "sin", "cos",
    "tan", "sin_cos", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh", "asinh", "acosh", "atanh",
];

/// `path` of names, as `std::fs` or `tokio`, occurs in `line` as whole words. Grouped imports count: `std::{fs, fmt}`.
fn names(line: &str, path: &str) -> bool {
    let word = |c: char| c.is_alphanumeric() || c == '_';
    let whole = |at: usize, len: usize| {
        !line[..at].chars().last().is_some_and(word) && !line[at + len..].chars().next().is_some_and(word)
    };
    let has = |what: &str| line.match_indices(what).any(|(at, found)| whole(at, found.len()));
    match path.split_once("::") {
        Some((outer, inner)) => has(path) || (line.contains(&format!("{outer}::{{")) && has(inner)),
        None => has(path),
    }
}

/// The line without a comment at its end; a comment may name what the code must not.
fn code(line: &str) -> &str {
    line.split("//").next().unwrap_or("")
}

fn is_in(file: &File, places: &[&str]) -> bool {
    places.iter().any(|place| file.path.starts_with(place))
}

fn impure(file: &File) -> Vec<String> {
    if !file.path.ends_with(".rs") || file.is_test() {
        return Vec::new();
    }
    let banned = |places: &[&str], list: &[&str], line: &str| {
        is_in(file, places) && list.iter().any(|name| names(code(line), name))
    };
    hits(file, file.code_without_tests(), |line| {
        banned(PURE, IMPURE, line) || banned(CORE, NOT_IN_CORE, line)
    })
}

fn not_behind_its_module(file: &File) -> Vec<String> {
    if !file.path.ends_with(".rs") || file.is_test() {
        return Vec::new();
    }
    let misplaced = |line: &str| {
        BEHIND.iter().any(|(library, places)| !is_in(file, places) && names(code(line), library))
    };
    hits(file, file.code_without_tests(), misplaced)
}

/// The order in which a hash map is walked is no property of its content and may not reach an output. A table that is only looked up
/// is fine, and says so where it is declared: "never walked".
fn hash_map_that_may_be_walked(file: &File) -> Vec<String> {
    if !is_in(file, PURE) || !file.path.ends_with(".rs") || file.is_test() {
        return Vec::new();
    }
    let lines: Vec<&str> = file.code_without_tests().lines().collect();
    (0..lines.len())
        .filter(|&at| code(lines[at]).contains("HashMap<") || code(lines[at]).contains("HashSet<"))
        .filter(|&at| !lines[at.saturating_sub(2)..=at].iter().any(|line| line.contains("never walked")))
        .map(|at| format!("{}:{}: {}", file.path, at + 1, lines[at].trim()))
        .collect()
}

fn platform_maths(file: &File) -> Vec<String> {
    if !file.path.ends_with(".rs") || file.is_test() || file.path == "model/src/math.rs" {
        return Vec::new();
    }
    hits(file, file.code_without_tests(), |line| {
        PLATFORM_MATHS.iter().any(|name| {
            code(line).contains(&format!(".{name}(")) || code(line).contains(&format!("f64::{name}("))
        })
    })
}

#[test]
fn the_core_is_pure() {
    let found = |line: &str| impure(&File::sample("model/src/a.rs", line)).len();
    assert_eq!(found("use std::fs::File;"), 1);
    assert_eq!(found("use std::{fmt, fs};"), 1);
    assert_eq!(found("let now = Instant::now();"), 1);
    assert_eq!(found("#[derive(serde::Serialize)]"), 1);
    assert_eq!(found("let instantaneous = 1; // not an Instant"), 0);
    report("not pure", tree().iter().flat_map(impure));
}

#[test]
fn no_hash_map_order_reaches_an_output() {
    let found = |text: &str| hash_map_that_may_be_walked(&File::sample("daemon/src/engine/a.rs", text)).len();
    assert_eq!(found("index: HashMap<u64, usize>,"), 1);
    assert_eq!(found("/// Looked up, never walked.\nindex: HashMap<u64, usize>,"), 0);
    report(
        "hash map without \"never walked\" in its comment",
        tree().iter().flat_map(hash_map_that_may_be_walked),
    );
}

#[test]
fn each_outside_library_is_behind_its_module() {
    assert_eq!(
        not_behind_its_module(&File::sample("daemon/src/cli/a.rs", "use rusqlite::Connection;")).len(),
        1
    );
    assert_eq!(
        not_behind_its_module(&File::sample("daemon/src/store/a.rs", "use rusqlite::Connection;")).len(),
        0
    );
    report("used outside its module", tree().iter().flat_map(not_behind_its_module));
}

#[test]
fn transcendental_functions_go_through_the_one_module() {
    assert_eq!(platform_maths(&File::sample("daemon/src/a.rs", "let y = x.exp();")).len(), 1);
    assert_eq!(platform_maths(&File::sample("daemon/src/a.rs", "let y = math::exp(x).sqrt();")).len(), 0);
    report("platform maths", tree().iter().flat_map(platform_maths));
}
