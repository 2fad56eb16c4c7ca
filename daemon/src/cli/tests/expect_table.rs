//! The card on the samples, one for each kind of pressure control: what floats is shown, what is held is said, limits come from the settings only.

use super::*;
use crate::publish::sheet::Document;
use crate::publish::sheet::tests::assert_self_contained;
use crate::settings::load;
use std::path::Path;

fn sample(name: &str) -> Settings {
    let file = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let mut settings = load(Path::new(&file)).expect("the sample holds");
    // Whatever history the machine of the test may have.
    settings.state_folder = "no-such-folder".into();
    settings
}

fn card_at(settings: &Settings, given: &Condition, options: &Options) -> (Answer, Card) {
    let unit = &settings.units[0];
    let ground = Ground::of(settings, unit, false).expect("from sheets");
    let answer = Answer::new(given, ground, options).expect("computed");
    let card = answer.card(&Asked { settings, unit, given }, options.units, None);
    (answer, card)
}

fn card_of(settings: &Settings, options: &Options) -> (Answer, Card) {
    card_at(settings, &Condition::default(), options)
}

#[test]
fn each_kind_of_pressure_control_shows_what_floats() {
    let captions = |name| -> Vec<String> {
        let (_, card) = card_of(&sample(name), &Options::default());
        let html = card.html().unwrap();
        assert_self_contained(&html);
        assert!(
            text(&card).lines().all(|line| line.chars().count() <= crate::cli::print::WIDTH),
            "{}",
            text(&card)
        );
        card.grids
            .iter()
            .map(|grid| grid.caption.split([' ', ',']).take(2).collect::<Vec<_>>().join(" "))
            .collect()
    };
    assert_eq!(captions("two-2540-ac-regulated"), ["Product flow", "Product conductivity"]);
    assert_eq!(captions("gauges-only-hand-set"), ["Product flow", "Product conductivity"]);
    assert_eq!(
        captions("one-2521-belt-fixed-valve"),
        ["Product flow", "Feed pressure", "Product conductivity"]
    );
    assert_eq!(captions("one-2540-12v-energy-recovery"), ["Feed pressure", "Product conductivity"]);
}

/// Warmer water gives more, saltier water less: along every row and column of the regulated unit (the sign is that of A(T) and of the osmotic pressure).
#[test]
fn product_rises_with_temperature_and_falls_with_salinity() {
    let (answer, _) = card_of(&sample("two-2540-ac-regulated"), &Options::default());
    let flow: Vec<Vec<f64>> = answer
        .cells
        .iter()
        .map(|row| row.iter().map(|cell| cell.as_ref().unwrap().output.product_flow_l_h).collect())
        .collect();
    assert_eq!((flow.len(), flow[0].len()), (6, 4));
    assert!(flow.windows(2).all(|rows| rows[0].iter().zip(&rows[1]).all(|(cold, warm)| cold < warm)));
    assert!(flow.iter().all(|row| row.windows(2).all(|pair| pair[1] < pair[0])));
}

#[test]
fn a_cell_is_what_expect_says_for_that_water() {
    let settings = sample("two-2540-ac-regulated");
    let (answer, card) = card_of(&settings, &Options::default());
    let json = answer.json(&settings.units[0], &card);
    let cell = &json["cells"][4 * 3 + 1];
    assert_eq!(
        (cell["feed_temperature_c"].as_f64(), cell["feed_salinity_g_kg"].as_f64()),
        (Some(20.0), Some(35.0))
    );
    let water = Condition {
        feed_temperature_c: Some(Estimate::exact(20.0)),
        feed_salinity_g_kg: Some(Estimate::exact(35.0)),
        ..Condition::default()
    };
    let parts = &settings.units[0].parts;
    let calibration = barrico_model::plant::Calibration::from_nominal_sheets(parts).unwrap();
    let expected = expect(parts, &water, &calibration).unwrap();
    let flow = cell["product_flow_l_h"].as_f64().unwrap();
    assert!((flow - expected.output.product_flow_l_h).abs() < 1e-3, "{flow}");
    assert!(cell["uncertainty"]["product_flow_l_h"].is_f64());
}

#[test]
fn a_limit_that_was_not_entered_is_named_and_marks_nothing() {
    let mut settings = sample("two-2540-ac-regulated");
    let warm = Options { table: true, temperatures: Some("20, 30, 40 C".to_owned()), ..Options::default() };
    for element in &mut settings.units[0].parts.elements {
        element.limits.maximum_temperature_c = Some(35.0);
    }
    let (_, card) = card_of(&settings, &warm);
    let marked =
        |card: &Card, row: usize| card.grids[0].rows[row].1.iter().all(|cell| cell.marks.contains('T'));
    assert!(!marked(&card, 1) && marked(&card, 2));
    assert!(card.legend.iter().any(|line| line.starts_with("T: ")), "{:?}", card.legend);
    for element in &mut settings.units[0].parts.elements {
        element.limits.maximum_temperature_c = None;
    }
    let (_, card) = card_of(&settings, &warm);
    assert!(!marked(&card, 2) && !card.legend.iter().any(|line| line.starts_with("T: ")));
    assert!(card.limits.contains(&("Highest temperature".to_owned(), "not entered".to_owned())));
}

/// The owner's limit of 900 µS/cm is met in the cold and passed in warm, salty water, by the card's own figures.
#[test]
fn the_owners_limit_marks_exactly_the_cells_that_pass_it() {
    let settings = sample("two-2540-ac-regulated");
    let (answer, card) = card_of(&settings, &Options::default());
    for (row, cells) in answer.cells.iter().zip(&card.grids[0].rows) {
        for (cell, shown) in row.iter().zip(&cells.1) {
            let over = 900.0 < cell.as_ref().unwrap().output.product_conductivity_us_cm_25c;
            assert_eq!(shown.marks.contains('S'), over);
        }
    }
}

#[test]
fn lists_and_ranges_are_read_with_their_unit_and_bounded() {
    let t = |text: &str| {
        values(text, Quantity::FeedTemperature, TEMPERATURES_MAX).map_err(|error| error.to_string())
    };
    assert_eq!(t("5 to 30 by 5 C").unwrap(), [5.0, 10.0, 15.0, 20.0, 25.0, 30.0]);
    assert_eq!(t("10, 20.5 C").unwrap(), [10.0, 20.5]);
    // 50 °F is 10 °C, 68 °F is 20 °C.
    assert!(t("50, 68 F").unwrap().iter().zip([10.0, 20.0]).all(|(a, b)| (a - b).abs() < 1e-9));
    assert_eq!(t("1 to 10 by 1 C").unwrap().len(), TEMPERATURES_MAX);
    for wrong in [
        "1 to 11 by 1 C",
        "5 to 30 by 0 C",
        "30 to 5 by 5 C",
        "warm",
        "5 to 30 C",
        "5, , 7 C",
        "5, 10",
        "20 bar",
        "99 C",
    ] {
        assert!(t(wrong).is_err(), "{wrong}");
    }
    assert!(
        values("5 to 30 by 5", Quantity::FeedTemperature, 9).is_err(),
        "a number without its unit is not guessed"
    );
}

#[test]
fn us_units_stand_on_paper_and_json_keeps_its_own() {
    let settings = sample("gauges-only-hand-set");
    let options = Options {
        units: Units::Us,
        table: true,
        temperatures: Some("68 F".to_owned()),
        ..Options::default()
    };
    let (answer, card) = card_of(&settings, &options);
    assert!(card.grids[0].caption.contains("US gal/h") && card.grids[0].rows[0].0 == "68 °F", "{card:?}");
    assert!(card.remarks[0].contains("800 psi"), "{}", card.remarks[0]);
    let l_h = answer.cells[0][0].as_ref().unwrap().output.product_flow_l_h;
    let shown: f64 = card.grids[0].rows[0].1[0].middle.parse().unwrap();
    // 1 US gal is 3.785411784 L; half of the last digit shown.
    assert!((shown - l_h / 3.785_411_784).abs() < 0.51, "{shown}, {l_h}");
}

/// The unit is held at another pressure by the options: then that is said, and no pressure is shown to expect.
#[test]
fn a_given_pressure_takes_the_place_of_the_units_own_control() {
    let settings = sample("one-2540-12v-energy-recovery");
    let given = Condition { feed_pressure_bar: Some(Estimate::exact(50.0)), ..Condition::default() };
    let (_, card) = card_at(&settings, &given, &Options::default());
    assert!(card.remarks[0].contains("given, 50 bar") && card.grids[0].caption.starts_with("Product flow"));
}

/// The sample with a fixed valve has a limit of 62 bar. Where the middle passes it the cell is forbidden, where only the range reaches it the cell warns.
#[test]
fn a_pressure_limit_within_the_range_warns_and_one_below_the_middle_forbids() {
    let settings = sample("one-2521-belt-fixed-valve");
    let (answer, card) = card_of(&settings, &Options::default());
    let (limit, _) = settings.units[0].parts.pressure_limit_bar().unwrap();
    let (mut near, mut over) = (0, 0);
    for (row, shown) in answer.cells.iter().zip(&card.grids[1].rows) {
        for (cell, shown) in row.iter().zip(&shown.1) {
            let expected = cell.as_ref().unwrap();
            let (bar, sd) = (expected.output.feed_pressure_bar, expected.uncertainty.feed_pressure_bar);
            let wanted = if limit < bar {
                "P"
            } else if limit < bar + 1.96 * sd {
                "p"
            } else {
                ""
            };
            assert_eq!(shown.marks.trim_end_matches('S'), wanted);
            assert_eq!(shown.not, shown.marks.contains(['P', 'S']));
            near += usize::from(wanted == "p");
            over += usize::from(wanted == "P");
        }
    }
    assert!(0 < near && 0 < over, "{near} near, {over} over: the sample shows both");
}
