//! The templates of `dashboards/` with what they are filled with. Everything is escaped except pictures and parts made here.

use super::doors::Access;
use super::hand_log::LogForm;
use crate::publish::{page, words};
use askama::Template;
use barrico_model::findings::Registration;

/// What every page has around it.
pub(super) struct Frame {
    pub boat: String,
    pub version: &'static str,
    pub token: String,
    pub signed_in: bool,
    pub open: bool,
}

impl Frame {
    pub fn new(boat: &str, access: &Access) -> Self {
        Self {
            boat: if boat.is_empty() { "barrico".to_string() } else { boat.to_string() },
            version: &super::assets::VERSION,
            token: access.token.clone(),
            signed_in: access.signed_in,
            open: access.open,
        }
    }
}

#[derive(Template)]
#[template(path = "page.html")]
pub(super) struct PageTemplate {
    pub frame: Frame,
    pub made: String,
    pub notices: Vec<String>,
    pub boat_part: String,
    pub units: Vec<UnitParts>,
}

/// One unit with its parts already rendered.
pub(super) struct UnitParts {
    pub name: String,
    pub now: String,
    pub findings: String,
    pub readings: String,
    pub runs: String,
    pub form: LogForm,
}

#[derive(Template)]
#[template(path = "part_boat.html")]
pub(super) struct BoatPart<'a> {
    pub trouble: &'a [String],
}

#[derive(Template)]
#[template(path = "part_now.html")]
pub(super) struct NowPart<'a> {
    pub unit: &'a page::Unit,
}

#[derive(Template)]
#[template(path = "part_findings.html")]
pub(super) struct FindingsPart<'a> {
    pub unit: &'a page::Unit,
    pub token: &'a str,
}

#[derive(Template)]
#[template(path = "part_readings.html")]
pub(super) struct ReadingsPart<'a> {
    pub unit: &'a page::Unit,
}

#[derive(Template)]
#[template(path = "part_runs.html")]
pub(super) struct RunsPart<'a> {
    pub unit: &'a page::Unit,
}

#[derive(Template)]
#[template(path = "log.html")]
pub(super) struct LogTemplate {
    pub frame: Frame,
    pub units: Vec<UnitLog>,
}

/// The log of one unit.
pub(super) struct UnitLog {
    pub name: String,
    pub problem: Option<String>,
    pub shown_max: usize,
    pub entries: Vec<LogLine>,
}

/// One entry.
pub(super) struct LogLine {
    pub id: u64,
    pub revision: u32,
    pub at: String,
    pub by: String,
    pub text: String,
    pub note: String,
    pub reason: String,
    pub voided: bool,
}

#[derive(Template)]
#[template(path = "explain.html")]
pub(super) struct ExplainTemplate {
    pub frame: Frame,
    pub text: &'static Registration,
}

impl ExplainTemplate {
    /// The registry's rules begin in lower case; on a page of their own they are sentences.
    fn said(&self, text: &str) -> String {
        words::with_stop(&words::sentence(text))
    }
}

#[derive(Template)]
#[template(path = "login.html")]
pub(super) struct LoginTemplate {
    pub frame: Frame,
    pub problem: Option<&'static str>,
}

#[derive(Template)]
#[template(path = "message.html")]
pub(super) struct MessageTemplate {
    pub frame: Frame,
    pub title: String,
    pub text: String,
}
