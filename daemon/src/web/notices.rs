//! Answers to posted forms, kept until their page is fetched.
//!
//! A post is answered with a redirect, so that loading the page again does not post again; the answer's text waits here under a
//! random name. The same form sent twice (a thumb on poor Wi-Fi) is recognised by its content, which includes a random value of the page.

use super::limits::NOTICES_MAX;
use super::site::random_text;
use std::collections::VecDeque;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Mutex, MutexGuard, PoisonError};

#[derive(Default)]
pub(super) struct Notices(Mutex<Kept>);

#[derive(Default)]
struct Kept {
    texts: VecDeque<(String, Vec<String>)>,
    /// Hash of a form that was taken, and the notice that answered it; empty while it is being written.
    taken: VecDeque<(u64, Option<String>)>,
}

/// Whether a form was seen before.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Seen {
    /// No: go on, then tell the outcome under this number.
    New(u64),
    /// Yes, and this notice answered it.
    Answered(String),
    /// Yes, and it is still being written.
    Pending,
}

impl Notices {
    fn lock(&self) -> MutexGuard<'_, Kept> {
        // A panic ends the program, so a poisoned lock cannot be met.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Looks a form up by its content and remembers it.
    pub fn take(&self, fields: &[(String, String)]) -> Seen {
        let mut hasher = DefaultHasher::new();
        fields.hash(&mut hasher);
        let number = hasher.finish();
        let mut kept = self.lock();
        match kept.taken.iter().find(|(taken, _)| *taken == number) {
            Some((_, Some(notice))) => return Seen::Answered(notice.clone()),
            Some((_, None)) => return Seen::Pending,
            None => {}
        }
        kept.taken.push_back((number, None));
        while NOTICES_MAX < kept.taken.len() {
            kept.taken.pop_front();
        }
        Seen::New(number)
    }

    /// The form was not written: it may be sent again as it is.
    pub fn forget(&self, number: u64) {
        self.lock().taken.retain(|(taken, _)| *taken != number);
    }

    /// Keeps the texts and returns the name to fetch them by.
    pub fn keep(&self, texts: Vec<String>, form: Option<u64>) -> String {
        let name: String = random_text().unwrap_or_default().chars().take(16).collect();
        let mut kept = self.lock();
        kept.texts.push_back((name.clone(), texts));
        while NOTICES_MAX < kept.texts.len() {
            kept.texts.pop_front();
        }
        if let Some(entry) = kept.taken.iter_mut().find(|(taken, _)| Some(*taken) == form) {
            entry.1 = Some(name.clone());
        }
        name
    }

    /// The texts under a name. They stay: a GET changes nothing.
    pub fn texts(&self, name: &str) -> Vec<String> {
        let kept = self.lock();
        kept.texts.iter().find(|(known, _)| known == name).map_or_else(Vec::new, |(_, texts)| texts.clone())
    }
}
