//! What the page says in each state.

use super::views;
use crate::engine::view::{ReadingStatus, View};
use crate::publish::page::{Boat, Runs, Unit};
use barrico_model::Quantity;
use barrico_model::findings::Severity;
use barrico_model::records::OperatingState;

fn unit(view: &View) -> Unit {
    Boat::new(view).units.remove(0)
}

fn fact<'a>(unit: &'a Unit, label: &str) -> &'a str {
    unit.now.facts.iter().find(|fact| fact.label == label).map_or("", |fact| fact.text.as_str())
}

fn row<'a>(unit: &'a Unit, label: &str) -> &'a crate::publish::page::ReadingRow {
    unit.readings.iter().find(|row| row.label == label).unwrap()
}

#[test]
fn a_healthy_unit_says_what_it_makes_and_what_the_sea_allows() {
    let unit = unit(&views::healthy());
    assert_eq!(unit.now.headline, "Making 72 L/h; this sea allows 68 to 80 L/h");
    assert_eq!(unit.now.state, "Running");
    assert_eq!(unit.now.state_note, "since 13:40 UTC (25 min), as the unit itself reports");
    assert_eq!(fact(&unit, "Product"), "311 ± 24 µS/cm: salinity within your limit of 500 µS/cm");
    assert_eq!(fact(&unit, "Today"), "112 L made since midnight UTC, as far as measured");
    assert_eq!(unit.now.next.text, "Nothing to do.");
    assert_eq!(row(&unit, "Run time").value, "812.0 h");
    assert_eq!(row(&unit, "Product route").value, "tank");
}

#[test]
fn without_an_expectation_the_reasons_stand_in_its_place() {
    let mut view = views::healthy();
    view.units[0].expected = None;
    view.units[0].expected_missing = vec!["no parts list in the settings".to_string()];
    let unit = unit(&view);
    assert_eq!(unit.now.headline, "Making 72.4 L/h; what this sea allows is not known");
    assert_eq!(unit.now.notes, ["No parts list in the settings."]);
    assert!(unit.now.strip.is_none());
}

#[test]
fn unknown_is_said_and_never_a_number() {
    let unit = unit(&views::nothing_known());
    assert_eq!(unit.now.state, "State unknown");
    assert_eq!(unit.now.headline, "Product flow unknown, and so is what this sea allows");
    assert_eq!(fact(&unit, "Product"), "salinity unknown");
    assert_eq!(fact(&unit, "Today"), "litres made since midnight UTC unknown");
    assert_ne!(unit.now.next.text, "Nothing to do.", "nothing known is not nothing to do");
}

#[test]
fn a_stale_reading_is_unknown_with_its_last_value_and_time() {
    let unit = unit(&views::findings());
    let row = row(&unit, "Feed pressure");
    assert_eq!((row.value.as_str(), row.status), ("unknown", "too old"));
    assert_eq!(row.remark.as_deref(), Some("last 55.2 ± 1.1 bar at 13:21 UTC"));
    let doubted = self::row(&unit, "Feed temperature");
    assert_eq!((doubted.value.as_str(), doubted.status), ("unknown", "doubted"));
}

#[test]
fn a_stale_flow_makes_no_headline() {
    let mut view = views::healthy();
    view.units[0].readings[3].status = ReadingStatus::Stale;
    assert_eq!(unit(&view).now.headline, "Product flow unknown; this sea allows 68 to 80 L/h");
}

#[test]
fn salinity_at_the_limit_is_called_close_and_over_is_over() {
    let mut view = views::healthy();
    view.units[0].readings[4].value = Some(490.0);
    assert!(
        fact(&unit(&view), "Product").contains("just within your limit of 500 µS/cm, too close to be sure")
    );
    view.units[0].readings[4].value = Some(500.0);
    assert!(fact(&unit(&view), "Product").contains("just within"), "the limit itself is within");
    view.units[0].readings[4].value = Some(900.0);
    let unit = unit(&view);
    assert!(fact(&unit, "Product").ends_with("salinity over your limit of 500 µS/cm"));
    assert!(unit.now.facts[0].over);
    assert!(unit.now.next.text.starts_with("Watch the salinity"), "over the limit is not nothing to do");
}

#[test]
fn water_standing_at_the_cell_is_not_judged() {
    let mut view = views::stopped();
    view.units[0].readings[4].value = Some(9000.0);
    let unit = unit(&view);
    assert_eq!(unit.now.headline, "Not making water; this sea would allow 68 to 80 L/h");
    assert!(fact(&unit, "Product").contains("not judged"));
    assert!(!unit.now.facts[0].over);
    assert_eq!(fact(&unit, "Standing"), "last run or flush at least 2 days ago");
}

#[test]
fn the_next_thing_comes_from_the_most_urgent_finding() {
    let unit = unit(&views::findings());
    assert!(unit.now.next.text.starts_with("Time how long the concentrate takes"));
    assert_eq!(unit.now.next.urgency, Some(Severity::Advice.name()));
    let first = &unit.findings.blocks[0];
    assert_eq!(first.causes[0].likelihood, "more likely than not, 55 %");
    assert_eq!(first.evidence[0], "Product flow: 54 ± 2 L/h, against 68 to 80 L/h in this water.");
    assert!(first.acknowledge.is_some());
    let second = &unit.findings.blocks[1];
    assert!(second.acknowledge.is_none());
    assert_eq!(second.life, "Raised 11:05 UTC (occurrence 2); acknowledged by Ines; not measured again yet.");
}

#[test]
fn starting_and_flushing_are_not_judged() {
    let mut view = views::healthy();
    view.units[0].state = Some(OperatingState::Flushing);
    assert_eq!(unit(&view).now.headline, "Flushing: not judged until it runs steadily");
}

#[test]
fn numbers_that_are_none_are_unknown_everywhere() {
    let mut view = views::healthy();
    for reading in &mut view.units[0].readings {
        reading.value = Some(f64::NAN);
        reading.sd = f64::NAN;
        reading.age_s = f64::NAN;
    }
    view.units[0].state_s = f64::NAN;
    let unit = unit(&view);
    assert!(unit.readings.iter().all(|row| row.value == "unknown"), "{:?}", unit.readings);
    assert!(!format!("{unit:?}").contains("NaN"));
}

#[test]
fn the_chart_shows_gaps_and_at_most_the_last_runs() {
    let mut view = views::healthy();
    let unit_view = &mut view.units[0];
    unit_view.runs =
        (0..40).map(|i| views::run(i, 40 - i as i64, (i != 39).then_some(70.0), Some(74.0))).collect();
    let unit = unit(&view);
    assert_eq!(unit.runs.lines.len(), Runs::SHOWN_MAX);
    assert_eq!(unit.runs.lines[0].flow, "unknown", "latest first, and a gap is unknown");
    let chart = unit.runs.chart.unwrap();
    assert_eq!(chart.matches("<circle").count(), Runs::SHOWN_MAX - 1);
    assert_eq!(chart.matches("class=\"gap\"").count(), 2, "one cross of two lines");
    assert!(chart.contains("L/h"));
    assert!(unit.runs.summary.starts_with("The last 30 of 40 runs; 0 of the 29"));
}

#[test]
fn one_run_and_no_run_are_fine() {
    let mut view = views::healthy();
    view.units[0].runs = vec![views::run(1, 0, Some(70.0), None)];
    assert!(unit(&view).runs.chart.is_some());
    view.units[0].runs.clear();
    let unit = unit(&view);
    assert!(unit.runs.chart.is_none());
    assert_eq!(unit.runs.summary, "No run has been recorded yet.");
    assert_eq!(row(&unit, "Feed salinity").origin, "by hand, log entry 12");
    assert_eq!(unit.readings.len(), view.units[0].readings.len());
    assert_eq!(view.units[0].readings[0].quantity, Quantity::FeedTemperature);
}
