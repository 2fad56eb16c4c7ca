//! The document of the settings against the settings: no key, range or message left out.

use super::super::{bus_table, check, ranges, raw, typed};
use super::daemon_folder;
use crate::quantity_text::Measure;
use barrico_model::Quantity;
use std::collections::BTreeSet;

#[test]
fn every_number_has_a_range_and_every_range_a_number() {
    use typed::Kind;
    let has_range = |kind: Kind| matches!(kind, Kind::Amount | Kind::Share | Kind::Number | Kind::Count);
    // The size of an error may be anything of the right unit; only shares have a range.
    let is_error = |key: &str| key.starts_with("instruments.") && !key.ends_with("_share");
    let keys: BTreeSet<String> = raw::all_keys()
        .into_iter()
        .filter(|(key, kind)| has_range(*kind) && !is_error(key))
        .map(|(key, _)| key)
        .collect();
    let ranges: BTreeSet<String> = ranges::RANGES.iter().map(|range| range.pattern.to_string()).collect();
    assert_eq!(keys, ranges);
    assert!(ranges::RANGES.iter().all(|range| range.low < range.high));
}

/// Keys of the document as patterns, each with its row.
fn documented() -> Vec<(String, String)> {
    let text = std::fs::read_to_string(daemon_folder().join("docs/settings.md")).unwrap();
    let mut table = String::new();
    let mut rows = Vec::new();
    for line in text.lines() {
        if let Some(header) = line.strip_prefix("## `[") {
            table = header.trim_matches(|c| matches!(c, '[' | ']' | '`')).to_string();
        } else if line.starts_with("| `")
            && !table.is_empty()
            && line.matches('|').count() == 5
            && let Some(key) = line.split('`').nth(1)
        {
            rows.push((format!("{table}.{key}"), line.to_string()));
        }
    }
    rows
}

#[test]
fn every_key_is_in_the_document_with_its_range() {
    let rows = documented();
    let keys: BTreeSet<&str> = rows.iter().map(|(key, _)| key.as_str()).collect();
    let all = raw::all_keys();
    assert_eq!(keys, all.iter().map(|(key, _)| key.as_str()).collect());
    assert_eq!(rows.len(), all.len(), "a key stands twice");
    for range in ranges::RANGES {
        let row = &rows.iter().find(|(key, _)| key == range.pattern).unwrap().1;
        let of = |unit: &str, per: f64| {
            format!("{} to {} {unit}", check::number(range.low / per), check::number(range.high / per))
                .trim()
                .to_string()
        };
        let written = match range.measure {
            Some(Measure::Duration) => vec![of("s", 1.0), of("h", 3600.0), of("d", 86_400.0)],
            measure => vec![of(measure.map_or("", Measure::unit), 1.0)],
        };
        assert!(
            written.iter().any(|text| row.contains(&format!("| {text} |"))),
            "{row}\nshould say {written:?}"
        );
    }
}

#[test]
fn the_document_says_which_message_gives_which_quantity() {
    let text = std::fs::read_to_string(daemon_folder().join("docs/settings.md")).unwrap();
    for quantity in Quantity::ALL {
        let groups: BTreeSet<String> = bus_table::groups_for(*quantity).iter().map(u32::to_string).collect();
        let name = format!("`{}`", quantity.name());
        let row = text.lines().find(|line| line.matches('|').count() == 3 && line.contains(&name));
        let written: BTreeSet<String> = row
            .and_then(|row| row.split('|').nth(2))
            .map(|cell| cell.split(',').map(|group| group.trim().to_string()).collect())
            .unwrap_or_default();
        assert_eq!(written, groups, "{name}");
    }
}
