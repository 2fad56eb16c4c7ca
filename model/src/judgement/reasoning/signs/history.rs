//! Signs in what was done, how long ago, and how the runs went since.

use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::findings::product_salinity_over_limit::QUIET_AFTER_START_S;
use crate::judgement::reasoning::sign::{Fact, Sign, lately_days};
use crate::judgement::reasoning::situation::{CoursePoint, PastEvent};
use crate::records::EventKind;

/// An element settles in its first days of work, running hours (common practice: 24 to 50).
const SETTLES_H: f64 = 50.0;
/// Elements last 5 to 10 years if not abused (a consultant's column); running hours and days from which age is a reason.
const OLD_H: (f64, f64) = (4_000.0, 8_000.0);
const OLD_DAYS: (f64, f64) = (1_460.0, 2_555.0);
/// A date rule of a year for oil, anode and carbon (a workshop's interview for oil; common practice for the others).
const YEAR_DAYS: f64 = 365.0;
/// Oil by hours: first at 50, then 500 (the same interview).
const OIL_H: f64 = 500.0;
/// Intervals where none is entered, days: below and from 20 °C (common practice, settable).
const FLUSH_DAYS: (f64, f64, f64) = (5.0, 3.0, 20.0);
/// A lay-up of so many months spoils a membrane without preservative (common practice: preserve what rests longer than a month or two).
const REST_MONTHS: (f64, f64) = (1.0, 2.0);
/// A drift is told over so many days and points.
const DRIFT_DAYS: f64 = 14.0;
const DRIFT_POINTS: usize = 3;
/// Where water of the shore comes from, as people write it.
const SHORE: [&str; 10] = [
    "marina",
    "dock",
    "shore",
    "quay",
    "pontoon",
    "harbour water",
    "town",
    "city",
    "mains water",
    "tap water",
];
const MS_PER_DAY: f64 = 86_400_000.0;

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    for (_, kind) in EventKind::ALL {
        if known.days_since(kind).is_some_and(|days| days <= lately_days(kind)) {
            signs.put(Sign::Lately(kind), 1.0);
        }
    }
    start_and_rest(known, signs);
    age(known, signs);
    tank_and_chlorine(known, signs);
    course(known, signs);
    vessel(known, signs);
}

fn start_and_rest(known: &Known<'_>, signs: &mut Signs) {
    let around = &known.s.around;
    if let Some(minutes) = around.minutes_since_start {
        signs.yes_no(Fact::FirstMinutes, minutes * 60.0 < QUIET_AFTER_START_S);
    }
    let preserved = known.days_since(EventKind::Preserved);
    let flushed = known.days_since(EventKind::Flushed);
    let lasts = preserved.is_some_and(|days| flushed.is_none_or(|flushed| days <= flushed));
    if let (true, Some(minutes)) = (lasts, around.minutes_since_start) {
        // An hour of running rinses the vessel; half an hour or more is common practice.
        signs.fact(Fact::RestedInPreservative, ramp(minutes, 180.0, 60.0));
    }
    if let Some(months) = around.lay_up_months {
        signs.fact(Fact::LaidUp, ramp(months, 0.2, 0.8));
        let kept = preserved.is_some_and(|days| days <= (months + 2.0) * 31.0);
        signs.fact(
            Fact::RestedUnpreserved,
            if kept { 0.0 } else { ramp(months, REST_MONTHS.0, REST_MONTHS.1) },
        );
    }
    if let Some(days) = around.days_idle {
        let warm = known.now(Quantity::FeedTemperature).is_none_or(|c| FLUSH_DAYS.2 <= c);
        let limits = &known.s.parts.limits;
        let limit = match warm {
            true => limits.flush_interval_warm_days.unwrap_or(FLUSH_DAYS.1),
            false => limits.flush_interval_cool_days.unwrap_or(FLUSH_DAYS.0),
        };
        let kept = preserved.is_some_and(|preserved| preserved <= days + 1.0);
        signs.yes_no(Fact::IdleTooLong, limit < days && !kept);
    }
    let opened = [EventKind::FilterChanged, EventKind::VesselOpened]
        .into_iter()
        .any(|kind| known.days_since(kind).is_some_and(|days| days <= 1.0));
    if opened {
        signs.yes_no(Fact::HousingsOpened, true);
    }
    if let Some(runs) = around.bilge_pump_runs {
        signs.fact(Fact::BilgeRuns, ramp(runs, 0.5, 2.0));
    }
    let silent = [known.saw("nothing-starts"), known.saw("pump-silent")].contains(&Some(true));
    let nothing = known.high().is_none_or(|bar| bar < 1.0);
    if around.commanded_on == Some(true) && silent {
        signs.yes_no(Fact::OnAndNothing, nothing);
    }
}

fn age(known: &Known<'_>, signs: &mut Signs) {
    let replaced = known.days_since(EventKind::ElementReplaced);
    match (known.s.around.element_hours, replaced) {
        (Some(hours), _) => {
            signs.fact(Fact::NewElement, ramp(hours, SETTLES_H, 0.8 * SETTLES_H));
            signs.fact(Fact::OldElement, ramp(hours, OLD_H.0, OLD_H.1));
        }
        (None, Some(days)) => {
            signs.fact(Fact::NewElement, ramp(days, 14.0, 7.0));
            signs.fact(Fact::OldElement, ramp(days, OLD_DAYS.0, OLD_DAYS.1));
        }
        (None, None) => {}
    }
    if let Some(days) = known.days_since(EventKind::OilChanged) {
        let hours = known.now(Quantity::RunTime).map_or(0.0, |seconds| seconds / 3600.0);
        let due = YEAR_DAYS < days || OIL_H < hours - oil_hours(known);
        signs.fact(Fact::OilOld, due_share(known, due));
    }
    if let Some(days) = known.days_since(EventKind::AnodeChecked) {
        signs.fact(Fact::AnodeOld, due_share(known, YEAR_DAYS < days));
    }
    if let Some(days) = known.days_since(EventKind::CarbonChanged) {
        signs.fact(Fact::CarbonOld, due_share(known, YEAR_DAYS < days));
    }
}

/// A date that is due says little where readings ask another question.
fn due_share(known: &Known<'_>, due: bool) -> f64 {
    let asked =
        known.s.sets.iter().flat_map(|set| &set.values).any(|(quantity, _)| *quantity != Quantity::RunTime);
    match (due, asked) {
        (true, false) => 1.0,
        (true, true) => 0.4,
        (false, _) => 0.0,
    }
}

/// Running hours at the latest change of oil, where the entry has them in its words.
fn oil_hours(known: &Known<'_>) -> f64 {
    let latest = known.s.events.iter().filter(|event| event.kind == EventKind::OilChanged);
    let latest = latest.min_by(|a, b| a.days_ago.unwrap_or(0.0).total_cmp(&b.days_ago.unwrap_or(0.0)));
    let text = latest.map_or("", |event| event.note.as_str());
    let before = text.split(" running hours").next().filter(|before| before.len() < text.len());
    before.and_then(|before| before.rsplit(' ').next()?.parse().ok()).unwrap_or(0.0)
}

fn tank_and_chlorine(known: &Known<'_>, signs: &mut Signs) {
    let chlorinated = known.days_since(EventKind::TankChlorinated);
    let rinsed = known.days_since(EventKind::TankRinsed);
    if let Some(days) = chlorinated {
        signs.yes_no(Fact::TankChlorinated, rinsed.is_none_or(|rinsed| days < rinsed));
    }
    let of = |event: &&PastEvent| event.kind == EventKind::Flushed;
    let mut flushes = known.s.events.iter().filter(of).peekable();
    if flushes.peek().is_some() {
        let from_tank = |event: &PastEvent| {
            let at = event.days_ago.unwrap_or(1.0);
            chlorinated
                .is_some_and(|days| at < days && rinsed.is_none_or(|rinsed| rinsed < at || days < rinsed))
        };
        let shore = |event: &PastEvent| {
            let note = event.note.to_lowercase();
            SHORE.iter().any(|word| note.contains(word))
        };
        signs.yes_no(Fact::ShoreWater, flushes.any(|event| shore(event) || from_tank(event)));
    }
    let glycol = |event: &&PastEvent| {
        let note = event.note.to_lowercase();
        event.kind == EventKind::Preserved && ["glycol", "freeze"].iter().any(|word| note.contains(word))
    };
    if let Some(event) = known.s.events.iter().find(glycol) {
        let note = event.note.to_lowercase();
        let measured = note.contains("refractometer") && !note.contains("label");
        signs.yes_no(Fact::StrengthUnmeasured, !measured);
    }
}

fn course(known: &Known<'_>, signs: &mut Signs) {
    let course = &known.s.course;
    let output: Vec<(f64, f64)> = course.iter().map(|point| (days(point), point.output.0)).collect();
    if let Some(fall) = drift(&output, -1.0) {
        signs.fact(Fact::OutputDrifts, ramp(fall, 0.04, 0.08));
    }
    let salt: Vec<(f64, f64)> =
        course.iter().filter_map(|point| Some((days(point), point.salt?.0))).collect();
    if let Some(rise) = drift(&salt, 1.0) {
        signs.fact(Fact::SaltDrifts, ramp(rise, 0.1, 0.25));
    }
    if let [.., before, last] = output.as_slice() {
        let near = last.0 - before.0 <= 10.0;
        signs.fact(Fact::OutputStepped, if near { ramp(last.1 - before.1, -0.06, -0.12) } else { 0.0 });
    }
    let now = known.s.now.map(|ms| ms as f64 / MS_PER_DAY);
    if let (Some(cleaned), Some(now)) = (known.days_since(EventKind::Cleaned), now) {
        let at = now - cleaned;
        let mean = |after: bool| {
            let side: Vec<f64> =
                output.iter().filter(|(day, _)| (at <= *day) == after).map(|x| x.1).collect();
            (!side.is_empty()).then(|| side.iter().sum::<f64>() / side.len() as f64)
        };
        if let (Some(before), Some(after)) = (mean(false), mean(true)) {
            signs.fact(Fact::RoseAfterCleaning, ramp(after - before, 0.02, 0.06));
        }
    }
}

fn days(point: &CoursePoint) -> f64 {
    point.at as f64 / MS_PER_DAY
}

/// Change over the whole time along the straight line of least squares, in the direction of the sign; `None`: too short. What does not go one way is 0.
fn drift(points: &[(f64, f64)], direction: f64) -> Option<f64> {
    let (first, last) = (points.first()?, points.last()?);
    let span = last.0 - first.0;
    if points.len() < DRIFT_POINTS || span < DRIFT_DAYS {
        return None;
    }
    let n = points.len() as f64;
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let sum = |of: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>();
    let xx = sum(&|p| (p.0 - mx) * (p.0 - mx));
    let xy = sum(&|p| (p.0 - mx) * (p.1 - my));
    let yy = sum(&|p| (p.1 - my) * (p.1 - my));
    // Less than two thirds of the scatter in the line: no drift.
    let along = if 0.0 < yy { xy * xy / (xx * yy) } else { 0.0 };
    Some(if 0.66 < along { direction * xy / xx * span } else { 0.0 })
}

fn vessel(known: &Known<'_>, signs: &mut Signs) {
    let Some((comparison, _)) = &known.s.comparison else { return };
    if let Some(drop) = comparison.ln_differential_pressure {
        let beyond = |ln: f64| if drop.sd < ln.abs() / 1.6 { 1.0 } else { 0.3 };
        signs.fact(Fact::VesselDropUp, ramp(drop.value, 0.12, 0.3) * beyond(drop.value));
        signs.fact(Fact::VesselDropDown, ramp(drop.value, -0.15, -0.4) * beyond(drop.value));
    }
}
