//! The first screen: state, headline, salinity, litres, and the one next thing to do.

use crate::engine::view::{ExpectedView, ReadingStatus, ReadingView, UnitView, View};
use crate::publish::{chart, format, words};
use barrico_model::Quantity;
use barrico_model::findings::{Severity, registry};
use barrico_model::records::OperatingState;

/// What a person sees first.
#[derive(Clone, Debug)]
pub struct Now {
    /// "Running".
    pub state: String,
    /// "since 13:40 UTC (25 min), as inferred from readings".
    pub state_note: String,
    /// What it makes and what this sea allows.
    pub headline: String,
    /// Why part of the headline is not known, or what it is computed from.
    pub notes: Vec<String>,
    /// Picture of the headline.
    pub strip: Option<String>,
    /// Salinity, litres and the like.
    pub facts: Vec<Fact>,
    /// The one next thing to do.
    pub next: Next,
}

/// One fact.
#[derive(Clone, Debug)]
pub struct Fact {
    /// Of what.
    pub label: &'static str,
    /// What is the case.
    pub text: String,
    /// Over a limit: shown so.
    pub over: bool,
}

/// The next thing to do.
#[derive(Clone, Debug)]
pub struct Next {
    /// What to do.
    pub text: String,
    /// Why.
    pub why: Option<String>,
    /// Word for how urgent, as far as something is to be done.
    pub urgency: Option<&'static str>,
}

impl Now {
    pub(super) fn new(unit: &UnitView, view: &View) -> Self {
        let making = fresh(unit, Quantity::ProductFlow);
        let (headline, notes) = headline(unit, making);
        let strip = match (making, unit.expected, may_make(unit.state)) {
            (Some(making), Some(expected), true) => {
                chart::strip((making.value, making.sd), expected.product_flow_l_h)
            }
            _ => None,
        };
        Self {
            state: unit.state.map_or("State unknown".to_string(), |state| words::sentence(state.name())),
            state_note: state_note(unit, view),
            headline,
            notes,
            strip,
            facts: facts(unit),
            next: next(unit, view),
        }
    }
}

/// A number that counts now.
#[derive(Clone, Copy, Debug)]
struct Fresh {
    value: f64,
    sd: f64,
}

fn reading(unit: &UnitView, quantity: Quantity) -> Option<&ReadingView> {
    unit.readings.iter().find(|reading| reading.quantity == quantity)
}

fn fresh(unit: &UnitView, quantity: Quantity) -> Option<Fresh> {
    let reading = reading(unit, quantity)?;
    let value = reading.value.filter(|value| value.is_finite())?;
    (reading.status == ReadingStatus::Fresh).then_some(Fresh { value, sd: reading.sd })
}

fn any_fresh(unit: &UnitView) -> bool {
    unit.readings.iter().any(|r| r.status == ReadingStatus::Fresh && r.value.is_some())
}

/// Can a product flow mean something in this state? Without a known state the flow itself is all there is.
fn may_make(state: Option<OperatingState>) -> bool {
    matches!(state, None | Some(OperatingState::Running | OperatingState::Manual))
}

fn state_note(unit: &UnitView, view: &View) -> String {
    if unit.state.is_none() {
        return "neither told by the unit nor seen in a reading".to_string();
    }
    let span = format::span(unit.state_s);
    let since = match view.wall_ms {
        Some(now) if unit.state_s.is_finite() => {
            let since = format::date_time(now - (unit.state_s * 1000.0) as i64, Some(now));
            format!("since {since} ({span})")
        }
        _ => format!("for {span}"),
    };
    let inferred =
        if unit.state_inferred { ", worked out from readings" } else { ", as the unit itself reports" };
    format!("{since}{inferred}")
}

fn headline(unit: &UnitView, making: Option<Fresh>) -> (String, Vec<String>) {
    let allows = unit.expected.map(|e| {
        let (value, sd) = e.product_flow_l_h;
        format!("{} L/h", format::range(value, sd))
    });
    // No finer than the range beside it: the two are there to be compared.
    let digits = |sd: f64| format::decimals(format::HALF_95 * sd);
    let made = making.map(|flow| {
        let digits =
            unit.expected.map_or(digits(flow.sd), |e| digits(e.product_flow_l_h.1).min(digits(flow.sd)));
        format!("{} L/h", format::number(flow.value, digits))
    });
    let text = match (unit.state, made, &allows) {
        (Some(OperatingState::Stopped), _, Some(allows)) => {
            format!("Not making water; this sea would allow {allows}")
        }
        (Some(OperatingState::Stopped), _, None) => "Not making water".to_string(),
        (Some(state), _, _) if !may_make(Some(state)) => {
            format!("{}: not judged until it runs steadily", words::sentence(state.name()))
        }
        (_, Some(made), Some(allows)) => format!("Making {made}; this sea allows {allows}"),
        (_, Some(made), None) => format!("Making {made}; what this sea allows is not known"),
        (_, None, Some(allows)) => format!("Product flow unknown; this sea allows {allows}"),
        (_, None, None) => "Product flow unknown, and so is what this sea allows".to_string(),
    };
    (text, notes(unit, allows.is_some()))
}

fn notes(unit: &UnitView, expectation_known: bool) -> Vec<String> {
    if !expectation_known {
        return unit.expected_missing.iter().map(|why| words::with_stop(&words::sentence(why))).collect();
    }
    let from_specification = unit.expected.is_some_and(|e: ExpectedView| e.from_specification);
    let from = match (&unit.baseline, from_specification) {
        (_, true) => {
            "The range comes from the parts list alone. A baseline of this unit would make it narrower."
        }
        (Some(baseline), false) => match baseline.kind.name() {
            "provisional" => {
                "The range comes from a provisional baseline: one steady run, or runs of an element that had not settled yet."
            }
            "confirmed" => "The range comes from this unit's own confirmed baseline.",
            _ => "The range comes from this unit's baseline.",
        },
        (None, false) => return Vec::new(),
    };
    vec![format!("{from} It holds with 95 % probability.")]
}

fn facts(unit: &UnitView) -> Vec<Fact> {
    let mut facts = vec![salinity(unit), litres(unit)];
    if let Some((value, sd)) = unit.expected.and_then(|e| e.specific_energy_wh_l) {
        let text = format!("should take {} Wh per litre in this sea", format::range(value, sd));
        facts.push(Fact { label: "Energy", text, over: false });
    }
    if unit.state == Some(OperatingState::Stopped) {
        let text = match unit.idle_h {
            Some(hours) => format!("last run or flush at least {} ago", format::span(hours * 3600.0)),
            None => "unknown when it last ran or was flushed".to_string(),
        };
        facts.push(Fact { label: "Standing", text, over: false });
    }
    facts
}

fn salinity(unit: &UnitView) -> Fact {
    let fact = |text: String, over| Fact { label: "Product", text, over };
    let Some(cell) = fresh(unit, Quantity::ProductConductivity) else {
        return fact("salinity unknown".to_string(), false);
    };
    let seen = format!("{} µS/cm", format::with_half(cell.value, cell.sd));
    if !may_make(unit.state) {
        return fact(format!("{seen}, not judged: this is water standing at the cell"), false);
    }
    let Some(limit) = unit.product_conductivity_limit.filter(|limit| limit.is_finite()) else {
        return fact(format!("{seen}; no limit is set for this unit"), false);
    };
    let limit_text = format!("{limit:.0} µS/cm");
    let over = limit < cell.value;
    let clear = format::HALF_95 * cell.sd < (cell.value - limit).abs();
    let judged = match (over, clear || !cell.sd.is_finite()) {
        (false, true) => format!("{seen}: salinity within your limit of {limit_text}"),
        (true, true) => format!("{seen}: salinity over your limit of {limit_text}"),
        (false, false) => {
            format!("{seen}: salinity just within your limit of {limit_text}, too close to be sure")
        }
        (true, false) => {
            format!("{seen}: salinity just over your limit of {limit_text}, too close to be sure")
        }
    };
    fact(judged, over)
}

fn litres(unit: &UnitView) -> Fact {
    let text = match unit.product_today_l.filter(|litres| litres.is_finite()) {
        Some(litres) => format!("{litres:.0} L made since midnight UTC, as far as measured"),
        None => "litres made since midnight UTC unknown".to_string(),
    };
    Fact { label: "Today", text, over: false }
}

fn next(unit: &UnitView, view: &View) -> Next {
    let plain = |text: &str, why: Option<String>| Next { text: text.to_string(), why, urgency: None };
    if let Some((alert, finding)) = unit.findings.first() {
        let first_act = registry::of(alert.code).act.first().map(|act| act.text.to_string());
        let measure = finding.as_ref().and_then(|f| f.next_measurement.as_ref()).map(|m| m.how.clone());
        // Where something can break or hurt, acting comes before measuring.
        let what =
            if alert.severity == Severity::Alarm { first_act.or(measure) } else { measure.or(first_act) };
        let text =
            what.unwrap_or_else(|| "Look at the unit, then acknowledge the finding below.".to_string());
        return Next {
            text: words::with_stop(&words::sentence(&text)),
            why: Some(words::with_stop(&words::sentence(&alert.title))),
            urgency: Some(alert.severity.name()),
        };
    }
    if !view.source.working && !any_fresh(unit) {
        return plain(
            "Look why nothing comes from the boat network, or write down a hand reading below.",
            None,
        );
    }
    if !any_fresh(unit) {
        return plain("No fresh reading, so nothing can be judged. Write down a hand reading below.", None);
    }
    if facts(unit).iter().any(|fact| fact.over) {
        let text =
            "Watch the salinity: it is over your limit at this moment. A finding follows if it stays so.";
        return plain(text, None);
    }
    let why =
        (!unit.not_computable.is_empty()).then(|| "Not everything could be judged; see below.".to_string());
    plain("Nothing to do.", why)
}
