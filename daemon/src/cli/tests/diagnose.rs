//! `diagnose` on the sample cases and on options: nothing is blamed that was not shown, and the JSON has what it promises.

use super::*;
use crate::case::parse;

fn sample(name: &str) -> case::Case {
    let file = format!("{}/examples/cases/{name}.json", env!("CARGO_MANIFEST_DIR"));
    read_case(Path::new(&file)).expect("the sample holds")
}

fn judged(case: case::Case) -> Judged {
    judge(case.question).expect("judged")
}

/// A pump that gives a fifth less: the pump's ratio says so, the membrane's does not, and no finding claims what is forbidden.
#[test]
fn a_worn_pump_with_the_jug_leaves_the_membrane_alone() {
    let case = sample("worn-pump");
    let forbidden = case.expectations.forbidden_claims.clone();
    let json = answer(None, &judged(case));
    let against = &json["performance"]["against_baseline"];
    // Feed at the baseline 71.5 + 254 = 325.5 L/h, now 64 + 185 = 249 L/h.
    assert!(
        (against["pump_delivery_ratio"].as_f64().expect("measured") - 249.0 / 325.5).abs() < 0.002,
        "{against}"
    );
    let membrane = against["a25_ratio"].as_f64().expect("measured");
    let sd = against["uncertainty"]["a25_ratio"].as_f64().expect("known");
    assert!((membrane - 1.0).abs() < 2.0 * sd, "{against}");
    let text = json["findings"].to_string();
    assert!(forbidden.iter().all(|claim| !text.contains(claim.as_str())), "{text}");
}

#[test]
fn without_a_measured_flow_no_membrane_figure_stands_alone() {
    let json = answer(None, &judged(sample("low-output-no-jug")));
    let against = &json["performance"]["against_baseline"];
    assert!(against["a25_ratio"].is_null() && against["pump_delivery_ratio"].is_null(), "{against}");
    assert!(against["reasons"]["a25_ratio"].as_str().expect("a reason").contains("concentrate flow"));
    assert!(against["product_flow_in_this_water_ratio"].as_f64().expect("computed") < 0.9);
}

/// The case with a jug as JSON: what the readers of the file may rely on.
#[test]
fn the_answer_has_its_keys_and_every_null_has_a_reason() {
    let json = answer(None, &judged(sample("worn-pump")));
    for key in
        ["state", "readings", "performance", "findings", "not_computable", "baseline", "remarks", "cautions"]
    {
        assert!(json.get(key).is_some(), "{key}");
    }
    assert_eq!(json["state"], "running");
    let reading = &json["readings"][0];
    for key in ["value", "unit", "origin", "age_s", "uncertainty", "quantity", "key"] {
        assert!(reading.get(key).is_some(), "{key} in {reading}");
    }
    let performance = json["performance"].as_object().expect("an object");
    for (key, value) in performance {
        assert!(!value.is_null() || performance["reasons"][key].is_string(), "no reason for {key}");
    }
    for key in ["product_flow_l_h", "recovery", "concentrate_flow_l_h", "specific_energy_wh_l"] {
        assert!(performance.contains_key(key) && performance["expected"].get(key).is_some(), "{key}");
    }
    let standardised = &performance["standardised"];
    assert!(
        standardised["product_flow_l_h"].is_f64()
            && standardised["assumed"].as_array().is_some_and(|list| list.len() == 2),
        "{standardised}"
    );
}

/// Every case of the bank, whatever it holds, is answered in both forms: with a verdict that keeps its own rules, and with what was told beside the readings said again.
#[test]
fn every_case_of_the_bank_is_answered() {
    let folder = format!("{}/../tests/cases", env!("CARGO_MANIFEST_DIR"));
    let files =
        std::fs::read_dir(folder).expect("the bank is there").map(|entry| entry.expect("readable").path());
    let mut answered = 0;
    for file in files {
        let case = read_case(&file).expect("it holds");
        let name = case.name.clone();
        let told: Vec<&str> = case.question.facts.observations.iter().map(|one| one.what.seen).collect();
        let judged = judged(case);
        let (json, text) = (answer(name.as_deref(), &judged), text(name.as_deref(), &judged));
        let verdict = &json["verdict"];
        let first = verdict["causes"][0]["probability"].as_f64().unwrap_or(0.0);
        // The probability is shown rounded to a thousandth.
        let near = (first - case::DECIDED).abs() < 0.001;
        assert!(near || verdict["decided"] == (case::DECIDED < first), "{}: {verdict}", file.display());
        assert!(text.contains("In short: "), "{}", file.display());
        let said = json["told"].to_string();
        assert!(
            told.iter().all(|seen| said.contains(seen) && text.contains("Told beside")),
            "{}: {said}",
            file.display()
        );
        answered += 1;
    }
    assert!(60 < answered);
}

fn gauges_only(arguments: &[&str]) -> anyhow::Result<Judged> {
    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        arguments: Arguments,
    }
    let file = format!("{}/examples/gauges-only-hand-set.toml", env!("CARGO_MANIFEST_DIR"));
    let line = <Line as clap::Parser>::try_parse_from(std::iter::once("x").chain(arguments.iter().copied()))?;
    let question = from_options(crate::settings::load(Path::new(&file))?, &line.arguments)?;
    judge(question.0).map_err(anyhow::Error::msg)
}

const USUAL: [&str; 6] = [
    "--feed-pressure=800 psi",
    "--feed-temperature=60 F",
    "--product-flow=12 gal/h",
    "--reading",
    "concentrate_flow=1.9 US gal/min",
    "--json",
];

/// The limit is 800 uS/cm; the instrument's ppm is half of the conductivity.
#[test]
fn salty_product_is_found_from_a_hand_reading_and_unknown_membranes_are_not_judged() {
    let salty = gauges_only(&[&USUAL[..], &["--product-conductivity=700 ppm"]].concat()).expect("judged");
    let codes: Vec<&str> =
        salty.unit.findings.iter().map(|(alert, _)| registry::of(alert.code).name).collect();
    assert_eq!(codes, ["product-salinity-over-limit"]);
    let json = answer(None, &salty);
    let finding = &json["findings"][0];
    for key in
        ["code", "severity", "title", "evidence", "causes", "next_measurement", "do", "do_not", "caution"]
    {
        assert!(finding.get(key).is_some(), "{key} in {finding}");
    }
    assert!(json["not_computable"].to_string().contains("no baseline yet"), "{}", json["not_computable"]);
    assert_eq!(json["performance"]["expected_from"], "specification");

    let fresh = gauges_only(&[&USUAL[..], &["--product-conductivity=300 ppm"]].concat()).expect("judged");
    assert!(fresh.unit.findings.is_empty());
}

/// In the first quarter of an hour every sound unit gives salty product.
#[test]
fn product_right_after_the_start_is_not_judged_and_the_answer_says_so() {
    let early = ["--product-conductivity=700 ppm", "--minutes-since-start=6"];
    let early = gauges_only(&[&USUAL[..], &early].concat()).expect("judged");
    assert!(early.unit.findings.is_empty());
    assert!(answer(None, &early)["not_computable"].to_string().contains("first 15 minutes"));
    let later = ["--product-conductivity=700 ppm", "--minutes-since-start=15"];
    assert_eq!(gauges_only(&[&USUAL[..], &later].concat()).expect("judged").unit.findings.len(), 1);
}

#[test]
fn over_pressure_is_found_at_once() {
    let over = gauges_only(&["--feed-pressure=960 psi"]).expect("judged");
    assert_eq!(registry::of(over.unit.findings[0].0.code).name, "over-pressure");
    assert!(gauges_only(&["--feed-pressure=940 psi"]).expect("judged").unit.findings.is_empty());
}

#[test]
fn wrong_options_are_refused_with_a_remedy() {
    let refused = |arguments: &[&str]| gauges_only(arguments).err().expect("refused").to_string();
    assert!(refused(&[]).contains("--feed-pressure '55 bar'"));
    assert!(refused(&["--reading", "feed_presure=55 bar"]).contains("did you mean `feed_pressure`"));
    assert!(refused(&["--reading", "feed_pressure=55 bar@tube"]).contains("no instrument `tube`"));
    assert!(refused(&["--reading", "feed_pressure"]).contains("'feed_pressure=800 psi'"));
    assert!(
        refused(&["--feed-pressure=55 bar", "--reading", "feed_pressure=55 bar"]).contains("given twice")
    );
    assert!(refused(&["--feed-pressure=35 g/kg"]).contains("pressure is expected"));
    assert!(refused(&["--inlet-pressure=-1.2 bar"]).contains("below -1 bar"));
    assert!(refused(&["--feed-temperature=NaN C"]).contains("not a number"));
}

#[test]
fn the_text_names_state_finding_and_what_is_missing() {
    let salty = gauges_only(&[&USUAL[..], &["--product-conductivity=700 ppm"]].concat()).expect("judged");
    let text = text(None, &salty);
    for part in [
        "State: running",
        "Alert: Product salinity over your limit",
        "Measure next:",
        "What could not be judged",
        "for information",
    ] {
        assert!(text.contains(part), "no `{part}` in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
}

/// A replaced element ends the baseline; what comes after is compared with nothing.
#[test]
fn an_element_replaced_after_the_baseline_ends_it() {
    let file = format!("{}/examples/cases/worn-pump.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).expect("readable").replace("filter-changed", "element-replaced");
    let judged = judged(parse(&text).expect("a case"));
    assert!(judged.unit.baseline.is_none());
    assert!(judged.remarks.iter().any(|remark| remark.contains("element-replaced")), "{:?}", judged.remarks);
}
