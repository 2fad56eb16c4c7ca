//! The crew's need, the waters, and the words at the top.

use super::super::check::Check;
use super::super::problem::Problem;
use super::super::typed::{Amount, Field, Named};
use super::ranges::{NOTES_MAX, USES_MAX, WATERS_MAX};
use super::raw::{RawNeed, RawWater};
use super::types::{NamedWater, Use};
use super::{entry, named};
use barrico_model::sizing::{Need, Water};

const DAY_S: f64 = 86_400.0;
/// How far shares may be from one together: rounded to whole percents.
const SHARE_SLACK: f64 = 0.02;

/// Longest name of a currency: a short word or its three letters.
const CURRENCY_CHARS_MAX: usize = 12;

pub(super) fn currency(check: &mut Check, field: &Field<String>) -> String {
    let text = check.text(field).unwrap_or_default();
    if CURRENCY_CHARS_MAX < text.chars().count() {
        check.bad(
            field,
            format!("longer than {CURRENCY_CHARS_MAX} characters"),
            "write its usual letters: `\"EUR\"`",
        );
    }
    text
}

pub(super) fn notes(check: &mut Check, field: &Field<Vec<String>>) -> Vec<String> {
    let list = field.value.clone().unwrap_or_default();
    if NOTES_MAX < list.len() {
        check.bad(
            field,
            format!("{} notes, there can be {NOTES_MAX}", list.len()),
            "keep those that a reader must know first",
        );
    }
    let mut notes = Vec::new();
    for text in list {
        let one =
            Field { value: Some(text), place: field.place.clone(), span: field.span.clone(), given: true };
        notes.extend(check.text_up_to(&one, NOTE_CHARS_MAX));
    }
    notes
}

/// Longest note: two lines of the page.
const NOTE_CHARS_MAX: usize = 240;

pub(super) fn need(check: &mut Check, field: &Field<RawNeed>) -> (Option<Need>, Vec<Use>) {
    let Some(raw) = &field.value else {
        if !field.given {
            let help = "add `[need]` with `persons = 4` and `[need.per_person]` with litres for each use: `drinking = \"3 L\"`";
            check.problems.push(Problem::new(
                "need",
                None,
                "the file does not say how much water is needed",
                help,
            ));
        }
        return (None, Vec::new());
    };
    check.need(&raw.persons, "4");
    let persons = check.count(&raw.persons);
    let mut uses = self::uses(check, &raw.per_person, true);
    uses.extend(self::uses(check, &raw.per_boat, false));
    let litres = |per_person: bool| {
        uses.iter().filter(|one| one.per_person == per_person).map(|one| one.litres).collect()
    };
    let need = Need {
        persons: persons.unwrap_or(0),
        per_person_l_day: litres(true),
        per_boat_l_day: litres(false),
        between_fillings_days: check.amount(&raw.between_fillings).map(|seconds| seconds / DAY_S),
        tank_l: check.amount(&raw.tank),
        days_per_year: check.plain(&raw.days_per_year),
        conductivity_limit_us_cm: check.amount(&raw.product_conductivity),
    };
    if need.daily_l() <= 0.0 && check.problems.is_empty() {
        let help = "add `[need.per_person]` with litres a day for each use: `drinking = \"3 L\"`, `washing = \"15 L\"`";
        check.bad(field, "nobody uses any water", help);
    }
    (persons.map(|_| need), uses)
}

fn uses(check: &mut Check, field: &Field<Named<Amount>>, per_person: bool) -> Vec<Use> {
    let list = named(check, field, 0, USES_MAX, "use");
    let amount =
        |one| check.amount(&entry(one)).map(|litres| Use { name: spoken(&one.name), litres, per_person });
    list.iter().filter_map(amount).collect()
}

/// A short name as words: `dishWashing` is "dish washing".
pub(super) fn spoken(id: &str) -> String {
    id.chars().fold(String::new(), |mut words, c| {
        if c.is_ascii_uppercase() {
            words.push(' ');
        }
        words.push(c.to_ascii_lowercase());
        words
    })
}

pub(super) fn waters(check: &mut Check, field: &Field<Named<RawWater>>) -> Option<Vec<NamedWater>> {
    let list = named(check, field, 1, WATERS_MAX, "water");
    let mut waters = Vec::new();
    for one in list {
        let raw = &one.table;
        let name = check.text(&raw.name).unwrap_or_else(|| spoken(&one.name));
        let (temperature, salinity) = (check.need_amount(&raw.temperature), check.need_amount(&raw.salinity));
        let (share, solar_wh_day) = (check.share(&raw.share), check.amount(&raw.solar));
        let (Some(temperature_c), Some(salinity_g_kg)) = (temperature, salinity) else { continue };
        let water = Water { temperature_c, salinity_g_kg, share, solar_wh_day };
        waters.push(NamedWater { id: one.name.clone(), name, water });
    }
    shares(check, list);
    (waters.len() == list.len() && !list.is_empty()).then_some(waters)
}

/// All waters have a share or none has, and together they are the year.
fn shares(check: &mut Check, list: &[super::NamedTable<RawWater>]) {
    if list.iter().all(|one| !one.table.share.given) {
        return;
    }
    for one in list.iter().filter(|one| !one.table.share.given) {
        check.bad(
            &one.table.share,
            "this water has no share of the year, others have",
            "add `share = \"25 %\"`, or none of them",
        );
    }
    // What is wrong with single shares has been reported.
    let mut again = Check { problems: Vec::new() };
    let known: Option<Vec<f64>> = list.iter().map(|one| again.share(&one.table.share)).collect();
    let Some(first) = list.first() else { return };
    if let Some(sum) = known.map(|known| known.iter().sum::<f64>())
        && SHARE_SLACK < (sum - 1.0).abs()
    {
        let message = format!("the shares of all waters are {:.0} % together", 100.0 * sum);
        check.bad(&first.table.share, message, "shares of the days on which water is made: 100 % together");
    }
}
