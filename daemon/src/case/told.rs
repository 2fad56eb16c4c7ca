//! A case in the words of the reasoning: everything that it holds, also what the engine has no place for.

use super::facts::Facts;
use super::judge::{Context, Event, Set};
use crate::engine::{RestoredUnit, Told};
use barrico_model::judgement::reasoning::{Beside, PastEvent, ReadingSet, Surroundings};
use barrico_model::records::LogBody;
use barrico_model::{Quantity, WallMs};

const MS_PER_DAY: f64 = 86_400_000.0;

/// What is known of the unit itself.
pub(super) struct Unit {
    pub tank_litres: Option<f64>,
    pub usual_salinity_g_kg: Option<f64>,
}

/// Gathers it. `now` is the present of the case, `dated` whether it has one.
pub(super) fn told(
    unit: &Unit,
    history: &RestoredUnit,
    (baseline, readings): (&[Set], &[Set]),
    events: &[Event],
    context: &Context,
    facts: &Facts,
    now: WallMs,
) -> Told {
    let flat = |set: &Set| set.readings.iter().map(|reading| (reading.quantity, reading.value)).collect();
    let of_case: Vec<(Quantity, f64)> = baseline.iter().flat_map(flat).collect();
    let stored = history.baselines.iter().rev().find(|baseline| baseline.retired.is_none());
    let of_history = || {
        let means = stored.map_or(&[][..], |baseline| &baseline.means);
        means.iter().map(|mean| (mean.quantity, mean.value)).collect()
    };
    let mut all = past_events(events, facts, now);
    all.extend(logged(history, now));
    Told {
        now: Some(now),
        sets: readings.iter().map(|set| ReadingSet { at: set.at, values: flat(set) }).collect(),
        baseline: if of_case.is_empty() { of_history() } else { of_case },
        seen: facts.observations.iter().map(|one| (one.what.code, one.seen)).collect(),
        beside: facts.beside.iter().map(beside).collect(),
        unchanged: facts.unchanged.iter().map(|one| (one.reading.quantity, one.minutes)).collect(),
        events: all,
        around: surroundings(unit, context),
    }
}

fn beside(one: &super::facts::Beside) -> Beside {
    Beside { role: one.role.clone(), quantity: one.reading.quantity, value: one.reading.value }
}

fn days_ago(at: WallMs, now: WallMs) -> f64 {
    (now - at) as f64 / MS_PER_DAY
}

fn past_events(events: &[Event], facts: &Facts, now: WallMs) -> Vec<PastEvent> {
    let of = |(at, event): (usize, &Event)| {
        let details = facts.details.iter().find(|(place, _)| *place == at).map(|(_, details)| details.text());
        let note = match details.filter(|text| !event.note.contains(text.as_str())) {
            Some(text) => format!("{} {text}", event.note),
            None => event.note.clone(),
        };
        PastEvent { kind: event.kind, days_ago: event.at.map(|at| days_ago(at, now)), note }
    };
    events.iter().enumerate().map(of).collect()
}

fn logged(history: &RestoredUnit, now: WallMs) -> impl Iterator<Item = PastEvent> {
    history.log.iter().filter(|entry| !entry.voided).filter_map(move |entry| match entry.body {
        LogBody::Event(kind) => Some(PastEvent {
            kind,
            days_ago: Some(days_ago(entry.at.wall_ms?, now)),
            note: entry.note.clone(),
        }),
        LogBody::Readings(_) => None,
    })
}

fn surroundings(unit: &Unit, context: &Context) -> Surroundings {
    Surroundings {
        position: context.position,
        tide: context.tide,
        under_way: context.under_way,
        commanded_on: context.commanded_on,
        minutes_since_start: context.minutes_since_start,
        days_idle: context.days_idle,
        lay_up_months: context.lay_up_months,
        element_hours: context.element_hours,
        bilge_pump_runs: context.bilge_pump_runs,
        flush_litres: context.flush_litres,
        hours_to_automatic_flush: context.hours_to_automatic_flush,
        tank_litres: unit.tank_litres,
        usual_salinity_g_kg: unit.usual_salinity_g_kg,
    }
}
