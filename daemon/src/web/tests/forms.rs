//! Hand readings, events and acknowledges through their forms.

use super::{Bench, page_settings};
use crate::engine::{Command, Reply};
use crate::publish::tests::views;
use crate::web::limits::{NAME_CHARS_MAX, NOTE_CHARS_MAX};
use axum::http::StatusCode;
use barrico_model::findings::FindingCode;
use barrico_model::records::{EventKind, LogBody, LogEntry};
use barrico_model::{Quantity, Stamp};

fn written() -> Reply {
    Reply::Written {
        entries: vec![41],
        runs: Vec::new(),
        remarks: vec!["this looks like psi, not bar".to_string()],
    }
}

fn bench(reply: Reply) -> Bench {
    Bench::with(views::findings(), page_settings("127.0.0.1:8080", None), reply)
}

#[tokio::test]
async fn readings_and_an_event_become_entries_with_what_was_typed() {
    let bench = bench(written());
    let answer = bench
        .post(
            "/log",
            &[
                ("unit", "main"),
                ("feed_pressure", " 800 psi "),
                ("product_flow", "1.2 L/min"),
                ("feed_temperature", ""),
                ("event", "valve-turned"),
                ("at", "2026-03-03 13:30"),
                ("by", "Ines"),
                ("note", "anchored"),
            ],
        )
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    let commands = bench.commands();
    let [Command::AddEntries { unit, entries }] = commands.as_slice() else { panic!("{commands:?}") };
    assert_eq!((unit.as_str(), entries.len()), ("main", 2));
    let LogBody::Readings(readings) = &entries[0].body else { panic!("{entries:?}") };
    let of = |quantity: Quantity| readings.iter().find(|r| r.quantity == quantity).expect("was typed");
    assert_eq!(of(Quantity::FeedPressure).typed, "800 psi");
    // 1 psi = 6894.757 Pa (NIST SP 811, table B.8).
    assert!((of(Quantity::FeedPressure).value - 55.158).abs() < 0.001);
    assert!((of(Quantity::ProductFlow).value - 72.0).abs() < 1e-9);
    assert_eq!(entries[1].body, LogBody::Event(EventKind::ValveTurned));
    assert!(entries.iter().all(|entry| entry.by == "Ines" && entry.note == "anchored"));
    // 13:30:00 is 35 min 12 s before the view's time.
    assert_eq!(entries[0].at, Some(views::NOW - 2_112_000));
    // The browser lands at the top, where the answer stands, and not at the form.
    let (address, place) = answer.header("location").split_once('#').unwrap();
    assert_eq!(place, "made");
    let page = bench.get(address).await;
    assert!(page.text.contains("Written down as log entry 41."));
    assert!(page.text.contains("This looks like psi, not bar."));
}

#[tokio::test]
async fn all_errors_come_at_once_and_what_was_typed_stays() {
    let bench = bench(written());
    let answer = bench
        .post(
            "/log",
            &[
                ("unit", "main"),
                ("feed_pressure", "-5 bar"),
                ("product_flow", "1,5 L/h"),
                ("supply_current", "lots"),
                ("event", "exploded"),
                ("at", "yesterday"),
                ("by", &"x".repeat(NAME_CHARS_MAX + 1)),
                ("note", &"y".repeat(NOTE_CHARS_MAX + 1)),
            ],
        )
        .await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bench.commands().is_empty(), "all or nothing");
    let errors = answer.text.matches("class=\"error\"").count();
    assert_eq!(errors, 8, "seven fields and the line above them");
    for typed in ["value=\"-5 bar\"", "value=\"1,5 L/h\"", "value=\"lots\"", "value=\"yesterday\""] {
        assert!(answer.text.contains(typed), "{typed}");
    }
    assert!(answer.text.contains("id=\"more-main\" open"), "the marked field is not hidden");
}

#[tokio::test]
async fn names_and_notes_at_their_limit_are_taken() {
    let bench = bench(written());
    let fields = [
        ("unit", "main"),
        ("event", "note"),
        ("by", &"é".repeat(NAME_CHARS_MAX)),
        ("note", &"é".repeat(NOTE_CHARS_MAX)),
    ];
    assert_eq!(bench.post("/log", &fields).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn an_empty_form_a_future_date_and_a_note_without_words_are_refused() {
    let bench = bench(written());
    for fields in [
        vec![("unit", "main")],
        vec![("unit", "main"), ("note", "only a note")],
        vec![("unit", "main"), ("event", "note")],
        vec![("unit", "main"), ("event", "flushed"), ("at", "2026-03-03 14:16")],
        vec![("unit", "main"), ("event", "flushed"), ("at", "2026-03-03")],
    ] {
        assert_eq!(bench.post("/log", &fields).await.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
    }
    assert_eq!(
        bench.post("/log", &[("unit", "other"), ("event", "flushed")]).await.status,
        StatusCode::NOT_FOUND
    );
    assert!(bench.commands().is_empty());
}

#[tokio::test]
async fn a_date_may_carry_its_own_offset() {
    let bench = bench(written());
    bench.post("/log", &[("unit", "main"), ("event", "flushed"), ("at", "2026-03-03T15:30:00+02:00")]).await;
    let Command::AddEntries { entries, .. } = &bench.commands()[0] else { panic!() };
    assert_eq!(entries[0].at, Some(views::NOW - 2_112_000));
}

#[tokio::test]
async fn the_same_form_sent_twice_is_written_once() {
    let bench = bench(written());
    let fields = [("unit", "main"), ("once", "abc"), ("event", "flushed")];
    let first = bench.post("/log", &fields).await;
    let second = bench.post("/log", &fields).await;
    assert_eq!(first.header("location"), second.header("location"));
    assert_eq!(bench.commands().len(), 1);
    bench.post("/log", &[("unit", "main"), ("once", "abd"), ("event", "flushed")]).await;
    assert_eq!(bench.commands().len(), 2, "another form is another event");
}

#[tokio::test]
async fn a_refusal_keeps_the_form_and_may_be_tried_again() {
    let bench = bench(Reply::Refused("the disk is full".to_string()));
    let fields = [("unit", "main"), ("once", "abc"), ("feed_pressure", "55 bar")];
    for _ in 0..2 {
        let answer = bench.post("/log", &fields).await;
        assert_eq!(answer.status, StatusCode::CONFLICT);
        assert!(answer.text.contains("The disk is full."));
        assert!(answer.text.contains("value=\"55 bar\""));
    }
    assert_eq!(bench.commands().len(), 2);
}

#[tokio::test]
async fn an_acknowledge_carries_the_occurrence_that_was_seen() {
    let bench = bench(Reply::Done);
    let fields = [("unit", "main"), ("code", "1"), ("about", ""), ("occurrence", "2")];
    assert_eq!(bench.post("/acknowledge", &fields).await.status, StatusCode::SEE_OTHER);
    let commands = bench.commands();
    let [Command::Acknowledge { code, about, occurrence, .. }] = commands.as_slice() else {
        panic!("{commands:?}")
    };
    assert_eq!((*code, *about, *occurrence), (FindingCode::OutputLow, None, 2));
    for wrong in [
        [("unit", "main"), ("code", "4"), ("about", ""), ("occurrence", "2")],
        [("unit", "main"), ("code", "1"), ("about", "feed_pressure"), ("occurrence", "2")],
        [("unit", "other"), ("code", "1"), ("about", ""), ("occurrence", "2")],
        [("unit", "main"), ("code", "1"), ("about", ""), ("occurrence", "-2")],
    ] {
        assert_eq!(bench.post("/acknowledge", &wrong).await.status, StatusCode::NOT_FOUND, "{wrong:?}");
    }
    assert_eq!(bench.commands().len(), 1);
}

#[tokio::test]
async fn the_log_shows_entries_latest_first_and_what_was_struck_out() {
    let entry = |id, voided, note: &str| LogEntry {
        id,
        revision: 1,
        at: Stamp { wall_ms: Some(views::NOW), ..Stamp::default() },
        time_invented: false,
        by: "Ines".to_string(),
        body: LogBody::Event(EventKind::FilterChanged),
        note: note.to_string(),
        reason: String::new(),
        voided,
        elements: vec![],
    };
    let bench = bench(Reply::Log(vec![entry(1, true, "<b>wrong</b>"), entry(2, false, "right")]));
    let page = bench.get("/log").await;
    let (first, second) = (page.text.find("right").unwrap(), page.text.find("wrong").unwrap());
    assert!(first < second);
    assert!(page.text.contains("class=\"void\""));
    assert!(!page.text.contains("<b>wrong"));
    let refused = super::Bench::with(
        views::findings(),
        page_settings("127.0.0.1:8080", None),
        Reply::Refused("busy".to_string()),
    );
    assert!(refused.get("/log").await.text.contains("Busy."));
}

#[test]
fn the_form_asks_the_same_as_the_terminal_and_asks_back_before_it_takes_another_unit() {
    use crate::hand;
    use crate::web::hand_log::{LogForm, read};
    use crate::web::posted::Fields;
    let file = format!("{}/examples/gauges-only-hand-set.toml", env!("CARGO_MANIFEST_DIR"));
    let settings = crate::settings::load(std::path::Path::new(&file)).unwrap_or_else(|p| panic!("{p}"));
    let asked = hand::questions(&settings, &settings.units[0], &Default::default());
    let order: Vec<&str> = asked.iter().map(|question| question.quantity.name()).collect();
    let form = LogForm::empty(&settings, "main");
    assert_eq!(form.usual.iter().map(|field| field.name).collect::<Vec<_>>(), order);
    assert!(form.more.iter().all(|field| !order.contains(&field.name)));

    let field = |name: &str, value: &str| (name.to_string(), value.to_string());
    let mut fields = Fields(vec![
        field("product_flow", "20 L/h"),
        field("feed_pressure", "800"),
        field("feed_temperature", "24 C"),
    ]);
    let form = read("main", &fields, &settings, None).expect_err("asked");
    let flow = form.usual.iter().find(|f| f.name == "product_flow").expect("asked for");
    assert!(flow.error.as_deref().is_some_and(|text| text.contains("\"20 US gal/h\"")), "{flow:?}");
    let pressure = form.usual.iter().find(|f| f.name == "feed_pressure").expect("asked for");
    assert!(pressure.error.as_deref().is_some_and(|text| text.contains("\"800 psi\"")), "{pressure:?}");
    assert_eq!((flow.asked.as_deref(), pressure.asked.as_deref()), (Some("20 L/h"), None));

    fields.0[1] = field("feed_pressure", "800 psi");
    fields.0.push(field("asked-product_flow", "20 L/h"));
    let Ok(Command::AddEntries { entries, .. }) = read("main", &fields, &settings, None) else {
        panic!("sent again unchanged, it is taken")
    };
    let LogBody::Readings(readings) = &entries[0].body else { panic!("{entries:?}") };
    assert!(readings.iter().any(|r| r.quantity == Quantity::ProductFlow && r.value == 20.0));
}
