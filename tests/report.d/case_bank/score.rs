//! Points for an answer.
//!
//! Minus 2 for a claim that is forbidden, whatever else is said. Otherwise, where the readings can decide: 2 for a right cause that is decided, 1 for a right one
//! among the first three of an answer that decides for another, 0 for "cannot tell". Where they cannot: 2 for saying so and asking for a reading that would help, 1 for
//! a right cause among the first three, 0 for the rest.

use super::claims::{self, ALWAYS, Said};
use barrico::case::{Deciding, Expectations, Verdict};
use barrico_model::Quantity;

/// Most points for one case.
pub const MOST: i32 = 2;
/// Causes that a person reads.
const READ: usize = 3;

/// Points with the reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Score {
    /// Minus 2 to 2.
    pub points: i32,
    /// Forbidden words that were said.
    pub said_forbidden: Vec<String>,
}

/// Scores one answer.
pub fn score(expected: &Expectations, said: &Said) -> Score {
    let always = ALWAYS.iter().map(|word| (*word).to_string());
    let words = expected.forbidden_claims.iter().cloned().chain(always);
    let is_said = |word: &String| claims::of(word).is_some_and(|says| says.iter().any(|one| one.is_in(said)));
    let said_forbidden: Vec<String> = words.filter(is_said).collect();
    let points = if said_forbidden.is_empty() { points(expected, &said.verdict) } else { -2 };
    Score { points, said_forbidden }
}

fn points(expected: &Expectations, verdict: &Verdict) -> i32 {
    let right = |code: &str| expected.causes.iter().any(|known| known == code);
    let among = verdict.causes.iter().take(READ).any(|cause| right(cause.code));
    let decidable = expected.decidable == Some(true);
    match (decidable, verdict.decided) {
        (true, true) if verdict.causes.first().is_some_and(|first| right(first.code)) => 2,
        (false, false) if expected.deciding.iter().any(|one| verdict.ask.contains(one)) => 2,
        (true, false) => 0,
        _ => i32::from(among),
    }
}

/// The answer that knows nothing: "cannot tell, use a jug".
pub fn constant() -> Said {
    let ask = vec![Deciding::Quantity(Quantity::ConcentrateFlow)];
    Said { verdict: Verdict { ask, ..Verdict::default() }, ..Said::default() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use barrico_model::findings::RankedCause;

    fn expected(causes: &[&str], decidable: bool, deciding: Deciding, forbidden: &[&str]) -> Expectations {
        Expectations {
            tier: None,
            causes: causes.iter().map(|code| (*code).to_string()).collect(),
            decidable: Some(decidable),
            deciding: vec![deciding],
            forbidden_claims: forbidden.iter().map(|word| (*word).to_string()).collect(),
        }
    }

    fn said(codes: &[&'static str], decided: bool, ask: &[Deciding]) -> Said {
        let causes = codes.iter().map(|code| RankedCause { code, title: "", probability: 0.4 }).collect();
        Said {
            verdict: Verdict { causes, decided, ask: ask.to_vec(), ..Verdict::default() },
            ..Said::default()
        }
    }

    const JUG: Deciding = Deciding::Quantity(Quantity::ConcentrateFlow);

    #[test]
    fn a_decidable_case_wants_its_cause_first_and_decided() {
        let case = expected(&["pump-worn"], true, JUG, &["membrane"]);
        let points = |codes: &[&'static str], decided| score(&case, &said(codes, decided, &[JUG])).points;
        assert_eq!(points(&["pump-worn", "belt-slip"], true), 2);
        assert_eq!(points(&["belt-slip", "speed-low", "pump-worn"], true), 1);
        assert_eq!(points(&["belt-slip", "speed-low", "valve-moved", "pump-worn"], true), 0);
        assert_eq!(points(&["pump-worn", "belt-slip"], false), 0, "cannot tell, although it could be told");
        assert_eq!(points(&["membrane-fouled", "pump-worn"], true), -2);
        assert_eq!(points(&["membrane-fouled", "pump-worn"], false), -2, "it is put first all the same");
        assert_eq!(points(&[], false), 0);
    }

    #[test]
    fn a_case_that_cannot_be_decided_wants_doubt_and_the_right_question() {
        let case = expected(&["pump-worn"], false, JUG, &["membrane-alone"]);
        let points = |codes: &[&'static str], decided, ask: &[Deciding]| {
            score(&case, &said(codes, decided, ask)).points
        };
        assert_eq!(points(&["membrane-fouled"], false, &[JUG]), 2);
        assert_eq!(points(&["pump-worn"], false, &[Deciding::Inspection]), 1);
        assert_eq!(points(&["pump-worn"], true, &[JUG]), 1, "surer than the readings allow");
        assert_eq!(points(&["belt-slip"], true, &[JUG]), 0);
        assert_eq!(points(&["membrane-fouled"], true, &[JUG]), -2);
    }

    #[test]
    fn the_constant_answer_earns_only_where_a_jug_decides() {
        assert_eq!(score(&expected(&["pump-worn"], true, JUG, &[]), &constant()).points, 0);
        assert_eq!(score(&expected(&["pump-worn"], false, JUG, &[]), &constant()).points, MOST);
        assert_eq!(score(&expected(&["pump-worn"], false, Deciding::Inspection, &[]), &constant()).points, 0);
    }
}
