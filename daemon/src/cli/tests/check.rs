//! What `check` says of the samples, held against what the engine needs.

use super::*;
use crate::case::{Context, Question, Set, judge, reading};
use crate::engine::RestoredUnit;
use barrico_model::Quantity;

fn sample(name: &str) -> (std::path::PathBuf, Settings) {
    let file = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let settings = crate::settings::load(Path::new(&file)).unwrap_or_else(|problems| panic!("{problems}"));
    (file.into(), settings)
}

fn of(settings: &Settings, code: FindingCode) -> Ability {
    let unit = &settings.units[0];
    abilities(unit, &have(unit))
        .into_iter()
        .find(|ability| ability.code == code)
        .expect("every finding is there")
}

#[test]
fn gauges_only_can_find_all_but_what_needs_a_sensor_on_the_bus() {
    let (_, settings) = sample("gauges-only-hand-set");
    assert_eq!(of(&settings, FindingCode::OutputLow).verdict, Verdict::Possible);
    assert_eq!(of(&settings, FindingCode::SaltPassageUp).verdict, Verdict::Possible);
    assert_eq!(of(&settings, FindingCode::ProductSalinityOverLimit).verdict, Verdict::Possible);
    assert_eq!(of(&settings, FindingCode::ReadingUnreliable).verdict, Verdict::Impossible);
    assert!(of(&settings, FindingCode::OverPressure).better[0].contains("one moment only"));
}

#[test]
fn without_concentrate_flow_the_jug_is_what_adds_most() {
    let (_, settings) = sample("one-2521-belt-fixed-valve");
    let unit = &settings.units[0];
    let suggestions = suggestions(unit, &have(unit));
    let order: Vec<Quantity> = suggestions.iter().map(|suggestion| suggestion.quantity).collect();
    assert_eq!(order, [Quantity::ConcentrateFlow, Quantity::FeedSalinity]);
    assert!(of(&settings, FindingCode::OutputLow).better[0].starts_with("concentrate flow or feed flow"));
}

#[test]
fn a_limit_that_is_not_entered_is_named_and_never_replaced() {
    let (_, mut settings) = sample("gauges-only-hand-set");
    let parts = &mut settings.units[0].parts;
    parts.limits.product_conductivity_us_cm = None;
    parts.limits.maximum_feed_pressure_bar = None;
    parts.elements[0].limits.maximum_pressure_bar = None;
    parts.elements[0].limits.maximum_product_flow_l_h = None;
    for (code, word) in [
        (FindingCode::ProductSalinityOverLimit, "product_conductivity"),
        (FindingCode::OverPressure, "feed_pressure"),
        (FindingCode::OutputAboveElementLimit, "maximum_product_flow"),
    ] {
        let ability = of(&settings, code);
        assert_eq!(ability.verdict, Verdict::Impossible, "{code:?}");
        assert!(ability.missing.iter().any(|text| text.contains(word)), "{ability:?}");
    }
}

/// The engine is asked with and without each needed reading: where `check` says no, the engine cannot tell either.
#[test]
fn what_is_called_missing_the_engine_misses_too() {
    let (_, settings) = sample("gauges-only-hand-set");
    let all = [
        (Quantity::FeedPressure, "55 bar"),
        (Quantity::ProductFlow, "80 L/h"),
        (Quantity::ProductConductivity, "500 uS/cm"),
        (Quantity::FeedTemperature, "24 C"),
        (Quantity::ConcentrateFlow, "420 L/h"),
        (Quantity::FeedSalinity, "36 g/kg"),
    ];
    let titles = |without: Option<Quantity>| -> Vec<String> {
        let read = |at: Option<i64>| Set {
            at,
            by: "test".to_string(),
            readings: all
                .iter()
                .filter(|(quantity, _)| at.is_some() || Some(*quantity) != without)
                .map(|(quantity, typed)| {
                    reading(&settings, &settings.units[0], *quantity, typed, None).expect("right")
                })
                .collect(),
        };
        let question = Question {
            settings: settings.clone(),
            unit: 0,
            history: RestoredUnit::default(),
            // 2026-03-03 and eleven days later.
            baseline: vec![read(Some(1_772_546_700_000))],
            readings: vec![Set { at: Some(1_773_546_700_000), ..read(None) }],
            events: vec![],
            context: Context::default(),
            facts: Default::default(),
        };
        judge(question).expect("judged").unit.not_computable
    };
    assert!(titles(None).is_empty(), "{:?}", titles(None));
    for (quantity, _) in all {
        let mut with = have(&settings.units[0]);
        with.retain(|known, _| {
            *known != quantity
                && !(quantity == Quantity::ProductConductivity && *known == Quantity::ProductSalinity)
        });
        let cannot = titles(Some(quantity));
        for ability in abilities(&settings.units[0], &with) {
            let title = registry::of(ability.code).title;
            let told = cannot.iter().any(|text| text.starts_with(title));
            // A reading set without product flow is no run; the finding then rests on the runs before and does not say so.
            let judged_on_runs = needs_baseline(ability.code) && quantity == Quantity::ProductFlow;
            if ability.code != FindingCode::ReadingUnreliable && !judged_on_runs {
                let no = ability.verdict == Verdict::Impossible;
                assert_eq!(no, told, "{title} without {}: {cannot:?}", quantity.label());
            }
        }
    }
}

#[test]
fn every_sample_is_told_in_words_and_as_json() {
    for name in [
        "gauges-only-hand-set",
        "one-2521-belt-fixed-valve",
        "one-2540-12v-energy-recovery",
        "two-2540-ac-regulated",
    ] {
        let (file, settings) = sample(name);
        let text = text(&file, &settings);
        assert!(registry::ALL.iter().all(|finding| text.contains(finding.name)), "{text}");
        assert!(text.lines().skip(1).all(|line| line.chars().count() <= 100), "{text}");
        let json = answer(&file, &settings);
        let unit = &json["units"][0];
        assert_eq!(unit["findings"].as_array().expect("a list").len(), registry::ALL.len());
        for finding in unit["findings"].as_array().expect("a list") {
            let no = finding["verdict"] == "not possible";
            assert_eq!(no, !finding["missing"].as_array().expect("a list").is_empty(), "{finding}");
        }
    }
}
