//! The sentences of a comparison: limits, notices, what the numbers are and what they are not.

use super::Compared;
use crate::publish::format;
use barrico_model::plant::Note;
use barrico_model::sizing::{Check, CheckKind, Unknown, Variant, Verdict, Worst, worst};

/// What every reader is told, in this order.
pub const CAUTIONS: [&str; 6] = [
    "From the sheets of the parts alone: the flow that a pressure gives is good to ±15 % at best, the salinity to ±40 % at best. Only runs of \
     the fitted unit make this narrower.",
    "The rating of an element holds at its test conditions, in another water and at little recovery: it is not what a unit makes and is not shown as such.",
    "No working instruction: pressure and flow are set by the manuals, within the limits of the parts. High pressure and mains voltage can kill; \
     local codes apply, and the work belongs to qualified people.",
    "If the boost pump fails: do not run the unit unless the manual of its high-pressure pump allows suction lift.",
    "Salinity says nothing about microbes, fuel, solvents or boron.",
    "The plates of motor and supply decide on currents and power.",
];

/// The line under the headline.
pub const ABOUT: &str = "Parts lists compared: what each should make, computed from the sheets of its parts. Nothing was measured.";

/// Usual recoveries and fluxes, as they stand beside the computed ones. The fluxes follow from the same practice: 21 US gal/h of one 2540 element with 2.6 to 2.8 m²
/// are 28 to 31 L/(m² h), the 12 to 13 US gal/h that a second one in series adds are 16 to 19.
pub const USUAL: &str = "Usual on small units: recovery 15 to 25 % of an element and 25 to 40 % of the train, flux 15 to 30 L/(m² h) (common practice, no limit).";

/// Where the other waters are, on the page.
pub const SECOND_PAGE: &str = "Every candidate in every water: on the second page.";

/// What a worn pump means here.
pub const WORN: &str = "Worn: a plunger pump takes in 15 % less feed, an energy-recovery pump lets 15 % of its product back inside; neither takes much less power.";

/// Why fuel does not follow the hours.
pub const FUEL: &str = "Fuel has a part for turning idle and a part for the load. Fewer hours save only the first: a third fewer hours is not a third less fuel.";

/// What a deviation behind ± is.
pub const PLUS_MINUS: &str = "Behind ± stands half of the interval that holds the figure in 95 of 100 cases.";

/// Words for a variant.
pub const fn variant(variant: Variant) -> &'static str {
    match variant {
        Variant::AsListed => "as listed",
        Variant::OneElementOut => "one element out",
        Variant::PumpWorn => "the pump worn (delivers 15 % less)",
    }
}

struct Words {
    /// The figure.
    figure: &'static str,
    unit: &'static str,
    /// Whose limit.
    limit: &'static str,
    /// What follows when it is passed.
    remark: &'static str,
}

const fn words(kind: CheckKind) -> Words {
    let (figure, unit, limit, remark) = match kind {
        CheckKind::ProductConductivity => {
            ("conductivity of the product", "µS/cm", "the crew's own limit", "")
        }
        CheckKind::FeedPressure => {
            ("feed pressure", "bar", "the lowest limit of unit and elements", "It must not be run so.")
        }
        CheckKind::Temperature => ("water", "°C", "an element's temperature limit", "It must not be run so."),
        CheckKind::ElementProduct => (
            "product of one element",
            "L/h",
            "its limit",
            "In this water less pressure is needed; follow its manual.",
        ),
        CheckKind::ElementFeed => ("feed of one element", "L/h", "its limit", "Follow its manual."),
        CheckKind::ElementDifferentialPressure => {
            ("pressure lost along one element", "bar", "its limit", "Follow its manual.")
        }
        CheckKind::MotorPower => {
            ("power at the pump's shaft", "W", "the motor's rating", "The motor is too small.")
        }
        CheckKind::SupplyCurrent => {
            ("current", "A", "the supply's lasting current", "The supply is too small.")
        }
        CheckKind::SupplyPower => ("apparent power", "VA", "the supply's rating", "The supply is too small."),
        CheckKind::StartCurrent => {
            ("current at the start", "A", "what the supply stands", "The motor may not start.")
        }
        CheckKind::HoursOfTheDay => ("running time a day", "h", "the hours of a day", "The need is not met."),
    };
    Words { figure, unit, limit, remark }
}

/// A sentence with its weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Passed limits come first.
    pub verdict: Verdict,
    /// What it is about; none for several things at once.
    pub kind: Option<CheckKind>,
    /// The sentence.
    pub text: String,
}

/// What there is to say of a candidate's limits and recoveries: passed, perhaps passed, not known, not entered; nothing of what is within.
pub fn remarks(compared: &Compared, candidate: usize, variant: Variant) -> Vec<Remark> {
    let mut hardest: Vec<(Check, usize)> = Vec::new();
    let checks = || compared.cases(candidate, variant).flat_map(|(_, case)| &case.checks);
    let all: Vec<(CheckKind, f64)> =
        checks().filter_map(|check| Some((check.kind, check.value.ok()?.value))).collect();
    for (water, case) in compared.cases(candidate, variant) {
        for check in &case.checks {
            match hardest.iter_mut().find(|(known, _)| known.kind == check.kind) {
                None => hardest.push((*check, water)),
                Some(known) if is_worse(check, &known.0) => *known = (*check, water),
                Some(_) => {}
            }
        }
    }
    let mut remarks: Vec<Remark> =
        hardest.iter().filter_map(|(check, water)| remark(compared, check, *water, &all)).collect();
    let open: Vec<&str> = hardest
        .iter()
        .filter(|(check, _)| check.verdict() == Verdict::NotEntered)
        .map(|(check, _)| words(check.kind).figure)
        .collect();
    remarks.sort_by_key(|remark| std::cmp::Reverse(remark.verdict));
    remarks.extend(recoveries(compared, candidate, variant));
    if !open.is_empty() {
        let text = format!("Not checked, since no limit was entered: {}.", open.join(", "));
        remarks.push(Remark { verdict: Verdict::NotEntered, kind: None, text });
    }
    remarks
}

/// Limits that are passed with something wrong, and not already without.
pub fn remarks_when_faulty(compared: &Compared, candidate: usize) -> Vec<Remark> {
    let passed = |variant| {
        remarks(compared, candidate, variant).into_iter().filter(|one| one.verdict == Verdict::Passed)
    };
    let known: Vec<_> = passed(Variant::AsListed).map(|one| one.kind).collect();
    let mut all = Vec::new();
    for variant in [Variant::OneElementOut, Variant::PumpWorn] {
        for one in passed(variant).filter(|one| !known.contains(&one.kind)) {
            let text = format!("With {}: {}", self::variant(variant), one.text);
            all.push(Remark { text, ..one });
        }
    }
    all
}

fn is_worse(check: &Check, than: &Check) -> bool {
    let excess = |check: &Check| match (check.value, check.limit) {
        (Ok(value), Some(limit)) => value.value - limit,
        (Ok(value), None) => value.value,
        (Err(_), _) => f64::NEG_INFINITY,
    };
    than.verdict() < check.verdict() || (than.verdict() == check.verdict() && excess(than) < excess(check))
}

fn remark(compared: &Compared, check: &Check, water: usize, all: &[(CheckKind, f64)]) -> Option<Remark> {
    let words = words(check.kind);
    let verdict = check.verdict();
    let place = place(compared, check.kind, water, all);
    let limit = check
        .limit
        .map_or(String::new(), |limit| format!("{} {}", format::number(limit, digits(limit)), words.unit));
    let figure = crate::publish::words::sentence(words.figure);
    let text = match (verdict, check.value) {
        (Verdict::Passed, Ok(value)) => format!(
            "{figure} {} {} {place} is beyond {}, {limit}.{}{}",
            format::with_half(value.value, value.deviation),
            words.unit,
            words.limit,
            if words.remark.is_empty() { "" } else { " " },
            words.remark
        ),
        (Verdict::Perhaps, Ok(value)) => format!(
            "{figure} {} {} {place} may be beyond {}, {limit}.",
            format::with_half(value.value, value.deviation),
            words.unit,
            words.limit
        ),
        (Verdict::NotKnown, Err(why)) => {
            format!("{figure} cannot be held against {}, {limit}: {why}.", words.limit)
        }
        _ => return None,
    };
    Some(Remark { verdict, kind: Some(check.kind), text })
}

/// "in Tropics", or "in every water" for a figure that is about the same in all.
fn place(compared: &Compared, kind: CheckKind, water: usize, all: &[(CheckKind, f64)]) -> String {
    let values: Vec<Option<f64>> =
        all.iter().filter(|(of, _)| *of == kind).map(|(_, value)| Some(*value)).collect();
    if 1 < values.len() && worst(&values, Worst::Highest).is_none() {
        return "in every water".to_string();
    }
    compared.comparison.waters.get(water).map_or(String::new(), |water| format!("in {}", water.name))
}

fn digits(value: f64) -> usize {
    if value.fract() == 0.0 { 0 } else { 1 }
}

/// Recoveries above the usual ones: the highest of all waters.
fn recoveries(compared: &Compared, candidate: usize, variant: Variant) -> Vec<Remark> {
    let mut highest: Vec<(Note, f64, usize)> = Vec::new();
    for (water, case) in compared.cases(candidate, variant) {
        for note in &case.expected.notes {
            let (Note::ElementRecoveryAboveUsual { recovery, .. }
            | Note::TrainRecoveryAboveUsual { recovery }) = note
            else {
                continue;
            };
            match highest.iter_mut().find(|(known, ..)| known.code() == note.code()) {
                None => highest.push((*note, *recovery, water)),
                Some(known) if known.1 < *recovery => *known = (*note, *recovery, water),
                Some(_) => {}
            }
        }
    }
    let place = |water: usize| compared.comparison.waters.get(water).map_or("", |water| water.name.as_str());
    highest
        .iter()
        .map(|(note, _, water)| Remark {
            verdict: Verdict::Within,
            kind: None,
            text: format!("In {}: {}", place(*water), note.text()),
        })
        .collect()
}

/// A reason as it stands in a table's cell or behind a colon.
pub fn reason(why: &Unknown) -> String {
    match why {
        Unknown::NotComputable(why) => why.to_string(),
        other => other.to_string(),
    }
}

/// The need in words.
pub fn need(compared: &Compared) -> String {
    let comparison = &compared.comparison;
    let list = |per_person: bool| {
        let uses: Vec<String> = comparison
            .uses
            .iter()
            .filter(|one| one.per_person == per_person)
            .map(|one| format!("{} {} L", one.name, format::number(one.litres, digits(one.litres))))
            .collect();
        uses.join(", ")
    };
    let daily = comparison.need.daily_l();
    let persons = comparison.need.persons;
    let each = match list(true) {
        none if none.is_empty() => String::new(),
        uses => format!(" Each person: {uses}."),
    };
    let boat = match list(false) {
        none if none.is_empty() => String::new(),
        uses => format!(" The boat: {uses}."),
    };
    let who = if persons == 1 { "1 person".to_string() } else { format!("{persons} persons") };
    format!("{} L a day for {who}.{each}{boat}", format::number(daily, 0))
}

/// Whether the tank lasts from one filling to the next.
pub fn filling(compared: &Compared) -> String {
    let need = &compared.comparison.need;
    match need.filling() {
        Ok(filling) => {
            let days = need.between_fillings_days.unwrap_or(filling.lasts_days);
            let tank_l = need.tank_l.unwrap_or(filling.litres);
            let wanted = format!(
                "{} days between fillings take {} L",
                trimmed(days),
                format::number(filling.wanted_l, 0)
            );
            if filling.tank_is_enough {
                format!("{wanted}; the tank of {} L is enough.", format::number(tank_l, 0))
            } else {
                format!(
                    "{wanted}; the tank of {} L is not enough and lasts {} days.",
                    format::number(tank_l, 0),
                    trimmed(filling.lasts_days)
                )
            }
        }
        Err(why) => format!("Whether the tank is enough is not known: {why}."),
    }
}

/// A number of days without a needless zero.
fn trimmed(days: f64) -> String {
    let text = format::number(days, 1);
    text.strip_suffix(".0").map_or(text.clone(), str::to_string)
}

/// What is measured, entered, assumed and computed, for a reader who must know.
pub fn origins(compared: &Compared) -> Vec<String> {
    let mut assumed = vec![
        "product line open to the air, inlet of the pump at 0 bar gauge".to_string(),
        "boost pump and controls have the motor's power factor".to_string(),
    ];
    let candidates = || compared.comparison.candidates.iter().map(|one| &one.candidate.parts);
    if candidates().any(|parts| parts.pump.delivery.is_none()) {
        assumed
            .push("pumps deliver 90 % of the nameplate at rated pressure where nothing was entered".into());
    }
    if candidates().any(|parts| parts.drive.motor_efficiency.is_none()) {
        assumed.push("usual efficiencies and power factors of small motors where nothing was entered".into());
    }
    vec![
        "Measured: nothing. No unit has run.".to_string(),
        "Entered: parts and limits from their sheets, waters, need, supplies, prices.".to_string(),
        format!("Assumed: {}.", assumed.join("; ")),
        "Energy is counted at the motor's terminals, for a pump on the engine at its shaft; boost pump and controls as entered."
            .to_string(),
        "Computed: the rest, by solution-diffusion with film polarisation along the train (sheets at ASTM D4194 test conditions).".to_string(),
    ]
}
