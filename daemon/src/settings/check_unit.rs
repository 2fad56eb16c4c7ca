//! One unit: what it is, where it stands, what it did before.

use super::check::{Check, ID_CHARS_MAX, is_id, shown};
use super::check_boat::ID_HELP;
use super::problem::Problem;
use super::raw::{RawSecondHand, RawUnit};
use super::typed::{Field, Named, NamedTable};
use super::types::{Instrument, SalinityCell, SecondHand, SenderRule, Settings, SourceRule, UnitSettings};
use super::{check_elements, check_parts, check_sources, check_tables};

const HOUR_S: f64 = 3600.0;
/// Standard deviation of the usual salinity if none is given, g/kg: as wide as that of a sea about which nothing is known.
const SALINITY_SPREAD_G_KG: f64 = 3.0;

/// What came out of the check of one unit; the sources also if something else was wrong.
pub(super) struct CheckedUnit {
    pub settings: Option<UnitSettings>,
    /// In the order of the file; `None` where there was a problem.
    pub sources: Vec<Option<SourceRule>>,
    pub status_from: Option<SenderRule>,
}

/// All units, in the order of the file.
pub(super) fn all(
    check: &mut Check,
    field: &Field<Named<RawUnit>>,
    instruments: &[Instrument],
) -> Vec<CheckedUnit> {
    let named = field.value.as_ref().map_or(&[][..], |named| &named.0[..]);
    // A units table of a wrong type, or a unit that is no table, has been reported.
    if named.is_empty() && !field.given {
        let help = "describe one: `[units.main]`, with its parts below; there are complete samples among the documents";
        check.problems.push(Problem::new("units", None, "the file describes no unit", help));
    } else if named.is_empty() && check.problems.is_empty() {
        check.bad(field, "the file describes no unit", "describe one: `[units.main]`, with its parts below");
    }
    if Settings::UNITS_MAX < named.len() {
        let message = format!("{} units, there can be {}", named.len(), Settings::UNITS_MAX);
        check.bad(
            field,
            message,
            "alert numbers leave room for no more; watch the rest from a second installation",
        );
    }
    named.iter().map(|unit| one(check, unit, instruments)).collect()
}

fn one(check: &mut Check, named: &NamedTable<RawUnit>, instruments: &[Instrument]) -> CheckedUnit {
    let raw = &named.table;
    let has_id = is_id(&named.name);
    if !has_id {
        check.problems.push(Problem::new(
            format!("units.{}", shown(&named.name)),
            Some(named.span.clone()),
            format!("`{}` is not a short name for a unit", shown(&named.name)),
            ID_HELP.replace("{}", &ID_CHARS_MAX.to_string()),
        ));
    }
    let name = check.text(&raw.name).unwrap_or_else(|| named.name.clone());
    let salinity_cell = check
        .choice(
            &raw.salinity_cell,
            &[
                ("before-post-treatment", SalinityCell::BeforePostTreatment),
                ("after-post-treatment", SalinityCell::AfterPostTreatment),
            ],
        )
        .unwrap_or(SalinityCell::BeforePostTreatment);
    let tank_l = check.amount(&raw.tank);
    let usual_feed_salinity = usual_feed_salinity(check, raw);
    let status_from = check_sources::sender(check, &raw.status_from);
    let sources = check_sources::readings(check, &raw.readings, instruments);
    let second_hand = second_hand(check, &raw.second_hand);
    let tables = check_tables::all(check, &raw.tables);
    let (elements, element_history) =
        check_elements::all(check, &raw.elements, &named.place.path, &named.span);
    let parts = check_parts::parts(check, raw, elements);
    let settings = parts.filter(|_| has_id).map(|parts| UnitSettings {
        id: named.name.clone(),
        name,
        parts,
        element_history,
        sources: sources.iter().flatten().cloned().collect(),
        status_from,
        salinity_cell,
        product_diverter: raw.product_diverter.value.unwrap_or(false),
        tank_l,
        usual_feed_salinity,
        second_hand,
        tables,
    });
    CheckedUnit { settings, sources, status_from }
}

fn usual_feed_salinity(check: &mut Check, raw: &RawUnit) -> Option<(f64, f64)> {
    let usual = check.amount(&raw.usual_feed_salinity);
    let spread = check.amount(&raw.usual_feed_salinity_spread);
    if !raw.usual_feed_salinity.given {
        check.refuse(&raw.usual_feed_salinity_spread, "a spread says nothing without `usual_feed_salinity`");
    }
    usual.map(|usual| (usual, spread.unwrap_or(SALINITY_SPREAD_G_KG)))
}

fn second_hand(check: &mut Check, field: &Field<RawSecondHand>) -> SecondHand {
    let Some(raw) = &field.value else { return SecondHand::default() };
    let hours = check.amount(&raw.hours).map(|seconds| seconds / HOUR_S);
    let product_l = check.amount(&raw.product);
    let element_hours = check.amount(&raw.element_hours).map(|seconds| seconds / HOUR_S);
    SecondHand { hours, product_l, element_hours }
}
