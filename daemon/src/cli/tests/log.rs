//! Arguments become commands; what is wrong is refused before anything is sent.

use super::*;
use barrico_model::{Quantity, Stamp};

#[derive(clap::Parser)]
struct Line {
    #[command(flatten)]
    arguments: Arguments,
}

/// 2026-03-03 14:05 UTC; checked with `date -u -d @1772546700`.
const NOW: WallMs = 1_772_546_700_000;

fn settings() -> Settings {
    let file = format!("{}/examples/gauges-only-hand-set.toml", env!("CARGO_MANIFEST_DIR"));
    crate::settings::load(Path::new(&file)).expect("the sample holds")
}

fn parse(arguments: &[&str]) -> Action {
    let line = std::iter::once("log").chain(arguments.iter().copied());
    <Line as clap::Parser>::try_parse_from(line).unwrap_or_else(|error| panic!("{error}")).arguments.action
}

fn add(arguments: &[&str]) -> Result<Vec<NewEntry>, String> {
    let settings = settings();
    let Action::Add(add) = parse(&[&["add"], arguments].concat()) else { panic!("add") };
    match add.command(&settings, &settings.units[0], NOW) {
        Ok(Command::AddEntries { unit, entries }) if unit == "main" => Ok(entries),
        Ok(other) => panic!("{other:?}"),
        Err(error) => Err(error.to_string()),
    }
}

#[test]
fn readings_and_an_event_become_two_entries_of_one_moment() {
    let entries = add(&[
        "--feed-pressure=800 psi",
        "--reading",
        "product_flow=20 gal/h@flow-tube",
        "--event=filter-changed",
        "--at=2026-03-03 13:00",
        "--by=mate",
        "--note=calm",
    ])
    .expect("right");
    assert_eq!(entries.len(), 2);
    let LogBody::Readings(readings) = &entries[0].body else { panic!("readings") };
    assert_eq!(readings[0].typed, "800 psi");
    // 1 psi is 6894.757 Pa (NIST SP 811).
    assert!((readings[0].value - 800.0 * 0.06894757).abs() < 1e-4);
    assert_eq!(readings[0].instrument.as_deref(), Some("pressure-gauge"), "the settings name it");
    assert_eq!(entries[1].body, LogBody::Event(EventKind::FilterChanged));
    assert!(
        entries
            .iter()
            .all(|entry| entry.at == Some(NOW - 65 * 60_000) && entry.by == "mate" && entry.note == "calm")
    );
}

#[test]
fn what_is_wrong_is_refused_with_a_remedy() {
    let refused = |arguments: &[&str]| add(arguments).expect_err("refused");
    assert!(refused(&[]).contains("nothing to write down"));
    assert!(refused(&["--event=filter-chnaged"]).contains("did you mean `filter-changed`"));
    assert!(refused(&["--event=note"]).contains("--note"));
    assert!(refused(&["--feed-pressure=55 bar", "--at=2026-03-03 14:20"]).contains("future"));
    assert!(
        add(&["--feed-pressure=55 bar", "--at=2026-03-03 14:14"]).is_ok(),
        "a clock may be a little ahead"
    );
    assert!(refused(&["--feed-pressure=55 bar", "--at=today"]).contains("not a time"));
    let both = refused(&["--feed-pressure=55,5 bar", "--product-flow=20"]);
    assert!(both.contains("--feed-pressure") && both.contains("--product-flow"), "all at once: {both}");
    assert!(
        refused(&["--feed-pressure=55 bar", "--reading", "feed_pressure=55 bar"]).contains("given twice")
    );
}

fn entry(body: LogBody) -> LogEntry {
    LogEntry {
        id: 7,
        revision: 0,
        at: Stamp { wall_ms: Some(NOW), ..Stamp::default() },
        time_invented: false,
        by: "mate".to_string(),
        body,
        note: String::new(),
        reason: String::new(),
        voided: false,
        elements: vec![],
    }
}

fn amend(body: LogBody, arguments: &[&str]) -> Result<LogBody, String> {
    let settings = settings();
    let Action::Amend(amend) = parse(&[&["amend", "7", "--reason=typed wrongly"], arguments].concat()) else {
        panic!("amend")
    };
    match amend.command(&settings, &settings.units[0], &[entry(body)]) {
        Ok(Command::ChangeEntry { id: 7, change: EntryChange::Amend(body), reason, .. })
            if reason == "typed wrongly" =>
        {
            Ok(body)
        }
        Ok(other) => panic!("{other:?}"),
        Err(error) => Err(error.to_string()),
    }
}

fn set(values: &[(Quantity, f64)]) -> LogBody {
    let reading = |(quantity, value): &(Quantity, f64)| HandReading {
        quantity: *quantity,
        value: *value,
        typed: String::new(),
        instrument: None,
    };
    LogBody::Readings(values.iter().map(reading).collect())
}

#[test]
fn amending_changes_what_is_named_and_keeps_the_rest() {
    let known = set(&[(Quantity::FeedPressure, 80.0), (Quantity::ProductFlow, 70.0)]);
    let LogBody::Readings(readings) = amend(known.clone(), &["--feed-pressure=55 bar"]).expect("amended")
    else {
        panic!("readings")
    };
    let values: Vec<(Quantity, f64)> = readings.iter().map(|r| (r.quantity, r.value)).collect();
    assert_eq!(values, [(Quantity::FeedPressure, 55.0), (Quantity::ProductFlow, 70.0)]);
    assert!(amend(known.clone(), &[]).expect_err("nothing said").contains("say what is right"));
    assert!(amend(known, &["--event=cleaned"]).expect_err("another kind").contains("strike it out"));
    let event = LogBody::Event(EventKind::Flushed);
    assert_eq!(amend(event.clone(), &["--event=preserved"]), Ok(LogBody::Event(EventKind::Preserved)));
    assert!(amend(event.clone(), &[]).expect_err("nothing said").contains("--event"));
    assert!(amend(event, &["--feed-pressure=55 bar"]).expect_err("another kind").contains("strike it out"));
}

#[test]
fn an_amended_entry_that_is_not_there_is_refused() {
    let settings = settings();
    let Action::Amend(amend) = parse(&["amend", "8", "--reason=x", "--feed-pressure=55 bar"]) else {
        panic!("amend")
    };
    let error = amend.command(&settings, &settings.units[0], &[]).expect_err("not there").to_string();
    assert!(error.contains("no entry 8"), "{error}");
}

#[test]
fn lists_show_struck_out_and_amended_entries_with_their_reason() {
    let mut struck = entry(LogBody::Event(EventKind::Flushed));
    struck.voided = true;
    struck.reason = "was the other unit".to_string();
    let text = line(&struck).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("STRUCK OUT: was the other unit") && text.contains("3 Mar 2026 14:05 UTC"),
        "{text}"
    );
    assert_eq!(listed(&[], false).expect("text"), "The log is empty.\n");
    assert_eq!(listed(&[struck], true).expect("JSON").lines().count(), 1);
}

#[test]
fn a_table_that_the_settings_do_not_describe_is_refused() {
    let settings = settings();
    let Action::Import(import) = parse(&["import", "nowhere.csv", "--table=rig"]) else { panic!("import") };
    let error = import.imported(&settings, &settings.units[0]).expect_err("no table").to_string();
    assert!(error.contains("the settings describe none"), "{error}");
    let Action::Import(import) = parse(&[
        "import",
        "nowhere.csv",
        "--column=p=feed_pressure:bar",
        "--start=2026-03-01 08:00",
        "--every=1 h",
    ]) else {
        panic!("import")
    };
    let error = format!("{:#}", import.imported(&settings, &settings.units[0]).expect_err("no file"));
    assert!(error.contains("cannot read nowhere.csv"), "{error}");
}
