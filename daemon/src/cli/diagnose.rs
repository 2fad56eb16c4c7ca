//! The command `diagnose`: readings judged without a daemon, from options or from a case file.
//!
//! The judgement is the engine's, the same that watches the live unit. Without a baseline the figures stand beside those of the specification for
//! information; no finding about membranes or output comes of that. Nothing is written down.

use super::given::{Every, Given, unit_of};
use super::history::{Known, baseline_words};
use super::performance;
use super::print::{list, paragraph, print, print_json};
use crate::case::{self, Context, Judged, Question, Set, Verdict, judge};
use crate::engine::AlertRecord;
use crate::engine::view::{UnitView, View};
use crate::publish::{format, json, words};
use crate::service::clock::system_date;
use crate::settings::Settings;
use anyhow::Context as _;
use barrico_model::findings::{Finding, registry};
use barrico_model::judgement::cause_list;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    #[command(flatten)]
    given: Given<Every>,
    /// A reading by the name of its quantity, perhaps with the instrument: 'feed_pressure=800 psi@feed-gauge'; can be repeated
    #[arg(long = "reading", value_name = "'NAME=VALUE'")]
    readings: Vec<String>,
    /// How long the unit had been running, in minutes: what is measured right after the start says little
    #[arg(long, value_name = "MINUTES")]
    minutes_since_start: Option<f64>,
    /// How long the unit had not run or been flushed before, in days
    #[arg(long, value_name = "DAYS")]
    days_idle: Option<f64>,
    /// Case file with parts, readings and context of its own; the settings are not used then
    #[arg(long, value_name = "FILE.json")]
    case: Option<PathBuf>,
    /// Ignore the unit's own baseline of the history: beside the parts list alone
    #[arg(long)]
    from_parts_list: bool,
    /// Short name of the unit in the settings; not needed if there is only one
    #[arg(long, value_name = "ID")]
    unit: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn main(settings: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let (name, question) = match &arguments.case {
        Some(file) => {
            let (name, question) = from_case(file, arguments)?;
            (name, (question, vec![]))
        }
        None => (None, from_options(crate::settings::load(settings)?, arguments)?),
    };
    let (question, remarks) = question;
    let mut judged = judge(question).map_err(anyhow::Error::msg)?;
    judged.remarks.extend(remarks);
    if arguments.json {
        print_json(&answer(name.as_deref(), &judged))?
    } else {
        print(&text(name.as_deref(), &judged))?
    }
    Ok(ExitCode::SUCCESS)
}

fn from_case(file: &Path, arguments: &Arguments) -> anyhow::Result<(Option<String>, Question)> {
    let given =
        !arguments.given.typed.is_empty() || !arguments.readings.is_empty() || arguments.unit.is_some();
    if given || arguments.minutes_since_start.is_some() || arguments.days_idle.is_some() {
        anyhow::bail!(
            "a case file says everything itself: give readings and context there or as options, not both"
        );
    }
    let case = read_case(file)?;
    Ok((case.name, case.question))
}

/// Reads a case file, no more of it than is allowed.
pub(super) fn read_case(file: &Path) -> anyhow::Result<case::Case> {
    use std::io::Read;
    let mut bytes = Vec::new();
    let opened = std::fs::File::open(file).with_context(|| format!("cannot read {}", file.display()))?;
    // One byte more than allowed tells a file at the limit from one beyond it.
    opened
        .take(case::FILE_BYTES_MAX as u64 + 1)
        .read_to_end(&mut bytes)
        .with_context(|| format!("cannot read {}", file.display()))?;
    let text = String::from_utf8(bytes)
        .map_err(|_| anyhow::anyhow!("{} is not text in UTF-8; a case file is JSON", file.display()))?;
    case::parse(&text).map_err(|problems| anyhow::anyhow!("{}:\n{problems}", file.display()))
}

/// Readings lie at least so far behind the latest record of the history, ms.
const AFTER_MS: i64 = 60_000;

/// The question, and what is to be remarked on its ground.
fn from_options(settings: Settings, arguments: &Arguments) -> anyhow::Result<(Question, Vec<String>)> {
    let unit = unit_of(&settings, arguments.unit.as_deref())?;
    let mut readings = arguments.given.readings(&settings, unit)?;
    for typed in &arguments.readings {
        let reading = case::named(&settings, unit, typed)
            .map_err(|fault| anyhow::anyhow!("--reading '{}': {fault}", case::shown(typed)))?;
        if readings.iter().any(|known| known.quantity == reading.quantity) {
            anyhow::bail!("{} is given twice", reading.quantity.name());
        }
        readings.push(reading);
    }
    if readings.is_empty() {
        anyhow::bail!(
            "there is no reading to judge; give some, such as `--feed-pressure '55 bar' --product-flow '75 L/h' --feed-temperature '20 C'`, or a \
             case file with `--case FILE.json`"
        );
    }
    let positive = |value: Option<f64>, name: &str| match value {
        Some(value) if !(0.0..1e5).contains(&value) => {
            anyhow::bail!("--{name}: write a number from 0 to 100000")
        }
        value => Ok(value),
    };
    let index = settings.units.iter().position(|known| known.id == unit.id).unwrap_or(0);
    let context = Context {
        minutes_since_start: positive(arguments.minutes_since_start, "minutes-since-start")?,
        days_idle: positive(arguments.days_idle, "days-idle")?,
        ..Context::default()
    };
    let known = if arguments.from_parts_list { Known::default() } else { Known::of(&settings, unit) };
    let remarks: Vec<String> = known
        .remark
        .clone()
        .into_iter()
        .chain(known.baseline().map(|baseline| format!("compared with {}", baseline_words(baseline))))
        .collect();
    // The runs of the history stay out: what is judged is what was read now.
    let history = known.for_judging();
    // Beside a history the readings are of now; a clock that was never set must not put them before it.
    let now = known.latest().map(|latest| system_date().max(latest + AFTER_MS));
    let question = Question {
        settings,
        unit: index,
        history,
        baseline: vec![],
        readings: vec![Set { at: None, by: "command line".to_string(), readings }],
        events: vec![],
        context: Context { now, ..context },
        facts: case::Facts::default(),
    };
    Ok((question, remarks))
}

/// The judgement as JSON.
pub(super) fn answer(name: Option<&str>, judged: &Judged) -> Value {
    let view = View { units: vec![judged.unit.clone()], ..View::default() };
    let mut unit = json::state(&view)["units"][0].take();
    let mut not_computable: Vec<Value> =
        judged.left_out.iter().map(|text| json!(format!("not used: {text}"))).collect();
    not_computable.extend(judged.unit.not_computable.iter().map(|text| json!(text)));
    json!({
        "schema": "barrico-diagnose",
        "schema_version": json::SCHEMA_VERSION,
        "case": name,
        "time": judged.now.and_then(format::rfc3339),
        "unit": judged.unit.id,
        "state": unit["state"],
        "state_inferred": unit["state_inferred"],
        "readings": unit["readings"].take(),
        "performance": performance::json(judged),
        "baseline": unit["baseline"].take(),
        "told": judged.told,
        "verdict": short_json(&case::verdict(judged), judged),
        "findings": unit["findings"].take(),
        "not_computable": not_computable,
        "remarks": judged.remarks,
        "cautions": CAUTIONS,
    })
}

const CAUTIONS: [&str; 2] = [
    "A judgement from readings, no working instruction: the unit's manual, local codes and qualified people come first.",
    "Salinity says nothing about microbes, fuel, solvents or boron.",
];

fn text(name: Option<&str>, judged: &Judged) -> String {
    let unit = &judged.unit;
    let mut text = match name {
        Some(name) => format!("{name}\n\n"),
        None => format!("The unit `{}`\n\n", unit.name),
    };
    text.push_str(&paragraph("State: ", &state(unit)));
    let verdict = case::verdict(judged);
    text.push_str(&paragraph("In short: ", &short(&verdict)));
    text.push_str(&reasons(&verdict, judged));
    text.push('\n');
    text.push_str(&performance::text(judged));
    text.push_str("\nBehind ± stands half of the interval that holds it in 95 of 100 cases.\n");
    if unit.findings.is_empty() {
        text.push_str("\nNo finding from these readings.\n");
    }
    for (alert, finding) in &unit.findings {
        text.push_str(&finding_text(alert, finding.as_ref()));
    }
    let cannot: Vec<String> = judged
        .left_out
        .iter()
        .map(|text| format!("not used: {text}"))
        .chain(unit.not_computable.iter().cloned())
        .collect();
    if !cannot.is_empty() {
        text.push_str("\nWhat could not be judged\n");
        text.push_str(&list(&cannot.iter().map(String::as_str).collect::<Vec<_>>()));
    }
    if !judged.remarks.is_empty() {
        text.push_str("\nRemarks\n");
        text.push_str(&list(&judged.remarks.iter().map(String::as_str).collect::<Vec<_>>()));
    }
    text.push_str("\nCaution\n");
    text.push_str(&list(&CAUTIONS));
    text
}

/// The answer in short as JSON.
fn short_json(verdict: &Verdict, judged: &Judged) -> Value {
    let causes = verdict.causes.iter().map(|cause| {
        json!({ "code": cause.code, "title": cause.title, "probability": (cause.probability * 1e3).round() / 1e3 })
    });
    json!({
        "decided": verdict.decided,
        "causes": causes.collect::<Vec<_>>(),
        "measure": verdict.ask.iter().map(|ask| ask.name()).collect::<Vec<_>>(),
        "next_measurement": judged.answer.next_measurement().map(|next| json!({ "how": next.how, "meaning": next.meaning })),
        "inseparable": judged.answer.pair.map(|(one, other)| vec![one, other]),
        "rests_on": judged.answer.rests_on,
        "source": judged.answer.source,
        "actions": verdict.actions,
    })
}

/// The answer in one or two sentences.
fn short(verdict: &Verdict) -> String {
    let leads = match verdict.causes.first() {
        None => return "from these readings no cause can be told.".to_string(),
        Some(first) => format!("{} ({})", first.title, words::percent(first.probability)),
    };
    if verdict.decided {
        return format!("most likely {leads}.");
    }
    let ask: Vec<String> = verdict.ask.iter().map(|ask| ask.name().replace('_', " ")).collect();
    let ask =
        if ask.is_empty() { String::new() } else { format!(" To decide, measure: {}.", ask.join(", ")) };
    format!("it cannot be told from these readings; first of several comes {leads}.{ask}")
}

/// What the answer rests on, what else it may be, what to do and what to measure.
fn reasons(verdict: &Verdict, judged: &Judged) -> String {
    let answer = &judged.answer;
    let mut text = String::new();
    if !answer.rests_on.is_empty() {
        text.push_str(&paragraph("  Rests on: ", &format!("{}.", answer.rests_on.join("; "))));
    }
    let others = verdict.causes.iter().skip(1).take(3).filter(|cause| 0.02 <= cause.probability);
    let others: Vec<String> =
        others.map(|cause| format!("{} ({})", cause.title, words::percent(cause.probability))).collect();
    if let Some((one, other)) = answer.pair {
        let title = |code| cause_list::of(code).map_or(code, |cause| cause.title);
        let pair = format!("nothing that is known separates '{}' from '{}'.", title(one), title(other));
        text.push_str(&paragraph("  Open: ", &pair));
    }
    if !others.is_empty() {
        text.push_str(&paragraph("  Or: ", &format!("{}.", others.join("; "))));
    }
    let advised: Vec<&str> =
        answer.act.iter().filter(|action| !answer.veto.contains(action)).map(|action| action.text).collect();
    if !advised.is_empty() {
        text.push_str("  Do:\n");
        text.push_str(&list(&advised));
    }
    if let Some(next) = answer.next_measurement().filter(|_| !verdict.decided) {
        text.push_str(&paragraph("  Measure next: ", &next.how));
        text.push_str(&paragraph("                ", &next.meaning));
    }
    if !judged.told.is_empty() {
        text.push_str("  Told beside the readings:\n");
        text.push_str(&list(&judged.told.iter().map(String::as_str).collect::<Vec<_>>()));
    }
    text
}

fn state(unit: &UnitView) -> String {
    match (unit.state, unit.state_inferred) {
        (None, _) => "not known from these readings".to_string(),
        (Some(state), true) => format!("{}, as the readings show", state.name()),
        (Some(state), false) => state.name().to_string(),
    }
}

fn finding_text(alert: &AlertRecord, finding: Option<&Finding>) -> String {
    let texts = registry::of(alert.code);
    let title = format!("{}: {}", words::sentence(alert.severity.name()), alert.title);
    let mut text = format!("\n{title}\n{}\n", "-".repeat(title.chars().count()));
    for evidence in finding.iter().flat_map(|finding| &finding.evidence) {
        text.push_str(&paragraph(
            "  ",
            &format!("{}: {}; {}.", words::sentence(&evidence.what), evidence.seen, evidence.against),
        ));
    }
    if let Some(finding) = finding.filter(|finding| !finding.causes.is_empty()) {
        text.push_str("  What may be behind it:\n");
        for cause in &finding.causes {
            let how = format!("  {:>10}  ", words::percent(cause.probability));
            text.push_str(&paragraph(&how, cause.title));
        }
    }
    if let Some(next) = finding.and_then(|finding| finding.next_measurement.as_ref()) {
        text.push_str(&paragraph("  Measure next: ", &next.how));
        text.push_str(&paragraph("                ", &next.meaning));
    }
    text.push_str("  Do:\n");
    text.push_str(&list(&texts.act.iter().map(|act| act.text).collect::<Vec<_>>()));
    text.push_str("  Do not:\n");
    text.push_str(&list(texts.act_not));
    text.push_str(&paragraph("  Caution: ", texts.caution));
    text.push_str(&paragraph("  More: ", &format!("barrico explain {}", texts.name)));
    text
}

#[cfg(test)]
#[path = "tests/diagnose.rs"]
mod tests;
