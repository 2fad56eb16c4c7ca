//! Units, parts and elements: slips, each with all that is reported.

use super::super::{Settings, parse, ranges};
use super::{SMALLEST, changed, short};
use barrico_model::parts::{DriveKind, PumpKind};

/// Each row: what is typed in place of something in the smallest file, and all that is reported.
#[test]
fn one_slip_gives_one_problem() {
    let rows = [
        ("id = \"calm\"", "name = \"Calm\"", "boat.id: this key is missing"),
        (
            "\"hand-set-pressure\"",
            "\"hand-set\"",
            "units.main.pressure_control: `hand-set` is not a choice here",
        ),
        ("set_pressure = \"55 bar\"\n", "", "units.main.set_pressure: this key is missing"),
        (
            "\"55 bar\"",
            "\"-1.2 bar\"",
            "units.main.set_pressure: -1.2 bar is below -1 bar: no gauge pressure lies below a perfect vacuum",
        ),
        (
            "\"55 bar\"",
            "\"35 g/kg\"",
            "units.main.set_pressure: `g/kg` is a unit of salinity; a pressure is expected",
        ),
        (
            "\"55 bar\"",
            "\"800 bar\"",
            "units.main.set_pressure: 800 bar is outside what is possible here: 3 to 100 bar",
        ),
        ("\"55 bar\"", "\"55\"", "units.main.set_pressure: the unit is missing"),
        ("\"55 bar\"", "\"nan bar\"", "units.main.set_pressure: `nan bar` is not a number with a unit"),
        (
            "\"55 bar\"",
            "inf",
            "units.main.set_pressure: a number with its unit, in quotes, is expected, `inf` is not finite",
        ),
        (
            "\"55 bar\"",
            "true",
            "units.main.set_pressure: a number with its unit, in quotes, is expected, this is true or false",
        ),
        (
            "\"12 L/min\"",
            "\"1,2 m3/h\"",
            "units.main.pump.flow: `1,2` has a comma, which some read as a decimal point and some as thousands",
        ),
        (
            "\"12 L/min\"",
            "\"100 L/h\"",
            "units.main.pump.flow: 100 L/h of feed for elements that make 110 L/h of product on their sheets",
        ),
        (
            "kind = \"plunger\"",
            "kind = \"energy-recovery\"\nproduct_share = 0.1",
            "units.main.pressure_control: an energy-recovery pump makes product a fixed share of the feed",
        ),
        (
            "kind = \"plunger\"",
            "kind = \"plunger\"\nproduct_share = 0.1",
            "units.main.pump.product_share: a plunger pump has no fixed share of product",
        ),
        ("kind = \"hydraulic\"", "kind = \"dc\"", "units.main.drive.voltage: this key is missing"),
        (
            "kind = \"hydraulic\"",
            "kind = \"belt\"\nratio = 0.6",
            "units.main.pump.rated_speed: this key is missing",
        ),
        (
            "kind = \"hydraulic\"",
            "kind = \"hydraulic\"\nvoltage = \"12 V\"",
            "units.main.drive.voltage: a pump that no electric motor turns has none",
        ),
        (
            "\"99.4 %\"",
            "99.4",
            "units.main.elements[1].nominal_rejection: a share without `%` lies between 0 and 1",
        ),
        (
            "\"99.4 %\"",
            "\"9.94 %\"",
            "units.main.elements[1].nominal_rejection: 9.94 % is outside what is possible here: 90 to 99.99 %",
        ),
        (
            "\"99.4 %\"",
            "\"99.4 %\"\ntest_solution = \"32000 ppm NaCl\"",
            "units.main.elements[1].test_solution: `ppm` has two meanings",
        ),
        (
            "\"99.4 %\"",
            "\"99.4 %\"\nminimum_flow = \"120 L/h\"",
            "units.main.elements[1].minimum_flow: the minimum, 120 L/h, is more than the nominal flow, 110 L/h",
        ),
        (
            "\"99.4 %\"",
            "\"99.4 %\"\nmaximum_pressure = \"50 bar\"",
            "units.main.set_pressure: 55 bar lies above the pressure limit of the element, 50 bar",
        ),
        (
            "\"99.4 %\"",
            "\"99.4 %\"\ndate_wetted = \"14.3.2026\"",
            "units.main.elements[1].date_wetted: `14.3.2026` is not a date",
        ),
        ("\"99.4 %\"", "\"99.4 %\"\nflow = \"1 L/h\"", "units.main.elements[1].flow: unknown key"),
    ];
    for (from, to, expected) in rows {
        assert_eq!(short(&changed(from, to)), format!("{expected}\n"), "{from} -> {to}");
    }
    let renamed = SMALLEST.replace("units.main", "units.Main-1");
    assert_eq!(short(&renamed), "units.Main-1: `Main-1` is not a short name for a unit\n");
}

#[test]
fn pressure_control_asks_for_its_own_marks_and_refuses_others() {
    let control = |lines: &str| {
        short(&changed("pressure_control = \"hand-set-pressure\"\nset_pressure = \"55 bar\"", lines))
    };
    let rows = [
        ("pressure_control = \"hand-set-flow\"", "units.main.set_product_flow: this key is missing\n"),
        (
            "pressure_control = \"fixed-valve\"",
            "units.main.valve_set_at: nothing says where the fixed valve stands\n",
        ),
        (
            "pressure_control = \"fixed-recovery\"",
            "units.main.pump.kind: a fixed recovery needs an energy-recovery pump\n",
        ),
        (
            "pressure_control = \"hand-set-flow\"\nset_product_flow = \"60 L/h\"\nset_pressure = \"55 bar\"",
            "units.main.set_pressure: a unit that is set to a product flow has no set pressure\n",
        ),
        (
            "pressure_control = \"regulated\"\nset_pressure = \"55 bar\"\nset_product_flow = \"60 L/h\"",
            "units.main.set_product_flow: only `hand-set-flow` has a set product flow\n",
        ),
    ];
    for (lines, expected) in rows {
        assert_eq!(control(lines), expected, "{lines}");
    }
    let passes = changed("\"hand-set-pressure\"", "\"fixed-valve\"");
    assert!(parse(&passes, "a").is_ok(), "what the gauge shows in usual water will do");
}

#[test]
fn energy_recovery_has_its_share() {
    let recovery = changed(
        "pressure_control = \"hand-set-pressure\"\nset_pressure = \"55 bar\"",
        "pressure_control = \"fixed-recovery\"",
    )
    .replace("kind = \"plunger\"", "kind = \"energy-recovery\"\nproduct_share = \"10 %\"");
    let settings = parse(&recovery, "a").unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(settings.units[0].parts.pump.kind, PumpKind::EnergyRecovery { product_share: 0.1 });
    assert_eq!(settings.units[0].parts.drive.kind, DriveKind::Hydraulic);
    let without = recovery.replace("product_share = \"10 %\"\n", "");
    assert_eq!(short(&without), "units.main.pump.product_share: this key is missing\n");
}

#[test]
fn positions_are_one_to_n() {
    let element = |position: &str| {
        format!(
            "[[units.main.elements]]\nsize = \"2540\"\narea = \"2.6 m2\"\nnominal_flow = \"110 L/h\"\nnominal_rejection = \"99.4 %\"\n{position}"
        )
    };
    let head = SMALLEST.split_once("[[units.main.elements]]").unwrap().0;
    let of =
        |positions: &[&str]| format!("{head}{}", positions.iter().map(|p| element(p)).collect::<String>());
    let settings =
        parse(&of(&["position = 2\nserial = \"b\"\n", "position = 1\nserial = \"a\"\n"]), "a").unwrap();
    let serials: Vec<_> =
        settings.units[0].parts.elements.iter().map(|element| element.serial.as_deref()).collect();
    assert_eq!(serials, [Some("a"), Some("b")], "sorted by position");
    assert_eq!(settings.units[0].element_history[0].serial.as_deref(), Some("a"));
    let rows = [
        (
            vec!["position = 1\n", "position = 1\n"],
            "units.main.elements[2].position: there are two elements at position 1\n",
        ),
        (
            vec!["position = 1\n", "position = 3\n"],
            "units.main.elements[2].position: there is no position 3 among 2 elements\n",
        ),
        (
            vec!["position = 1\n", ""],
            "units.main.elements[2].position: this element has no position, others have\n",
        ),
        (vec![], "units.main.elements: the unit has no element\n"),
    ];
    for (positions, expected) in rows {
        assert_eq!(short(&of(&positions)), expected);
    }
    let most = vec![""; ranges::ELEMENTS_MAX];
    let big_pump = |text: String| text.replace("12 L/min", "100 L/min");
    assert!(parse(&big_pump(of(&most)), "a").is_ok());
    let more = vec![""; ranges::ELEMENTS_MAX + 1];
    assert!(short(&big_pump(of(&more))).contains("9 elements in one train, there can be 8"));
}

#[test]
fn sixteen_units_and_no_more() {
    let unit = SMALLEST.split_once("[units.main]").unwrap().1;
    let of = |count: usize| {
        (1..=count).fold("[boat]\nid = \"calm\"\n".to_string(), |text, number| {
            format!("{text}[units.u{number}]{}", unit.replace(".main", &format!(".u{number}")))
        })
    };
    let settings = parse(&of(Settings::UNITS_MAX), "a").unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(settings.units[9].id, "u10", "in the order of the file");
    assert_eq!(short(&of(Settings::UNITS_MAX + 1)), "units: 17 units, there can be 16\n");
    assert_eq!(short("[boat]\nid = \"calm\"\n"), "units: the file describes no unit\n");
}
