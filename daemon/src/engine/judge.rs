//! Judgement of one unit: the fast track every second, the slow track on run records.

use super::reasoning::{Told, point};
use super::unit::Unit;
use super::view::ExpectedView;
use super::{Engine, Event, Output, Record, UnitHistory};
use crate::alerts::{AlertKey, Condition, Rules};
use crate::intake::arbitration::DoubtKind;
use crate::intake::stream::Stream;
use barrico_model::findings::{
    Assessment, Evidence, Finding, FindingCode, Snapshot, idle_without_flush, output_above_element_limit,
    output_low, over_pressure, product_salinity_over_limit, reading_unreliable, registry, salt_passage_up,
};
use barrico_model::judgement::reasoning::{Answer, CoursePoint};
use barrico_model::judgement::{
    Comparison, Input, LeakSplit, NotIdentified, NotJudged, Reference, compare, fit, leak_over_runs,
    nominal_train, observe,
};
use barrico_model::records::{OperatingState, Origin, Reading, RunEnd, RunRecord, SenderId};
use barrico_model::{Monotonic, Quantity};
use std::collections::BTreeMap;

/// What the unit should make is computed so often while it runs, ms.
const EXPECT_MS: u64 = 10_000;
/// The idle clock is looked at so often, ms.
const IDLE_MS: u64 = 60_000;
/// The latest runs that are judged together: enough to average chance out, few enough to see a change within days (our choice).
pub const RUNS_JUDGED: usize = 4;
/// Latest runs over which leak and diffusion are told apart: a few weeks, in which neither changes much (our choice).
const LEAK_SETS: usize = 12;
/// Runs whose expectation is shown on the page.
pub const RUNS_SHOWN: usize = 40;

/// What was judged last.
#[derive(Clone, Debug, Default)]
pub struct Judgement {
    /// What the unit should make now.
    pub expected: Option<ExpectedView>,
    /// Why there is no expectation.
    pub expected_missing: Vec<String>,
    /// What cannot be judged, and why, by finding.
    pub cannot: BTreeMap<FindingCode, String>,
    /// Share of the product that each element makes.
    pub shares: Vec<f64>,
    /// The latest comparison with the baseline.
    pub comparison: Option<Comparison>,
    /// Inputs of the latest run that was compared.
    pub inputs: Option<[f64; Input::COUNT]>,
    /// The runs shown, each against the baseline.
    pub course: BTreeMap<u64, CoursePoint>,
    /// What somebody told beside what the engine holds.
    pub told: Option<Told>,
    /// What the unit has behind it, as of the last change of it.
    pub history: UnitHistory,
    /// Expected product of each run shown, L/h, and its standard deviation.
    pub expected_of_run: BTreeMap<u64, (f64, f64)>,
    expected_at: Option<Monotonic>,
    idle_at: Option<Monotonic>,
}

impl Engine {
    /// How the latest runs of a unit stand against its baseline, if both are there.
    pub fn comparison(&self, unit: usize) -> Option<&Comparison> {
        self.judgement.get(unit)?.comparison.as_ref()
    }

    /// Salt permeability and leak over the latest runs and reading sets since the baseline was begun or a part was changed.
    ///
    /// # Errors
    /// What would tell the two apart.
    pub fn leak(&self, unit: usize) -> Result<LeakSplit, NotIdentified> {
        let this = self.units.get(unit).ok_or(NotIdentified::LEAK)?;
        let (laws, parts) = (this.laws(), &this.settings.parts);
        let train = nominal_train(parts, &laws.form).map_err(|_| NotIdentified::LEAK)?;
        let made_baseline = |run: &RunRecord| this.baseline().is_some_and(|b| b.runs.contains(&run.id));
        let latest = this.runs.iter().rev().filter(|run| is_judged(run) && !made_baseline(run));
        let sets: Vec<_> = latest
            .take(LEAK_SETS)
            .filter_map(|run| observe(parts, &run.means, this.settings.usual_feed_salinity, None).ok())
            .filter_map(|observed| fit(&train, &observed, &laws).ok())
            .collect();
        leak_over_runs(&train, &laws, &sets)
    }

    /// One sample of a limited pressure: judged at once.
    pub(super) fn judge_pressure(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        let assessment = over_pressure::assess(&snapshot(&self.units[unit], now));
        let rules = rules(FindingCode::OverPressure, over_pressure::HOLD_S, over_pressure::CLEAR_S);
        self.assessed(now, unit, (FindingCode::OverPressure, None), rules, assessment, out);
    }

    /// Everything that is judged once a second.
    pub(super) fn judge_now(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        self.judge_readings(now, unit, out);
        if !self.units[unit].has_parts {
            return;
        }
        self.judge_pressure(now, unit, out);
        use output_above_element_limit as above;
        use product_salinity_over_limit as salinity;
        let assessment = match salinity_by_hand(&self.units[unit]) {
            Some((value, limit)) => salinity::judge(value, limit),
            None => salinity::assess(&snapshot(&self.units[unit], now)),
        };
        let times = rules(FindingCode::ProductSalinityOverLimit, salinity::HOLD_S, salinity::CLEAR_S);
        self.assessed(now, unit, (FindingCode::ProductSalinityOverLimit, None), times, assessment, out);
        let assessment = above::assess(&snapshot(&self.units[unit], now), &self.judgement[unit].shares);
        let times = rules(FindingCode::OutputAboveElementLimit, above::HOLD_S, above::CLEAR_S);
        self.assessed(now, unit, (FindingCode::OutputAboveElementLimit, None), times, assessment, out);
        self.judge_idle(now, unit, out);
        let due = self.judgement[unit].expected_at.is_none_or(|at| at.plus_ms(EXPECT_MS) <= now);
        if due {
            self.judgement[unit].expected_at = Some(now);
            self.expect_now(unit);
        }
    }

    fn judge_idle(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        if self.judgement[unit].idle_at.is_some_and(|at| now < at.plus_ms(IDLE_MS)) {
            return;
        }
        self.judgement[unit].idle_at = Some(now);
        let this = &self.units[unit];
        let told = self.judgement[unit].told.as_ref();
        if told.is_some_and(|told| told.around.days_idle.is_none()) {
            // On the bench the time between the readings is not known to have been a rest.
            return;
        }
        let idle = this.idle_h(self.clock.stamp(now)).map(|hours| idle_without_flush::Idle {
            hours,
            temperature_c: this.readings.value(Quantity::FeedTemperature),
            preserved: this.preserved,
        });
        let assessment = idle_without_flush::assess(&this.settings.parts.limits, idle);
        self.assessed(
            now,
            unit,
            (FindingCode::IdleWithoutFlush, None),
            rules(FindingCode::IdleWithoutFlush, 0, 0),
            assessment,
            out,
        );
    }

    fn judge_readings(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        let this = &self.units[unit];
        let running = this.operating.state == Some(OperatingState::Running);
        let mut troubles = Vec::new();
        for arbiter in this.readings.arbiters() {
            let quantity = arbiter.quantity;
            let lost = this.readings.current[quantity as usize].is_none();
            let had = this.readings.last[quantity as usize].is_some();
            let doubts = &arbiter.choice.doubts;
            let mut evidence = Vec::new();
            for doubt in doubts {
                let stream = &self.bus.streams[doubt.stream];
                evidence.push(self.evidence_of(quantity, stream, doubt.kind));
            }
            let contradicted = doubts.iter().any(|doubt| matches!(doubt.kind, DoubtKind::Contradicted(_)));
            if contradicted {
                let mut named: Vec<SenderId> =
                    doubts.iter().map(|doubt| self.bus.streams[doubt.stream].key.sender).collect();
                for index in arbiter.streams() {
                    let stream = &self.bus.streams[index];
                    if stream.is_fresh(now) && !named.contains(&stream.key.sender) {
                        named.push(stream.key.sender);
                        evidence.push(self.evidence_of_agreement(quantity, stream));
                    }
                }
            }
            if lost && had && running {
                evidence.push(Evidence {
                    what: quantity.label().to_owned(),
                    seen: "no value for three of its own intervals".to_owned(),
                    against: "it had one before".to_owned(),
                });
            }
            let lost = lost && (!doubts.is_empty() || (had && running));
            troubles.push((quantity, reading_unreliable::Trouble { lost, needed: running, evidence }));
        }
        let times =
            rules(FindingCode::ReadingUnreliable, reading_unreliable::HOLD_S, reading_unreliable::CLEAR_S);
        for (quantity, trouble) in troubles {
            let assessment = reading_unreliable::assess(quantity, &trouble);
            self.assessed(
                now,
                unit,
                (FindingCode::ReadingUnreliable, Some(quantity)),
                times,
                assessment,
                out,
            );
        }
    }

    fn evidence_of(&self, quantity: Quantity, stream: &Stream, kind: DoubtKind) -> Evidence {
        let against = match kind {
            DoubtKind::NotPlausible if quantity == Quantity::FeedTemperature => {
                "no sea is so warm or so cold".to_owned()
            }
            DoubtKind::NotPlausible => "not possible for this reading".to_owned(),
            DoubtKind::Unchanging => {
                "not changed by the last digit for minutes: stuck, or a default".to_owned()
            }
            DoubtKind::Contradicted(distance) => {
                format!("{distance:+.1} {} from the middle of all senders", quantity.unit())
            }
        };
        Evidence { what: self.who(stream), seen: value_text(quantity, stream.value), against }
    }

    fn evidence_of_agreement(&self, quantity: Quantity, stream: &Stream) -> Evidence {
        Evidence {
            what: self.who(stream),
            seen: value_text(quantity, stream.value),
            against: "agrees with the middle of all senders".to_owned(),
        }
    }

    /// A sender in words.
    pub(super) fn who(&self, stream: &Stream) -> String {
        let place = match (self.bus.address(stream.key.sender), stream.key.sender) {
            (Some(address), SenderId::Name(name)) => format!("sender {address} (NAME {name:016X})"),
            (Some(address), SenderId::Address(_)) => format!("sender {address}"),
            (None, SenderId::Name(name)) => format!("sender with NAME {name:016X}"),
            (None, SenderId::Address(address)) => format!("sender {address}"),
        };
        format!("{place}, PGN {}", stream.key.pgn)
    }

    fn expect_now(&mut self, unit: usize) {
        let this = &self.units[unit];
        let judgement = &mut self.judgement[unit];
        match super::expectation::expect_now(this) {
            Ok((expected, shares)) => {
                judgement.expected = Some(expected);
                judgement.shares = shares;
                judgement.expected_missing.clear();
            }
            Err(missing) => {
                judgement.expected = None;
                judgement.shares.clear();
                judgement.expected_missing = missing;
            }
        }
    }

    /// A steady window of the open run was counted: judge the run so far.
    pub(super) fn judge_open_run(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        let this = &self.units[unit];
        let mut open = this.run.as_ref().map(|run| run.record_at(now, &this.readings));
        if let Some(open) = &mut open {
            super::derived::high_side(&this.settings.parts, &mut open.means);
        }
        self.judge_runs(now, unit, open, out);
    }

    /// A run has ended.
    pub(super) fn run_ended(&mut self, now: Monotonic, unit: usize, run: &RunRecord, out: &mut Vec<Output>) {
        self.learn(unit);
        self.provisional_baseline(now, unit, run, out);
        self.judge_runs(now, unit, None, out);
    }

    /// History, baseline or log changed: everything that rests on runs is judged anew.
    pub(super) fn judge_history(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        self.learn(unit);
        self.judgement[unit].expected_of_run.clear();
        self.judgement[unit].course.clear();
        self.judge_runs(now, unit, None, out);
    }

    fn judge_runs(&mut self, now: Monotonic, unit: usize, open: Option<RunRecord>, out: &mut Vec<Output>) {
        if !self.units[unit].has_parts {
            return;
        }
        self.judgement[unit].history = self.units[unit].history();
        let has_open = open.as_ref().is_some_and(is_judged);
        let judged = self.compare_runs(unit, open);
        self.judgement[unit].comparison = judged.as_ref().ok().map(|(comparison, ..)| comparison.clone());
        // The runs of the baseline against the baseline say nothing.
        let news = judged.as_ref().ok().filter(|_| self.ran_after_baseline(unit, has_open));
        self.judgement[unit].inputs = news.map(|(.., inputs)| *inputs);
        let (low, salt) = match judged {
            Ok((comparison, runs, _)) => {
                let answer = self.answer(now, unit);
                (
                    waiting(&answer, output_low::assess(&comparison, &answer, runs)),
                    waiting(&answer, salt_passage_up::assess(&comparison, &answer, runs)),
                )
            }
            Err(why) => (Assessment::cannot(why.clone()), Assessment::cannot(why)),
        };
        for (code, assessment) in [(FindingCode::OutputLow, low), (FindingCode::SaltPassageUp, salt)] {
            self.assessed(now, unit, (code, None), rules(code, 0, 0), assessment, out);
        }
    }

    /// Did anything come after the baseline that can be compared with it?
    fn ran_after_baseline(&self, unit: usize, has_open: bool) -> bool {
        let this = &self.units[unit];
        let made = |run: &RunRecord| this.baseline().is_some_and(|baseline| baseline.runs.contains(&run.id));
        has_open
            || !self.judgement[unit].course.is_empty()
            || this.runs.iter().any(|run| is_judged(run) && run.start.wall_ms.is_none() && !made(run))
    }

    /// The latest runs against the baseline, as one.
    fn compare_runs(
        &mut self,
        unit: usize,
        open: Option<RunRecord>,
    ) -> Result<(Comparison, usize, [f64; Input::COUNT]), String> {
        let this = &self.units[unit];
        let Some(baseline) = this.baseline().cloned() else {
            return Err(if this.parts_changed {
                "the parts list was changed; the baseline is not used until the log says which part".into()
            } else {
                "no baseline yet: take one when the unit is known to be sound, with `barrico baseline take`"
                    .into()
            });
        };
        let laws = this.laws();
        let parts = &this.settings.parts;
        let words = |why: NotJudged| why.to_string();
        let train = nominal_train(parts, &laws.form).map_err(words)?;
        let usual = this.settings.usual_feed_salinity;
        let base = observe(parts, &baseline.means, usual, baseline.delivery).map_err(words)?;
        let reference = Reference::new(&train, &base, &(&baseline).into(), &laws).map_err(words)?;
        let latest: Vec<RunRecord> = this
            .runs
            .iter()
            .rev()
            .filter(|run| is_judged(run) && this.has_present_parts(run))
            .take(RUNS_SHOWN)
            .cloned()
            .collect();
        // Runs that made the baseline would dilute what came after; they count only while nothing came.
        let came_after = |run: &RunRecord| !baseline.runs.contains(&run.id);
        let any_after = open.iter().chain(&latest).any(|run| is_judged(run) && came_after(run));
        let mut refusal = "no run with steady readings yet".to_owned();
        let mut compared = Vec::new();
        let mut inputs = None;
        for run in open.iter().filter(|run| !run.means.is_empty()).chain(&latest) {
            let shown = self.judgement[unit].expected_of_run.contains_key(&run.id);
            if RUNS_JUDGED <= compared.len() && shown {
                continue;
            }
            let result = observe(parts, &run.means, usual, baseline.delivery)
                .and_then(|observed| fit(&train, &observed, &laws))
                .and_then(|fitted| Ok((compare(&train, &fitted, &reference, &laws)?, fitted)));
            match result {
                Ok((comparison, fitted)) => {
                    let expected = comparison.expected_product_l_h;
                    if RunEnd::Open != run.end {
                        self.judgement[unit].expected_of_run.insert(run.id, (expected.value, expected.sd));
                        if let Some(point) = point(run, &comparison).filter(|_| came_after(run)) {
                            self.judgement[unit].course.insert(run.id, point);
                        }
                    }
                    if compared.len() < RUNS_JUDGED && (came_after(run) || !any_after) {
                        inputs.get_or_insert_with(|| fitted.inputs());
                        compared.push(comparison);
                    }
                }
                Err(why) => refusal = format!("run {}: {why}", run.id),
            }
        }
        compared.reverse();
        let runs = if compared.len() < 3 { 1 } else { compared.len() };
        match (Comparison::of_runs(&compared), inputs) {
            (Some(comparison), Some(inputs)) => Ok((comparison, runs, inputs)),
            _ => Err(refusal),
        }
    }

    /// A raw limit names no cause; where the reasoning decides for one, it stands with it.
    fn explain(&self, now: Monotonic, unit: usize, finding: &mut Finding) {
        use FindingCode::{OutputAboveElementLimit, OverPressure, ProductSalinityOverLimit};
        let raw = matches!(finding.code, OverPressure | ProductSalinityOverLimit | OutputAboveElementLimit);
        if raw && finding.causes.is_empty() {
            let answer = self.answer(now, unit);
            if answer.decided {
                finding.causes = answer.explanations();
            }
        }
    }

    fn assessed(
        &mut self,
        now: Monotonic,
        unit: usize,
        key: AlertKey,
        rules: Rules,
        assessment: Assessment,
        out: &mut Vec<Output>,
    ) {
        let condition = match assessment {
            Assessment::True(mut finding) => {
                self.explain(now, unit, &mut finding);
                Condition::True(finding)
            }
            Assessment::False => Condition::False,
            Assessment::Between => Condition::Unknown,
            Assessment::CannotTell(why) => {
                self.judgement[unit].cannot.insert(key.0, why);
                return;
            }
        };
        self.judgement[unit].cannot.remove(&key.0);
        let stamp = self.clock.stamp(now);
        let Some(alert) = self.units[unit].alerts.judge(now, stamp, key, rules, condition) else { return };
        self.persist(Record::Alert { unit, alert: alert.clone() }, out);
        self.speak_change(now, unit, &alert, out);
        let finding = self.units[unit].alerts.finding(key).cloned();
        out.push(Output::Event(Box::new(Event::Finding { unit, alert, finding })));
    }
}

/// Product conductivity that a person measured while no run is followed by sensors, and the limit. The person chose the moment; how
/// long the unit had been running is not known.
fn salinity_by_hand(unit: &Unit) -> Option<(f64, f64)> {
    let current = |quantity: Quantity| unit.readings.current[quantity as usize];
    let by_hand = |quantity: Quantity| {
        current(quantity).is_some_and(|reading| matches!(reading.origin, Origin::Hand { .. }))
    };
    let entered = by_hand(Quantity::ProductConductivity) || by_hand(Quantity::ProductSalinity);
    let followed = [
        Quantity::OperatingState,
        Quantity::FeedPressure,
        Quantity::ConcentratePressure,
        Quantity::ProductFlow,
    ]
    .into_iter()
    .any(|quantity| current(quantity).is_some() && !by_hand(quantity));
    let limit = unit.settings.parts.limits.product_conductivity_us_cm?;
    (entered && !followed).then_some((current(Quantity::ProductConductivity)?.value, limit))
}

/// A finding on output or salt waits while the reading that it rests on is in doubt.
fn waiting(answer: &Answer, assessment: Assessment) -> Assessment {
    match (assessment, answer.causes.first()) {
        (Assessment::True(_), Some(first)) if answer.blames_a_reading() => {
            Assessment::cannot(format!("first of all: {}", first.title))
        }
        (assessment, _) => assessment,
    }
}

fn is_judged(run: &RunRecord) -> bool {
    !run.means.is_empty()
}

fn rules(code: FindingCode, hold_s: u64, clear_s: u64) -> Rules {
    Rules { hold_ms: hold_s * 1000, clear_ms: clear_s * 1000, latched: registry::of(code).latched }
}

fn snapshot(unit: &Unit, now: Monotonic) -> Snapshot<'_> {
    Snapshot {
        parts: unit.has_parts.then_some(&unit.settings.parts),
        state: unit.operating.state,
        running_s: unit.running_s(now),
        readings: &unit.readings.current,
    }
}

fn value_text(quantity: Quantity, value: f64) -> String {
    format!("{value:.1} {}", quantity.unit())
}

/// Fresh reading with its whole standard deviation.
pub(super) fn whole_sd(reading: &Reading) -> f64 {
    (reading.random * reading.random + reading.systematic * reading.systematic).sqrt()
}
