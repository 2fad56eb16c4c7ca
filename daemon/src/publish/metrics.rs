//! The state as metrics in the Prometheus text format (version 0.0.4), written by hand: one page of code against one more library.
//!
//! A value that is not fresh has no line: a scraper then shows a gap, as it should.

use crate::engine::view::{ReadingStatus, UnitView, View};
use barrico_model::findings::Severity;
use barrico_model::records::OperatingState;
use std::fmt::Write;

/// Content type of the text.
pub const CONTENT_TYPE: &str = "text/plain; version=0.0.4; charset=utf-8";

/// The metrics.
pub fn text(view: &View) -> String {
    let mut out = Metrics::default();
    out.head("barrico_uptime_seconds", "gauge", "Time since the program started.");
    out.line("barrico_uptime_seconds", &[], view.at.0 as f64 / 1000.0);
    for (name, help, value) in [
        ("barrico_frames_total", "Frames handled.", view.frames),
        ("barrico_readings_total", "Readings taken from frames.", view.readings),
        ("barrico_damaged_total", "Lines and frames that were damaged.", view.damaged),
        (
            "barrico_bus_frames_lost_total",
            "Frames dropped by the kernel before they were read.",
            view.bus.lost,
        ),
        ("barrico_bus_error_frames_total", "Error frames of the CAN interface.", view.bus.errors),
        ("barrico_bus_frames_sent_total", "Frames written to the bus.", view.bus.sent),
        ("barrico_bus_messages_given_up_total", "Messages that were not written in time.", view.bus.given_up),
    ] {
        out.head(name, "counter", help);
        out.line(name, &[], value as f64);
    }
    out.head("barrico_working", "gauge", "1 if this part works.");
    for (part, health) in [("store", &view.store), ("source", &view.source)] {
        out.line("barrico_working", &[("part", part)], f64::from(u8::from(health.working)));
    }
    states(&mut out, &view.units);
    readings(&mut out, &view.units);
    expected(&mut out, &view.units);
    findings(&mut out, &view.units);
    out.0
}

#[derive(Default)]
struct Metrics(String);

impl Metrics {
    // Writing to a String cannot fail, so the results are dropped.

    fn head(&mut self, name: &str, kind: &str, help: &str) {
        let _ = write!(self.0, "# HELP {name} {help}\n# TYPE {name} {kind}\n");
    }

    fn line(&mut self, name: &str, labels: &[(&str, &str)], value: f64) {
        self.0.push_str(name);
        for (i, (label, text)) in labels.iter().enumerate() {
            let _ = write!(self.0, "{}{label}=\"{}\"", if i == 0 { '{' } else { ',' }, escaped(text));
        }
        if !labels.is_empty() {
            self.0.push('}');
        }
        let _ = writeln!(self.0, " {value}");
    }
}

fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n")
}

fn states(out: &mut Metrics, units: &[UnitView]) {
    out.head("barrico_unit_state", "gauge", "1 for the state that the unit is in; none if unknown.");
    for unit in units {
        for (_, state) in OperatingState::ALL.iter().filter(|_| unit.state.is_some()) {
            let is_it = f64::from(u8::from(unit.state == Some(*state)));
            out.line("barrico_unit_state", &[("unit", &unit.id), ("state", state.name())], is_it);
        }
    }
}

fn readings(out: &mut Metrics, units: &[UnitView]) {
    for (name, help) in [
        ("barrico_reading", "Fresh readings, in the unit that the key names."),
        ("barrico_reading_sd", "Standard deviation of the fresh readings."),
    ] {
        out.head(name, "gauge", help);
        for unit in units {
            for reading in unit.readings.iter().filter(|r| r.status == ReadingStatus::Fresh) {
                let value = if name == "barrico_reading" { reading.value } else { Some(reading.sd) };
                if let Some(value) = value.filter(|value| value.is_finite() && reading.value.is_some()) {
                    out.line(name, &[("unit", &unit.id), ("key", reading.quantity.json_key())], value);
                }
            }
        }
    }
}

fn expected(out: &mut Metrics, units: &[UnitView]) {
    out.head("barrico_expected_product_flow_l_h", "gauge", "Product flow that this sea allows.");
    for unit in units {
        if let Some(value) = unit.expected.map(|e| e.product_flow_l_h.0).filter(|value| value.is_finite()) {
            out.line("barrico_expected_product_flow_l_h", &[("unit", &unit.id)], value);
        }
    }
}

fn findings(out: &mut Metrics, units: &[UnitView]) {
    out.head("barrico_findings", "gauge", "Active findings by severity.");
    for unit in units {
        for severity in [Severity::Notice, Severity::Advice, Severity::Alert, Severity::Alarm] {
            let count = unit.findings.iter().filter(|(alert, _)| alert.severity == severity).count();
            out.line("barrico_findings", &[("unit", &unit.id), ("severity", severity.name())], count as f64);
        }
    }
}
