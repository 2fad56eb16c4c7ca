//! What the reasoning is given for one unit: runs, present readings, log, doubts about senders; and what was told beside them.
//!
//! The same reasoning serves the live unit and a case that is judged on a bench: there everything stands in [`Told`], here it is gathered from what the engine holds.

use super::Engine;
use super::judge::{Judgement, RUNS_SHOWN};
use super::unit::Unit;
use crate::intake::arbitration::DoubtKind;
use barrico_model::judgement::reasoning::{
    Answer, Beside, CoursePoint, PastEvent, ReadingSet, Role, Situation, Surroundings, reason,
};
use barrico_model::records::{EventKind, LogBody, OperatingState, RunRecord};
use barrico_model::{Monotonic, Quantity, WallMs};

/// How long a sender must repeat a number before arbitration doubts it, as minutes for the reasoning.
const UNCHANGING_MIN: f64 = 20.0;
const MS_PER_DAY: f64 = 86_400_000.0;

/// What somebody told beside what the engine holds: everything of a case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// The present.
    pub now: Option<WallMs>,
    /// Readings, oldest first.
    pub sets: Vec<ReadingSet>,
    /// Readings of the sound unit.
    pub baseline: Vec<(Quantity, f64)>,
    /// What was observed, by code, and whether it is so.
    pub seen: Vec<(&'static str, bool)>,
    /// Readings beside the others.
    pub beside: Vec<Beside>,
    /// Readings that do not move, with minutes.
    pub unchanged: Vec<(Quantity, f64)>,
    /// What was done.
    pub events: Vec<PastEvent>,
    /// What else is known.
    pub around: Surroundings,
}

impl Engine {
    /// Judges this unit by what is told from now on, instead of by runs, log and senders alone.
    pub fn tell(&mut self, unit: usize, told: Told) {
        if let Some(judgement) = self.judgement.get_mut(unit) {
            judgement.told = Some(told);
        }
    }

    /// What may be behind what is seen, found or not, and what to look at next.
    pub fn answer(&self, now: Monotonic, unit: usize) -> Answer {
        match (self.units.get(unit), self.judgement.get(unit)) {
            (Some(this), Some(judgement)) if this.has_parts => reason(&self.situation(now, this, judgement)),
            _ => Answer::default(),
        }
    }

    fn situation<'s>(&'s self, now: Monotonic, unit: &'s Unit, judgement: &'s Judgement) -> Situation<'s> {
        let comparison = judgement.comparison.as_ref().zip(judgement.inputs);
        let course = judgement.course.values().copied().collect();
        let situation = Situation { comparison, course, ..Situation::of(&unit.settings.parts) };
        match &judgement.told {
            Some(told) => Situation {
                now: told.now,
                sets: told.sets.clone(),
                baseline: told.baseline.clone(),
                seen: told.seen.clone(),
                beside: told.beside.clone(),
                unchanged: told.unchanged.clone(),
                events: told.events.clone(),
                around: told.around,
                ..situation
            },
            None => self.held(now, unit, situation),
        }
    }

    /// From what the engine holds.
    fn held<'s>(&'s self, now: Monotonic, unit: &'s Unit, mut situation: Situation<'s>) -> Situation<'s> {
        let stamp = self.clock.stamp(now);
        situation.now = stamp.wall_ms;
        let latest = unit.runs.iter().skip(unit.runs.len().saturating_sub(RUNS_SHOWN));
        situation.sets = latest.filter_map(set_of_run).collect();
        let present = unit.readings.current.iter().flatten().map(|reading| (reading.quantity, reading.value));
        situation.sets.push(ReadingSet { at: stamp.wall_ms, values: present.collect() });
        if let Some(baseline) = unit.baseline() {
            situation.baseline = baseline.means.iter().map(|mean| (mean.quantity, mean.value)).collect();
        }
        situation.events = events(unit, stamp.wall_ms);
        self.doubts(unit, &mut situation);
        let replaced = situation.events.iter().any(|event| event.kind == EventKind::ElementReplaced);
        let running = matches!(
            unit.operating.state,
            Some(OperatingState::Starting | OperatingState::Running | OperatingState::Flushing)
        );
        situation.around = Surroundings {
            commanded_on: running.then_some(true),
            minutes_since_start: unit.running_s(now).map(|seconds| seconds / 60.0),
            days_idle: unit.idle_h(stamp).map(|hours| hours / 24.0),
            element_hours: replaced.then(|| unit.element_hours()),
            tank_litres: unit.settings.tank_l,
            usual_salinity_g_kg: unit.settings.usual_feed_salinity.map(|(value, _)| value),
            ..Surroundings::default()
        };
        situation
    }

    /// What arbitration doubts.
    fn doubts(&self, unit: &Unit, situation: &mut Situation<'_>) {
        for arbiter in unit.readings.arbiters() {
            let quantity = arbiter.quantity;
            let mut contradicted = vec![];
            for doubt in &arbiter.choice.doubts {
                let stream = &self.bus.streams[doubt.stream];
                match doubt.kind {
                    DoubtKind::NotPlausible => {
                        situation.beside.push(Beside {
                            role: Role::Impossible,
                            quantity,
                            value: stream.value,
                        });
                    }
                    DoubtKind::Unchanging => situation.unchanged.push((quantity, UNCHANGING_MIN)),
                    DoubtKind::Contradicted(_) => contradicted.push(doubt.stream),
                }
            }
            if !contradicted.is_empty() {
                let named = contradicted.iter().copied().chain(arbiter.choice.stream);
                situation.beside.extend(named.map(|index| {
                    let stream = &self.bus.streams[index];
                    Beside { role: Role::Sender(self.who(stream)), quantity, value: stream.value }
                }));
            }
        }
    }
}

fn set_of_run(run: &RunRecord) -> Option<ReadingSet> {
    let at = end_of(run)?;
    let values = run.means.iter().map(|mean| (mean.quantity, mean.value)).collect();
    Some(ReadingSet { at: Some(at), values })
}

fn end_of(run: &RunRecord) -> Option<WallMs> {
    run.start.wall_ms.map(|start| start + (run.duration_s * 1000.0) as i64)
}

/// A run as a point of the course.
pub(super) fn point(
    run: &RunRecord,
    comparison: &barrico_model::judgement::Comparison,
) -> Option<CoursePoint> {
    let salt = (comparison.ln_b.value, comparison.ln_b.sd);
    Some(CoursePoint {
        at: end_of(run)?,
        output: (comparison.ln_against_model.value, comparison.ln_against_model.sd),
        salt: comparison.salt_measured.then_some(salt),
    })
}

fn events(unit: &Unit, now: Option<WallMs>) -> Vec<PastEvent> {
    let of = |entry: &barrico_model::records::LogEntry| {
        let LogBody::Event(kind) = entry.body else { return None };
        let days_ago = (now? - entry.at.wall_ms?) as f64 / MS_PER_DAY;
        (!entry.voided).then(|| PastEvent { kind, days_ago: Some(days_ago), note: entry.note.clone() })
    };
    unit.log.iter().filter_map(of).collect()
}
