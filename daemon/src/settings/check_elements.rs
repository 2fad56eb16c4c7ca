//! The elements: test sheet, limits, position, age.

use super::check::{Check, number};
use super::problem::Problem;
use super::ranges::ELEMENTS_MAX;
use super::raw::RawElement;
use super::typed::{Amount, Field};
use super::types::ElementHistory;
use barrico_model::parts::{Element, ElementLimits, TestSheet};
use std::ops::Range;

const HOUR_S: f64 = 3600.0;

/// All elements of a train in the order of the flow, with their history in the same order.
pub(super) fn all(
    check: &mut Check,
    field: &Field<Vec<RawElement>>,
    unit: &str,
    unit_span: &Range<usize>,
) -> (Option<Vec<Element>>, Vec<ElementHistory>) {
    let list = field.value.as_deref().unwrap_or_default();
    // Elements of a wrong type have been reported.
    if list.is_empty() && (check.is_missing(field) || field.value.is_some()) {
        let help = format!("add one table for each, in the order of the flow: `[[{unit}.elements]]`");
        let problem =
            Problem::new(&field.place.path, Some(unit_span.clone()), "the unit has no element", help);
        check.problems.push(problem);
    }
    if ELEMENTS_MAX < list.len() {
        let message = format!("{} elements in one train, there can be {ELEMENTS_MAX}", list.len());
        check.bad(field, message, "list one train; `parallel_trains` says how many equal ones there are");
    }
    let positions = positions(check, list);
    let elements: Option<Vec<Element>> =
        list.iter().map(|raw| one(check, raw)).collect::<Vec<_>>().into_iter().collect();
    let histories: Vec<ElementHistory> = list
        .iter()
        .zip(&positions)
        .map(|(raw, position)| ElementHistory {
            serial: raw.serial.value.as_ref().map(|serial| serial.trim().to_string()),
            position: *position,
            date_wetted_ms: check.date(&raw.date_wetted),
            hours: check.amount(&raw.hours).map(|seconds| seconds / HOUR_S),
            product_l: check.amount(&raw.product),
        })
        .collect();
    let Some(elements) = elements.filter(|elements| !elements.is_empty()) else { return (None, histories) };
    let mut both: Vec<(Element, ElementHistory)> = elements.into_iter().zip(histories).collect();
    both.sort_by_key(|(_, history)| history.position);
    let (elements, histories) = both.into_iter().unzip();
    (Some(elements), histories)
}

/// Positions as given, or the order of the file if none is. Together they must be 1 to n.
fn positions(check: &mut Check, list: &[RawElement]) -> Vec<u32> {
    let in_file_order: Vec<u32> = (1u32..).take(list.len()).collect();
    if list.iter().all(|raw| !raw.position.given) {
        return in_file_order;
    }
    let mut taken: Vec<u32> = Vec::new();
    for raw in list {
        let help =
            format!("number the elements from 1 at the feed to {}, each once, or none of them", list.len());
        match raw.position.value {
            None if !raw.position.given => {
                check.bad(&raw.position, "this element has no position, others have", help)
            }
            None => {}
            Some(position) if taken.contains(&position) => {
                check.bad(&raw.position, format!("there are two elements at position {position}"), help);
            }
            Some(position) if !in_file_order.contains(&position) => {
                check.bad(
                    &raw.position,
                    format!("there is no position {position} among {} elements", list.len()),
                    help,
                );
            }
            Some(position) => taken.push(position),
        }
    }
    list.iter().zip(&in_file_order).map(|(raw, order)| raw.position.value.unwrap_or(*order)).collect()
}

fn one(check: &mut Check, raw: &RawElement) -> Option<Element> {
    check.need(&raw.size, "\"2540\"");
    let size = check.text(&raw.size);
    let serial = check.text(&raw.serial);
    let area_m2 = check.need_amount(&raw.area);
    let sheet = sheet(check, raw);
    let limits = ElementLimits {
        maximum_pressure_bar: check.amount(&raw.maximum_pressure),
        maximum_temperature_c: check.amount(&raw.maximum_temperature),
        maximum_product_flow_l_h: check.amount(&raw.maximum_product_flow),
        maximum_feed_flow_l_h: check.amount(&raw.maximum_feed_flow),
        maximum_differential_pressure_bar: check.amount(&raw.maximum_differential_pressure),
    };
    Some(Element { size: size?, serial, area_m2: area_m2?, sheet: sheet?, limits })
}

fn sheet(check: &mut Check, raw: &RawElement) -> Option<TestSheet> {
    let nominal_flow_l_h = check.need_amount(&raw.nominal_flow);
    let nominal_rejection = check.need_share(&raw.nominal_rejection, "\"99.4 %\"");
    let minimum_flow_l_h = check.amount(&raw.minimum_flow);
    let minimum_rejection = check.share(&raw.minimum_rejection);
    let pressure_bar = check.amount(&raw.test_pressure);
    let temperature_c = check.amount(&raw.test_temperature);
    let sodium_chloride_mg_l = test_solution(check, &raw.test_solution);
    let recovery = check.share(&raw.test_recovery);
    if let (Some(nominal), Some(minimum)) = (nominal_flow_l_h, minimum_flow_l_h)
        && nominal < minimum
    {
        let message = format!(
            "the minimum, {} L/h, is more than the nominal flow, {} L/h",
            number(minimum),
            number(nominal)
        );
        check.bad(&raw.minimum_flow, message, "check both against the element's sheet");
    }
    if let (Some(nominal), Some(minimum)) = (nominal_rejection, minimum_rejection)
        && nominal < minimum
    {
        check.bad(
            &raw.minimum_rejection,
            "the minimum rejection is more than the nominal",
            "check both against the element's sheet",
        );
    }
    let usual = TestSheet::usual(nominal_flow_l_h?, nominal_rejection?);
    Some(TestSheet {
        minimum_flow_l_h,
        minimum_rejection,
        pressure_bar: pressure_bar.unwrap_or(usual.pressure_bar),
        temperature_c: temperature_c.unwrap_or(usual.temperature_c),
        sodium_chloride_mg_l: sodium_chloride_mg_l.unwrap_or(usual.sodium_chloride_mg_l),
        recovery: recovery.unwrap_or(usual.recovery),
        ..usual
    })
}

/// Sheets write `ppm` for mg/L of sodium chloride; read as a meter's ppm it would come out twice as strong.
fn test_solution(check: &mut Check, field: &Field<Amount>) -> Option<f64> {
    let text = &field.value.as_ref()?.0;
    if text.to_lowercase().contains("ppm") {
        check.bad(
            field,
            "`ppm` has two meanings",
            "on the sheet of an element it stands for mg/L: write `32000 mg/L`",
        );
        return None;
    }
    check.amount(field)
}
