//! The example worked out, and what is said of it.

use super::*;
use crate::settings::comparison::parse;
use barrico_model::sizing::{CheckKind, Verdict};

pub(crate) fn example() -> Compared {
    Compared::new(parse(EXAMPLE, EXAMPLE_NAME).unwrap_or_else(|problems| panic!("{problems}")))
}

#[test]
fn the_worst_case_is_the_worst_of_all_waters() {
    let compared = example();
    for candidate in 0..compared.comparison.candidates.len() {
        for row in rows::ALL.iter().filter(|row| row.worst.is_some()) {
            let Ok(worst) = compared.at_worst(candidate, Variant::AsListed, row) else { continue };
            for water in 0..compared.comparison.waters.len() {
                let here =
                    compared.figure(candidate, Variant::AsListed, water, row).expect("known in all").value;
                let slack = 0.01 * worst.figure.value.abs() + 1e-12;
                match row.worst {
                    Some(barrico_model::sizing::Worst::Lowest) => {
                        assert!(worst.figure.value <= here + slack, "{}", row.key)
                    }
                    _ => assert!(here <= worst.figure.value + slack, "{}", row.key),
                }
            }
        }
    }
}

#[test]
fn a_passed_limit_is_said_first_and_one_not_entered_is_never_replaced() {
    let mut comparison = example().comparison;
    comparison.candidates[0].candidate.supply.current_limit_a = Some(2.0);
    comparison.candidates[0].candidate.parts.limits.maximum_feed_pressure_bar = None;
    comparison.candidates[0].candidate.parts.elements[0].limits.maximum_pressure_bar = None;
    let compared = Compared::new(comparison);
    let remarks = words::remarks(&compared, 0, Variant::AsListed);
    assert_eq!((remarks[0].verdict, remarks[0].kind), (Verdict::Passed, Some(CheckKind::SupplyCurrent)));
    assert!(
        remarks[0].text.contains("in every water is beyond the supply's lasting current, 2 A"),
        "{}",
        remarks[0].text
    );
    let open = remarks.last().expect("something");
    assert!(
        open.text.contains("feed pressure") && open.text.contains("no limit was entered"),
        "{}",
        open.text
    );
}

#[test]
fn an_unknown_figure_has_no_worst_case() {
    let mut comparison = example().comparison;
    comparison.waters[1].water.temperature_c = f64::NAN;
    let compared = Compared::new(comparison);
    assert!(
        compared.at_worst(0, Variant::AsListed, &rows::PRODUCT).is_err(),
        "the unknown one may be the worst"
    );
}

#[test]
fn need_and_tank_in_words() {
    let compared = example();
    // By hand: 4 persons x (3 + 4 + 5 + 12) L + 10 L + 10 L.
    assert!(words::need(&compared).starts_with("116 L a day for 4 persons."));
    assert_eq!(words::filling(&compared), "3 days between fillings take 348 L; the tank of 400 L is enough.");
}
