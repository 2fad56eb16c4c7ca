//! The boat, the web page and the folders.

use super::check::{Check, ID_CHARS_MAX, SecretLook, is_id, shown};
use super::problem::Problem;
use super::ranges::HOSTS_MAX;
use super::raw::{RawBus, RawFile, RawFolders, RawPage};
use super::typed::Field;
use super::types::{BusSettings, Page};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

/// Where the page listens if nothing is said: this computer only. The port is ours; no registered service of boats is known there.
pub(super) const BIND_DEFAULT: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(Ipv4Addr::LOCALHOST), 8470);
/// The folder that the service manager makes for the history.
const STATE_DEFAULT: &str = "/var/lib/barrico";
/// The folder that the service manager makes for the control socket.
const RUNTIME_DEFAULT: &str = "/run/barrico";

/// Short name and name of the boat.
pub(super) fn boat(check: &mut Check, raw: &RawFile) -> Option<(String, String)> {
    let Some(boat) = raw.boat.value.as_ref() else {
        if !raw.boat.given {
            let help = "add `[boat]` and below it `id = \"boat\"`: a short name for topics and files";
            check.problems.push(Problem::new("boat", None, "the file does not name the boat", help));
        }
        return None;
    };
    let id = check.need(&boat.id, "\"boat\"").cloned();
    if let Some(id) = id.as_ref().filter(|id| !is_id(id)) {
        let message = format!("`{}` is not a short name", shown(id));
        check.bad(&boat.id, message, ID_HELP.replace("{}", &ID_CHARS_MAX.to_string()));
        return None;
    }
    let name = check.text(&boat.name);
    let id = id?;
    Some((id.clone(), name.unwrap_or(id)))
}

/// How a short name is written.
pub(super) const ID_HELP: &str = "begin with a small letter, go on with letters and digits, no spaces or hyphens, at most {} characters: `main`, `unit2`";

/// The web page.
pub(super) fn page(check: &mut Check, field: &Field<RawPage>, look: &SecretLook) -> Option<Page> {
    let Some(raw) = &field.value else {
        return (!field.given).then(|| Page { bind: BIND_DEFAULT, hosts: Vec::new(), password_file: None });
    };
    let bind = bind(check, &raw.bind);
    let hosts = hosts(check, &raw.hosts);
    let password_file = password_file(check, &raw.password_file, look);
    if let Some(bind) = bind.filter(|bind| !bind.ip().is_loopback() && !raw.password_file.given) {
        let message =
            format!("the page at {} can be reached from other computers, but has no password", bind.ip());
        check.bad(
            &raw.bind,
            message,
            "name a file with a password, `password_file = \"/etc/barrico/page-password\"`, or listen on this computer only: \
             `bind = \"127.0.0.1:8470\"`",
        );
    }
    Some(Page { bind: bind?, hosts, password_file })
}

fn bind(check: &mut Check, field: &Field<String>) -> Option<SocketAddr> {
    let Some(text) = &field.value else { return (!field.given).then_some(BIND_DEFAULT) };
    let parsed = text.parse::<SocketAddr>().ok();
    if parsed.is_none() {
        let message = format!("`{}` is not an address with a port", shown(text));
        check.bad(
            field,
            message,
            "write numbers and the port: `127.0.0.1:8470`, `[::1]:8470`, `0.0.0.0:8470` for all networks",
        );
    }
    parsed
}

fn hosts(check: &mut Check, field: &Field<Vec<String>>) -> Vec<String> {
    let hosts = field.value.clone().unwrap_or_default();
    if HOSTS_MAX < hosts.len() {
        check.bad(
            field,
            format!("more than {HOSTS_MAX} host names"),
            "keep those under which the page is really opened",
        );
    }
    let is_host = |host: &str| {
        !host.is_empty()
            && host.len() <= 253
            && host.split('.').all(|label| {
                !label.is_empty()
                    && label.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_'))
            })
    };
    for host in hosts.iter().filter(|host| !is_host(host)) {
        let message = format!("`{}` is not a host name", shown(host));
        check.bad(field, message, "write the name alone, without `http://`, port or path: `boat.local`");
    }
    hosts.iter().map(|host| host.to_ascii_lowercase()).collect()
}

fn password_file(check: &mut Check, field: &Field<String>, look: &SecretLook) -> Option<PathBuf> {
    let path = absolute(check, field)?;
    if let Some((message, help)) = look(&path) {
        check.bad(field, message, help);
    }
    Some(path)
}

fn absolute(check: &mut Check, field: &Field<String>) -> Option<PathBuf> {
    let text = field.value.as_ref()?;
    let path = Path::new(text);
    let plain = !text.chars().any(char::is_control)
        && !path.components().any(|part| part == std::path::Component::ParentDir);
    if path.is_absolute() && plain {
        return Some(path.to_path_buf());
    }
    let message = format!("`{}` is not a full path", shown(text));
    check.bad(
        field,
        message,
        "write it from the root, without `..`: the program may be started from any folder",
    );
    None
}

/// Longest name of a network interface (`IFNAMSIZ` of linux/if.h, less the zero at its end).
const INTERFACE_BYTES_MAX: usize = 15;

/// The CAN interface.
pub(super) fn bus(check: &mut Check, field: &Field<RawBus>) -> Option<BusSettings> {
    let raw = field.value.as_ref()?;
    let interface = check.need(&raw.interface, "\"can0\"")?;
    let fits =
        (1..=INTERFACE_BYTES_MAX).contains(&interface.len()) && !matches!(interface.as_str(), "." | "..");
    if !fits || interface.chars().any(|c| !c.is_ascii_graphic() || matches!(c, '/' | ':')) {
        let message = format!("`{}` is not the name of a network interface", shown(interface));
        let help = format!(
            "write it as `ip link` shows it, at most {INTERFACE_BYTES_MAX} characters, without spaces: `can0`"
        );
        check.bad(&raw.interface, message, help);
        return None;
    }
    Some(BusSettings {
        interface: interface.clone(),
        listen_only: raw.listen_only.value.unwrap_or(false),
        unique_number: check.count(&raw.unique_number),
        // Ranges keep both within a byte.
        device_instance: check.count(&raw.device_instance).map(|number| number as u8),
        system_instance: check.count(&raw.system_instance).map(|number| number as u8),
    })
}

/// Folders of the history and of the control socket.
pub(super) fn folders(check: &mut Check, field: &Field<RawFolders>) -> (Option<PathBuf>, Option<PathBuf>) {
    let Some(raw) = &field.value else {
        let default = |path: &str| (!field.given).then(|| PathBuf::from(path));
        return (default(STATE_DEFAULT), default(RUNTIME_DEFAULT));
    };
    let mut folder = |field: &Field<String>, default: &str| {
        if field.given { absolute(check, field) } else { Some(PathBuf::from(default)) }
    };
    (folder(&raw.state, STATE_DEFAULT), folder(&raw.runtime, RUNTIME_DEFAULT))
}
