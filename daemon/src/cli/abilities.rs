//! Which findings the sensors and hand readings of a unit allow, what is missing for the others, and what would add most.
//!
//! Each finding has groups of readings: one reading of each needed group must be there, and each further group makes the answer say more. The groups repeat what the
//! findings ask of their readings; a test puts a finding to the engine without a group and holds the two together.

use crate::settings::{Source, UnitSettings};
use barrico_model::Quantity;
use barrico_model::findings::{FindingCode, over_pressure, registry};
use std::collections::BTreeMap;

/// How far a finding can be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// As well as it can be.
    Possible,
    /// It can be raised, but says less than it could.
    Partly,
    /// Not at all.
    Impossible,
}

impl Verdict {
    pub fn name(self) -> &'static str {
        match self {
            Self::Possible => "possible",
            Self::Partly => "partly",
            Self::Impossible => "not possible",
        }
    }
}

/// One finding and what it lacks.
#[derive(Clone, Debug)]
pub(super) struct Ability {
    pub code: FindingCode,
    pub verdict: Verdict,
    /// What must be added first.
    pub missing: Vec<String>,
    /// What would make it say more.
    pub better: Vec<String>,
}

/// One reading that would add something.
#[derive(Clone, Debug)]
pub(super) struct Suggestion {
    pub quantity: Quantity,
    /// How it is usually had aboard.
    pub how: &'static str,
    /// Findings that become possible.
    pub enables: Vec<FindingCode>,
    /// Findings that say more.
    pub improves: Vec<FindingCode>,
}

/// Where the readings of a unit come from, in words.
pub(super) type Have = BTreeMap<Quantity, Vec<String>>;

/// What the settings name as sources, and what follows from it.
pub(super) fn have(unit: &UnitSettings) -> Have {
    let mut have = Have::new();
    for rule in &unit.sources {
        let from = match &rule.source {
            Source::Bus(bus) => format!("bus, PGN {}", bus.pgn),
            Source::Hand => "by hand".to_string(),
        };
        have.entry(rule.quantity).or_default().push(from);
    }
    derive(&mut have, Quantity::ProductSalinity, Quantity::ProductConductivity);
    derive(&mut have, Quantity::ProductConductivity, Quantity::ProductSalinity);
    derive(&mut have, Quantity::FeedConductivity, Quantity::FeedSalinity);
    have
}

fn derive(have: &mut Have, from: Quantity, to: Quantity) {
    if have.contains_key(&from) && !have.contains_key(&to) {
        have.insert(to, vec![format!("computed from {}", from.label())]);
    }
}

/// One of these must be there.
type Group = &'static [Quantity];

const PRODUCT: Group = &[Quantity::ProductFlow];
const PRESSURE: Group = &[Quantity::FeedPressure, Quantity::ConcentratePressure];
const TEMPERATURE: Group = &[Quantity::FeedTemperature];
const THROUGH: Group = &[Quantity::ConcentrateFlow, Quantity::FeedFlow];
const SEA: Group = &[Quantity::FeedSalinity, Quantity::FeedConductivity, Quantity::ConcentrateSalinity];
const SALT: Group = &[Quantity::ProductConductivity, Quantity::ProductSalinity];
const STATE: Group =
    &[Quantity::OperatingState, Quantity::FeedPressure, Quantity::ConcentratePressure, Quantity::ProductFlow];

/// Needed groups, and groups that make it say more.
fn groups(code: FindingCode) -> (&'static [Group], &'static [Group]) {
    match code {
        FindingCode::OutputLow => (&[PRODUCT, PRESSURE, TEMPERATURE], &[THROUGH, SEA, SALT]),
        FindingCode::SaltPassageUp => (&[SALT, PRODUCT, PRESSURE, TEMPERATURE], &[THROUGH, SEA]),
        FindingCode::ProductSalinityOverLimit => (&[SALT], &[]),
        // Its pressures depend on the limits that there are.
        FindingCode::OverPressure => (&[], &[]),
        FindingCode::OutputAboveElementLimit => (&[PRODUCT, TEMPERATURE], &[PRESSURE, SEA]),
        FindingCode::ReadingUnreliable => (&[], &[]),
        FindingCode::IdleWithoutFlush => (&[STATE], &[TEMPERATURE]),
    }
}

/// Every finding, in the order of the list.
pub(super) fn abilities(unit: &UnitSettings, have: &Have) -> Vec<Ability> {
    registry::ALL.iter().map(|finding| ability(finding.code, unit, have)).collect()
}

fn ability(code: FindingCode, unit: &UnitSettings, have: &Have) -> Ability {
    let (needed, more) = groups(code);
    let lacking = |groups: &[Group]| -> Vec<String> {
        groups
            .iter()
            .filter(|group| !group.iter().any(|q| have.contains_key(q)))
            .map(|group| words(group))
            .collect()
    };
    let (mut missing, mut better) = (lacking(needed), lacking(more));
    match code {
        FindingCode::ProductSalinityOverLimit if unit.parts.limits.product_conductivity_us_cm.is_none() => {
            missing.push("your limit in the settings: `product_conductivity` under `limits`".to_string());
        }
        FindingCode::OverPressure => pressures(unit, have, &mut missing, &mut better),
        FindingCode::OutputAboveElementLimit => {
            let without =
                unit.parts.elements.iter().filter(|e| e.limits.maximum_product_flow_l_h.is_none()).count();
            let text = "`maximum_product_flow` of the elements, from their sheet".to_string();
            if without == unit.parts.elements.len() {
                missing.push(text);
            } else if 0 < without {
                better.push(text);
            }
        }
        FindingCode::ReadingUnreliable => unreliable(unit, &mut missing),
        FindingCode::IdleWithoutFlush if unit.status_from.is_some() => missing.clear(),
        FindingCode::IdleWithoutFlush if !missing.is_empty() => {
            // What people write down counts too.
            better.append(&mut missing);
            better.push("runs and flushes in the log, `barrico log add --event flushed`".to_string());
        }
        _ => {}
    }
    let verdict = match (missing.is_empty(), better.is_empty()) {
        (false, _) => Verdict::Impossible,
        (true, false) => Verdict::Partly,
        (true, true) => Verdict::Possible,
    };
    Ability { code, verdict, missing, better }
}

fn words(group: Group) -> String {
    let names: Vec<&str> = group.iter().map(|quantity| quantity.label()).collect();
    let why = if group == THROUGH { " (without it pump and membrane look the same)" } else { "" };
    format!("{}{why}", names.join(" or "))
}

/// Pressures with a limit that are read, and those without.
fn pressures(unit: &UnitSettings, have: &Have, missing: &mut Vec<String>, better: &mut Vec<String>) {
    let limits: Vec<_> = over_pressure::limits(&unit.parts).collect();
    let high = |quantity: Quantity| PRESSURE.contains(&quantity);
    let watched = |quantity: Quantity| {
        have.contains_key(&quantity)
            || (high(quantity) && PRESSURE.iter().any(|other| have.contains_key(other)))
    };
    if !limits.iter().any(|(quantity, ..)| high(*quantity)) {
        let text = "the highest pressure of pump, vessel and elements, from their sheets: `feed_pressure` under `limits`, `maximum_pressure` of \
                    the elements";
        if limits.is_empty() { missing.push(text.to_string()) } else { better.push(text.to_string()) }
    }
    let unwatched: Vec<&str> = limits
        .iter()
        .filter(|(quantity, ..)| !watched(*quantity))
        .map(|(quantity, ..)| quantity.label())
        .collect();
    let unwatched = unwatched
        .join(", ")
        .replace("feed pressure, concentrate pressure", "feed pressure or concentrate pressure");
    if !unwatched.is_empty() {
        let none = !limits.iter().any(|(quantity, ..)| watched(*quantity));
        if none { missing.push(unwatched) } else { better.push(unwatched) }
    }
    let bus = |quantity: &Quantity| {
        have.get(quantity).is_some_and(|sources| sources.iter().any(|s| s.starts_with("bus")))
    };
    if missing.is_empty() && !PRESSURE.iter().any(bus) && unit.status_from.is_none() {
        better.push("a pressure sensor on the bus: a hand reading tells of one moment only".to_string());
    }
}

/// Sensors are watched on the bus; a hand reading is one moment.
fn unreliable(unit: &UnitSettings, missing: &mut Vec<String>) {
    let any_bus = unit.sources.iter().any(|rule| matches!(rule.source, Source::Bus(_)));
    if !any_bus && unit.status_from.is_none() {
        missing.push("a sensor on the bus".to_string());
    }
}

/// What people and sensors can add, with the usual way to have it.
const CANDIDATES: [(Quantity, &str); 6] = [
    (
        Quantity::ConcentrateFlow,
        "by hand: a jug and a watch at the open end of the concentrate hose, never closing or kinking it",
    ),
    (Quantity::FeedSalinity, "by hand: a refractometer or a meter in the sea beside the boat"),
    (Quantity::ProductConductivity, "by hand: a conductivity meter that compensates to 25 °C"),
    (
        Quantity::FeedTemperature,
        "from the boat's sea temperature sensor, or by hand: a thermometer in a bucket of sea water",
    ),
    (
        Quantity::FeedPressure,
        "a pressure sensor on the bus, fitted by qualified people; or by hand from the gauge",
    ),
    (Quantity::ProductFlow, "by hand: a jug and a watch at the product outlet; or a flow meter"),
];

/// What would add most, best first: a finding made possible counts twice, one that says more once; the flow that tells pump from membrane counts
/// twice more.
pub(super) fn suggestions(unit: &UnitSettings, have: &Have) -> Vec<Suggestion> {
    let now = abilities(unit, have);
    let mut found: Vec<Suggestion> = Vec::new();
    for (quantity, how) in CANDIDATES.into_iter().filter(|(quantity, _)| !have.contains_key(quantity)) {
        let mut with = have.clone();
        with.insert(quantity, vec![String::new()]);
        let then = abilities(unit, &with);
        let (mut enables, mut improves) = (Vec::new(), Vec::new());
        for (before, after) in now.iter().zip(&then) {
            if before.verdict == Verdict::Impossible && after.verdict != Verdict::Impossible {
                enables.push(after.code);
            } else if after.missing.len() + after.better.len() < before.missing.len() + before.better.len() {
                improves.push(after.code);
            }
        }
        if !(enables.is_empty() && improves.is_empty()) {
            found.push(Suggestion { quantity, how, enables, improves });
        }
    }
    let weight = |s: &Suggestion| {
        let tells_pump_from_membrane =
            THROUGH.contains(&s.quantity) && s.improves.contains(&FindingCode::OutputLow);
        2 * s.enables.len() + s.improves.len() + if tells_pump_from_membrane { 2 } else { 0 }
    };
    found.sort_by_key(|suggestion| std::cmp::Reverse(weight(suggestion)));
    found
}
