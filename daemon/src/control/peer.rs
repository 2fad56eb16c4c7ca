//! Who asks: the account that the kernel names, written into the command.

use crate::engine::Command;
use std::os::unix::net::UnixStream;

/// Users of the system, one a line: name, password field, number (passwd(5)).
const PASSWD: &str = "/etc/passwd";
/// Longest name kept; more is no name.
const NAME_MAX: usize = 100;

/// An account.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Peer {
    /// Number of the user.
    pub uid: u32,
    /// Name of the account, if the system's list has it.
    pub name: Option<String>,
}

impl Peer {
    /// The account at the other end, as it was when it connected (SO_PEERCRED, unix(7)).
    pub fn of(stream: &UnixStream) -> std::io::Result<Self> {
        let uid = rustix::net::sockopt::socket_peercred(stream)?.uid.as_raw();
        // A directory service may know more names; the number is what counts.
        let name = std::fs::read_to_string(PASSWD).ok().and_then(|list| name_of(&list, uid));
        Ok(Self { uid, name })
    }

    /// "Anna (user 1000)": the name that was given, else that of the account, and always the number that the kernel gave.
    fn signed(&self, given: &str) -> String {
        let given: String = given.trim().chars().take(NAME_MAX).collect();
        let name = if given.is_empty() { self.name.clone().unwrap_or_default() } else { given };
        let uid = self.uid;
        if name.is_empty() { format!("user {uid}") } else { format!("{name} (user {uid})") }
    }

    /// Writes the account into every place of a command that says who.
    pub fn sign(&self, command: &mut Command) {
        match command {
            Command::AddEntries { entries, .. } => {
                entries.iter_mut().for_each(|entry| entry.by = self.signed(&entry.by));
            }
            Command::ChangeEntry { by, .. }
            | Command::TakeBaseline { by, .. }
            | Command::RetireBaseline { by, .. }
            | Command::Acknowledge { by, .. } => *by = self.signed(by),
            Command::ListLog { .. } | Command::ListBaselines { .. } | Command::ShowHistory { .. } => {}
        }
    }
}

fn name_of(list: &str, uid: u32) -> Option<String> {
    list.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        let number: u32 = fields.nth(1)?.parse().ok()?;
        (number == uid && !name.is_empty()).then(|| name.chars().take(NAME_MAX).collect())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_account_is_signed_behind_the_name_and_cannot_be_talked_away() {
        let list = "root:x:0:0:root:/root:/bin/sh\n# no user\nanna:x:1000:1000::/nowhere:/bin/sh\n";
        let anna = Peer { uid: 1000, name: name_of(list, 1000) };
        assert_eq!(anna.signed(""), "anna (user 1000)");
        assert_eq!(anna.signed(" Ben "), "Ben (user 1000)");
        assert_eq!(anna.signed("Ben (user 0)"), "Ben (user 0) (user 1000)");
        let unknown = Peer { uid: 77, name: name_of(list, 77) };
        assert_eq!(unknown.signed(""), "user 77");
    }
}
