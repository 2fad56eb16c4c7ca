//! The cases in tests/cases/, each as JSON that can be changed before it is read, and what the judgement says to it.

use super::claims::Said;
use barrico::case::{self, Case, Expectations};
use barrico_model::findings::Severity;
use serde_json::Value;

/// One case of the bank.
pub struct Banked {
    /// Name of its file without ending.
    pub name: String,
    /// The file.
    pub json: Value,
}

impl Banked {
    /// What a right answer is.
    ///
    /// # Errors
    /// All that is wrong with the case.
    pub fn expectations(&self) -> Result<Expectations, String> {
        Ok(read(&self.json)?.expectations)
    }
}

/// All cases, by name.
///
/// # Errors
/// Which file cannot be read.
pub fn all() -> Result<Vec<Banked>, String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/cases");
    let entries = std::fs::read_dir(folder).map_err(|error| format!("tests/cases: {error}"))?;
    let mut bank = Vec::new();
    for entry in entries {
        let path = entry.map_err(|error| error.to_string())?.path();
        let name = path.file_stem().map(|name| name.to_string_lossy().to_string()).unwrap_or_default();
        let text = std::fs::read_to_string(&path).map_err(|error| format!("{name}: {error}"))?;
        let json = serde_json::from_str(&text).map_err(|error| format!("{name}: {error}"))?;
        bank.push(Banked { name, json });
    }
    bank.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(bank)
}

/// The case in this JSON.
///
/// # Errors
/// All that is wrong with it.
pub fn read(json: &Value) -> Result<Case, String> {
    case::parse(&json.to_string()).map_err(|problems| problems.to_string())
}

/// What the judgement says.
///
/// # Errors
/// Why there is none.
pub fn said(case: Case) -> Result<Said, String> {
    let judged = case::judge(case.question)?;
    Ok(Said {
        verdict: case::verdict(&judged),
        sounds: judged.unit.findings.iter().any(|(alert, _)| Severity::Alert <= alert.severity),
        expects: judged.unit.expected.is_some(),
    })
}

#[cfg(test)]
mod tests {
    use super::super::claims::{self, ALWAYS};
    use super::*;
    use barrico::case::{DECIDED, Deciding, Verdict};
    use barrico_model::findings::RankedCause;
    use barrico_model::judgement::cause_list::{self, Group};
    use std::collections::BTreeSet;

    /// Every case that was gathered is there, and every group of causes has one.
    #[test]
    fn the_bank_is_whole() {
        let bank = all().expect("readable");
        let ids: BTreeSet<String> =
            bank.iter().map(|banked| banked.json["id"].as_str().expect("an id").to_string()).collect();
        assert_eq!((bank.len(), ids.len()), (69, 69));
        let groups: BTreeSet<Group> = bank
            .iter()
            .flat_map(|banked| banked.expectations().expect("read").causes)
            .filter_map(|code| cause_list::of(&code).map(|cause| cause.group))
            .collect();
        let known: BTreeSet<Group> = cause_list::ALL.iter().map(|cause| cause.group).collect();
        assert_eq!(groups, known);
    }

    #[test]
    fn every_case_is_read_and_speaks_the_words_of_the_lists() {
        for banked in all().expect("readable") {
            let (name, expected) = (&banked.name, banked.expectations().expect("read"));
            assert!(read(&banked.json).is_ok_and(|case| case.name.is_some()), "{name}");
            for key in ["story", "source"] {
                assert!(banked.json[key].is_string(), "{name}: no {key}");
            }
            assert!(expected.tier.is_some() && expected.decidable.is_some(), "{name}");
            assert!(!expected.causes.is_empty() && !expected.deciding.is_empty(), "{name}");
            for code in &expected.causes {
                assert!(cause_list::of(code).is_some(), "{name}: no cause {code}");
            }
            assert!(!expected.forbidden_claims.is_empty(), "{name}");
            for word in &expected.forbidden_claims {
                assert!(claims::of(word).is_some(), "{name}: no claim {word}");
            }
        }
    }

    /// A case whose right answer is forbidden could not be answered.
    #[test]
    fn the_right_cause_is_never_a_forbidden_claim() {
        for banked in all().expect("readable") {
            let expected = banked.expectations().expect("read");
            for code in &expected.causes {
                let code = cause_list::of(code).expect("tested above").code;
                let causes = vec![RankedCause { code, title: "", probability: DECIDED + 0.1 }];
                let decided = expected.decidable == Some(true);
                let said =
                    Said { verdict: Verdict { causes, decided, ..Verdict::default() }, ..Said::default() };
                let words =
                    expected.forbidden_claims.iter().map(String::as_str).chain(ALWAYS.iter().copied());
                for word in words {
                    let says = claims::of(word).expect("tested above");
                    assert!(!says.iter().any(|one| one.is_in(&said)), "{}: {code} says {word}", banked.name);
                }
            }
        }
    }

    /// Without its deciding readings a case that can be decided would be decided by nothing: at least one of them must be in it, or something that was seen in its place.
    #[test]
    fn decidable_cases_hold_a_deciding_reading() {
        for banked in all().expect("readable") {
            let expected = banked.expectations().expect("read");
            let holds = expected.deciding.iter().any(|deciding| {
                *deciding == Deciding::Inspection
                    || banked.json.get("observations").is_some()
                    || super::super::variants::without(&mut banked.json.clone(), *deciding)
            });
            assert!(holds || expected.decidable == Some(false), "{}", banked.name);
        }
    }
}
