//! The acceptance record as words: what a surveyor or buyer signs.
//!
//! The judgement is the model's; here it is only written down, for the printed document, the terminal and nothing else. A record that is not valid as an acceptance says so first.

use super::{Frame, whose};
use crate::case::Set;
use crate::publish::{format, words};
use crate::settings::{Instrument, InstrumentKind, Settings, UnitSettings};
use askama::Template;
use barrico_model::judgement::acceptance::{
    Acceptance, BRACKISH_G_KG, Circumstances, Criterion, Decides, Outcome, SETS, SPACING_MIN, STANDARD_C,
    STANDARD_G_KG, Verdict,
};
use barrico_model::parts::{DriveKind, PumpKind};
use barrico_model::performance::standardised::FORM;
use barrico_model::performance::{Measured, Readings};
use barrico_model::quantity::MassConcentration;
use barrico_model::seawater::product_water::conductivity_from_solids;
use barrico_model::{Quantity, WallMs, math};

/// What the record is made of.
#[derive(Clone, Copy, Debug)]
pub struct Taken<'a> {
    /// Settings with the instruments.
    pub settings: &'a Settings,
    /// The unit.
    pub unit: &'a UnitSettings,
    /// The sets that were judged, oldest first.
    pub sets: &'a [Set],
    /// How the rinse is known, or that it is not.
    pub rinse: &'a str,
    /// What else is known.
    pub circumstances: &'a Circumstances,
    /// The judgement.
    pub acceptance: &'a Acceptance,
    /// When the record is made.
    pub made: Option<WallMs>,
}

/// One figure against the sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct ResultRow {
    /// What is judged.
    pub what: String,
    /// What was read.
    pub read: String,
    /// The least or most that the sheets allow here.
    pub minimum: String,
    /// What the nominal values of the sheets make here.
    pub nominal: String,
    /// Read over minimum, with its interval.
    pub ratio: String,
    /// In words.
    pub outcome: String,
}

/// The record.
#[derive(Clone, Debug, Template)]
#[template(path = "sheet_acceptance.html")]
pub struct Record {
    /// Frame of the document.
    pub frame: Frame,
    /// The answer in capital letters.
    pub said: &'static str,
    /// Why, one sentence each.
    pub why: Vec<String>,
    /// Place, date and people, as label and text.
    pub circumstances: Vec<(String, String)>,
    /// Flow and salinity.
    pub results: Vec<ResultRow>,
    /// What a reader must know beside the results.
    pub remarks: Vec<String>,
    /// Heads of the table of raw readings: one for each set.
    pub heads: Vec<String>,
    /// Raw readings: label, one cell for each set, instrument.
    pub readings: Vec<(String, Vec<String>, String)>,
    /// Instruments: name, kind, last check.
    pub instruments: Vec<[String; 3]>,
    /// Parts: label and text.
    pub parts: Vec<(String, String)>,
    /// ASTM D4516 form: label and text; or why there is none.
    pub standardised: Vec<(String, String)>,
    /// Water to which those are brought.
    pub standard: String,
}

/// Cautions of the record.
pub const CAUTIONS: [&str; 4] = [
    "The result is that of this day, these readings and these instruments. It says nothing of the age, the past or the future of any part.",
    "Readings are taken with the unit run by its manual, at open ends of hoses and at fitted gauges. High pressure: never feel for a jet. Mains voltage is \
     aboard, and capacitors keep their charge.",
    "Never close or kink the concentrate line to read a flow.",
    "Salinity says nothing about microbes, fuel, solvents or boron; whether water may be drunk is for local rules and qualified people to say.",
];

/// How the record is made, in one paragraph.
pub fn method() -> String {
    format!(
        "Rinse first; then {SETS} sets of readings, ten minutes apart ({:.0} to {:.0} are taken), that agree within their errors; sea water of {BRACKISH_G_KG:.0} g/kg at \
         least. Judged against the sheets' minimum flow and rejection, worked out for this water, pressure and feed flow. \"Meets\" and \"below\" are said only if the 95 % \
         interval lies wholly on that side. Rules and limits of this procedure are barrico's own choice, not a standard.",
        SPACING_MIN.0, SPACING_MIN.1
    )
}

/// The mark beside standardised values.
pub const D4516: &str = FORM;

impl Record {
    /// Everything as words.
    pub fn new(taken: &Taken<'_>) -> Self {
        let acceptance = taken.acceptance;
        let about = "Does this unit make at least what the sheets of its elements promise as a minimum, in the water of the day?";
        let why = acceptance.obstacles.iter().map(|obstacle| obstacle.text());
        Self {
            frame: Frame::new(
                "Acceptance record",
                &whose(&taken.settings.boat.name, &taken.unit.name),
                about,
                taken.made,
            ),
            said: said(acceptance.verdict),
            why: why.chain(decides(acceptance)).collect(),
            circumstances: circumstances(taken),
            results: vec![flow_row(acceptance), salt_row(acceptance)],
            remarks: acceptance.remarks.iter().map(|remark| remark.text()).collect(),
            heads: taken.sets.iter().enumerate().map(|(at, set)| head(at, set)).collect(),
            readings: readings(taken),
            instruments: instruments(taken),
            parts: parts(taken.unit),
            standardised: standardised(acceptance),
            standard: format!(
                "Mean of the sets brought to {STANDARD_C:.0} °C and {STANDARD_G_KG:.0} g/kg at the pressure and feed flow that were read; the standard itself is what the \
                 nominal sheets make there by the model."
            ),
        }
    }

    /// The paragraph on the procedure.
    pub fn method(&self) -> String {
        method()
    }

    /// The cautions.
    pub fn cautions(&self) -> &'static [&'static str] {
        &CAUTIONS
    }

    /// The mark beside standardised values.
    pub fn mark(&self) -> &'static str {
        D4516
    }
}

fn said(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NotValid => "NOT VALID AS ACCEPTANCE",
        Verdict::NotSteady => "NOT STEADY: no result",
        Verdict::Meets => "MEETS THE MINIMUM of the sheets",
        Verdict::DoesNotMeet => "BELOW THE MINIMUM of the sheets",
        Verdict::CannotTell => "CANNOT TELL from these readings",
    }
}

fn decides(acceptance: &Acceptance) -> Option<String> {
    let by = |share: f64| words::percent(share);
    Some(match acceptance.decides? {
        Decides::Missing(quantity) => {
            let next = barrico_model::judgement::reasoning::Look::Read(quantity).how();
            format!("The {} would decide. {}", quantity.label(), next.how)
        }
        Decides::Better(quantity, share) => format!(
            "A better reading of the {} would decide first: it makes up {} of the doubt.",
            quantity.label(),
            by(share)
        ),
        Decides::NoReading(share) => format!(
            "No better instrument would decide: {} of the doubt lies in working the sheets' test out for this water. Water nearer to {STANDARD_C:.0} °C would help.",
            by(share)
        ),
        Decides::Sheet => {
            "The minimum of the element's sheet would decide: enter it in the settings.".to_owned()
        }
    })
}

fn circumstances(taken: &Taken<'_>) -> Vec<(String, String)> {
    let mut people: Vec<&str> = Vec::new();
    for set in taken.sets {
        if !set.by.is_empty() && !people.contains(&set.by.as_str()) {
            people.push(&set.by);
        }
    }
    let date = taken.sets.iter().find_map(|set| set.at);
    let date = date.map_or_else(|| "not known".to_owned(), |at| format::date_time(at, None));
    let readings = Readings::from_means(&taken.acceptance.means);
    let part = |label: &str, measured: Option<Measured>, unit: &str| {
        let measured = measured?;
        Some(format!("{label} {} {unit}", format::with_half(measured.value, measured.variance().sqrt())))
    };
    let water: Vec<String> = [
        part("temperature", readings.feed_temperature_c, "°C"),
        part("salinity", readings.feed_salinity_g_kg, "g/kg"),
    ]
    .into_iter()
    .flatten()
    .collect();
    vec![
        ("Readings begun".to_owned(), date),
        ("Read by".to_owned(), if people.is_empty() { "not said".to_owned() } else { people.join(", ") }),
        ("Rinse".to_owned(), taken.rinse.to_owned()),
        ("Running".to_owned(), running(taken.circumstances)),
        (
            "Water of the day".to_owned(),
            if water.is_empty() { "not known".to_owned() } else { water.join(", ") },
        ),
    ]
}

fn running(known: &Circumstances) -> String {
    let or_unknown = |value: Option<f64>, unit: &str| {
        value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.0} {unit}"))
    };
    format!(
        "from the start to the last set: {}; youngest element in all: {}",
        or_unknown(known.minutes_since_start, "minutes"),
        or_unknown(known.element_hours, "hours")
    )
}

/// Of a record that is none, no line may read like a result.
fn outcome(verdict: Verdict, criterion: &Criterion) -> String {
    if matches!(verdict, Verdict::NotValid | Verdict::NotSteady) {
        return "no result".to_owned();
    }
    match criterion.outcome {
        Outcome::Meets => "meets",
        Outcome::DoesNotMeet => "below the minimum",
        Outcome::CannotTell => "cannot tell",
    }
    .to_owned()
}

fn ratio(criterion: &Criterion) -> String {
    let (low, high) = criterion.interval();
    let percent = |ratio: f64| format!("{:.0}", 100.0 * ratio);
    format!("{} % ({} to {} %)", percent(math::exp(criterion.ln_ratio.value)), percent(low), percent(high))
}

fn not_judged(what: &str, why: &impl std::fmt::Display) -> ResultRow {
    let none = || "–".to_owned();
    ResultRow {
        what: what.to_owned(),
        read: none(),
        minimum: none(),
        nominal: none(),
        ratio: none(),
        outcome: format!("not judged: {why}"),
    }
}

fn flow_row(acceptance: &Acceptance) -> ResultRow {
    const WHAT: &str = "Product flow";
    match &acceptance.flow {
        Err(why) => not_judged(WHAT, why),
        Ok(flow) => ResultRow {
            what: WHAT.to_owned(),
            read: format!("{} L/h", format::with_half(flow.seen.value, flow.seen.sd)),
            minimum: format!("at least {:.1} L/h", flow.minimum),
            nominal: format!("{:.1} L/h", flow.nominal),
            ratio: ratio(flow),
            outcome: outcome(acceptance.verdict, flow),
        },
    }
}

fn salt_row(acceptance: &Acceptance) -> ResultRow {
    const WHAT: &str = "Product salinity";
    let conductivity = |mg_l: f64| {
        let solids = MassConcentration::from_mg_l(mg_l).ok()?;
        Some(format!(", {:.0} µS/cm", conductivity_from_solids(solids).ok()?.as_us_cm()))
    };
    let both = |mg_l: f64| format!("{mg_l:.0} mg/L{}", conductivity(mg_l).unwrap_or_default());
    match &acceptance.salt {
        Err(why) => not_judged(WHAT, why),
        Ok(salt) => ResultRow {
            what: WHAT.to_owned(),
            read: format!(
                "{} mg/L{}",
                format::with_half(salt.seen.value, salt.seen.sd),
                conductivity(salt.seen.value).unwrap_or_default()
            ),
            minimum: format!("at most {}", both(salt.minimum)),
            nominal: both(salt.nominal),
            ratio: ratio(salt),
            outcome: outcome(acceptance.verdict, salt),
        },
    }
}

fn head(at: usize, set: &Set) -> String {
    let when =
        set.at.map_or_else(|| "no time".to_owned(), |at| format::time_of_day(at).replace(":00 UTC", " UTC"));
    format!("Set {}: {when}", at + 1)
}

fn readings(taken: &Taken<'_>) -> Vec<(String, Vec<String>, String)> {
    let find = |set: &Set, quantity: Quantity| {
        set.readings.iter().find(|reading| reading.quantity == quantity).cloned()
    };
    let mut rows = Vec::new();
    for &quantity in Quantity::ALL {
        let found: Vec<_> = taken.sets.iter().map(|set| find(set, quantity)).collect();
        if found.iter().all(Option::is_none) {
            continue;
        }
        let cells = found
            .iter()
            .map(|reading| reading.as_ref().map_or_else(|| "–".to_owned(), |reading| reading.typed.clone()));
        let mut by: Vec<String> = Vec::new();
        for reading in found.iter().flatten() {
            let name = reading.instrument.clone().unwrap_or_else(|| "not named".to_owned());
            if !by.contains(&name) {
                by.push(name);
            }
        }
        rows.push((words::sentence(quantity.label()), cells.collect(), by.join(", ")));
    }
    rows
}

/// The word for a kind of instrument.
pub fn kind(kind: InstrumentKind) -> &'static str {
    match kind {
        InstrumentKind::Unknown => "not named",
        InstrumentKind::Gauge => "dial gauge",
        InstrumentKind::Transmitter => "electronic sensor",
        InstrumentKind::FlowMeter => "flow meter",
        InstrumentKind::ConductivityCell => "fitted conductivity cell",
        InstrumentKind::Jug => "jug and watch",
        InstrumentKind::FlowTube => "flow tube",
        InstrumentKind::HandMeter => "hand meter",
        InstrumentKind::Thermometer => "thermometer",
        InstrumentKind::Refractometer => "refractometer or hydrometer",
    }
}

/// The instruments that the sets name, each once.
pub fn used<'a>(settings: &'a Settings, sets: &[Set]) -> Vec<&'a Instrument> {
    let named = |instrument: &&Instrument| {
        sets.iter()
            .flat_map(|set| &set.readings)
            .any(|reading| reading.instrument.as_deref() == Some(&instrument.id))
    };
    settings.instruments.iter().filter(named).collect()
}

fn instruments(taken: &Taken<'_>) -> Vec<[String; 3]> {
    let row = |instrument: &Instrument| {
        let checked = instrument.checked_ms.map_or_else(|| "not known".to_owned(), date);
        [instrument.id.clone(), kind(instrument.kind).to_owned(), checked]
    };
    used(taken.settings, taken.sets).into_iter().map(row).collect()
}

/// "3 Mar 2026".
fn date(at: WallMs) -> String {
    format::rfc3339(at).map_or_else(|| "impossible date".to_owned(), |text| text.chars().take(10).collect())
}

fn parts(unit: &UnitSettings) -> Vec<(String, String)> {
    let parts = &unit.parts;
    let mut rows = Vec::new();
    for (at, element) in parts.elements.iter().enumerate() {
        let history = unit.element_history.get(at);
        let serial = history.and_then(|history| history.serial.clone()).or(element.serial.clone());
        let wetted = history.and_then(|history| history.date_wetted_ms);
        let sheet = &element.sheet;
        let minimum_flow =
            sheet.minimum_flow_l_h.map_or("not entered".to_owned(), |l_h| format!("{l_h:.1} L/h"));
        let minimum_rejection = sheet
            .minimum_rejection
            .map_or("not entered".to_owned(), |share| format!("{:.2} %", 100.0 * share));
        rows.push((
            format!("Element {}", at + 1),
            format!(
                "{}, serial {}, first wetted {}. Sheet: {:.1} L/h, {:.2} %; minimum {minimum_flow}, {minimum_rejection}; at {:.1} bar, {:.0} °C, {:.0} mg/L NaCl, recovery {:.0} %",
                element.size,
                serial.unwrap_or_else(|| "not known".to_owned()),
                wetted.map_or_else(|| "not known".to_owned(), date),
                sheet.nominal_flow_l_h,
                100.0 * sheet.nominal_rejection,
                sheet.pressure_bar,
                sheet.temperature_c,
                sheet.sodium_chloride_mg_l,
                100.0 * sheet.recovery,
            ),
        ));
    }
    let pump = match parts.pump.kind {
        PumpKind::Plunger => "plunger".to_owned(),
        PumpKind::EnergyRecovery { product_share } => {
            format!("energy recovery, product {:.1} % of the feed", 100.0 * product_share)
        }
    };
    rows.push((
        "Pump".to_owned(),
        format!(
            "{pump}, nameplate {:.0} L/h; drive: {}",
            parts.pump.nameplate_flow_l_h,
            drive(parts.drive.kind)
        ),
    ));
    if 1 < parts.parallel_trains {
        rows.push(("Trains".to_owned(), format!("{} side by side", parts.parallel_trains)));
    }
    rows
}

fn drive(kind: DriveKind) -> String {
    match kind {
        DriveKind::AcSinglePhase { voltage_v, frequency_hz, .. } => {
            format!("{voltage_v:.0} V {frequency_hz:.0} Hz, single phase")
        }
        DriveKind::AcThreePhase { voltage_v, frequency_hz, .. } => {
            format!("{voltage_v:.0} V {frequency_hz:.0} Hz, three phases")
        }
        DriveKind::Inverter { voltage_v, .. } => format!("inverter at {voltage_v:.0} V"),
        DriveKind::Dc { voltage_v } => format!("{voltage_v:.0} V direct current"),
        DriveKind::Belt { .. } => "belt from an engine".to_owned(),
        DriveKind::Hydraulic => "hydraulic".to_owned(),
    }
}

fn standardised(acceptance: &Acceptance) -> Vec<(String, String)> {
    let row = |label: &str, text: String| (label.to_owned(), text);
    match &acceptance.standardised {
        Err(why) => vec![row("Not computed", why.to_string())],
        Ok(values) => vec![
            row(
                "Standardised product flow",
                format!(
                    "{:.1} L/h, {:.0} % of the standard",
                    values.product_flow_l_h,
                    100.0 * values.flow_ratio
                ),
            ),
            row(
                "Standardised salt passage",
                format!(
                    "{:.2} %, {:.0} % of the standard",
                    100.0 * values.salt_passage,
                    100.0 * values.salt_passage_ratio
                ),
            ),
            row("Net driving pressure as read", format!("{:.1} bar", values.actual.net_driving_pressure_bar)),
        ],
    }
}
