//! The command `log`: what people read and did, written down.
//!
//! Arguments become one command to the engine; the answer comes after the commit. Everything is checked before anything is sent, and all or nothing is
//! written. An entry is never lost: amending or striking out keeps the original, with author and reason.

use super::given::{Every, Given, flag, unit_of};
use super::log_round;
use super::print::{paragraph, print};
use super::send::{person, send};
use crate::case;
use crate::engine::{Command, EntryChange, NewEntry, Reply};
use crate::hand::FUTURE_MAX_MS;
use crate::publish::{format, words};
use crate::service::clock::system_date;
use crate::settings::{Settings, UnitSettings};
use crate::table::{self, Imported, TableWords};
use crate::wire::LogEntryJson;
use anyhow::Context as _;
use barrico_model::WallMs;
use barrico_model::records::{ElementMove, ElementPlace, EventKind, HandReading, LogBody, LogEntry};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Short name of the unit in the settings; not needed if there is only one
    #[arg(long, global = true, value_name = "ID")]
    unit: Option<String>,
    /// Print JSON, one object per line
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, clap::Subcommand)]
enum Action {
    /// Write down readings, or an event; without options it asks, question by question
    Add(Add),
    /// Write down the rows of a CSV table, each as one set of readings
    Import(Import),
    /// Correct an entry; the original is kept
    Amend(Amend),
    /// Strike an entry out; it is kept, and counts no more
    Void(Void),
    /// List the entries, oldest first
    List(List),
}

#[derive(Debug, clap::Args)]
struct Add {
    #[command(flatten)]
    given: Given<Every>,
    /// A reading with its instrument: 'feed_pressure=800 psi@feed-gauge'; can be repeated
    #[arg(long = "reading", value_name = "'NAME=VALUE'")]
    readings: Vec<String>,
    /// What was done, such as filter-changed, flushed, preserved, element-replaced
    #[arg(long, value_name = "EVENT")]
    event: Option<String>,
    /// Where an element went, by its serial number: 'SERIAL=2' (position), 'SERIAL=by-passed', 'SERIAL=removed'; can be repeated. An element without serial is 'position 2'
    #[arg(long = "element", value_name = "'SERIAL=PLACE'", requires = "event")]
    elements: Vec<String>,
    /// When, if not now: '2026-03-03 14:05' in UTC, or with its offset
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Who; by itself the account
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT", default_value = "")]
    note: String,
}

#[derive(Debug, clap::Args)]
struct Import {
    /// Table with a header line; comma, semicolon or tab between the cells, a decimal point in the numbers
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
    /// Which column is what, with the unit of its numbers: 'p_feed=feed_pressure:bar'; can be repeated
    #[arg(long = "column", value_name = "'COLUMN=QUANTITY:UNIT'")]
    columns: Vec<String>,
    /// A reading that is the same in every row: 'feed_salinity=35 g/kg'; can be repeated
    #[arg(long = "constant", value_name = "'QUANTITY=VALUE'")]
    constants: Vec<String>,
    /// Only rows that have this value in this column: 'series=first'; can be repeated
    #[arg(long = "where", value_name = "'COLUMN=VALUE'")]
    only: Vec<String>,
    /// Column with the time
    #[arg(long, value_name = "COLUMN")]
    time: Option<String>,
    /// How the time is written, as for strftime, or `unix`; by itself '2026-03-03 14:05' in UTC or with its offset
    #[arg(long, value_name = "FORMAT", requires = "time")]
    time_format: Option<String>,
    /// Time of the first row, for a table without times; the entries are marked "time invented"
    #[arg(long, value_name = "TIME")]
    start: Option<String>,
    /// Step from row to row, with --start: '1 h'
    #[arg(long, value_name = "'STEP'")]
    every: Option<String>,
    /// Mapping in the settings, by its name under `[units.<id>.tables]`; options given here come first
    #[arg(long, value_name = "NAME")]
    table: Option<String>,
    /// Who; by itself the account
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Kept with every entry
    #[arg(long, value_name = "TEXT", default_value = "")]
    note: String,
    /// Check the table and write nothing
    #[arg(long)]
    check_only: bool,
}

#[derive(Debug, clap::Args)]
struct Amend {
    /// Number of the entry, as listed
    id: u64,
    #[command(flatten)]
    given: Given<Every>,
    /// The right event
    #[arg(long, value_name = "EVENT")]
    event: Option<String>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// Who; by itself the account
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
struct Void {
    /// Number of the entry, as listed
    id: u64,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// Who; by itself the account
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
struct List {
    /// The latest so many
    #[arg(long, value_name = "COUNT", default_value_t = 30)]
    last: usize,
}

/// Runs it.
pub fn main(settings: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let settings = Arc::new(crate::settings::load(settings)?);
    let unit = unit_of(&settings, arguments.unit.as_deref())?;
    let json = arguments.json;
    match &arguments.action {
        Action::Add(add) if add.says_nothing() && log_round::at_a_terminal() => {
            let by = person(add.by.as_deref());
            if let Some(command) = log_round::ask(&settings, unit, &by, system_date())? {
                written(&send(&settings, &command)?, json)?;
            }
        }
        Action::Add(add) => {
            let command = add.command(&settings, unit, system_date())?;
            written(&send(&settings, &command)?, json)?;
        }
        Action::Import(import) => import.run(&settings, unit, json)?,
        Action::Amend(amend) => {
            let log = send(&settings, &Command::ListLog { unit: unit.id.clone(), last: usize::MAX })?;
            let Reply::Log(log) = log else { anyhow::bail!("the log was not given") };
            written(&send(&settings, &amend.command(&settings, unit, &log)?)?, json)?;
        }
        Action::Void(void) => {
            written(
                &send(
                    &settings,
                    &change(unit, void.id, EntryChange::Void, &void.reason, void.by.as_deref()),
                )?,
                json,
            )?;
        }
        Action::List(list) => {
            match send(&settings, &Command::ListLog { unit: unit.id.clone(), last: list.last })? {
                Reply::Log(log) => print(&listed(&log, json)?)?,
                _ => anyhow::bail!("the log was not given"),
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

impl Add {
    /// Neither a reading nor an event nor anything that belongs to one: the person wants to be asked.
    fn says_nothing(&self) -> bool {
        let no_reading = self.given.typed.is_empty() && self.readings.is_empty();
        no_reading && self.event.is_none() && self.at.is_none() && self.note.is_empty()
    }

    /// The command, if everything is right. `now`: the computer's date.
    fn command(&self, settings: &Settings, unit: &UnitSettings, now: WallMs) -> anyhow::Result<Command> {
        let mut readings = self.given.readings(settings, unit)?;
        for typed in &self.readings {
            let reading = case::named(settings, unit, typed)
                .map_err(|fault| anyhow::anyhow!("--reading '{}': {fault}", case::shown(typed)))?;
            if readings.iter().any(|known| known.quantity == reading.quantity) {
                anyhow::bail!("{} is given twice", reading.quantity.name());
            }
            readings.push(reading);
        }
        let event = self.event.as_deref().map(event).transpose()?;
        if event == Some(EventKind::Note) && self.note.trim().is_empty() {
            anyhow::bail!("a note needs a text: `--note '…'`");
        }
        if readings.is_empty() && event.is_none() {
            anyhow::bail!(
                "there is nothing to write down: give a reading, such as `--{} '55 bar'`, or an event, `--event filter-changed`; at a terminal, without any \
                 option, `barrico log add` asks for what is worth reading",
                flag(barrico_model::Quantity::FeedPressure)
            );
        }
        let elements =
            self.elements.iter().map(|text| element_move(text)).collect::<anyhow::Result<Vec<_>>>()?;
        if event == Some(EventKind::ElementByPassed) && elements.is_empty() {
            anyhow::bail!(
                "say which element: `--element 'SERIAL=by-passed'`; one without a serial number is `position 2`"
            );
        }
        if !elements.is_empty() && !event.is_some_and(tells_elements) {
            anyhow::bail!("--element goes with element-replaced, elements-moved and element-by-passed");
        }
        let at = self.at.as_deref().map(|text| past(text, now)).transpose()?;
        let by = person(self.by.as_deref());
        let readings = (!readings.is_empty()).then_some(LogBody::Readings(readings));
        let bodies = readings.into_iter().chain(event.map(LogBody::Event));
        let entry = |body: LogBody| NewEntry {
            at,
            time_invented: false,
            by: by.clone(),
            note: self.note.clone(),
            elements: if matches!(body, LogBody::Event(_)) { elements.clone() } else { vec![] },
            body,
        };
        Ok(Command::AddEntries { unit: unit.id.clone(), entries: bodies.map(entry).collect() })
    }
}

/// A time that is not in the future.
fn past(text: &str, now: WallMs) -> anyhow::Result<WallMs> {
    let at = table::read_time(text, None).map_err(|fault| anyhow::anyhow!("--at: {fault}"))?;
    if now + FUTURE_MAX_MS < at {
        anyhow::bail!(
            "--at: this lies in the future; the time is UTC unless its offset is written: '2026-03-03T14:05+02:00'"
        );
    }
    Ok(at)
}

fn tells_elements(kind: EventKind) -> bool {
    matches!(kind, EventKind::ElementReplaced | EventKind::ElementsMoved | EventKind::ElementByPassed)
}

/// `SERIAL=2`, `SERIAL=by-passed`, `SERIAL=removed`.
fn element_move(text: &str) -> anyhow::Result<ElementMove> {
    let wrong = || {
        anyhow::anyhow!(
            "--element '{}': write 'SERIAL=2' for a position, 'SERIAL=by-passed' or 'SERIAL=removed'",
            case::shown(text)
        )
    };
    let (mark, place) = text.rsplit_once('=').ok_or_else(wrong)?;
    let to = match place.trim() {
        "by-passed" | "by_passed" | "bypassed" => ElementPlace::ByPassed,
        "removed" => ElementPlace::Removed,
        number => match number.parse::<u32>() {
            Ok(position) if (1..=POSITION_MAX).contains(&position) => ElementPlace::Position(position),
            _ => return Err(wrong()),
        },
    };
    let mark = mark.trim();
    if mark.is_empty() || MARK_CHARS_MAX < mark.chars().count() {
        return Err(wrong());
    }
    Ok(ElementMove { mark: mark.to_owned(), to })
}

/// Longest serial number, as in the settings.
const MARK_CHARS_MAX: usize = 80;
/// Most elements in a train, as in the settings.
const POSITION_MAX: u32 = 8;

fn event(name: &str) -> anyhow::Result<EventKind> {
    let names = || EventKind::ALL.iter().map(|(name, _)| *name);
    EventKind::from_name(&name.replace('_', "-")).ok_or_else(|| {
        let help = match crate::settings::nearest::nearest(name, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("one of: {}", names().collect::<Vec<_>>().join(", ")),
        };
        anyhow::anyhow!("--event: `{}` is not known; {help}", case::shown(name))
    })
}

impl Import {
    fn run(&self, settings: &Arc<Settings>, unit: &UnitSettings, json: bool) -> anyhow::Result<()> {
        let imported = self.imported(settings, unit)?;
        let about = about(&imported);
        if self.check_only {
            return print(&paragraph("", &format!("{about} The table holds; nothing was written.")));
        }
        let entries = imported.entries;
        let reply = send(settings, &Command::AddEntries { unit: unit.id.clone(), entries })?;
        if !json {
            print(&paragraph("", &about))?;
        }
        written(&reply, json)
    }

    /// Everything checked, nothing sent.
    fn imported(&self, settings: &Settings, unit: &UnitSettings) -> anyhow::Result<Imported> {
        let typed = TableWords {
            name: String::new(),
            columns: self.columns.clone(),
            constants: self.constants.clone(),
            only: self.only.clone(),
            time: self.time.clone(),
            time_format: self.time_format.clone(),
            start: self.start.clone(),
            every: self.every.clone(),
        };
        let words = match &self.table {
            None => typed,
            Some(name) => typed.or(named_table(unit, name)?),
        };
        let mapping = words.mapping(settings, unit).map_err(|faults| {
            let lines: Vec<String> =
                faults.iter().map(|fault| format!("{}\n    remedy: {}", fault.message, fault.help)).collect();
            anyhow::anyhow!("the mapping cannot be used\n{}", lines.join("\n"))
        })?;
        let bytes = read(&self.file)?;
        let by = person(self.by.as_deref());
        table::import(&bytes, &mapping, settings, unit, &by, &self.note)
            .map_err(|faults| anyhow::anyhow!("{}: {faults}", self.file.display()))
    }
}

fn read(file: &Path) -> anyhow::Result<Vec<u8>> {
    use std::io::Read;
    let mut bytes = Vec::new();
    let opened = std::fs::File::open(file).with_context(|| format!("cannot read {}", file.display()))?;
    // One byte more than allowed tells a file at the limit from one beyond it.
    opened
        .take(table::FILE_BYTES_MAX as u64 + 1)
        .read_to_end(&mut bytes)
        .with_context(|| format!("cannot read {}", file.display()))?;
    Ok(bytes)
}

fn named_table<'u>(unit: &'u UnitSettings, name: &str) -> anyhow::Result<&'u TableWords> {
    unit.tables.iter().find(|table| table.name == name).ok_or_else(|| {
        let names: Vec<&str> = unit.tables.iter().map(|table| table.name.as_str()).collect();
        let known = if names.is_empty() {
            "the settings describe none".to_string()
        } else {
            format!("there are: {}", names.join(", "))
        };
        anyhow::anyhow!("there is no table `{}` for the unit `{}`; {known}", case::shown(name), unit.id)
    })
}

fn about(imported: &Imported) -> String {
    let mut text = format!("{} rows, {} sets of readings.", imported.rows, imported.entries.len());
    if 0 < imported.not_selected {
        text.push_str(&format!(" {} rows were not selected.", imported.not_selected));
    }
    if 0 < imported.empty {
        text.push_str(&format!(" {} rows had no reading and were left out.", imported.empty));
    }
    let dates: Vec<WallMs> = imported.entries.iter().filter_map(|entry| entry.at).collect();
    if let (Some(first), Some(last)) = (dates.first(), dates.last()) {
        let invented =
            if imported.entries.iter().any(|entry| entry.time_invented) { ", time invented" } else { "" };
        text.push_str(&format!(
            " From {} to {}{invented}.",
            format::date_time(*first, None),
            format::date_time(*last, None)
        ));
    }
    text
}

impl Amend {
    /// The command. Readings that were not named stay as they are.
    fn command(&self, settings: &Settings, unit: &UnitSettings, log: &[LogEntry]) -> anyhow::Result<Command> {
        let entry = log
            .iter()
            .find(|entry| entry.id == self.id)
            .ok_or_else(|| anyhow::anyhow!("there is no entry {}; see `barrico log list`", self.id))?;
        let given = self.given.readings(settings, unit)?;
        let event = self.event.as_deref().map(event).transpose()?;
        let body = match (&entry.body, event) {
            (LogBody::Readings(_), Some(_)) | (LogBody::Event(_), None)
                if given.is_empty() && event.is_none() =>
            {
                anyhow::bail!("entry {} is an event: give the right one with `--event`", self.id)
            }
            (LogBody::Readings(_), Some(_)) => {
                anyhow::bail!("entry {} has readings: strike it out and write the event down anew", self.id)
            }
            (LogBody::Event(_), _) if !given.is_empty() => {
                anyhow::bail!("entry {} is an event: strike it out and write the readings down anew", self.id)
            }
            (LogBody::Event(_), event) => LogBody::Event(event.unwrap_or(EventKind::Note)),
            (LogBody::Readings(known), None) => LogBody::Readings(merged(known, given)?),
        };
        Ok(change(unit, self.id, EntryChange::Amend(body), &self.reason, self.by.as_deref()))
    }
}

fn merged(known: &[HandReading], given: Vec<HandReading>) -> anyhow::Result<Vec<HandReading>> {
    if given.is_empty() {
        anyhow::bail!("say what is right: give the reading again, such as `--feed-pressure '55 bar'`");
    }
    let mut readings = known.to_vec();
    for reading in given {
        match readings.iter_mut().find(|known| known.quantity == reading.quantity) {
            Some(known) => *known = reading,
            None => readings.push(reading),
        }
    }
    Ok(readings)
}

fn change(unit: &UnitSettings, id: u64, change: EntryChange, reason: &str, by: Option<&str>) -> Command {
    Command::ChangeEntry { unit: unit.id.clone(), id, change, by: person(by), reason: reason.to_string() }
}

/// Tells what was written.
fn written(reply: &Reply, json: bool) -> anyhow::Result<()> {
    let Reply::Written { entries, runs, remarks } = reply else {
        anyhow::bail!("the answer is not what was asked for")
    };
    if json {
        return print(&format!(
            "{}\n",
            serde_json::json!({ "entries": entries, "runs": runs, "remarks": remarks })
        ));
    }
    let mut text = format!("Written: {}", numbers("entry", "entries", entries));
    if !runs.is_empty() {
        text.push_str(&format!("; {}", numbers("run", "runs", runs)));
    }
    text.push_str(".\n");
    remarks.iter().for_each(|remark| text.push_str(&paragraph("  ", remark)));
    print(&text)
}

fn numbers(one: &str, many: &str, ids: &[u64]) -> String {
    match (ids.iter().min(), ids.iter().max()) {
        (Some(only), Some(last)) if only == last => format!("{one} {only}"),
        (Some(first), Some(last)) => format!("{} {many} from number {first} to {last}", ids.len()),
        _ => format!("no {one}"),
    }
}

fn listed(log: &[LogEntry], json: bool) -> anyhow::Result<String> {
    let mut text = String::new();
    for entry in log {
        if json {
            text.push_str(&serde_json::to_string(&LogEntryJson::from(entry))?);
            text.push('\n');
        } else {
            text.push_str(&line(entry));
        }
    }
    if text.is_empty() && !json {
        text.push_str("The log is empty.\n");
    }
    Ok(text)
}

fn line(entry: &LogEntry) -> String {
    let date = entry.at.wall_ms.map_or("date not known".to_string(), |at| format::date_time(at, None));
    let invented = if entry.time_invented { " (time invented)" } else { "" };
    let body = match &entry.body {
        LogBody::Readings(readings) => {
            let readings: Vec<String> =
                readings.iter().map(|r| format!("{} {}", r.quantity.label(), r.typed)).collect();
            readings.join("; ")
        }
        LogBody::Event(kind) => words::event_with_elements(*kind, &entry.elements),
    };
    let mut text = format!("{date}{invented}, {}: {body}", entry.by);
    if !entry.note.is_empty() {
        text.push_str(&format!(" ({})", entry.note));
    }
    if entry.voided {
        text.push_str(&format!(" STRUCK OUT: {}", entry.reason));
    } else if 0 < entry.revision {
        text.push_str(&format!(" AMENDED: {}", entry.reason));
    }
    paragraph(&format!("{:>6}  ", entry.id), &text)
}

#[cfg(test)]
#[path = "tests/log.rs"]
mod tests;
