//! Recorded traffic through the real program: `barrico replay LOG --json`.
//!
//! The five messages of PGN 130567 are from a public test of an open-source gateway (tests/captures/README.md). The recordings of three boats are the public ones of general-purpose
//! NMEA 2000 projects; they are looked for in `$BARRICO_DATA/nmea2000` and in `../shared/data/nmea2000` beside the checkout, and must be there when `CI=true`.
#![expect(clippy::unwrap_used, reason = "a test that cannot read its input has failed")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn barrico(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_barrico")).args(arguments).output().unwrap()
}

fn replay(log: &Path) -> (Vec<Value>, Vec<u8>) {
    let output = barrico(&["replay", log.to_str().unwrap(), "--json"]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let lines = output.stdout.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
    (lines.map(|line| serde_json::from_slice(line).unwrap()).collect(), output.stdout)
}

fn captures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/captures")
}

/// A recording that is too large for the repository; `None` where it is not at hand.
fn recording(name: &str) -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data");
    let folder = std::env::var_os("BARRICO_DATA").map_or(beside, PathBuf::from);
    let path = folder.join("nmea2000").join(name);
    if path.exists() {
        return Some(path);
    }
    assert!(std::env::var_os("CI").is_none_or(|ci| ci != "true"), "{} must be there in CI", path.display());
    eprintln!("skipped: {} is not here", path.display());
    None
}

fn of_kind<'a>(lines: &'a [Value], kind: &str) -> Vec<&'a Value> {
    lines.iter().filter(|line| line["kind"] == kind).collect()
}

fn states(lines: &[Value], unit: &str) -> Vec<String> {
    let states = of_kind(lines, "state");
    states
        .iter()
        .filter(|line| line["unit"] == unit)
        .map(|line| line["to"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn two_senders_of_one_message_are_two_units() {
    let (lines, _) = replay(&captures().join("watermaker-130567-real.log"));
    let summary = of_kind(&lines, "summary");
    assert_eq!(summary[0]["units"], serde_json::json!(["sender200", "sender201"]));
    assert_eq!(states(&lines, "sender200"), ["initiating", "running"]);
    assert_eq!(states(&lines, "sender201"), ["manual"]);
    let words = |unit: &str| -> Vec<String> {
        let readings = of_kind(&lines, "reading");
        let words =
            readings.iter().filter(|line| line["unit"] == unit && line["quantity"] == "operating_state");
        words.map(|line| line["operating_state"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(words("sender200"), ["initiating", "initiating", "running"]);
    assert_eq!(words("sender201"), ["manual", "manual"]);
    let flow: Vec<&Value> =
        of_kind(&lines, "reading").into_iter().filter(|line| line["quantity"] == "product_flow").collect();
    assert_eq!(flow.len(), 1, "zero before the first litre is no reading: {flow:?}");
    assert_eq!(
        (flow[0]["unit"].as_str(), flow[0]["product_flow_l_h"].as_f64()),
        (Some("sender200"), Some(278.9))
    );
    // Pressures that are zero while it runs have no sensor; nothing that needs a parts list can fire.
    assert!(!lines.iter().any(|line| line["quantity"] == "low_side_pressure" && line["unit"] == "sender200"));
    assert!(of_kind(&lines, "finding").is_empty());
    let told = of_kind(&lines, "sender")
        .iter()
        .any(|line| line["remark"].as_str().is_some_and(|r| r.contains("always sends 0")));
    assert!(told, "the owner is told of fields without a sensor");
}

#[test]
fn the_same_log_gives_the_same_bytes() {
    let path = captures().join("watermaker-130567-real.log");
    assert_eq!(replay(&path).1, replay(&path).1);
    for name in ["boat-a-socketcan-60s.log", "boat-c-10min.log.gz"] {
        if let Some(path) = recording(name) {
            assert_eq!(replay(&path).1, replay(&path).1, "{name}");
        }
    }
}

#[test]
fn boat_a_has_four_sea_temperatures_and_three_of_them_agree() {
    let Some(path) = recording("boat-a-socketcan-180s.log.gz") else { return };
    let (lines, _) = replay(&path);
    let summary = of_kind(&lines, "summary")[0];
    assert_eq!((summary["frames"].as_u64(), summary["clock_steps"].as_u64()), (Some(134_919), Some(2)));
    // 180.2 s of recording; the fourteen days of the clock's step are no time.
    assert!((summary["duration_s"].as_f64().unwrap() - 180.2).abs() < 2.0, "{summary}");
    let readings = of_kind(&lines, "reading");
    let last = readings.iter().rev().find(|line| line["quantity"] == "feed_temperature").unwrap();
    let celsius = last["feed_temperature_c"].as_f64().unwrap();
    // Senders 36, 37 and 38 show 281.8 to 282.0 K, sender 15 shows 280.7 K.
    assert!((8.4..=9.1).contains(&celsius), "{last}");
    let findings = of_kind(&lines, "finding");
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert_eq!(findings[0]["code"], "reading-unreliable");
    let evidence = findings[0]["evidence"].as_array().unwrap();
    let named = |address: u8| {
        evidence.iter().any(|one| one["what"].as_str().unwrap().starts_with(&format!("sender {address}")))
    };
    assert!([15, 36, 37, 38].into_iter().all(named), "{evidence:?}");
}

#[test]
fn boat_b_takes_the_sea_from_its_sensor() {
    let Some(path) = recording("boat-b-tanks-power-64s.log") else { return };
    let (lines, _) = replay(&path);
    let readings = of_kind(&lines, "reading");
    let sea = readings.iter().find(|line| line["quantity"] == "feed_temperature").unwrap();
    assert!((sea["feed_temperature_c"].as_f64().unwrap() - 31.9).abs() < 0.05, "{sea}");
    assert!(of_kind(&lines, "finding").is_empty());
}

#[test]
fn boat_c_has_a_stuck_sensor_and_no_sea_temperature() {
    let Some(path) = recording("boat-c-10min.log.gz") else { return };
    let (lines, _) = replay(&path);
    assert!(
        !lines.iter().any(|line| line["quantity"] == "feed_temperature"),
        "40.0 °C was taken for the sea"
    );
    let findings = of_kind(&lines, "finding");
    assert_eq!(
        findings.first().map(|finding| finding["code"].clone()),
        Some("reading-unreliable".into()),
        "{findings:?}"
    );
    assert!(findings[0]["evidence"][0]["seen"].as_str().unwrap().starts_with("40.0 °C"));
}

#[test]
fn what_is_no_log_is_a_clear_error() {
    let folder = std::env::temp_dir().join(format!("barrico-replay-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let error_of = |name: &str, content: &[u8]| {
        let path = folder.join(name);
        std::fs::write(&path, content).unwrap();
        let output = barrico(&["replay", path.to_str().unwrap()]);
        assert!(!output.status.success(), "{name} was taken for a log");
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(error_of("empty.log", b"").contains("is empty"));
    let binary: Vec<u8> = (0..20_000u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 11) as u8).collect();
    let message = error_of("binary.log", &binary);
    assert!(message.contains("is no candump log") && message.contains("candump -L can0"), "{message}");
    let cut = [0x1F, 0x8B, 8, 0, 1, 2, 3];
    assert!(error_of("cut.log.gz", &cut).contains("cannot read"));
    std::fs::remove_dir_all(&folder).unwrap();
}
