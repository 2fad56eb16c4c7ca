//! Rules of this tree that the compiler does not check, as ordinary tests.
//!
//! Each rule is one function from a file to its violations, beside a sample that breaks it: a rule that cannot fail checks
//! nothing. The tests say which file and line breaks which rule and why the rule is there. They read the tree as it lies on
//! disk, build outputs and hidden folders left out. What the rules do not see: meaning. A text that avoids every forbidden
//! phrase can still be wrong.

#![expect(
    clippy::unwrap_used,
    reason = "a rule that cannot read the tree must fail, and the place is all there is to say"
)]

#[path = "tidy/dependencies.rs"]
mod dependencies;
#[path = "tidy/imports.rs"]
mod imports;
#[path = "tidy/tree.rs"]
mod tree;

use tree::{File, hits, report, root, tree};

/// The agreed top level: a newcomer sees the shape of the project in one look. Dotfiles are tool settings.
const TOP_LEVEL: &[&str] = &[
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "daemon",
    "dashboards",
    "model",
    "systemd",
    "tests",
];

#[test]
fn top_level_is_exactly_the_agreed_names() {
    let mut names: Vec<String> = std::fs::read_dir(root())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    names.sort();
    assert_eq!(names, TOP_LEVEL, "the top level changed; further documents belong in daemon/docs/");
}

/// A path of one person's machine in a tracked file breaks on every other machine.
fn machine_paths(file: &File) -> Vec<String> {
    // Written in two parts so that this file does not break its own rule.
    let paths = [concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/"), concat!("/fa", "rm/")];
    let part_of_longer =
        |before: Option<char>| before.is_some_and(|c| c.is_alphanumeric() || "_.}".contains(c));
    hits(file, &file.text, |line| {
        paths
            .iter()
            .any(|path| line.match_indices(path).any(|(at, _)| !part_of_longer(line[..at].chars().last())))
    })
}

/// Packages come through the ordinary clients, wherever those are told to fetch from; no file names a host.
fn registry_hosts(file: &File) -> Vec<String> {
    if file.path == "Cargo.lock" {
        return Vec::new(); // cargo writes its registry's index there itself
    }
    let hosts = [
        concat!("static.crates", ".io"),
        concat!("index.crates", ".io"),
        concat!("registry.npmjs", ".org"),
        concat!("pypi", ".org"),
        concat!("deb.debian", ".org"),
        concat!("registry.yarnpkg", ".com"),
    ];
    hits(file, &file.text, |line| hosts.iter().any(|host| line.contains(host)))
}

#[test]
fn no_machine_paths_and_no_registry_hosts() {
    assert_eq!(machine_paths(&File::sample("a.md", concat!("see /wo", "rk/x"))).len(), 1);
    assert_eq!(machine_paths(&File::sample("a.md", concat!("target/wo", "rk/x"))), Vec::<String>::new());
    assert_eq!(registry_hosts(&File::sample("a.md", concat!("curl pypi", ".org"))).len(), 1);
    report("machine path", tree().iter().flat_map(machine_paths));
    report("registry host", tree().iter().flat_map(registry_hosts));
}

/// Aim and limit of a Rust file's length. Above the aim it is a question whether the file has one job; above the limit it has not.
const LINES_AIM: usize = 500;
const LINES_LIMIT: usize = 700;

fn too_long(file: &File, limit: usize) -> Option<String> {
    let lines = file.text.lines().count();
    (file.path.ends_with(".rs") && lines > limit).then(|| format!("{}: {lines} lines", file.path))
}

#[test]
fn files_are_short_enough_to_read() {
    let at_limit = |lines: usize| File::sample("a.rs", &"//\n".repeat(lines));
    assert_eq!(too_long(&at_limit(LINES_LIMIT), LINES_LIMIT), None);
    assert!(too_long(&at_limit(LINES_LIMIT + 1), LINES_LIMIT).is_some());
    for long in tree().iter().filter_map(|file| too_long(file, LINES_AIM)) {
        println!("over {LINES_AIM}, has it one job? {long}");
    }
    report("too long", tree().iter().filter_map(|file| too_long(file, LINES_LIMIT)));
}

/// `unwrap` is a claim that it cannot fail; a comment on the line or within four lines above says why it holds.
fn unwrap_without_reason(file: &File) -> Vec<String> {
    const REACH: usize = 4;
    if !file.path.ends_with(".rs") || file.is_test() {
        return Vec::new();
    }
    let lines: Vec<&str> = file.code_without_tests().lines().collect();
    let explained = |line: &str| line.contains("//") || line.contains("reason =");
    (0..lines.len())
        .filter(|&at| !lines[at].trim_start().starts_with("//") && lines[at].contains(".unwrap()"))
        .filter(|&at| !lines[at.saturating_sub(REACH)..=at].iter().any(|line| explained(line)))
        .map(|at| format!("{}:{}: {}", file.path, at + 1, lines[at].trim()))
        .collect()
}

#[test]
fn every_unwrap_says_why_it_holds() {
    let bare = File::sample("model/src/a.rs", "fn f() {\n    g().unwrap();\n}\n");
    let told = File::sample("model/src/a.rs", "fn f() {\n    // g has always one\n    g().unwrap();\n}\n");
    let test = File::sample("model/src/a.rs", "fn f() {}\n#[cfg(test)]\nmod tests {\n    g().unwrap();\n}\n");
    assert_eq!([&bare, &told, &test].map(|file| unwrap_without_reason(file).len()), [1, 0, 0]);
    report("unwrap without a comment", tree().iter().flat_map(unwrap_without_reason));
}

/// A lint switched off without a reason is a lint that nobody dares to switch on again.
fn allow_without_reason(file: &File) -> Vec<String> {
    if !file.path.ends_with(".rs") {
        return Vec::new();
    }
    let lines: Vec<&str> = file.text.lines().collect();
    let opens = |line: &str| {
        ["#[allow(", "#![allow(", "#[expect(", "#![expect("].iter().any(|o| line.trim_start().starts_with(o))
    };
    (0..lines.len())
        .filter(|&at| opens(lines[at]))
        // An attribute may be wrapped over a few lines, and a comment above serves as well as `reason`.
        .filter(|&at| {
            !lines[at..(at + 5).min(lines.len())].join(" ").split(']').next().unwrap_or("").contains("reason")
        })
        .filter(|&at| at == 0 || !lines[at - 1].trim_start().starts_with("//"))
        .map(|at| format!("{}:{}: {}", file.path, at + 1, lines[at].trim()))
        .collect()
}

/// Marks of work that was meant to be finished later.
fn unfinished(file: &File) -> Vec<String> {
    let marks = [
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("dbg", "!("),
        concat!("#[", "ignore"),
        concat!("FIX", "ME"),
    ];
    hits(file, &file.text, |line| marks.iter().any(|mark| line.contains(mark)))
}

#[test]
fn nothing_is_switched_off_or_left_unfinished() {
    assert_eq!(allow_without_reason(&File::sample("a.rs", "#[allow(dead_code)]\nfn f() {}\n")).len(), 1);
    assert!(
        allow_without_reason(&File::sample("a.rs", "#[allow(dead_code, reason = \"x\")]\nfn f() {}\n"))
            .is_empty()
    );
    assert_eq!(unfinished(&File::sample("a.rs", concat!("todo", "!()"))).len(), 1);
    report("lint switched off without a reason", tree().iter().flat_map(allow_without_reason));
    report("unfinished", tree().iter().flat_map(unfinished));
}

/// What no text of ours may tell a person beside a high-pressure pump and a glass of water, unless the same sentence denies it
/// within a dozen words before. Salinity says nothing about microbes, and more pressure breaks what is already under strain.
/// Common practice, no source: the list is ours.
fn dangerous_phrases(file: &File) -> Vec<String> {
    const PHRASES: &[&str] = &[
        "safe to drink",
        "good water",
        "raise the pressure",
        "increase the pressure",
        "flush with dock water",
        "rinse with dock water",
    ];
    const DENIALS: &[&str] = &["not", "never", "nor", "cannot", "forbidden", "forbidden_claims", "do_not"];
    const REACH: usize = 12;
    // Rust code of tests names such phrases to prove them absent; nobody on board reads it.
    if file.path.ends_with(".rs") && file.is_test() {
        return Vec::new();
    }
    let text = file.as_running_text();
    PHRASES
        .iter()
        .flat_map(|phrase| text.match_indices(phrase))
        .filter(|(at, _)| {
            let sentence = text[..*at].rsplit(['.', '!', '?', ';', '{']).next().unwrap_or("");
            !sentence
                .split(|c: char| !(c.is_alphanumeric() || c == '\'' || c == '_'))
                .filter(|word| !word.is_empty())
                .rev()
                .take(REACH)
                .any(|word| DENIALS.contains(&word) || word.ends_with("n't"))
        })
        .map(|(_, phrase)| format!("{}: \"{phrase}\"", file.path))
        .collect()
}

#[test]
fn no_text_says_what_can_hurt_somebody() {
    let said = |text: &str| dangerous_phrases(&File::sample("a.md", text)).len();
    assert_eq!(said("It is safe\n/// to drink."), 1);
    assert_eq!(said("Output is low. Raise the pressure."), 1);
    assert_eq!(said("Do not stop. Raise the pressure."), 1);
    assert_eq!(said("This does not mean that it is safe to drink."), 0);
    assert_eq!(said("Never raise the pressure to get the output back."), 0);
    report("dangerous phrase", tree().iter().flat_map(dangerous_phrases));
}

/// A recording without its origin and licence may not be passed on.
#[test]
fn every_capture_is_named_in_its_readme() {
    let files = tree();
    let captures: Vec<&str> =
        files.iter().filter_map(|file| file.path.strip_prefix("tests/captures/")).collect();
    if captures.is_empty() {
        return;
    }
    let readme =
        std::fs::read_to_string(root().join("tests/captures/README.md")).expect("tests/captures/README.md");
    let unnamed = captures.iter().filter(|name| **name != "README.md" && !readme.contains(*name));
    report("capture not named in tests/captures/README.md", unnamed.map(|name| (*name).to_string()));
    let bytes: u64 = captures
        .iter()
        .map(|name| std::fs::metadata(root().join("tests/captures").join(name)).unwrap().len())
        .sum();
    assert!(
        bytes <= 300_000,
        "tests/captures holds {bytes} bytes; excerpts stay under 300 kB, whole recordings stay outside"
    );
}
