//! The relations of `validation/search.rs` on a small number of random cases; the report `model` tries many more, with other seeds.

mod validation;

use validation::search;

/// Cases of each property; the report has a hundred times as many.
const CASES: usize = 200;

#[test]
fn the_relations_hold_whatever_the_numbers() {
    for tried in search::run(CASES, 1) {
        assert_eq!(tried.broken, 0, "{}: {:.3} of what is allowed at {}", tried.name, tried.worst, tried.at);
        assert!(0 < tried.cases, "{}: no case was in range", tried.name);
    }
}
