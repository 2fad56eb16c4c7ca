//! Files that must not pass, each with what a person reads; the samples, which must; the document, which must be whole.

mod document;
mod files;
mod parts;
mod sources;

use super::{InstrumentKind, Problems, parse};
use std::path::PathBuf;

const SMALLEST: &str = "\
[boat]
id = \"calm\"
[units.main]
pressure_control = \"hand-set-pressure\"
set_pressure = \"55 bar\"
[units.main.pump]
kind = \"plunger\"
flow = \"12 L/min\"
rated_pressure = \"60 bar\"
[units.main.drive]
kind = \"hydraulic\"
[[units.main.elements]]
size = \"2540\"
area = \"2.6 m2\"
nominal_flow = \"110 L/h\"
nominal_rejection = \"99.4 %\"
";

fn problems(text: &str) -> Problems {
    match parse(text, "barrico.toml") {
        Ok(_) => panic!("this passed:\n{text}"),
        Err(problems) => problems,
    }
}

/// `key: message`, one a line.
fn short(text: &str) -> String {
    let problems = problems(text);
    problems.iter().map(|problem| format!("{}: {}\n", problem.key, problem.message)).collect()
}

/// The smallest file with one text replaced, which must be there.
fn changed(from: &str, to: &str) -> String {
    assert!(SMALLEST.contains(from), "{from}");
    SMALLEST.replacen(from, to, 1)
}

/// The smallest file with a table behind it.
fn with(table: &str) -> String {
    format!("{SMALLEST}{table}\n")
}

fn daemon_folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_smallest_file_passes() {
    let settings = parse(SMALLEST, "a.toml").unwrap_or_else(|problems| panic!("{problems}"));
    let unit = &settings.units[0];
    assert_eq!(unit.parts.pump.nameplate_flow_l_h, 720.0);
    assert_eq!(unit.parts.elements[0].sheet.pressure_bar, 55.2);
    assert_eq!(unit.parts.limits, barrico_model::parts::Limits::default(), "no limit is made up");
    assert_eq!((unit.name.as_str(), unit.element_history[0].position), ("main", 1));
    assert_eq!(settings.instruments[0].kind, InstrumentKind::Unknown);
    assert!(settings.page.bind.ip().is_loopback());
    assert_eq!(settings.text, SMALLEST);
}

#[test]
fn nine_problems_are_reported_at_once_each_with_place_and_remedy() {
    let text = "\
[boat]
id = \"Calm Sea\"
[page]
bind = \"0.0.0.0:8470\"
[units.main]
pressure_control = \"regulated\"
set_presure = \"55 bar\"
[units.main.pump]
kind = \"plunger\"
flow = \"12 gal/min\"
rated_pressure = 60
[units.main.drive]
kind = \"ac-single-phase\"
voltage = \"35 g/kg\"
[[units.main.elements]]
size = \"2540\"
area = \"2,6 m2\"
nominal_flow = \"110 L/h\"
nominal_rejection = 99.4
";
    insta::assert_snapshot!(problems(text), @r#"
    error: boat.id: `Calm Sea` is not a short name
     --> barrico.toml:2:6
      |
    2 | id = "Calm Sea"
      |      ^^^^^^^^^^
      |
      = help: begin with a small letter, go on with letters and digits, no spaces or hyphens, at most 32 characters: `main`, `unit2`

    error: page.bind: the page at 0.0.0.0 can be reached from other computers, but has no password
     --> barrico.toml:4:8
      |
    4 | bind = "0.0.0.0:8470"
      |        ^^^^^^^^^^^^^^
      |
      = help: name a file with a password, `password_file = "/etc/barrico/page-password"`, or listen on this computer only: `bind = "127.0.0.1:8470"`

    error: units.main.set_presure: unknown key
     --> barrico.toml:7:1
      |
    7 | set_presure = "55 bar"
      | ^^^^^^^^^^^
      |
      = help: did you mean `set_pressure`?

    error: units.main.pump.flow: `gal/min` is not clear: US and imperial gallons differ by a fifth
      --> barrico.toml:10:8
       |
    10 | flow = "12 gal/min"
       |        ^^^^^^^^^^^^
       |
       = help: write `US gal` or `imp gal` (as in `40 US gal/h`, `35 imp gal/h`)

    error: units.main.pump.rated_pressure: a number with its unit, in quotes, is expected, this is a number
      --> barrico.toml:11:18
       |
    11 | rated_pressure = 60
       |                  ^^
       |
       = help: write number and unit between quotes: `55 bar`, `800 psi`, `5.5 MPa`

    error: units.main.drive.frequency: this key is missing
      --> barrico.toml:12:1
       |
    12 | [units.main.drive]
       | ^^^^^^^^^^^^^^^^^^
       |
       = help: add to `units.main.drive`: `frequency = "50 Hz"`

    error: units.main.drive.voltage: `g/kg` is a unit of salinity; a voltage is expected
      --> barrico.toml:14:11
       |
    14 | voltage = "35 g/kg"
       |           ^^^^^^^^^
       |
       = help: write `230 V`, `12.6 V`

    error: units.main.elements[1].area: `2,6` has a comma, which some read as a decimal point and some as thousands
      --> barrico.toml:17:8
       |
    17 | area = "2,6 m2"
       |        ^^^^^^^^
       |
       = help: write a decimal point: `2.6`

    error: units.main.elements[1].nominal_rejection: a share without `%` lies between 0 and 1
      --> barrico.toml:19:21
       |
    19 | nominal_rejection = 99.4
       |                     ^^^^
       |
       = help: write a number up to 1, such as `0.9`, or percent in quotes: `"99.4 %"`

    9 problems in barrico.toml
    "#);
}
