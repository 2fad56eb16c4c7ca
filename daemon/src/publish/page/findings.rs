//! What was found, with everything a person needs to judge it and to act.

use crate::engine::view::{ReadingStatus, UnitView, View};
use crate::engine::{AlertRecord, AlertState};
use crate::publish::{format, words};
use barrico_model::Stamp;
use barrico_model::findings::{Finding, registry};
use barrico_model::judgement::action_list::Action;

/// All findings of a unit.
#[derive(Clone, Debug)]
pub struct Findings {
    /// What stands there without any.
    pub none: &'static str,
    /// Most urgent first.
    pub blocks: Vec<FindingBlock>,
    /// What could not be judged, and why.
    pub not_judged: Vec<String>,
}

/// One finding.
#[derive(Clone, Debug)]
pub struct FindingBlock {
    /// Short name for the address of its explanation.
    pub name: &'static str,
    /// Unique on the page.
    pub anchor: String,
    /// "advice".
    pub severity: &'static str,
    /// One line.
    pub title: String,
    /// Where it is in its life.
    pub life: String,
    /// What was seen against what.
    pub evidence: Vec<String>,
    /// Causes, most probable first.
    pub causes: Vec<Cause>,
    /// What else could look like it.
    pub other_explanations: &'static str,
    /// How to measure next, and what the outcomes would mean.
    pub next_measurement: Option<(String, String)>,
    /// What to do.
    pub act: &'static [Action],
    /// What not to do.
    pub act_not: &'static [&'static str],
    /// Where it touches safety.
    pub caution: &'static str,
    /// Button, while nobody has acknowledged it.
    pub acknowledge: Option<Acknowledge>,
}

/// A cause.
#[derive(Clone, Debug)]
pub struct Cause {
    /// In words.
    pub title: &'static str,
    /// "probably, 72 %".
    pub likelihood: String,
}

/// What the acknowledge button sends.
#[derive(Clone, Debug)]
pub struct Acknowledge {
    /// Number of the code.
    pub code: u8,
    /// Name of the quantity it is about, or empty.
    pub about: &'static str,
    /// Occurrence that is on the screen.
    pub occurrence: u32,
}

impl Findings {
    pub(super) fn new(unit: &UnitView, view: &View) -> Self {
        let nothing_known =
            unit.readings.iter().all(|r| r.status != ReadingStatus::Fresh || r.value.is_none());
        Self {
            none: if nothing_known { "None, but nothing can be judged at present." } else { "None." },
            blocks: unit
                .findings
                .iter()
                .map(|(alert, finding)| block(alert, finding.as_ref(), unit, view))
                .collect(),
            not_judged: unit
                .not_computable
                .iter()
                .map(|why| words::with_stop(&words::sentence(why)))
                .collect(),
        }
    }
}

fn block(alert: &AlertRecord, finding: Option<&Finding>, unit: &UnitView, view: &View) -> FindingBlock {
    let texts = registry::of(alert.code);
    let about = alert.about.map_or("", |quantity| quantity.name());
    FindingBlock {
        name: texts.name,
        anchor: format!("{}-{}-{about}", unit.id, alert.code as u8),
        severity: alert.severity.name(),
        title: alert.title.clone(),
        life: life(alert, finding.is_some(), view),
        evidence: finding.map_or_else(Vec::new, evidence),
        causes: finding.map_or_else(Vec::new, causes),
        other_explanations: texts.other_explanations,
        next_measurement: finding
            .and_then(|finding| finding.next_measurement.as_ref())
            .map(|next| (words::with_stop(&next.how), words::with_stop(&next.meaning))),
        act: texts.act,
        act_not: texts.act_not,
        caution: texts.caution,
        acknowledge: matches!(alert.state, AlertState::Raised | AlertState::Latched).then_some(Acknowledge {
            code: alert.code as u8,
            about,
            occurrence: alert.occurrence,
        }),
    }
}

fn evidence(finding: &Finding) -> Vec<String> {
    finding
        .evidence
        .iter()
        .map(|e| {
            words::with_stop(&format!("{}: {}, against {}", words::sentence(&e.what), e.seen, e.against))
        })
        .collect()
}

fn causes(finding: &Finding) -> Vec<Cause> {
    finding
        .causes
        .iter()
        .map(|cause| Cause {
            title: cause.title,
            likelihood: format!(
                "{}, {}",
                words::likelihood(cause.probability),
                words::percent(cause.probability)
            ),
        })
        .collect()
}

fn life(alert: &AlertRecord, measured: bool, view: &View) -> String {
    let raised = format!("Raised {}", when(alert.raised, view));
    let by = alert.by.as_deref().unwrap_or("somebody");
    let state = match alert.state {
        AlertState::Raised => "not acknowledged".to_string(),
        AlertState::Acknowledged => format!("acknowledged by {by}"),
        AlertState::Latched => {
            "over by the readings, stays until a person has looked and acknowledges".to_string()
        }
        AlertState::Cleared => "cleared".to_string(),
        AlertState::ClosedNotCleared => format!("closed by {by}, not cleared"),
    };
    let measured =
        if measured || alert.state == AlertState::Latched { "" } else { "; not measured again yet" };
    let times =
        if 1 < alert.occurrence { format!(" (occurrence {})", alert.occurrence) } else { String::new() };
    format!("{raised}{times}; {state}{measured}.")
}

fn when(at: Stamp, view: &View) -> String {
    match at.wall_ms {
        Some(wall) => format::date_time(wall, view.wall_ms),
        None => "at an unknown date".to_string(),
    }
}
