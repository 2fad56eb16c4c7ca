use super::conflicts::conflicts;
use super::proposal::propose;
use super::survey::Survey;
use super::words;
use crate::publish::listen as publish;
use crate::settings;
use barrico_model::Monotonic;
use barrico_n2k::candump::{Kind, lines, parse_line};
use barrico_n2k::pgn::{self, ProductInformation};
use barrico_n2k::{CanId, Frame, split};

/// Settings of an invented unit without any reading.
const SAMPLE: &str = r#"
[boat]
id = "trial"
[units.main]
pressure_control = "regulated"
set_pressure = "55 bar"
[units.main.pump]
kind = "plunger"
flow = "6 L/min"
rated_pressure = "60 bar"
[units.main.drive]
kind = "hydraulic"
[[units.main.elements]]
size = "2540"
area = "2.8 m2"
nominal_flow = "2.6 m3/d"
nominal_rejection = "99.4 %"
"#;

fn say(survey: &mut Survey, second: u64, id: CanId, payload: &[u8]) {
    let frames: Vec<Frame> = match barrico_n2k::framing(id.pgn) {
        barrico_n2k::Framing::Single => vec![Frame::new(id, payload)],
        _ => split(id, payload, (second & 7) as u8).expect("it fits").collect(),
    };
    for frame in frames {
        survey.take(Monotonic(second * 1_000), &frame);
    }
}

fn id(pgn: u32, source: u8) -> CanId {
    CanId { priority: 5, pgn, source, destination: 255 }
}

fn claim(survey: &mut Survey, source: u8, name: u64) {
    say(survey, 0, id(60_928, source), &name.to_le_bytes());
}

/// A sea temperature by 130316 that wanders by the offset each second.
fn sea(survey: &mut Survey, source: u8, celsius: f64, wander: f64) {
    for second in 0..30 {
        let message = pgn::TemperatureExtended {
            instance: Some(0),
            source: Some(pgn::TemperatureSource::Sea),
            actual_temperature_k: Some(celsius + 273.15 + wander * (second % 3) as f64),
            ..pgn::TemperatureExtended::default()
        };
        let mut payload = vec![];
        message.encode(&mut payload);
        say(survey, second, id(130_316, source), &payload);
    }
}

/// The text must be settings that hold, pasted behind a sample without its own readings.
fn pasted(survey: &Survey) -> settings::Settings {
    let proposal = publish::settings(survey, "main");
    let text = format!("{SAMPLE}\n{proposal}");
    settings::parse(&text, "pasted.toml").unwrap_or_else(|problems| panic!("{problems}\n{text}"))
}

#[test]
fn the_middle_of_those_that_agree_is_chosen_and_the_other_is_named() {
    let mut survey = Survey::default();
    for (source, celsius) in [(15, 7.6), (36, 8.9), (37, 8.7), (38, 8.8)] {
        claim(&mut survey, source, 0xC050_0000_0000_0000 + u64::from(source));
        sea(&mut survey, source, celsius, 0.01);
    }
    let block = propose(&survey).into_iter().find(|block| !block.optional).expect("a proposal");
    assert!(
        block.lines[0].contains("sender = \"name:C050000000000026\""),
        "38 is in the middle: {:?}",
        block.lines
    );
    assert!(
        block.reasons.iter().any(|reason| reason.contains("Not chosen: address 15, 7.6 °C")),
        "{:?}",
        block.reasons
    );
    assert!(conflicts(&survey).iter().any(|text| text.contains("disagree")), "{:?}", conflicts(&survey));
    assert_eq!(pasted(&survey).units[0].sources.len(), 1);
}

#[test]
fn a_temperature_that_never_moves_and_one_that_is_no_sea_are_not_chosen() {
    let mut survey = Survey::default();
    sea(&mut survey, 4, 40.0, 0.0);
    sea(&mut survey, 5, 20.0, 0.0);
    assert!(propose(&survey).iter().all(|block| block.optional), "{:?}", propose(&survey));
    let odd = conflicts(&survey).join("\n");
    assert!(odd.contains("40.0 °C is no sea") && odd.contains("20.00 °C did not move in 30 values"), "{odd}");
}

/// Five real messages of two senders: 200 runs and makes water, 201 is worked by hand (tests/captures/README.md).
fn real_units() -> Survey {
    let mut survey = Survey::default();
    let log = include_bytes!("../../../tests/captures/watermaker-130567-real.log");
    for line in lines(log) {
        if let Ok(line) = parse_line(line)
            && let Kind::Data(frame) = line.kind
        {
            survey.take(Monotonic(0), &frame);
        }
    }
    survey
}

#[test]
fn every_sender_of_the_status_is_a_unit() {
    let survey = real_units();
    let blocks = propose(&survey);
    assert_eq!(blocks.len(), 2, "{blocks:?}");
    assert!(blocks[0].lines[0].contains("status_from = \"address:200\"") && !blocks[0].optional);
    assert!(blocks[1].lines[0].contains("status_from = \"address:201\"") && blocks[1].optional);
}

#[test]
fn names_from_the_bus_cannot_steer_a_terminal_or_break_the_settings() {
    let mut survey = Survey::default();
    let product = ProductInformation {
        model_id: Some("\u{1b}[2J\"\n[units".to_owned()),
        ..ProductInformation::default()
    };
    let mut payload = vec![];
    product.encode(&mut payload);
    say(&mut survey, 0, id(126_996, 9), &payload);
    sea(&mut survey, 9, 12.0, 0.01);
    let text = publish::text(&survey, "main");
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
    assert_eq!(words::plain("a\u{7}b\nc"), "abc");
    assert_eq!(pasted(&survey).units[0].sources.len(), 1);
}

#[test]
fn the_words_of_a_real_unit() {
    let survey = real_units();
    let text = publish::text(&survey, "main");
    assert!(text.contains("operating state of the unit: running (PGN 130567"), "{text}");
    assert!(text.contains("run time of the unit: 548.0 h (PGN 130567"), "{text}");
}

// 5.4 A at 225.7 V are 1.2 kVA: a real gateway gives a power a thousand times too high (boat A, PGN 127503).
#[test]
fn a_power_that_its_volts_and_amperes_cannot_give_is_told_and_not_proposed() {
    let mut survey = Survey::default();
    for (watts, address) in [(1_210_127.0, 1), (1_100.0, 2)] {
        let line = pgn::AcInputLine {
            line: Some(pgn::AcLineNumber::Line1),
            voltage_v: Some(225.7),
            current_a: Some(5.4),
            real_power_w: Some(watts),
            ..pgn::AcInputLine::default()
        };
        let message = pgn::AcInput { instance: Some(0), lines: vec![line], ..pgn::AcInput::default() };
        let mut payload = vec![];
        message.encode(&mut payload);
        say(&mut survey, 0, id(127_503, address), &payload);
    }
    let odd = conflicts(&survey).join("\n");
    assert!(odd.contains("of 1210127 W is more than 226 V and 5.4 A can give"), "{odd}");
    assert!(!odd.contains("of 1100 W"), "{odd}");
    let lines = propose(&survey).iter().map(|block| block.lines.join("\n")).collect::<Vec<_>>().join("\n");
    assert_eq!(lines.matches("supply_power").count(), 1, "{lines}");
}

#[test]
fn a_generator_is_seen_and_too_coarse_to_be_proposed() {
    let mut survey = Survey::default();
    let message = pgn::AcBasicQuantities {
        voltage_line_neutral_v: Some(231.0),
        frequency_hz: Some(50.0),
        current_a: Some(12.0),
        ..pgn::AcBasicQuantities::default()
    };
    let mut payload = vec![];
    message.encode(&mut payload);
    // The generator's phase A (canboat database).
    say(&mut survey, 0, id(65_027, 77), &payload);
    let text = publish::text(&survey, "main");
    assert!(text.contains("generator AC voltage, phase A: 231.00 V (PGN 65027"), "{text}");
    assert!(propose(&survey).is_empty(), "{:?}", propose(&survey));
}

#[test]
fn nothing_heard_is_told_with_what_to_look_at() {
    let text = publish::text(&Survey::default(), "main");
    assert!(text.contains("Nothing came. Is the network switched on"), "{text}");
}
