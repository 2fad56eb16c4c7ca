//! Where readings come from: the message on the bus, its sender, the instrument; and whether two units claim one sender.

use super::bus_table::{self, PGN_STATUS};
use super::check::{Check, shown};
use super::check_unit::CheckedUnit;
use super::nearest::nearest;
use super::problem::Problem;
use super::ranges::READINGS_MAX;
use super::raw::{RawReading, RawUnit};
use super::typed::{Field, Named};
use super::types::{BusSource, Instrument, SenderRule, Source, SourceRule};
use barrico_model::Quantity;

/// Highest address that a device may have; the next three mean "none" and "all" (ISO 11783-5, from memory).
const ADDRESS_MAX: u8 = 251;

/// All readings of one unit, in the order of the file; `None` where there was a problem.
pub(super) fn readings(
    check: &mut Check,
    field: &Field<Vec<RawReading>>,
    instruments: &[Instrument],
) -> Vec<Option<SourceRule>> {
    let Some(list) = &field.value else { return Vec::new() };
    if READINGS_MAX < list.len() {
        check.bad(
            field,
            format!("more than {READINGS_MAX} readings"),
            "keep the best sources of each quantity",
        );
    }
    let mut rules: Vec<Option<SourceRule>> = Vec::new();
    for raw in list {
        let rule = one(check, raw, instruments);
        if let Some(rule) = &rule
            && let Some(other) = rules.iter().flatten().find(|other| same_message(other, rule))
        {
            let (message, help) = if other.quantity == rule.quantity {
                (
                    format!("{} comes from the same source twice", rule.quantity.name()),
                    "remove one of the two",
                )
            } else {
                (
                    format!(
                        "{} and {} come from the same message",
                        other.quantity.name(),
                        rule.quantity.name()
                    ),
                    "tell them apart by `sender`, `instance` or `kind`, in both",
                )
            };
            check.bad(&raw.quantity, message, help);
        }
        rules.push(rule);
    }
    rules
}

/// Do two rules of one unit take the same thing from the same place?
fn same_message(a: &SourceRule, b: &SourceRule) -> bool {
    if a.quantity == b.quantity {
        return a.source == b.source;
    }
    // These say one thing each, so two quantities cannot both be it; the other messages carry several quantities side by side.
    const ONE_VALUE: &[u32] = &[130_312, 130_314, 130_316];
    match (&a.source, &b.source) {
        (Source::Bus(a), Source::Bus(b)) => {
            a.pgn == b.pgn
                && ONE_VALUE.contains(&a.pgn)
                && overlap(a.sender, b.sender)
                && overlap(a.instance, b.instance)
                && overlap(a.kind, b.kind)
        }
        _ => false,
    }
}

/// May both be met by one value? What is not said may be anything.
fn overlap<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    }
}

fn one(check: &mut Check, raw: &RawReading, instruments: &[Instrument]) -> Option<SourceRule> {
    let quantity = quantity(check, &raw.quantity);
    let instrument = instrument(check, &raw.instrument, instruments);
    let stale_after_s = check.amount(&raw.stale_after);
    let from_bus = check.need_choice(&raw.from, &[("nmea2000", true), ("hand", false)]);
    let source = match from_bus? {
        true => Source::Bus(bus(check, raw, quantity)?),
        false => {
            let why = "only a reading from the bus has this";
            check.refuse(&raw.pgn, why);
            check.refuse(&raw.sender, why);
            check.refuse(&raw.instance, why);
            check.refuse(&raw.kind, why);
            Source::Hand
        }
    };
    Some(SourceRule { quantity: quantity?, source, instrument: instrument?, stale_after_s })
}

fn quantity(check: &mut Check, field: &Field<String>) -> Option<Quantity> {
    let name = check.need_noted(field, "\"feed_pressure\"", "or another quantity")?;
    let found = Quantity::from_name(name);
    if found.is_none() {
        let names = || Quantity::ALL.iter().map(|quantity| quantity.name());
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean `\"{near}\"`?"),
            None => format!("one of: {}", names().collect::<Vec<_>>().join(", ")),
        };
        check.bad(field, format!("`{}` is not a quantity", shown(name)), help);
    }
    found
}

/// Index of the instrument; 0 if none is named.
fn instrument(check: &mut Check, field: &Field<String>, instruments: &[Instrument]) -> Option<u16> {
    let Some(name) = &field.value else { return Some(0) };
    let at = instruments.iter().position(|instrument| instrument.id == *name);
    if at.is_none() {
        let names = || instruments.iter().skip(1).map(|instrument| instrument.id.as_str());
        let help = match (nearest(name, names()), names().count()) {
            (Some(near), _) => format!("did you mean `\"{near}\"`?"),
            (None, 0) => {
                "describe it in the file: `[instruments.feed-gauge]` and below it `kind = \"gauge\"`"
                    .to_string()
            }
            (None, _) => {
                format!("the instruments in this file are: {}", names().collect::<Vec<_>>().join(", "))
            }
        };
        check.bad(field, format!("there is no instrument `{}`", shown(name)), help);
    }
    at.and_then(|at| u16::try_from(at).ok())
}

fn bus(check: &mut Check, raw: &RawReading, quantity: Option<Quantity>) -> Option<BusSource> {
    let sender = sender(check, &raw.sender);
    let groups = quantity.map(bus_table::groups_for).unwrap_or_default();
    let list = groups.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    if let Some(quantity) = quantity.filter(|_| groups.is_empty()) {
        let message = format!("no message that is read here carries {}", quantity.name());
        check.bad(&raw.from, message, "enter it by hand, `from = \"hand\"`, or leave it out");
        return None;
    }
    let example = groups.first().map_or(String::new(), u32::to_string);
    check.need_noted(&raw.pgn, &example, &format!("or another one of {list}"))?;
    let pgn = check.count(&raw.pgn)?;
    let Some(message) =
        bus_table::message(pgn).filter(|row| quantity.is_none_or(|q| row.quantities.contains(&q)))
    else {
        let name = quantity.map_or("a reading", Quantity::name);
        check.bad(&raw.pgn, format!("PGN {pgn} cannot give {name}"), format!("one of: {list}"));
        return None;
    };
    let instance = check.count(&raw.instance);
    match (message.instance_max, instance) {
        (None, _) => check.refuse(&raw.instance, &format!("PGN {pgn} has no instance")),
        (Some(max), Some(instance)) if max < instance => {
            let text = format!("PGN {pgn} has instances from 0 to {max}");
            check.bad(
                &raw.instance,
                text,
                "see what the sender uses with `barrico replay` or `barrico listen`",
            );
        }
        _ => {}
    }
    let kind = check.count(&raw.kind);
    if message.kind.is_none() {
        check.refuse(&raw.kind, &format!("PGN {pgn} has nothing that `kind` could choose"));
    }
    let byte = |number: Option<u32>| number.and_then(|number| u8::try_from(number).ok());
    Some(BusSource { pgn, sender, instance: byte(instance), kind: byte(kind) })
}

/// A device on the bus: `name:` and 16 hexadecimal digits, or `address:` and a number.
pub(super) fn sender(check: &mut Check, field: &Field<String>) -> Option<SenderRule> {
    let text = field.value.as_ref()?;
    let rule = match text.split_once(':') {
        Some(("name", digits)) if digits.len() == 16 && digits.chars().all(|c| c.is_ascii_hexdigit()) => {
            u64::from_str_radix(digits, 16).ok().map(SenderRule::Name)
        }
        Some(("address", number)) if number.chars().all(|c| c.is_ascii_digit()) => {
            number.parse().ok().filter(|address| *address <= ADDRESS_MAX).map(SenderRule::Address)
        }
        _ => None,
    };
    if rule.is_none() {
        check.bad(
            field,
            format!("`{}` does not name a device on the bus", shown(text)),
            format!(
                "write its NAME, `\"name:C0508C002FB98796\"` with 16 digits, or its address, `\"address:36\"` from 0 to {ADDRESS_MAX}; \
                 the NAME is better, an address may change"
            ),
        );
    }
    rule
}

/// Something a unit takes from the bus, for itself alone.
struct Claim<'r> {
    unit: usize,
    source: BusSource,
    field: &'r Field<String>,
}

/// Reports every message that two units claim for themselves. What belongs to the sea, the supply or the tank may be shared.
pub(super) fn senders_claimed_twice(check: &mut Check, raw: &Field<Named<RawUnit>>, units: &[CheckedUnit]) {
    let Some(named) = &raw.value else { return };
    let mut claims: Vec<Claim<'_>> = Vec::new();
    for (at, (table, unit)) in named.0.iter().zip(units).enumerate() {
        if unit.status_from.is_some() {
            let source = BusSource { pgn: PGN_STATUS, sender: unit.status_from, instance: None, kind: None };
            claims.push(Claim { unit: at, source, field: &table.table.status_from });
        }
        let readings = table.table.readings.value.iter().flatten();
        for (reading, rule) in readings.zip(&unit.sources) {
            if let Some(rule) = rule
                && let Source::Bus(source) = rule.source
                && !bus_table::is_shared(rule.quantity)
            {
                let field = if reading.sender.given { &reading.sender } else { &reading.quantity };
                claims.push(Claim { unit: at, source, field });
            }
        }
    }
    let names: Vec<&str> = named.0.iter().map(|table| table.name.as_str()).collect();
    for (at, claim) in claims.iter().enumerate() {
        if let Some(earlier) = claims[..at].iter().find(|earlier| collide(earlier, claim)) {
            let message = format!(
                "`{}` and `{}` both take this from the same sender",
                names[earlier.unit], names[claim.unit]
            );
            let help =
                "a reading belongs to one unit: name another sender, instance or kind for one of the two";
            let problem = Problem::new(&claim.field.place.path, claim.field.span.clone(), message, help);
            check.problems.push(problem.also(earlier.field.span.clone(), "first claimed here"));
        }
    }
}

/// May both claims be met by one message? The status of a unit goes by its sender alone.
fn collide(a: &Claim<'_>, b: &Claim<'_>) -> bool {
    a.unit != b.unit
        && a.source.pgn == b.source.pgn
        && overlap(a.source.sender, b.source.sender)
        && (a.source.pgn == PGN_STATUS
            || (overlap(a.source.instance, b.source.instance) && overlap(a.source.kind, b.source.kind)))
}
