//! The page: self-contained, escaped, with every caution.

use super::*;
use crate::compare::tests::example;

#[test]
fn the_page_stands_alone_and_says_what_it_is() {
    let html = page(&example(), false, Some(1_772_546_712_000)).unwrap();
    crate::publish::sheet::tests::assert_self_contained(&html);
    assert!(html.contains("invented example") && html.contains("Made on 3 Mar 2026 14:05 UTC"));
    for caution in words::CAUTIONS {
        assert!(html.contains(&chart::escape(caution)) || html.contains(caution), "{caution}");
    }
    assert!(
        html.contains("Nothing was measured.")
            && html.contains("±15 %")
            && html.contains("not what a unit makes")
    );
    assert!(html.contains("<svg") && html.len() < 64 * 1024, "{} bytes", html.len());
}

/// The page is for a client; the waters one by one are added only if asked for.
#[test]
fn the_annex_comes_only_if_asked_for() {
    let of = |annex| page(&example(), annex, None).unwrap();
    assert!(!of(false).contains("Water by water") && !of(false).contains(words::SECOND_PAGE));
    assert!(of(true).contains("Water by water") && of(true).contains(words::SECOND_PAGE));
}

#[test]
fn every_name_is_escaped() {
    let mut compared = example();
    let evil = "<b onload=\"x\">'&";
    compared.comparison.title = evil.into();
    compared.comparison.notes = vec![evil.into()];
    compared.comparison.currency = evil.into();
    compared.comparison.uses[0].name = evil.into();
    compared.comparison.waters[0].name = evil.into();
    compared.comparison.candidates[0].name = evil.into();
    compared.comparison.candidates[0].supply = evil.into();
    let html = page(&compared, true, None).unwrap();
    assert!(!html.contains("<b onload"), "a name got into the markup");
    assert!(html.matches("onload").count() >= 8);
}

#[test]
fn what_is_unknown_is_a_gap_and_a_word_never_zero() {
    let mut comparison = example().comparison;
    for one in &mut comparison.waters {
        one.water.temperature_c = f64::NAN;
    }
    let html = page(&Compared::new(comparison), true, None).unwrap();
    assert!(html.contains("not known") && !html.contains("NaN ±") && !html.contains("<svg"));
}
