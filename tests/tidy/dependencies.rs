//! Licences, bans and sources of everything that goes into the binary, after the lists of `.deny.toml`.
//!
//! The same as `cargo deny check licenses bans sources`, for the platform this runs on, without a tool to install. No advisory
//! database: a closed network cannot fetch one.

use crate::tree::{report, root};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Tells whether an SPDX licence expression can be met with allowed licences alone. `/` is the old way to write `OR`.
fn is_allowed(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let tokens: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    any_of(&tokens, &mut at, allowed) && at == tokens.len()
}

fn any_of(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = all_of(tokens, at, allowed);
    while tokens.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all_of(tokens, at, allowed);
    }
    met
}

fn all_of(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = one(tokens, at, allowed);
    while tokens.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(tokens, at, allowed);
    }
    met
}

fn one(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let Some(&token) = tokens.get(*at) else { return false };
    *at += 1;
    if token == "(" {
        let met = any_of(tokens, at, allowed);
        let closed = tokens.get(*at) == Some(&")");
        *at += 1;
        return met && closed;
    }
    let mut name = token.to_string();
    if tokens.get(*at) == Some(&"WITH") {
        name = format!("{token} WITH {}", tokens.get(*at + 1).unwrap_or(&""));
        *at += 2;
    }
    allowed.contains(&name)
}

/// All packages of the build, as `cargo metadata` lists them for the platform this runs on.
fn packages() -> Vec<Value> {
    let host = Command::new("rustc").arg("-vV").output().expect("rustc -vV");
    let host = String::from_utf8(host.stdout).unwrap();
    let host =
        host.lines().find_map(|line| line.strip_prefix("host: ")).expect("rustc names its host").to_string();
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_string());
    let output = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform", &host])
        .current_dir(root())
        .output()
        .expect("cargo metadata");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().expect("a list of packages").clone()
}

fn deny_settings() -> toml::Table {
    std::fs::read_to_string(root().join(".deny.toml")).unwrap().parse().expect(".deny.toml is TOML")
}

fn text<'a>(package: &'a Value, key: &str) -> &'a str {
    package[key].as_str().unwrap_or("")
}

#[test]
fn licence_expressions_are_read_rightly() {
    let allowed: BTreeSet<String> =
        ["MIT", "Apache-2.0", "Unicode-3.0"].iter().map(|s| (*s).to_string()).collect();
    let cases = [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("GPL-2.0-only OR MIT", true),
        ("MIT/Apache-2.0", true),
        ("MIT AND GPL-3.0-only", false),
        ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
        ("(MIT OR Apache-2.0) AND OFL-1.1", false),
        ("Apache-2.0 WITH LLVM-exception OR Apache-2.0 OR MIT", true),
        ("Apache-2.0 WITH LLVM-exception", false),
        ("", false),
    ];
    for (expression, expected) in cases {
        assert_eq!(is_allowed(expression, &allowed), expected, "{expression}");
    }
}

#[test]
fn every_licence_is_in_the_list() {
    let settings = deny_settings();
    let list = settings["licenses"]["allow"].as_array().expect("licenses.allow");
    let allowed: BTreeSet<String> =
        list.iter().map(|licence| licence.as_str().unwrap().to_string()).collect();
    let packages = packages();
    let others =
        packages.iter().filter(|package| !is_allowed(text(package, "license"), &allowed)).map(|package| {
            format!("{} {}: {}", text(package, "name"), text(package, "version"), text(package, "license"))
        });
    report("licence outside the list of .deny.toml", others);
}

#[test]
fn no_banned_crate_and_no_second_version_of_what_must_be_one() {
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in packages() {
        versions
            .entry(text(&package, "name").to_string())
            .or_default()
            .insert(text(&package, "version").to_string());
    }
    let settings = deny_settings();
    let bans = settings["bans"]["deny"].as_array().expect("bans.deny");
    assert!(!bans.is_empty());
    let broken = bans.iter().filter_map(|ban| {
        let name = ban["crate"].as_str().expect("the name of a crate");
        let once = ban.get("deny-multiple-versions").and_then(toml::Value::as_bool).unwrap_or(false);
        let found = versions.get(name)?;
        (found.len() > usize::from(once)).then(|| format!("{name} {found:?}: {}", ban["reason"]))
    });
    report("banned by .deny.toml", broken);
}

/// A git dependency, or a second registry, cannot be audited by name and version.
#[test]
fn everything_foreign_comes_from_the_one_registry() {
    let packages = packages();
    let sources: BTreeSet<&str> = packages.iter().filter_map(|package| package["source"].as_str()).collect();
    assert!(sources.len() <= 1, "{sources:?}");
    assert!(sources.iter().all(|source| source.starts_with("registry+")), "{sources:?}");
    let ours: BTreeSet<&str> = packages
        .iter()
        .filter(|package| package["source"].is_null())
        .map(|package| text(package, "name"))
        .collect();
    assert_eq!(
        ours,
        BTreeSet::from(["barrico", "barrico-model", "barrico-n2k"]),
        "a path outside the workspace?"
    );
}
