//! Password and sessions, for a page that is not on loopback.
//!
//! The password comes from a file of its own that nobody else may read; in memory is only its argon2id hash. One
//! verification at a time keeps the memory at 7 MiB. A session is a random cookie; it ends with the program, after its life, or by signing
//! out. The cookie is not marked Secure since the page itself has no TLS.

use super::limits::{
    PASSWORD_CHARS_MAX, PASSWORD_CHARS_MIN, SESSION_LIFE, SESSIONS_MAX, WRONG_PASSWORDS_MAX,
    WRONG_PASSWORDS_WINDOW,
};
use super::site::{random_text, same_secret};
use crate::settings::Page;
use argon2::{Algorithm, Argon2, Params, Version};
use std::collections::VecDeque;
use std::net::IpAddr;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use thiserror::Error;
use tokio::sync::Semaphore;
use tokio::time::Instant;

/// Why the password cannot be used.
#[derive(Debug, Error)]
pub enum PasswordError {
    /// The page would be open to the network.
    #[error(
        "the page listens on {0}, which others can reach, and has no password: set `password_file` in the `[page]` part of the settings, or listen on 127.0.0.1"
    )]
    Missing(IpAddr),
    /// The file cannot be read.
    #[error("the password file {path} cannot be read: {why}")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        why: std::io::Error,
    },
    /// Others may read the file.
    #[error("the password file {path} can be read by others (mode {mode:o}): make it `chmod 600`")]
    Open {
        /// The file.
        path: PathBuf,
        /// Its mode.
        mode: u32,
    },
    /// Too short or too long.
    #[error(
        "the password in {path} has {chars} characters; it must have {PASSWORD_CHARS_MIN} to {PASSWORD_CHARS_MAX}, on the first line"
    )]
    Length {
        /// The file.
        path: PathBuf,
        /// Its length.
        chars: usize,
    },
    /// The system has no random numbers or no memory.
    #[error("the password cannot be hashed: {0}")]
    Hash(String),
}

/// Checks what the settings say about the page's password: needed, there, private, long enough. For `check`.
///
/// # Errors
/// [`PasswordError`] with the remedy.
pub fn check_page(page: &Page) -> Result<(), PasswordError> {
    read_for(page, page.bind.ip()).map(drop)
}

/// The password, if one is needed or given. On loopback without a file: none.
fn read_for(page: &Page, listen: IpAddr) -> Result<Option<String>, PasswordError> {
    match &page.password_file {
        Some(path) => read(path).map(Some),
        None if listen.to_canonical().is_loopback() => Ok(None),
        None => Err(PasswordError::Missing(listen)),
    }
}

fn read(path: &Path) -> Result<String, PasswordError> {
    let unreadable = |why| PasswordError::Unreadable { path: path.to_path_buf(), why };
    let mode = std::fs::metadata(path).map_err(unreadable)?.permissions().mode() & 0o777;
    if mode & 0o077 != 0 {
        return Err(PasswordError::Open { path: path.to_path_buf(), mode });
    }
    let text = std::fs::read_to_string(path).map_err(unreadable)?;
    let password = text.lines().next().unwrap_or("").to_string();
    let chars = password.chars().count();
    if !(PASSWORD_CHARS_MIN..=PASSWORD_CHARS_MAX).contains(&chars) {
        return Err(PasswordError::Length { path: path.to_path_buf(), chars });
    }
    Ok(password)
}

/// Salt and hash.
#[derive(Clone)]
struct Hashed {
    salt: [u8; 16],
    hash: [u8; 32],
}

impl Hashed {
    fn new(password: &str) -> Result<Self, PasswordError> {
        let mut salt = [0; 16];
        getrandom::fill(&mut salt).map_err(|why| PasswordError::Hash(why.to_string()))?;
        Ok(Self { salt, hash: hash(password, &salt)? })
    }

    fn is(&self, password: &str) -> bool {
        hash(password, &self.salt)
            .is_ok_and(|hash| same_secret(&super::site::hex(&hash), &super::site::hex(&self.hash)))
    }
}

/// argon2id with 7 MiB, 5 passes, 1 lane: the setting with the least memory that the OWASP Password Storage Cheat Sheet lists.
fn hash(password: &str, salt: &[u8]) -> Result<[u8; 32], PasswordError> {
    let failed = |why: argon2::Error| PasswordError::Hash(why.to_string());
    let params = Params::new(7 * 1024, 5, 1, Some(32)).map_err(failed)?;
    let mut hash = [0; 32];
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(password.as_bytes(), salt, &mut hash)
        .map_err(failed)?;
    Ok(hash)
}

struct Session {
    id: String,
    token: String,
    until: Instant,
}

struct WrongTry {
    from: IpAddr,
    at: Instant,
}

/// How a try to sign in ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum SignIn {
    /// The cookie to set.
    Welcome(String),
    /// Wrong password.
    Wrong,
    /// Too many wrong tries, or another one is being checked.
    Wait,
    /// The system has no random numbers.
    Failed,
}

/// Password, sessions and wrong tries.
pub(super) struct Sessions {
    password: Hashed,
    /// One verification at a time.
    checking: Arc<Semaphore>,
    open: Mutex<VecDeque<Session>>,
    wrong: Mutex<VecDeque<WrongTry>>,
}

const COOKIE_NAME: &str = "barrico";

impl Sessions {
    /// Wrong tries from everywhere together in a window; a network full of guessers must not keep the processor busy.
    const WRONG_EVERYWHERE_MAX: usize = 20;

    /// For a page that listens on `listen`; `None` if no password is needed.
    pub fn for_page(page: &Page, listen: IpAddr) -> Result<Option<Self>, PasswordError> {
        let Some(password) = read_for(page, listen)? else { return Ok(None) };
        Ok(Some(Self {
            password: Hashed::new(&password)?,
            checking: Arc::new(Semaphore::new(1)),
            open: Mutex::default(),
            wrong: Mutex::default(),
        }))
    }

    /// Form token of the session that `cookie` (as `name=value`) belongs to.
    pub fn token_of(&self, cookie: &str) -> Option<String> {
        let id = cookie.strip_prefix(COOKIE_NAME)?.strip_prefix('=')?;
        let now = Instant::now();
        let mut open = lock(&self.open);
        open.retain(|session| now < session.until);
        open.iter().find(|session| same_secret(&session.id, id)).map(|session| session.token.clone())
    }

    /// Checks a password.
    pub async fn sign_in(&self, password: String, from: IpAddr) -> SignIn {
        let Ok(_turn) = Arc::clone(&self.checking).try_acquire_owned() else { return SignIn::Wait };
        if self.must_wait(from) {
            return SignIn::Wait;
        }
        let expected = self.password.clone();
        // On a thread of its own: a tenth of a second of work must not hold up the other pages.
        let right = tokio::task::spawn_blocking(move || expected.is(&password)).await.unwrap_or(false);
        if !right {
            lock(&self.wrong).push_back(WrongTry { from, at: Instant::now() });
            return SignIn::Wrong;
        }
        let (Some(id), Some(token)) = (random_text(), random_text()) else { return SignIn::Failed };
        let cookie = format!(
            "{COOKIE_NAME}={id}; Path=/; Max-Age={}; HttpOnly; SameSite=Strict",
            SESSION_LIFE.as_secs()
        );
        let mut open = lock(&self.open);
        open.push_back(Session { id, token, until: Instant::now() + SESSION_LIFE });
        while SESSIONS_MAX < open.len() {
            open.pop_front();
        }
        SignIn::Welcome(cookie)
    }

    fn must_wait(&self, from: IpAddr) -> bool {
        let now = Instant::now();
        let mut wrong = lock(&self.wrong);
        wrong.retain(|a_try| now < a_try.at + WRONG_PASSWORDS_WINDOW);
        let here = wrong.iter().filter(|a_try| a_try.from == from).count();
        WRONG_PASSWORDS_MAX <= here || Self::WRONG_EVERYWHERE_MAX <= wrong.len()
    }

    /// Ends the session with this form token. Answers with the cookie that takes the old one away.
    pub fn sign_out(&self, token: &str) -> String {
        lock(&self.open).retain(|session| !same_secret(&session.token, token));
        format!("{COOKIE_NAME}=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict")
    }
}

/// A panic ends the program, so a poisoned lock cannot be met; taking it anyway is harmless.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
