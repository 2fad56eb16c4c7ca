//! The candidates: their parts, their supply, what is bought and what is used up.

use super::super::check::{Check, shown};
use super::super::nearest::nearest;
use super::super::problem::{Problem, Problems};
use super::super::raw::RawUnit;
use super::super::typed::{Field, Named, NamedTable};
use super::super::{check_elements, check_parts};
use super::check_need::spoken;
use super::check_supplies::CheckedSupply;
use super::ranges::{CANDIDATES_MAX, ITEMS_MAX};
use super::raw::{RawCandidate, RawComparison};
use super::types::{Bought, NamedCandidate};
use super::{FindSettings, entry, named};
use barrico_model::parts::{DriveKind, Parts};
use barrico_model::sizing::{Candidate, Consumable, Supply, SupplyKind};

const HOUR_S: f64 = 3600.0;
/// A battery's voltage and that of a motor on it may differ so far, relative: from empty to charging. Common practice, no source.
const VOLTAGE_SLACK: f64 = 0.25;

/// What can be bought or used up, by short name.
struct Lists {
    items: Vec<(String, Bought)>,
    consumables: Vec<(String, String, Consumable)>,
}

pub(super) fn all(
    check: &mut Check,
    raw: &RawComparison,
    supplies: &[CheckedSupply],
    find: &FindSettings<'_>,
) -> Option<Vec<NamedCandidate>> {
    let lists = Lists { items: items(check, raw), consumables: consumables(check, raw) };
    let list = named(check, &raw.candidates, 1, CANDIDATES_MAX, "candidate");
    let all: Vec<_> = list.iter().map(|one| self::one(check, one, supplies, &lists, find)).collect();
    all.into_iter().collect::<Option<Vec<_>>>().filter(|all| !all.is_empty())
}

fn items(check: &mut Check, raw: &RawComparison) -> Vec<(String, Bought)> {
    let list = named(check, &raw.items, 0, ITEMS_MAX, "item");
    let one = |one: &NamedTable<super::raw::RawItem>| {
        let name = check.text(&one.table.name).unwrap_or_else(|| spoken(&one.name));
        let (price, weight_kg) = (check.plain(&one.table.price), check.amount(&one.table.weight));
        (one.name.clone(), Bought { name, count: 0, price, weight_kg })
    };
    list.iter().map(one).collect()
}

fn consumables(check: &mut Check, raw: &RawComparison) -> Vec<(String, String, Consumable)> {
    let list = named(check, &raw.consumables, 0, ITEMS_MAX, "consumable");
    let one = |one: &NamedTable<super::raw::RawConsumable>| {
        let raw = &one.table;
        let name = check.text(&raw.name).unwrap_or_else(|| spoken(&one.name));
        let consumable = Consumable {
            count: 0,
            price: check.plain(&raw.price),
            after_hours: check.amount(&raw.after_hours).map(|seconds| seconds / HOUR_S),
            after_product_l: check.amount(&raw.after_product),
            after_feed_l: check.amount(&raw.after_feed),
            after_years: check.plain(&raw.after_years),
        };
        let given =
            [raw.after_hours.given, raw.after_product.given, raw.after_feed.given, raw.after_years.given];
        if given == [false; 4] {
            let help = "add `after_hours = \"500 h\"`, `after_product = \"20 m3\"`, `after_feed = \"100 m3\"` or `after_years = 5.0`";
            check.bad(&raw.after_hours, "nothing says how long it lasts", help);
        }
        (one.name.clone(), name, consumable)
    };
    list.iter().map(one).collect()
}

fn one(
    check: &mut Check,
    named: &NamedTable<RawCandidate>,
    supplies: &[CheckedSupply],
    lists: &Lists,
    find: &FindSettings<'_>,
) -> Option<NamedCandidate> {
    let raw = &named.table;
    let name = check.text(&raw.name).unwrap_or_else(|| spoken(&named.name));
    let parts = parts(check, named, find);
    let supply = supply(check, raw, supplies);
    let other_power_w = check.amount(&raw.other_power).unwrap_or(0.0);
    let bought = bought(check, &raw.buy, &lists.items);
    let (consumables, used) = used(check, &raw.uses, &lists.consumables);
    let (parts, parts_from) = parts?;
    let checked = supply?;
    let supply = checked.supply?;
    goes_with_drive(check, raw, &parts, &supply, checked);
    let total = |of: fn(&Bought) -> Option<f64>| -> Option<f64> {
        let all: Option<Vec<f64>> = bought.iter().map(|one| Some(of(one)? * f64::from(one.count))).collect();
        all.filter(|all| !all.is_empty()).map(|all| all.iter().sum())
    };
    let candidate = Candidate {
        parts,
        supply,
        other_power_w,
        purchase: total(|one| one.price),
        weight_kg: total(|one| one.weight_kg),
        consumables: used,
    };
    let supply = checked.name.clone();
    Some(NamedCandidate { id: named.name.clone(), name, supply, parts_from, candidate, bought, consumables })
}

/// The parts, written out or from a settings file, and that file's name.
fn parts(
    check: &mut Check,
    named: &NamedTable<RawCandidate>,
    find: &FindSettings<'_>,
) -> Option<(Parts, Option<String>)> {
    let raw = &named.table;
    match (&raw.parts.value, &raw.settings.value) {
        (Some(_), Some(_)) => {
            check.bad(
                &raw.settings,
                "the parts are written out and taken from a file",
                "keep one of the two",
            );
            None
        }
        (Some(parts), None) => {
            let span = raw.parts.span.clone().unwrap_or(named.span.clone());
            check.refuse(&raw.unit, "only `settings` has units to choose from");
            only_parts(check, parts);
            let (elements, _) = check_elements::all(check, &parts.elements, &raw.parts.place.path, &span);
            check_parts::parts(check, parts, elements).map(|parts| (parts, None))
        }
        (None, Some(path)) => from_settings(check, raw, path, find).map(|parts| (parts, Some(path.clone()))),
        (None, None) => {
            if !raw.parts.given && !raw.settings.given {
                let help = format!(
                    "add `[{0}.parts]` with the keys of a unit below, or `settings = \"boat.toml\"`",
                    named.place.path
                );
                check.bad(&raw.parts, "the candidate has no parts", help);
            }
            None
        }
    }
}

/// Keys of a unit that have no meaning for one that is not aboard yet.
fn only_parts(check: &mut Check, raw: &RawUnit) {
    let why = "a comparison has no use for this";
    check.refuse(&raw.name, "the candidate has the name");
    check.refuse(&raw.readings, why);
    check.refuse(&raw.status_from, why);
    check.refuse(&raw.second_hand, why);
    check.refuse(&raw.tables, why);
    check.refuse(&raw.salinity_cell, why);
    check.refuse(&raw.product_diverter, why);
    check.refuse(&raw.usual_feed_salinity, "the waters have their salinities");
    check.refuse(&raw.usual_feed_salinity_spread, "the waters have their salinities");
    check.refuse(&raw.tank, "the tank is in `[need]`");
}

fn from_settings(
    check: &mut Check,
    raw: &RawCandidate,
    path: &str,
    find: &FindSettings<'_>,
) -> Option<Parts> {
    let settings = match find(path) {
        Ok(settings) => settings,
        Err(problems) => {
            check.bad(
                &raw.settings,
                told(path, &problems),
                format!("`barrico check --settings {}` tells all", shown(path)),
            );
            return None;
        }
    };
    let names = || settings.units.iter().map(|unit| format!("`{}`", unit.id)).collect::<Vec<_>>().join(", ");
    let wanted = raw.unit.value.as_deref();
    let unit = match (settings.units.as_slice(), wanted) {
        ([only], None) => Some(only),
        (units, Some(id)) => units.iter().find(|unit| unit.id == id),
        (_, None) => None,
    };
    if unit.is_none() {
        let message = match wanted {
            Some(id) => format!("there is no unit `{}` in that file", shown(id)),
            None => "that file has several units".to_string(),
        };
        check.bad(&raw.unit, message, format!("write `unit = ` and one of {}", names()));
    }
    unit.map(|unit| unit.parts.clone())
}

/// The first thing that is wrong with the other file.
fn told(path: &str, problems: &Problems) -> String {
    let first = problems.iter().next().map_or(String::new(), |problem| match problem.key.as_str() {
        "" => problem.message.clone(),
        key => format!("{key}: {}", problem.message),
    });
    match problems.count() {
        1 => format!("{}: {first}", shown(path)),
        count => format!("{} has {count} problems, the first: {first}", shown(path)),
    }
}

fn supply<'s>(
    check: &mut Check,
    raw: &RawCandidate,
    supplies: &'s [CheckedSupply],
) -> Option<&'s CheckedSupply> {
    let id = check.need_noted(&raw.supply, "\"generator\"", "one of the supplies of the file")?;
    let found = supplies.iter().find(|supply| &supply.id == id);
    if found.is_none() {
        unknown(check, &raw.supply, id, "supplies", supplies.iter().map(|supply| supply.id.as_str()));
    }
    found
}

/// A name that the file does not have.
fn unknown<'a, T>(
    check: &mut Check,
    field: &Field<T>,
    id: &str,
    table: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) {
    let help = match nearest(id, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => {
            let all: Vec<String> = known.map(|id| format!("`{id}`")).collect();
            let all =
                if all.is_empty() { "has none yet".to_string() } else { format!("has {}", all.join(", ")) };
            format!("add `[{table}.{}]`, or take one that is there: the file {all}", shown(id))
        }
    };
    let message = format!("there is no `{}` under `{table}`", shown(id));
    check.problems.push(Problem::new(&field.place.path, field.span.clone(), message, help));
}

/// A drive needs a supply that can turn it.
fn goes_with_drive(
    check: &mut Check,
    raw: &RawCandidate,
    parts: &Parts,
    supply: &Supply,
    checked: &CheckedSupply,
) {
    let is_battery = matches!(supply.kind, SupplyKind::Battery(_));
    let is_engine = supply.kind == SupplyKind::Engine;
    let turned_by_engine = matches!(parts.drive.kind, DriveKind::Belt { .. } | DriveKind::Hydraulic);
    if turned_by_engine && !is_engine {
        let help = "name a supply with `kind = \"engine\"`";
        check.bad(&raw.supply, "a belt or hydraulic pump is driven by an engine", help);
    }
    match parts.drive.kind {
        _ if turned_by_engine => {}
        _ if is_engine => {
            check.bad(
                &raw.supply,
                "an electric motor does not run on the engine itself",
                "name a generator, a battery or the shore",
            );
        }
        DriveKind::Dc { .. } if !is_battery => {
            check.bad(
                &raw.supply,
                "a direct-current motor runs on a battery",
                "name a supply with `kind = \"battery\"`",
            );
        }
        DriveKind::Dc { voltage_v } => {
            if let Some(battery_v) = checked.battery_voltage_v
                && VOLTAGE_SLACK < (battery_v / voltage_v - 1.0).abs()
            {
                let message = format!("a motor for {voltage_v:.0} V on a battery of {battery_v:.0} V");
                check.bad(&raw.supply, message, "check both voltages");
            }
        }
        _ if is_battery && !checked.has_inverter => {
            let help = format!(
                "add to `supplies.{}`: `inverter_efficiency = \"90 %\"`, with your own number",
                checked.id
            );
            check.bad(&raw.supply, "alternating current from a battery needs an inverter", help);
        }
        _ => {}
    }
}

fn bought(check: &mut Check, field: &Field<Named<u32>>, items: &[(String, Bought)]) -> Vec<Bought> {
    let mut bought = Vec::new();
    for one in named(check, field, 0, ITEMS_MAX, "purchase") {
        let count = check.count(&entry(one));
        match (items.iter().find(|(id, _)| *id == one.name), count) {
            (Some((_, item)), Some(count)) => bought.push(Bought { count, ..item.clone() }),
            (None, _) => {
                unknown(check, &entry(one), &one.name, "items", items.iter().map(|(id, _)| id.as_str()))
            }
            (Some(_), None) => {}
        }
    }
    bought
}

fn used(
    check: &mut Check,
    field: &Field<Named<u32>>,
    list: &[(String, String, Consumable)],
) -> (Vec<String>, Vec<Consumable>) {
    let (mut names, mut used) = (Vec::new(), Vec::new());
    for one in named(check, field, 0, ITEMS_MAX, "consumable") {
        let count = check.count(&entry(one));
        match (list.iter().find(|(id, ..)| *id == one.name), count) {
            (Some((_, name, consumable)), Some(count)) => {
                names.push(name.clone());
                used.push(Consumable { count, ..*consumable });
            }
            (None, _) => {
                unknown(check, &entry(one), &one.name, "consumables", list.iter().map(|(id, ..)| id.as_str()))
            }
            (Some(_), None) => {}
        }
    }
    (names, used)
}
