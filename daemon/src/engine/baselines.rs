//! Baselines: taken from sound runs, ended when a part is replaced.
//!
//! Cleaning, preserving or flushing never ends one. Where there is none, the next run that is steady makes a provisional one by itself, so that trends have a
//! start; two runs that agree, both after 20 running hours of the youngest element, make a confirmed one when a person takes it.

use super::{Engine, Output, Record, Reply, RunSelection};
use barrico_model::judgement::{Fitted, fit, nominal_train, observe};
use barrico_model::records::{Baseline, BaselineKind, Mean, RunEnd, RunRecord};
use barrico_model::{Monotonic, Quantity, math};

/// Steady time that a run needs to make a provisional baseline by itself, s.
const PROVISIONAL_S: f64 = 600.0;
/// Running hours after which an element has settled (compaction; common practice, no source).
pub(super) const SETTLED_H: f64 = 20.0;

impl Engine {
    pub(super) fn take_baseline(
        &mut self,
        now: Monotonic,
        unit: usize,
        selection: &RunSelection,
        by: &str,
        out: &mut Vec<Output>,
    ) -> Result<Reply, String> {
        if self.units[unit].parts_changed {
            return Err("the parts list was changed and nobody has said which part: add that to the log first, for instance \
                        `barrico log add --event element-replaced`"
                .into());
        }
        let runs = self.select_runs(unit, selection)?;
        let baseline = self.make_baseline(now, unit, &runs, by)?;
        if let Some(old) = self.units[unit].baseline() {
            let upgraded = old.kind < baseline.kind;
            let how = if upgraded { "confirmed by" } else { "replaced by" };
            self.end_baseline(now, unit, &format!("{how} baseline {}, taken by {by}", baseline.id), out);
        }
        self.keep_baseline(now, unit, baseline.clone(), out);
        Ok(Reply::Baseline(Box::new(baseline)))
    }

    pub(super) fn retire_baseline(
        &mut self,
        now: Monotonic,
        unit: usize,
        by: &str,
        reason: &str,
        out: &mut Vec<Output>,
    ) -> Result<Reply, String> {
        if reason.trim().is_empty() {
            return Err("ending a baseline needs a reason".into());
        }
        let id = self
            .end_baseline(now, unit, &format!("{reason} ({by})"), out)
            .ok_or_else(|| "there is no baseline to end".to_owned())?;
        let ended = self.units[unit].baselines.iter().find(|baseline| baseline.id == id).cloned();
        self.judge_history(now, unit, out);
        ended.map(|baseline| Reply::Baseline(Box::new(baseline))).ok_or_else(|| "it is gone".to_owned())
    }

    /// Ends the present baseline; gives its number.
    pub(super) fn end_baseline(
        &mut self,
        now: Monotonic,
        unit: usize,
        reason: &str,
        out: &mut Vec<Output>,
    ) -> Option<u64> {
        let stamp = self.clock.stamp(now);
        let baseline =
            self.units[unit].baselines.iter_mut().rev().find(|baseline| baseline.retired.is_none())?;
        baseline.retired = Some((stamp, reason.to_owned()));
        let baseline = baseline.clone();
        let id = baseline.id;
        self.persist(Record::Baseline { unit, baseline }, out);
        Some(id)
    }

    fn keep_baseline(&mut self, now: Monotonic, unit: usize, baseline: Baseline, out: &mut Vec<Output>) {
        self.units[unit].baselines.push(baseline.clone());
        self.persist(Record::Baseline { unit, baseline }, out);
        self.judge_history(now, unit, out);
    }

    /// A run that was steady for long enough makes a provisional baseline if there is none.
    pub(super) fn provisional_baseline(
        &mut self,
        now: Monotonic,
        unit: usize,
        run: &RunRecord,
        out: &mut Vec<Output>,
    ) {
        let this = &self.units[unit];
        let wanted = this.has_parts && !this.parts_changed && this.baseline().is_none();
        if !wanted || run.end == RunEnd::ReadingSet || run.steady_s < PROVISIONAL_S {
            return;
        }
        if let Ok(baseline) = self.make_baseline(now, unit, std::slice::from_ref(run), "barrico") {
            self.keep_baseline(now, unit, baseline, out);
        }
    }

    fn make_baseline(
        &mut self,
        now: Monotonic,
        unit: usize,
        runs: &[RunRecord],
        by: &str,
    ) -> Result<Baseline, String> {
        let settings = &self.units[unit].settings;
        let laws = self.units[unit].laws();
        let train = nominal_train(&settings.parts, &laws.form).map_err(|why| why.to_string())?;
        let mut fits: Vec<(u64, Fitted)> = Vec::new();
        let mut refusal = String::new();
        for run in runs {
            let observed = observe(&settings.parts, &run.means, settings.usual_feed_salinity, None);
            match observed.and_then(|observed| fit(&train, &observed, &laws)) {
                Ok(fitted) => fits.push((run.id, fitted)),
                Err(why) => refusal = format!("run {}: {why}", run.id),
            }
        }
        if fits.is_empty() {
            return Err(format!("no baseline can be taken: {refusal}"));
        }
        let flow_measured = fits.iter().all(|(_, fitted)| fitted.observed.flow_measured);
        let [a, b] = [0, 1].map(|k| Scatter::of(fits.iter().map(|(_, fitted)| fitted.ln_ab()[k]).collect()));
        let chance = [0, 1].map(|k| chance(&fits, k));
        let agree = 2 <= fits.len() && a.sd <= 2.0 * chance[0] && b.sd <= 2.0 * chance[1];
        let present = self.units[unit].element_hours();
        // Every run that makes it began after the element had settled; one without its hours counts as of now.
        let used = runs.iter().filter(|run| fits.iter().any(|(id, _)| *id == run.id));
        let settled = used.map(|run| run.element_hours.unwrap_or(present)).all(|hours| SETTLED_H <= hours);
        let kind = if agree && settled { BaselineKind::Confirmed } else { BaselineKind::Provisional };
        let means = mean_readings(runs);
        let delivery = flow_measured.then(|| {
            let shares: Vec<f64> = fits
                .iter()
                .filter_map(|(_, f)| f.observed.figures.delivery.as_ref().ok())
                .map(|d| d.estimate().value)
                .collect();
            Scatter::of(shares).mean
        });
        self.last_id += 1;
        Ok(Baseline {
            id: self.last_id,
            kind,
            taken: self.clock.stamp(now),
            by: by.to_owned(),
            runs: fits.iter().map(|(id, _)| *id).collect(),
            differential_pressure: vessel_drop(&means),
            means,
            a25: math::exp(a.mean),
            ln_a25_random: a.of_mean(chance[0]),
            b25: math::exp(b.mean),
            ln_b25_random: b.of_mean(chance[1]),
            ln_ab25_covariance: covariance(&fits) / fits.len() as f64,
            temperature_k: laws.form.temperature.parameters_k(),
            ln_a25_scatter: a.sd,
            ln_b25_scatter: b.sd,
            delivery: delivery.filter(|share| 0.0 < *share),
            flow_measured,
            elements: self.units[unit].train_marks(),
            retired: None,
        })
    }
}

/// Standard deviation of one run's ln A25 or ln B25 from the chance of its readings, averaged over runs.
fn chance(fits: &[(u64, Fitted)], k: usize) -> f64 {
    let variance: f64 = fits
        .iter()
        .map(|(_, fitted)| {
            let sd = fitted.random_sd()[k];
            sd * sd
        })
        .sum::<f64>()
        / fits.len() as f64;
    variance.sqrt()
}

/// Covariance of one run's ln A25 and ln B25 from the chance of its readings, averaged over runs.
fn covariance(fits: &[(u64, Fitted)]) -> f64 {
    fits.iter().map(|(_, fitted)| fitted.state.random_covariance().ab).sum::<f64>() / fits.len() as f64
}

struct Scatter {
    mean: f64,
    sd: f64,
    count: f64,
}

impl Scatter {
    fn of(values: Vec<f64>) -> Self {
        let count = values.len().max(1) as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        let sd = if count < 2.0 { 0.0 } else { (squares / (count - 1.0)).sqrt() };
        Self { mean, sd, count }
    }

    /// Standard deviation of the mean: from the scatter, or from what the instruments promise if that is more.
    fn of_mean(&self, chance: f64) -> f64 {
        self.sd.max(chance) / self.count.sqrt()
    }
}

/// Mean readings over runs: every quantity that all of them have.
fn mean_readings(runs: &[RunRecord]) -> Vec<Mean> {
    let Some(first) = runs.first() else { return vec![] };
    let count = runs.len() as f64;
    let of = |quantity: Quantity| runs.iter().filter_map(move |run| run.mean(quantity));
    first
        .means
        .iter()
        .filter(|mean| of(mean.quantity).count() == runs.len())
        .map(|mean| Mean {
            value: of(mean.quantity).map(|m| m.value).sum::<f64>() / count,
            random: (of(mean.quantity).map(|m| m.random * m.random).sum::<f64>()).sqrt() / count,
            systematic: of(mean.quantity).map(|m| m.systematic).sum::<f64>() / count,
            count: of(mean.quantity).map(|m| m.count).sum(),
            ..*mean
        })
        .collect()
}

/// Vessel differential pressure and the mean flow it belongs to.
fn vessel_drop(means: &[Mean]) -> Option<(f64, f64)> {
    let value =
        |quantity: Quantity| means.iter().find(|mean| mean.quantity == quantity).map(|mean| mean.value);
    let drop = value(Quantity::DifferentialPressure)
        .or(Some(value(Quantity::FeedPressure)? - value(Quantity::ConcentratePressure)?))?;
    let product = value(Quantity::ProductFlow)?;
    let feed = value(Quantity::FeedFlow).or(value(Quantity::ConcentrateFlow).map(|flow| flow + product))?;
    (0.0 < drop).then_some((drop, feed - 0.5 * product))
}
