//! What happened, in some lines: the end of a demonstration without a page.

use crate::engine::view::View;
use crate::engine::{AlertState, Engine, Event};
use crate::simulator::FaultOrder;
use barrico_model::findings::{FindingCode, Severity, registry};
use barrico_model::{Quantity, Stamp};
use std::collections::BTreeMap;
use std::fmt::Write;

/// A finding that was raised, and its highest severity.
type Raised = BTreeMap<(usize, FindingCode, Option<Quantity>), (Severity, Stamp, String)>;

/// Counts of what happened.
#[derive(Debug, Default)]
pub(super) struct Tally {
    runs: BTreeMap<usize, (u64, f64, f64)>,
    raised: Raised,
    before: usize,
}

impl Tally {
    /// What was counted so far is history.
    pub fn begin(&mut self) {
        self.before = self.runs.values().map(|(count, ..)| *count as usize).sum();
        self.runs.clear();
        self.raised.clear();
    }

    pub fn count(&mut self, event: &Event) {
        match event {
            Event::Run { unit, run } if run.duration_s > 0.0 && run.revision <= 1 => {
                let row = self.runs.entry(*unit).or_default();
                row.0 += 1;
                row.1 += run.duration_s / 3600.0;
                row.2 += run.product_l.unwrap_or(0.0);
            }
            Event::Finding { unit, alert, .. } if alert.state == AlertState::Raised => {
                let key = (*unit, alert.code, alert.about);
                let row =
                    self.raised.entry(key).or_insert((alert.severity, alert.raised, alert.title.clone()));
                row.0 = row.0.max(alert.severity);
            }
            _ => {}
        }
    }

    pub fn text(&self, view: &View, engine: &Engine, orders: &[FaultOrder]) -> String {
        let mut text = String::new();
        // Writing to a String cannot fail.
        let _ = self.write(&mut text, view, engine, orders);
        text
    }

    fn write(
        &self,
        text: &mut String,
        view: &View,
        engine: &Engine,
        orders: &[FaultOrder],
    ) -> std::fmt::Result {
        writeln!(text, "{}: {} runs of history before the beginning", view.boat, self.before)?;
        for order in orders {
            let entry = order.fault.entry();
            writeln!(text, "fault {} from hour {:.0}: {}", entry.name, order.from_h, entry.line)?;
        }
        for (unit, (runs, hours, litres)) in &self.runs {
            writeln!(text, "{}: {runs} runs, {hours:.1} h, {litres:.0} L", engine.unit_id(*unit))?;
        }
        if self.raised.is_empty() {
            writeln!(text, "no findings")?;
        }
        for ((unit, code, _), (severity, raised, title)) in &self.raised {
            let date = crate::publish::text::stamp(raised.wall_ms);
            writeln!(
                text,
                "{}: {} ({}), raised {date} UTC: {title}",
                engine.unit_id(*unit),
                registry::of(*code).name,
                severity.name(),
            )?;
        }
        Ok(())
    }
}
