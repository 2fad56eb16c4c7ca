//! Tables, right and wrong. Nothing is handed on from a table with a fault.

use super::*;
use crate::settings::{Settings, parse};
use barrico_model::Quantity;
use barrico_model::records::LogBody;

fn settings() -> Settings {
    let file = format!("{}/examples/gauges-only-hand-set.toml", env!("CARGO_MANIFEST_DIR"));
    parse(&std::fs::read_to_string(file).expect("readable"), "sample").expect("the sample holds")
}

fn words(columns: &[&str]) -> TableWords {
    TableWords {
        columns: columns.iter().map(|word| (*word).to_string()).collect(),
        start: Some("2026-03-01 08:00".to_string()),
        every: Some("30 min".to_string()),
        ..TableWords::default()
    }
}

fn read(text: &str, words: &TableWords) -> Result<Imported, String> {
    read_bytes(text.as_bytes(), words)
}

fn read_bytes(bytes: &[u8], words: &TableWords) -> Result<Imported, String> {
    let settings = settings();
    let unit = &settings.units[0];
    let mapping = words
        .mapping(&settings, unit)
        .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?;
    import(bytes, &mapping, &settings, unit, "test", "").map_err(|faults| faults.to_string())
}

fn values(imported: &Imported, quantity: Quantity) -> Vec<f64> {
    let of = |body: &LogBody| match body {
        LogBody::Readings(readings) => readings.iter().find(|r| r.quantity == quantity).map(|r| r.value),
        LogBody::Event(_) => None,
    };
    imported.entries.iter().filter_map(|entry| of(&entry.body)).collect()
}

const PRESSURE: &str = "p=feed_pressure:bar";

#[test]
fn rows_become_entries_with_units_converted_and_times_invented() {
    let table = "p,q,note\n55,1.2,a\n54.5,,b\n";
    let imported = read(table, &words(&[PRESSURE, "q=product_flow:L/min"])).expect("a table");
    assert_eq!(values(&imported, Quantity::FeedPressure), [55.0, 54.5]);
    // 1 L/min is 60 L/h; an empty cell is no reading.
    assert_eq!(values(&imported, Quantity::ProductFlow), [72.0]);
    // 2026-03-01 08:00 UTC; checked with `date -u -d @1772352000`.
    let at: Vec<_> = imported.entries.iter().filter_map(|entry| entry.at).collect();
    assert_eq!(at, [1_772_352_000_000, 1_772_353_800_000]);
    assert!(imported.entries.iter().all(|entry| entry.time_invented));
}

#[test]
fn semicolons_tabs_quotes_and_a_byte_order_mark_are_read() {
    for table in ["p;q\n55;1\n", "p\tq\n55\t1\n", "\u{feff}p,q\r\n\"55\",1\r\n", "p , q\n 55 , 1\n"] {
        let imported = read(table, &words(&[PRESSURE])).expect(table);
        assert_eq!(values(&imported, Quantity::FeedPressure), [55.0], "{table}");
    }
}

#[test]
fn the_instrument_says_what_a_gallon_is_and_stands_in_the_reading() {
    // The sample's flow tube means US gallons: 3.785411784 L by definition (NIST SP 811).
    let imported = read("q\n20\n", &words(&["q=product_flow:gal/h@flow-tube"])).expect("a table");
    assert!((values(&imported, Quantity::ProductFlow)[0] - 20.0 * 3.785_411_784).abs() < 1e-9);
    let LogBody::Readings(readings) = &imported.entries[0].body else { panic!("readings") };
    assert_eq!(readings[0].instrument.as_deref(), Some("flow-tube"));
    // The concentrate is read with a jug, whose gallon nobody told.
    let error = read("q\n20\n", &words(&["q=concentrate_flow:gal/h"])).expect_err("not clear");
    assert!(error.contains("US gal"), "{error}");
}

#[test]
fn times_of_a_column_are_read_and_sorted() {
    let mut words = words(&[PRESSURE]);
    (words.start, words.every, words.time) = (None, None, Some("t".to_string()));
    let imported = read("t,p\n2026-03-02 08:00,54\n2026-03-01 08:00,55\n", &words).expect("a table");
    assert_eq!(values(&imported, Quantity::FeedPressure), [55.0, 54.0]);
    assert!(imported.entries.iter().all(|entry| !entry.time_invented));
    let error = read("t,p\n2026-03-02 08:00,54\nlast week,55\n", &words).expect_err("no time");
    assert!(error.contains("line 3, column `t`") && error.contains("`last week` is not a time"), "{error}");
}

#[test]
fn constants_are_in_every_row_and_selected_rows_alone_count() {
    let mut words = words(&[PRESSURE]);
    words.constants = vec!["feed_salinity=35 g/kg".to_string()];
    words.only = vec!["s=first".to_string()];
    let imported = read("s,p\nfirst,55\nsecond,56\nfirst,57\n", &words).expect("a table");
    assert_eq!(values(&imported, Quantity::FeedPressure), [55.0, 57.0]);
    assert_eq!(values(&imported, Quantity::FeedSalinity), [35.0, 35.0]);
    assert_eq!((imported.rows, imported.not_selected), (3, 1));
    words.only = vec!["s=third".to_string()];
    let error = read("s,p\nfirst,55\nsecond,56\n", &words).expect_err("none");
    assert!(error.contains("no row was selected") && error.contains("`first`, `second`"), "{error}");
}

/// Each fault with its line, its column and a remedy; all at once.
#[test]
fn wrong_cells_are_reported_with_line_column_and_remedy() {
    let table = "p;q\n55,5;70\nfifty;70\n55 bar;70\n300;70\n55;-1\nNaN;70\n";
    let error = read(table, &words(&[PRESSURE, "q=product_flow:L/h"])).expect_err("faults");
    for part in [
        "nothing was imported",
        "line 2, column `p`: `55,5` has a comma",
        "write a decimal point: `55.5`",
        "line 3, column `p`: `fifty` is not a number",
        "line 4, column `p`: `55 bar` is not a number",
        "line 5, column `p`: 300 bar is not possible as feed pressure",
        "line 6, column `q`: -1 L/h is not possible as product flow",
        "line 7, column `p`: `NaN` is not a number",
        "6 problems in the table",
    ] {
        assert!(error.contains(part), "no `{part}` in\n{error}");
    }
    assert_eq!(error.matches("remedy:").count(), 6);
}

#[test]
fn a_decimal_comma_between_commas_makes_rows_too_long_and_is_named() {
    let error = read("p,q\n55,5,70,2\n", &words(&[PRESSURE])).expect_err("too long");
    assert!(
        error.contains("line 2: 4 cells, the header has 2") && error.contains("decimal comma"),
        "{error}"
    );
    let error = read("p,q\n55\n", &words(&[PRESSURE])).expect_err("too short");
    assert!(error.contains("1 cells, the header has 2") && !error.contains("decimal comma"), "{error}");
}

#[test]
fn missing_and_double_columns_are_named_with_the_nearest() {
    let error = read("p_fed,q\n55,1\n", &words(&["p_feed=feed_pressure:bar"])).expect_err("missing");
    assert!(
        error.contains("column `p_feed`: the file has no such column")
            && error.contains("did you mean `p_fed`"),
        "{error}"
    );
    let error = read("p,p\n55,1\n", &words(&[PRESSURE])).expect_err("double");
    assert!(error.contains("two columns have this name"), "{error}");
}

#[test]
fn files_that_are_no_tables_are_refused() {
    let words = words(&[PRESSURE]);
    for (bytes, part) in [
        (&b""[..], "the file is empty"),
        (b"p\n", "no row with a reading"),
        (b"p\n\xff\xfe\n", "not text in UTF-8"),
        (b"p\n5\0\n", "not text in UTF-8"),
        (b"p,q\n,1\n", "no row with a reading"),
    ] {
        let error = read_bytes(bytes, &words).expect_err(part);
        assert!(error.contains(part), "{error}");
    }
}

#[test]
fn the_mapping_is_checked_before_the_file() {
    let fault = |columns: &[&str]| read("p\n55\n", &words(columns)).expect_err("a fault");
    assert!(fault(&[]).contains("no column is named"));
    assert!(fault(&["p"]).contains("COLUMN=QUANTITY:UNIT"));
    assert!(fault(&["p=feed_presure:bar"]).contains("did you mean `feed_pressure`"));
    assert!(fault(&["p=feed_pressure"]).contains("'p=feed_pressure:bar'"));
    assert!(fault(&["p=feed_pressure:g/kg"]).contains("is a unit of"));
    assert!(fault(&["p=product_salinity:ppm"]).contains("`ppm`"));
    assert!(fault(&["p=feed_pressure:bar@tube"]).contains("no instrument `tube`"));
    assert!(
        fault(&["p=feed_pressure:bar", "q=feed_pressure:bar"]).contains("a second column for feed_pressure")
    );
    let mut twice = words(&[PRESSURE]);
    twice.constants = vec!["feed_pressure=55 bar".to_string()];
    assert!(read("p\n55\n", &twice).expect_err("twice").contains("a column gives this already"));
    let mut timeless = words(&[PRESSURE]);
    timeless.every = None;
    assert!(read("p\n55\n", &timeless).expect_err("no step").contains("start and step go together"));
    timeless.start = None;
    assert!(read("p\n55\n", &timeless).expect_err("no time").contains("nothing says when"));
}

#[test]
fn the_limit_of_rows_holds() {
    let table = |rows: usize| format!("p\n{}", "55\n".repeat(rows));
    assert_eq!(read(&table(ROWS_MAX), &words(&[PRESSURE])).expect("at the limit").entries.len(), ROWS_MAX);
    let error = read(&table(ROWS_MAX + 1), &words(&[PRESSURE])).expect_err("beyond");
    assert!(error.contains("more than 20000 rows"), "{error}");
}

#[test]
fn many_faults_are_counted_and_the_first_are_told() {
    let table = format!("p\n{}", "x\n".repeat(FAULTS_SHOWN + 5));
    let error = read(&table, &words(&[PRESSURE])).expect_err("faults");
    assert_eq!(error.matches("remedy:").count(), FAULTS_SHOWN);
    assert!(error.contains("and 5 more") && error.contains("25 problems"), "{error}");
}

/// Options come first, the settings fill in; a start given beats a column of the settings.
#[test]
fn words_of_the_command_line_come_before_those_of_the_settings() {
    let known = TableWords { time: Some("t".to_string()), ..words(&["a=feed_pressure:bar"]) };
    let known = TableWords { start: None, every: None, ..known };
    let mixed = TableWords { only: vec!["s=1".to_string()], ..TableWords::default() }.or(&known);
    assert_eq!((mixed.columns.len(), mixed.time.as_deref()), (1, Some("t")));
    let invented = words(&[]).or(&known);
    assert_eq!((invented.time, invented.start.is_some()), (None, true));
}
