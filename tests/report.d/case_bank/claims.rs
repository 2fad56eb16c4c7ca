//! What must not be claimed: each word of a case file, and how to see in an answer that it was said.
//!
//! A word is said by the cause that is put first, decided or not, by a finding, by an advised action, or by silence. Some words name statements for which this program has no
//! words at all; they are listed with nothing, and the report counts them, so that a later output that could say them is noticed.

use barrico::case::Verdict;
use barrico_model::findings::FindingCode;
use barrico_model::judgement::cause_list::{self, Group};

/// How a word is said.
#[derive(Clone, Copy, Debug)]
pub enum Says {
    /// One of these causes is put first.
    First(&'static [&'static str]),
    /// A cause of these groups is put first.
    FirstOf(&'static [Group]),
    /// A cause of these groups is decided.
    DecidedOf(&'static [Group]),
    /// One of these causes is decided.
    Decided(&'static [&'static str]),
    /// One of these findings is there.
    Finding(&'static [FindingCode]),
    /// One of these actions is advised.
    Action(&'static [&'static str]),
    /// One of these actions is advised before all others.
    ActionFirst(&'static [&'static str]),
    /// There is a finding that sounds.
    Sounds,
    /// There is no finding, no cause and no question.
    Silent,
    /// What the unit should make was computed.
    Expects,
}

use FindingCode as F;
use Group as G;
use Says::{Action, ActionFirst, Decided, DecidedOf, Expects, Finding, First, FirstOf, Silent, Sounds};

/// Everything but "normal here" and the water.
const FAULTS: &[Group] = &[
    G::Sensor,
    G::Units,
    G::Network,
    G::Supply,
    G::Drive,
    G::Suction,
    G::Pump,
    G::Outlets,
    G::Membrane,
    G::ProductLine,
    G::Care,
];
const SALT: &[FindingCode] = &[F::SaltPassageUp, F::ProductSalinityOverLimit];
const NORMAL: &[&str] = &[
    "nothing-changed",
    "starting",
    "new-element-settling",
    "flushing",
    "preservative-rinse",
    "just-cleaned",
    "warm-water",
    "cold-water",
];

/// Forbidden in every case.
pub const ALWAYS: &[&str] = &[
    "raise-pressure",
    "dock-water",
    "safe-to-drink",
    "good-water",
    "close-concentrate",
    "feel-for-jet",
    "touch-live-parts",
    "replace-element",
];

/// Every word.
#[rustfmt::skip]
pub const CLAIMS: &[(&str, &[Says])] = &[
    ("alarm-on-jump", &[Sounds]),
    ("any-water-judgement", &[Finding(SALT), FirstOf(&[G::Normal, G::Water, G::Membrane])]),
    ("assumed-temperature", &[Expects]),
    ("average-away", &[Silent]),
    ("average-sources", &[Expects]),
    ("battery", &[First(&["supply-dc-low"])]),
    ("belt-from-one-number", &[]),
    ("car-antifreeze", &[Action(&["use-car-antifreeze"])]),
    ("carbon-makes-it-fine", &[Action(&["carbon-makes-dock-water-fine"])]),
    ("chase-litres", &[Action(&["chase-litres"])]),
    ("clean", &[Action(&["clean-first"])]),
    ("clean-again", &[Action(&["clean-first"])]),
    ("clean-first", &[Action(&["clean-first"])]),
    ("close-concentrate", &[Action(&["close-concentrate"])]),
    ("close-product-outlet", &[Action(&["close-product-outlet"])]),
    ("corrosion-measured", &[]),
    ("dock-water", &[Action(&["flush-with-dock-water"])]),
    ("dock-water-through-carbon", &[Action(&["carbon-makes-dock-water-fine"])]),
    ("fault", &[FirstOf(FAULTS), Sounds]),
    ("feed-pump", &[First(&["feed-pump-weak"])]),
    ("feel-for-jet", &[Action(&["feel-for-jet"])]),
    ("filter", &[First(&["prefilter-loaded"])]),
    ("fixed-by-turning-valve", &[Action(&["chase-litres"])]),
    ("fixed-hours", &[Action(&["change-by-fixed-hours"])]),
    ("flush-from-harbour", &[Action(&["flush-or-run", "flush-with-dock-water"])]),
    ("flush-now", &[Action(&["flush-or-run"])]),
    ("fouling", &[First(&["membrane-fouled", "membrane-scaled"])]),
    ("generator-worn", &[First(&["speed-low"])]),
    ("good-water", &[Action(&["call-water-good"])]),
    ("heavy-use", &[]),
    ("ignore-bilge", &[Silent]),
    ("ignore-breaker", &[Action(&["ignore-breaker"])]),
    ("insist-on-bar", &[Decided(&["unit-psi-bar"])]),
    ("invented-limit", &[]),
    ("jammed", &[First(&["motor-stalled", "drive-seizing"])]),
    ("keep-running", &[Action(&["keep-running"])]),
    ("keep-stale", &[Expects]),
    ("label-strength", &[Action(&["trust-label"])]),
    ("leak", &[First(&["high-pressure-leak", "low-pressure-leak", "tank-loss", "leak-to-product"])]),
    ("litres-per-ah-unchanged", &[]),
    ("membrane", &[FirstOf(&[G::Membrane])]),
    ("membrane-alone", &[DecidedOf(&[G::Membrane])]),
    ("membrane-worn", &[First(&["membrane-aged", "membrane-fouled", "membrane-oxidised"])]),
    ("mixed-baselines", &[]),
    ("more-pressure", &[Action(&["raise-pressure"])]),
    ("negative-pressure-alarm", &[]),
    ("normal", &[First(NORMAL)]),
    ("open-vessel-first", &[Action(&["open-vessel-first"])]),
    ("output-low", &[Finding(&[F::OutputLow])]),
    ("over-production", &[Finding(&[F::OutputAboveElementLimit])]),
    ("oxidation", &[First(&["membrane-oxidised"])]),
    ("packings", &[First(&["pump-worn"])]),
    ("protected-without-strength", &[Action(&["call-frost-safe"])]),
    ("pump", &[FirstOf(&[G::Pump]), First(&["feed-pump-weak"])]),
    ("pump-failed", &[First(&["pump-worn", "dead-cylinder"])]),
    ("pump-seizing", &[First(&["drive-seizing"])]),
    ("pump-worn", &[First(&["pump-worn"])]),
    ("raise-pressure", &[Action(&["raise-pressure"])]),
    ("replace-element", &[Action(&["replace-element-first"])]),
    ("replace-filter", &[First(&["prefilter-loaded"]), Action(&["change-filter-again"])]),
    ("replace-pump", &[Action(&["replace-pump-first"])]),
    ("reset-baseline", &[Action(&["reset-baseline"])]),
    ("restart", &[Action(&["restart-at-once"])]),
    ("run-now", &[Action(&["flush-or-run", "run-in-dirty-water"])]),
    ("safe-to-drink", &[Action(&["call-water-safe"])]),
    ("salinity-high", &[Finding(SALT)]),
    ("salinity-rose", &[Finding(SALT)]),
    ("seal", &[First(&["leak-to-product", "element-torn"])]),
    ("silence", &[Silent]),
    ("speed-above-rated-current", &[Action(&["speed-above-rated-current"])]),
    ("start-stop-fault", &[FirstOf(&[G::Supply, G::Drive, G::Pump])]),
    ("stop-first", &[ActionFirst(&["stop-by-manual"])]),
    ("temperature-factor-on-flow", &[First(&["cold-water", "warm-water"])]),
    ("tighten-relief", &[Action(&["tighten-relief", "set-relief-higher"])]),
    ("to-tank", &[Action(&["lead-to-tank"])]),
    ("to-tank-by-timer", &[Action(&["lead-to-tank", "trust-timer"])]),
    ("touch-live-parts", &[Action(&["touch-live-parts"])]),
    ("turn-further", &[Action(&["chase-litres", "raise-pressure"])]),
    ("turn-needle-first", &[ActionFirst(&["chase-litres"])]),
    ("unsafe", &[Action(&["call-water-unsafe"])]),
    ("valve", &[First(&["valve-moved", "bypass-open"])]),
    ("wait", &[Action(&["wait-and-see"])]),
    ("wait-for-breaker", &[Action(&["wait-and-see", "ignore-breaker"])]),
    ("wait-for-salt", &[Action(&["wait-and-see"])]),
    ("water", &[FirstOf(&[G::Water])]),
    ("water-quality-unstable", &[Finding(SALT)]),
];

/// How a word is said; `None`: it is no word of the list.
pub fn of(word: &str) -> Option<&'static [Says]> {
    CLAIMS.iter().find(|(known, _)| *known == word).map(|(_, says)| *says)
}

/// What an answer says beside its verdict.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// The answer in short.
    pub verdict: Verdict,
    /// A finding sounds.
    pub sounds: bool,
    /// What the unit should make was computed.
    pub expects: bool,
}

impl Says {
    /// Does the answer say so?
    pub fn is_in(self, said: &Said) -> bool {
        let verdict = &said.verdict;
        let first = verdict.causes.first().map(|cause| cause.code);
        let group = first.and_then(cause_list::of).map(|cause| cause.group);
        match self {
            First(codes) => first.is_some_and(|code| codes.contains(&code)),
            FirstOf(groups) => group.is_some_and(|group| groups.contains(&group)),
            DecidedOf(groups) => verdict.decided && FirstOf(groups).is_in(said),
            Decided(codes) => verdict.decided && First(codes).is_in(said),
            Finding(codes) => verdict.findings.iter().any(|code| codes.contains(code)),
            Action(codes) => verdict.actions.iter().any(|code| codes.contains(code)),
            ActionFirst(codes) => verdict.actions.first().is_some_and(|code| codes.contains(code)),
            Sounds => said.sounds,
            Silent => verdict.findings.is_empty() && verdict.causes.is_empty() && verdict.ask.is_empty(),
            Expects => said.expects,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use barrico_model::judgement::action_list;

    /// A word that refers to a code which nothing has could never be said, and would look like a passed test.
    #[test]
    fn words_are_unique_and_refer_to_codes_that_exist() {
        assert!(CLAIMS.windows(2).all(|pair| pair[0].0 < pair[1].0), "sort the words");
        let advised = |code: &str| {
            action_list::ALL.iter().any(|action| action.code == code)
                || action_list::NEVER.iter().any(|never| never.0 == code)
        };
        for (word, says) in CLAIMS {
            for one in *says {
                match one {
                    First(codes) | Decided(codes) => {
                        assert!(codes.iter().all(|code| cause_list::of(code).is_some()), "{word}")
                    }
                    Action(codes) | ActionFirst(codes) => {
                        assert!(codes.iter().all(|code| advised(code)), "{word}")
                    }
                    _ => {}
                }
            }
        }
        assert!(ALWAYS.iter().all(|word| of(word).is_some_and(|says| !says.is_empty())));
    }

    /// No finding advises what is forbidden in every case.
    #[test]
    fn nothing_that_is_always_forbidden_is_advised_anywhere() {
        for action in action_list::ALL {
            let verdict = Verdict { actions: vec![action.code], ..Verdict::default() };
            let said = Said { verdict, ..Said::default() };
            for word in ALWAYS {
                let says = of(word).expect("tested above");
                assert!(!says.iter().any(|one| one.is_in(&said)), "{} says {word}", action.code);
            }
        }
    }
}
