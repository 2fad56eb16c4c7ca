//! Whole files: the samples, secrets, and what is no settings file.

use super::super::{FILE_BYTES_MAX, Problems, load, parse};
use super::{SMALLEST, daemon_folder, problems, short, with};
use barrico_model::parts::PressureControl;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

#[test]
fn the_samples_pass() {
    let folder = daemon_folder().join("examples");
    let load_sample = |path: &Path| load(path).unwrap_or_else(|problems| panic!("{problems}"));
    let mut controls = Vec::new();
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    paths.sort();
    for path in &paths {
        let unit = &load_sample(path).units[0];
        controls.push(unit.parts.pressure_control);
        assert!(!unit.sources.is_empty(), "{}", path.display());
    }
    assert_eq!(
        controls,
        [
            PressureControl::HandSetPressure,
            PressureControl::FixedValve,
            PressureControl::FixedRecovery,
            PressureControl::Regulated
        ],
        "{paths:?}"
    );
    let service = load_sample(&daemon_folder().join("../systemd/barrico.toml"));
    assert_eq!(service.state_folder, Path::new("/var/lib/barrico"));
}

/// The sample in US units, by the factors of NIST Special Publication 811 (2008), appendix B.8.
#[test]
fn a_sample_in_us_units_comes_out_in_ours() {
    let path = daemon_folder().join("examples/gauges-only-hand-set.toml");
    let unit = load(&path).unwrap_or_else(|problems| panic!("{problems}")).units.remove(0);
    let close =
        |value: f64, expected: f64| assert!((value / expected - 1.0).abs() < 1e-6, "{value}, {expected}");
    close(unit.parts.set_pressure_bar.unwrap(), 800.0 * 6.894_757e-2);
    close(unit.parts.pump.nameplate_flow_l_h, 2.5 * 6.309_020e-5 * 3.6e6);
    close(unit.parts.elements[0].sheet.nominal_flow_l_h, 650.0 * 4.381_264e-8 * 3.6e6);
    close(unit.parts.elements[0].area_m2, 28.0 * 9.290_304e-2);
    close(unit.parts.limits.minimum_inlet_pressure_bar.unwrap(), -6.0 * 3.386_389e-2);
    close(unit.tank_l.unwrap(), 100.0 * 3.785_412);
    assert_eq!(unit.parts.limits.product_conductivity_us_cm, Some(800.0), "0.5 mg/L per uS/cm");
    assert_eq!(unit.second_hand.hours, Some(640.0));
}

#[test]
fn the_page_needs_a_password_beyond_this_computer() {
    let rows = [
        (
            "bind = \"0.0.0.0:8470\"",
            "page.bind: the page at 0.0.0.0 can be reached from other computers, but has no password\n",
        ),
        ("bind = \"localhost\"", "page.bind: `localhost` is not an address with a port\n"),
        ("hosts = [\"http://boat.local\"]", "page.hosts: `http://boat.local` is not a host name\n"),
        ("password_file = \"password\"", "page.password_file: `password` is not a full path\n"),
        ("password = \"anchor\"", "page.password: a secret does not belong in this file\n"),
    ];
    for (lines, expected) in rows {
        assert_eq!(short(&with(&format!("[page]\n{lines}"))), expected, "{lines}");
    }
    let open = with(
        "[page]\nbind = \"0.0.0.0:8470\"\npassword_file = \"/etc/barrico/page-password\"\nhosts = [\"Boat.local\"]",
    );
    let page = parse(&open, "a").unwrap_or_else(|problems| panic!("{problems}")).page;
    assert_eq!(page.hosts, ["boat.local"]);
}

#[test]
fn a_secret_is_never_shown() {
    let multi_line = "password = \"\"\"anchor\nchain\"\"\"\n";
    for text in [
        with("[page]\npassword = \"anchor chain\""),
        format!("{multi_line}{SMALLEST}"),
        "token = anchor\n[[[".to_string(),
    ] {
        let report = problems(&text).to_string();
        assert!(!report.contains("anchor") && !report.contains("chain"), "{report}");
        assert!(report.contains('*') || !report.contains("token"), "{report}");
    }
}

/// A password file that others can read is refused; the test makes its own files.
#[test]
fn a_password_file_is_for_the_service_alone() {
    let folder = std::env::temp_dir().join(format!("barrico-settings-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let (secret, file) = (folder.join("password"), folder.join("barrico.toml"));
    std::fs::write(&file, with(&format!("[page]\npassword_file = \"{}\"", secret.display()))).unwrap();
    let messages = || match load(&file) {
        Ok(_) => String::new(),
        Err(problems) => problems.iter().map(|problem| problem.message.clone()).collect(),
    };
    assert!(messages().starts_with("cannot look at the file"), "{}", messages());
    std::fs::write(&secret, "anchor\n").unwrap();
    for (mode, expected) in [
        (0o600, ""),
        (0o400, ""),
        (0o644, "the secret can be read by others (mode 0644)"),
        (0o640, "the secret can be read by others (mode 0640)"),
    ] {
        std::fs::set_permissions(&secret, std::fs::Permissions::from_mode(mode)).unwrap();
        assert_eq!(messages(), expected);
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn what_is_no_settings_file_is_told_as_such() {
    let folder = std::env::temp_dir().join(format!("barrico-no-settings-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("a.toml");
    let report = |bytes: &[u8]| {
        std::fs::write(&file, bytes).unwrap();
        load(&file).map(|_| ()).unwrap_err().to_string()
    };
    assert!(report(b"\xff\xfe\x00").contains("is not plain text in UTF-8"));
    assert!(report(b"a = \"\0\"").contains("is not a text file"));
    assert!(report(b"").contains("2 problems"), "{}", report(b""));
    let limit = usize::try_from(FILE_BYTES_MAX).unwrap();
    let filled = |size: usize| format!("{SMALLEST}#{}", "x".repeat(size - SMALLEST.len() - 1));
    assert!(report(filled(limit + 1).as_bytes()).contains("is larger than 256 kB"));
    std::fs::write(&file, filled(limit)).unwrap();
    assert!(load(&file).is_ok(), "at the limit it is read");
    std::fs::remove_dir_all(&folder).unwrap();
    let missing = load(&file).map(|_| ()).unwrap_err();
    assert!(missing.to_string().contains("--settings FILE"), "{missing}");
    assert_eq!(Problems::EXIT_CODE, 78, "EX_CONFIG of sysexits.h");
}

#[test]
fn a_file_that_is_no_toml_has_the_same_report() {
    let text =
        "[boat]\nid = \"calm\"\n[units.main]\nset_pressure = 55 bar\nname = \"Main\nname = \"again\"\n";
    insta::assert_snapshot!(problems(text), @r#"
    error: string values must be quoted, expected literal string
     --> barrico.toml:4:16
      |
    4 | set_pressure = 55 bar
      |                ^^^^^^
      |
      = help: a number with its unit stands in quotes, with a decimal point: `pressure = "5.5 MPa"`

    error: invalid basic string, expected `"`
     --> barrico.toml:5:13
      |
    5 | name = "Main
      |             ^
      |
      = help: the file is TOML: `[table]`, then `key = value` lines, texts in quotes, notes behind `#`; other problems show once it can be read

    error: duplicate key
     --> barrico.toml:6:1
      |
    6 | name = "again"
      | ^^^^
      |
      = help: each key and each table stands once; several elements, pre-filters and readings have double brackets: `[[units.main.elements]]`

    3 problems in barrico.toml
    "#);
    let twice = SMALLEST.replace("id = \"calm\"", "id = \"calm\"\nid = \"calm\"");
    assert_eq!(short(&twice), ": duplicate key\n");
}

/// Positions from any damaged file must not stop the report.
#[test]
fn no_damage_stops_the_report() {
    let sample = include_str!("../../../examples/two-2540-ac-regulated.toml");
    for at in (0..sample.len()).step_by(37).filter(|at| sample.is_char_boundary(*at)) {
        for damage in ["", "µ", "\"", "[", "\n=", "😀 = 1\n"] {
            let text = format!("{}{damage}", &sample[..at]);
            if let Err(problems) = parse(&text, "a") {
                let report = problems.to_string();
                assert!(report.ends_with(" in a\n"), "{report}");
                assert!(problems.iter().all(|problem| problems.line(problem).is_none_or(|line| 1 <= line)));
            }
        }
    }
}
