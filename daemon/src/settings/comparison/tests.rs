//! Comparison files that must not pass, each with what a person reads; the example, which must; the document, which must be whole.

use super::*;
use crate::compare::{EXAMPLE, EXAMPLE_NAME};
use std::collections::BTreeSet;

fn problems(text: &str) -> Problems {
    parse(text, "compare.toml").err().unwrap_or_else(|| panic!("this passed:\n{text}"))
}

/// `key: message`, one a line, of the example with one text replaced, which must be there.
fn changed(from: &str, to: &str) -> String {
    assert!(EXAMPLE.contains(from), "{from}");
    let problems = problems(&EXAMPLE.replacen(from, to, 1));
    problems.iter().map(|problem| format!("{}: {}\n", problem.key, problem.message)).collect()
}

#[test]
fn the_example_passes() {
    let read = parse(EXAMPLE, EXAMPLE_NAME).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(
        read.candidates.iter().map(|one| one.id.as_str()).collect::<Vec<_>>(),
        ["one", "two", "large", "recovery"]
    );
    assert_eq!(read.waters[1].water.solar_wh_day, Some(600.0));
    assert_eq!(read.need.between_fillings_days, Some(3.0));
    // By hand: 2000 + 1500 + 400 + 250, and 25 + 30 + 8 + 3 kg.
    assert_eq!(read.candidates[0].candidate.purchase, Some(4150.0));
    assert_eq!(read.candidates[0].candidate.weight_kg, Some(66.0));
    assert_eq!(
        read.uses.iter().find(|one| !one.per_person && one.name == "flushing the unit").map(|one| one.litres),
        Some(10.0)
    );
}

#[test]
fn six_problems_are_reported_at_once_each_with_place_and_remedy() {
    let text = "\
[need]
persons = 2
[need.per_person]
drinking = \"3 gal\"
[waters.home]
temperature = \"12 bar\"
salinity = \"35 g/kg\"
[supplies.generator]
kind = \"generator\"
capacity = \"400 Ah\"
[candidates.one]
supply = \"genrator\"
[candidates.one.buy]
pump = 1
[candidates.one.parts]
pressure_control = \"regulated\"
set_pressure = \"55 bar\"
[candidates.one.parts.pump]
kind = \"plunger\"
flow = \"6 L/min\"
rated_pressure = 70
[candidates.one.parts.drive]
kind = \"ac-single-phase\"
voltage = \"230 V\"
frequency = \"50 Hz\"
[[candidates.one.parts.elements]]
size = \"2540\"
area = \"2.8 m2\"
nominal_flow = \"2.6 m3/d\"
nominal_rejection = \"99.4 %\"
";
    let report = problems(text).to_string();
    for part in [
        "need.per_person.drinking: `gal` is not clear",
        "--> compare.toml:4:1",
        "waters.home.temperature: `bar` is a unit of pressure; a temperature is expected",
        "supplies.generator.capacity: only a battery has this",
        "candidates.one.supply: there is no `genrator` under `supplies`",
        "did you mean `generator`?",
        "candidates.one.buy.pump: there is no `pump` under `items`",
        "candidates.one.parts.pump.rated_pressure: a number with its unit, in quotes, is expected",
        "`55 bar`, `800 psi`",
        "6 problems in compare.toml",
    ] {
        assert!(report.contains(part), "no {part} in\n{report}");
    }
}

#[test]
fn what_does_not_go_together_is_said() {
    let rows = [
        (
            "share = \"45 %\"",
            "share = \"75 %\"",
            "waters.home.share: the shares of all waters are 130 % together\n",
        ),
        (
            "share = \"45 %\"\n",
            "",
            "waters.tropics.share: this water has no share of the year, others have\n",
        ),
        (
            "supply = \"battery\"",
            "supply = \"generator\"",
            "candidates.recovery.supply: a direct-current motor runs on a battery\n",
        ),
        (
            "voltage = \"12 V\"\nusable",
            "voltage = \"24 V\"\nusable",
            "candidates.recovery.supply: a motor for 12 V on a battery of 24 V\n",
        ),
        ("after_years = 5.0", "", "consumables.element.after_hours: nothing says how long it lasts\n"),
        (
            "[candidates.one.parts]\n",
            "[candidates.one.parts]\ntank = \"300 L\"\n",
            "candidates.one.parts.tank: the tank is in `[need]`\n",
        ),
        (
            "[candidates.one]\n",
            "[candidates.one]\nsettings = \"boat.toml\"\n",
            "candidates.one.settings: the parts are written out and taken from a file\n",
        ),
        (
            "drinking = \"3 L\"",
            "Drinking = \"3 L\"",
            "need.per_person.Drinking: `Drinking` is not a short name\n",
        ),
    ];
    for (from, to, expected) in rows {
        assert_eq!(changed(from, to), expected);
    }
    let empty = problems("").to_string();
    for part in ["how much water is needed", "no water", "no supply", "no candidate"] {
        assert!(empty.contains(part), "{empty}");
    }
}

#[test]
fn counts_end_at_their_limits() {
    let waters = |count: usize| {
        let more: String = (4..count)
            .map(|at| {
                format!("[waters.w{at}]\ntemperature = \"20 C\"\nsalinity = \"35 g/kg\"\nshare = \"0 %\"\n")
            })
            .collect();
        parse(&format!("{EXAMPLE}\n{more}"), "a.toml")
    };
    assert!(waters(ranges::WATERS_MAX).is_ok());
    assert!(
        waters(ranges::WATERS_MAX + 1).unwrap_err().to_string().contains("6 under `waters`, there can be 5")
    );
    let candidate = "[candidates.fifth]\nsupply = \"generator\"\nsettings = \"boat.toml\"\n";
    let five = problems(&format!("{EXAMPLE}\n{candidate}")).to_string();
    assert!(five.contains("5 under `candidates`, there can be 4"), "{five}");
}

#[test]
fn parts_may_come_from_a_settings_file() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let head = EXAMPLE.split("[candidates.one]").next().unwrap();
    let read = |name: &str, unit: &str| {
        let text = format!("{head}[candidates.mine]\nsupply = \"generator\"\nsettings = \"{name}\"\n{unit}");
        check_text(&text, "a.toml", &|path| load::load(&folder.join(path)))
    };
    let mine = read("two-2540-ac-regulated.toml", "").unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(mine.candidates[0].candidate.parts.elements.len(), 2);
    assert_eq!(mine.candidates[0].parts_from.as_deref(), Some("two-2540-ac-regulated.toml"));
    let unknown = read("two-2540-ac-regulated.toml", "unit = \"spare\"\n").unwrap_err().to_string();
    assert!(unknown.contains("there is no unit `spare`") && unknown.contains("`main`"), "{unknown}");
    let missing = read("nowhere.toml", "").unwrap_err().to_string();
    assert!(missing.contains("candidates.mine.settings: nowhere.toml: cannot read"), "{missing}");
}

#[test]
fn every_key_has_its_range_and_stands_in_the_document() {
    use crate::settings::typed::Kind;
    let keys = raw::own_keys();
    let numbers: BTreeSet<&str> = keys
        .iter()
        .filter(|(_, kind)| matches!(kind, Kind::Amount | Kind::Share | Kind::Number | Kind::Count))
        .map(|(key, _)| key.as_str())
        .collect();
    assert_eq!(numbers, ranges::RANGES.iter().map(|range| range.pattern).collect());
    let document =
        std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/comparison.md"))
            .unwrap();
    for (key, _) in keys {
        assert!(document.contains(&format!("| `{key}` |")), "`{key}` is not in the document");
    }
}
