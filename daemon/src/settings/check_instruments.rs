//! Instruments: what they are, how wrong they may be, what they mean by `gal` and `ppm`.

use super::check::{Check, ID_CHARS_MAX, shown};
use super::problem::Problem;
use super::ranges::INSTRUMENTS_MAX;
use super::raw::{RawFile, RawInstrument};
use super::typed::{Amount, Field, NamedTable, Share};
use super::types::{ErrorSize, Gallon, Instrument, InstrumentKind, PpmScale};
use crate::quantity_text::{Convention, Measure, parse_size};
use barrico_model::Quantity;

const KINDS: &[(&str, InstrumentKind)] = &[
    ("gauge", InstrumentKind::Gauge),
    ("transmitter", InstrumentKind::Transmitter),
    ("flow-meter", InstrumentKind::FlowMeter),
    ("conductivity-cell", InstrumentKind::ConductivityCell),
    ("jug", InstrumentKind::Jug),
    ("flow-tube", InstrumentKind::FlowTube),
    ("hand-meter", InstrumentKind::HandMeter),
    ("thermometer", InstrumentKind::Thermometer),
    ("refractometer", InstrumentKind::Refractometer),
];

/// What stands at index 0: readings whose instrument is not named.
pub(super) const UNKNOWN: &str = "unknown";

/// All instruments, the unknown one first, then in the order of the file.
pub(super) fn all(check: &mut Check, raw: &RawFile) -> Vec<Instrument> {
    let mut instruments = vec![Instrument {
        id: UNKNOWN.to_string(),
        kind: InstrumentKind::Unknown,
        random: None,
        systematic: None,
        gallon: None,
        ppm: None,
        checked_ms: None,
    }];
    let Some(named) = &raw.instruments.value else { return instruments };
    if INSTRUMENTS_MAX < named.0.len() {
        check.bad(
            &raw.instruments,
            format!("more than {INSTRUMENTS_MAX} instruments"),
            "name only those that readings come from",
        );
    }
    for table in &named.0 {
        instruments.push(one(check, table, &measures_of(raw, &table.name)));
    }
    instruments
}

fn one(check: &mut Check, named: &NamedTable<RawInstrument>, used_for: &[Measure]) -> Instrument {
    let raw = &named.table;
    let has_form = named.name.starts_with(|c: char| c.is_ascii_lowercase())
        && named.name.len() <= ID_CHARS_MAX
        && named.name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if !has_form || named.name == UNKNOWN {
        check.problems.push(Problem::new(
            format!("instruments.{}", shown(&named.name)),
            Some(named.span.clone()),
            "this is not a name for an instrument",
            format!(
                "begin with a small letter, go on with letters, digits and hyphens, at most {ID_CHARS_MAX}: `feed-gauge`; \
                 `{UNKNOWN}` is taken"
            ),
        ));
    }
    let kind = check.need_choice(&raw.kind, KINDS);
    let gallon = check.choice(&raw.gallon, &[("us", Gallon::Us), ("imperial", Gallon::Imperial)]);
    let ppm = check.choice(&raw.ppm, &[("nacl", PpmScale::Nacl), ("442", PpmScale::Scale442)]);
    let measures = if used_for.is_empty() { usual_measure(kind) } else { used_for.to_vec() };
    let convention = Convention { gallon, ppm };
    // Without its kind it is not known what it measures, and the kind was reported.
    let errors = kind.map(|_| {
        let mut size = |absolute: &Field<Amount>, share: &Field<Share>| {
            let absolute = error(check, absolute, &measures, &convention);
            let share = check.share(share);
            let given = absolute.is_some() || share.is_some();
            given.then(|| ErrorSize { absolute: absolute.unwrap_or(0.0), share: share.unwrap_or(0.0) })
        };
        (size(&raw.random, &raw.random_share), size(&raw.systematic, &raw.systematic_share))
    });
    let (random, systematic) = errors.unwrap_or_default();
    let checked_ms = check.date(&raw.checked);
    let kind = kind.unwrap_or(InstrumentKind::Unknown);
    Instrument { id: named.name.clone(), kind, random, systematic, gallon, ppm, checked_ms }
}

/// What an instrument measures when no reading in the file uses it; hand readings may name it later.
fn usual_measure(kind: Option<InstrumentKind>) -> Vec<Measure> {
    match kind.unwrap_or(InstrumentKind::Unknown) {
        InstrumentKind::Gauge => vec![Measure::Pressure],
        InstrumentKind::Jug | InstrumentKind::FlowTube | InstrumentKind::FlowMeter => vec![Measure::Flow],
        InstrumentKind::Thermometer => vec![Measure::Temperature],
        InstrumentKind::Refractometer => vec![Measure::Salinity],
        InstrumentKind::HandMeter | InstrumentKind::ConductivityCell => vec![Measure::Conductivity],
        InstrumentKind::Transmitter | InstrumentKind::Unknown => Vec::new(),
    }
}

/// Measures of all readings that name the instrument. A pressure and a difference of pressures are one.
fn measures_of(raw: &RawFile, instrument: &str) -> Vec<Measure> {
    let mut measures = Vec::new();
    let units = raw.units.value.iter().flat_map(|units| &units.0);
    let readings = units.flat_map(|unit| unit.table.readings.value.iter().flatten());
    for reading in readings.filter(|reading| reading.instrument.value.as_deref() == Some(instrument)) {
        let quantity = reading.quantity.value.as_deref().and_then(Quantity::from_name);
        let measure = quantity.and_then(Measure::of).map(|measure| match measure {
            Measure::PressureDifference => Measure::Pressure,
            other => other,
        });
        if let Some(measure) = measure.filter(|measure| !measures.contains(measure)) {
            measures.push(measure);
        }
    }
    measures
}

/// An error as given, in the unit of what the instrument measures.
fn error(
    check: &mut Check,
    field: &Field<Amount>,
    measures: &[Measure],
    convention: &Convention,
) -> Option<f64> {
    let text = &field.value.as_ref()?.0;
    let measure = match measures {
        [measure] => *measure,
        [] => {
            check.bad(
                field,
                "nothing says what this instrument measures",
                "name it as the `instrument` of a reading, or remove the error",
            );
            return None;
        }
        [first, second, ..] => {
            check.bad(
                field,
                format!("one error for an instrument that gives both {} and {}", first.noun(), second.noun()),
                "make it two instruments, one for each, with an error each",
            );
            return None;
        }
    };
    match parse_size(text, measure, convention) {
        Ok(size) => Some(size),
        Err(error) => {
            let help = if text.contains('%') && measure != Measure::Percent {
                format!(
                    "a share of the reading stands under `{}_share`; here a size: {}",
                    field.place.path.rsplit('.').next().unwrap_or(""),
                    measure.examples()
                )
            } else {
                error.help()
            };
            check.bad(field, error.to_string(), help);
            None
        }
    }
}
