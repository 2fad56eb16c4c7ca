//! From a file to checked settings or all that is wrong with it.

use super::check::{self, SecretLook};
use super::problem::{Problem, Problems};
use super::raw;
use super::report::blot_secrets;
use super::types::Settings;
use std::fs;
use std::io::Read;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use toml::Spanned;
use toml::de::DeTable;

/// Largest settings file, in bytes. Sixteen units with every key and generous comments stay below a third of it.
pub const FILE_BYTES_MAX: u64 = 256 * 1024;

/// Reads and checks a settings file, and the files with secrets that it names.
///
/// # Errors
/// All that is wrong, at once; the program then ends with [`Problems::EXIT_CODE`].
pub fn load(path: &Path) -> Result<Settings, Problems> {
    let name = path.display().to_string();
    let text = read_text(path, "name the file with `--settings FILE`; samples are among the documents")?;
    check_text(&text, &name, &look_at_secret)
}

/// Text of a file; `not_found` is the remedy if there is none.
pub(super) fn read_text(path: &Path, not_found: &str) -> Result<String, Problems> {
    let name = path.display().to_string();
    let bytes = read_limited(path).map_err(|error| {
        let help = match error.kind() {
            std::io::ErrorKind::NotFound => not_found,
            std::io::ErrorKind::PermissionDenied => "the program's user must be able to read it",
            _ => "see that it is a file and that the disk is well",
        };
        Problems::of_file(&name, format!("cannot read {name}: {error}"), help)
    })?;
    let Ok(text) = String::from_utf8(bytes) else {
        let help = "save the file as plain text in UTF-8; µ and ° may be written `u` and nothing: `420 uS/cm`, `25 C`";
        return Err(Problems::of_file(&name, format!("{name} is not plain text in UTF-8"), help));
    };
    Ok(text)
}

/// Checks settings that were read already. Files with secrets that they name are not looked at.
///
/// # Errors
/// All that is wrong, at once.
pub fn parse(text: &str, file_name: &str) -> Result<Settings, Problems> {
    check_text(text, file_name, &|_: &Path| None)
}

fn read_limited(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    // One byte more than allowed tells a file at the limit from one beyond it, also for a pipe that never ends.
    fs::File::open(path)?.take(FILE_BYTES_MAX + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn check_text(text: &str, file_name: &str, look: &SecretLook) -> Result<Settings, Problems> {
    let table = table_of_text(text, file_name)?;
    let mut reported = Vec::new();
    let raw = raw::read(table.get_ref(), &mut reported);
    check::settings(&raw, text, look, reported).map_err(|list| problems(file_name, text, list))
}

/// The text as TOML.
pub(super) fn table_of_text<'t>(text: &'t str, file_name: &str) -> Result<Spanned<DeTable<'t>>, Problems> {
    if FILE_BYTES_MAX < text.len() as u64 {
        let message = format!("{file_name} is larger than {} kB", FILE_BYTES_MAX / 1024);
        return Err(Problems::of_file(file_name, message, "is this the settings file?"));
    }
    if text.contains('\0') {
        let message = format!("{file_name} is not a text file");
        return Err(Problems::of_file(file_name, message, "is this the settings file?"));
    }
    let (table, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        // What could not be read would look like missing keys, so nothing else is checked.
        let list = errors.iter().map(|error| syntax_problem(error, text)).collect();
        return Err(problems(file_name, text, list));
    }
    Ok(table)
}

/// All that is wrong with one file, in its order.
pub(super) fn problems(file_name: &str, text: &str, mut list: Vec<Problem>) -> Problems {
    list.sort_by_key(|problem| problem.span.as_ref().map(|span| span.start));
    let secrets: Vec<_> = list.iter().filter_map(|problem| problem.secret.clone()).collect();
    Problems { file_name: file_name.to_string(), source: blot_secrets(text, &secrets), list }
}

/// An error of the TOML reader in the form of the others.
fn syntax_problem(error: &toml::de::Error, text: &str) -> Problem {
    let span = error.span();
    let start = span.as_ref().map_or(0, |span| span.start.min(text.len()));
    let before = text.as_bytes()[..start].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    let line = text.get(before..).and_then(|rest| rest.lines().next()).unwrap_or("");
    let value = line.split_once('=').map(|(_, value)| value.trim_start()).unwrap_or("");
    let is_bare_amount = value.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'));
    let help = if is_bare_amount {
        "a number with its unit stands in quotes, with a decimal point: `pressure = \"5.5 MPa\"`"
    } else if error.message().contains("duplicate key") {
        "each key and each table stands once; several elements, pre-filters and readings have double brackets: `[[units.main.elements]]`"
    } else {
        "the file is TOML: `[table]`, then `key = value` lines, texts in quotes, notes behind `#`; other problems show once it can be read"
    };
    Problem::new("", span, error.message().lines().collect::<Vec<_>>().join("; "), help)
}

/// Folder in which the service manager shows secrets to the service alone; there the group's bit is a mask for the access list.
const CREDENTIALS_FOLDER: &str = "/run/credentials/";
/// Permission bits of others.
const OTHERS: u32 = 0o007;
/// Permission bits of the group: people who may use the control socket, who need not know the password.
const GROUP: u32 = 0o070;

fn look_at_secret(path: &Path) -> Option<(String, String)> {
    let metadata = match fs::metadata(path) {
        Ok(metadata) => metadata,
        Err(error) => {
            let help = "make the file, with the secret on its first line, owned by the service's user with mode 0600";
            return Some((format!("cannot look at the file: {error}"), help.to_string()));
        }
    };
    if !metadata.is_file() {
        return Some((
            "this is not a plain file".to_string(),
            "name the file that holds the secret on its first line".to_string(),
        ));
    }
    let forbidden = if path.starts_with(CREDENTIALS_FOLDER) { OTHERS } else { OTHERS | GROUP };
    (metadata.mode() & forbidden != 0).then(|| {
        (
            format!("the secret can be read by others (mode {:04o})", metadata.mode() & 0o7777),
            format!(
                "`chmod 600 {}`, owned by the service's user; change the secret if others may have read it",
                path.display()
            ),
        )
    })
}
