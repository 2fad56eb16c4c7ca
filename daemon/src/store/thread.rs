//! The store's own thread: the engine hands records over and never waits for the disk.
//!
//! | what happens | what is done |
//! | --- | --- |
//! | batch written | [`Input::Persisted`] with its last ticket |
//! | disk full, read-only, damaged | [`Input::PersistFailed`]; the batch is kept and tried again after 1 s, 2 s, 4 s … 60 s |
//! | the queue holds [`limits::SAMPLES_WAITING_MAX`] samples | the oldest sample goes, counted |
//! | the queue holds [`limits::RECORDS_WAITING_MAX`] records | the new record is refused, counted, and nothing from its ticket on is confirmed any more until the program starts again |
//! | slow disk, long queue | [`Input::StoreLagging`] |
//! | end of the program | what waits is written; after [`limits::RETRIES_AT_CLOSE`] attempts the number of records left is told |

use super::{Store, StoreError, limits};
use crate::engine::{Input, Record, Ticket};
use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Waiting times of the thread; tests shorten them.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// Samples of a run are written after this time at the latest.
    pub samples: Duration,
    /// The same for samples while no unit runs.
    pub samples_at_rest: Duration,
    /// First pause after a failure.
    pub retry_first: Duration,
    /// Longest pause after a failure.
    pub retry_longest: Duration,
}

impl Default for Pace {
    fn default() -> Self {
        Self {
            samples: limits::SAMPLE_BATCH_TIME,
            samples_at_rest: limits::SAMPLE_BATCH_TIME_AT_REST,
            retry_first: limits::RETRY_FIRST,
            retry_longest: limits::RETRY_LONGEST,
        }
    }
}

#[derive(Debug, Default)]
struct Queue {
    items: VecDeque<(Ticket, Record)>,
    samples: usize,
    samples_dropped: u64,
    records_refused: u64,
    /// From this ticket on nothing may be confirmed: a record was refused.
    refused_from: Option<Ticket>,
    closing: bool,
    /// The engine was told that the store lags.
    lagging: bool,
}

impl Queue {
    /// Returns true if it was refused.
    fn push(&mut self, ticket: Ticket, record: Record) -> bool {
        if matches!(record, Record::Sample(_)) {
            if limits::SAMPLES_WAITING_MAX <= self.samples {
                self.drop_oldest_sample();
            }
            self.samples += 1;
        } else if limits::RECORDS_WAITING_MAX <= self.items.len() - self.samples {
            self.records_refused += 1;
            self.refused_from.get_or_insert(ticket);
            return true;
        }
        self.items.push_back((ticket, record));
        false
    }

    fn drop_oldest_sample(&mut self) {
        if let Some(oldest) = self.items.iter().position(|(_, record)| matches!(record, Record::Sample(_))) {
            self.items.remove(oldest);
            self.samples -= 1;
            self.samples_dropped += 1;
        }
    }
}

#[derive(Debug, Default)]
struct Shared {
    queue: Mutex<Queue>,
    wake: Condvar,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Queue> {
        // A panic ends the whole program; in tests the queue is still whole after one.
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The way to the thread.
#[derive(Debug)]
pub struct StoreThread {
    shared: Arc<Shared>,
    handle: JoinHandle<Finished>,
}

/// How the thread ended.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Finished {
    /// Records that could not be written: 0 is as it should be.
    pub unwritten: u64,
    /// Why.
    pub trouble: Option<String>,
}

/// What was dropped so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dropped {
    /// Samples.
    pub samples: u64,
    /// Records that were refused, and so never confirmed.
    pub records: u64,
}

impl StoreThread {
    /// Starts the thread. `report` is called on it.
    ///
    /// # Errors
    /// The system gives no thread.
    pub fn spawn(store: Store, report: impl Fn(Input) + Send + 'static) -> std::io::Result<Self> {
        Self::spawn_at_pace(store, Pace::default(), report)
    }

    /// As [`Self::spawn`], with other waiting times.
    ///
    /// # Errors
    /// The system gives no thread.
    pub fn spawn_at_pace(
        store: Store,
        pace: Pace,
        report: impl Fn(Input) + Send + 'static,
    ) -> std::io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let theirs = Arc::clone(&shared);
        let handle = std::thread::Builder::new()
            .name("store".to_owned())
            .spawn(move || Worker::new(store, theirs, pace, report).run())?;
        Ok(Self { shared, handle })
    }

    /// Hands one thing over. Never waits for the disk. What the engine should hear at once, if anything, is returned.
    pub fn submit(&self, ticket: Ticket, record: Record) -> Option<Input> {
        self.submit_all([(ticket, record)])
    }

    /// Hands things over that are to be written together or not at all, as the entries of one import.
    pub fn submit_all(&self, batch: impl IntoIterator<Item = (Ticket, Record)>) -> Option<Input> {
        let mut queue = self.shared.lock();
        let mut refused = None;
        for (ticket, record) in batch {
            if queue.push(ticket, record) {
                refused.get_or_insert(ticket);
            }
        }
        let lags = limits::LAGGING_LEN <= queue.items.len() && !queue.lagging;
        queue.lagging |= lags;
        drop(queue);
        self.shared.wake.notify_one();
        if let Some(ticket) = refused {
            let why = "too much waits to be written, and something was refused: nothing more is confirmed. Look at the disk, then \
                       start barrico again"
                .to_owned();
            return Some(Input::PersistFailed { ticket, why });
        }
        lags.then_some(Input::StoreLagging(true))
    }

    /// What was dropped so far.
    pub fn dropped(&self) -> Dropped {
        let queue = self.shared.lock();
        Dropped { samples: queue.samples_dropped, records: queue.records_refused }
    }

    /// Writes what waits and ends the thread.
    pub fn finish(self) -> Finished {
        self.shared.lock().closing = true;
        self.shared.wake.notify_one();
        // A thread that panicked has not written what it held; how much that was is not known any more.
        let lost =
            |_| Finished { unwritten: 1, trouble: Some("the store's thread ended by itself".to_owned()) };
        self.handle.join().unwrap_or_else(lost)
    }
}

struct Worker<R: Fn(Input)> {
    store: Store,
    shared: Arc<Shared>,
    pace: Pace,
    report: R,
    held: Vec<(Ticket, Record)>,
    last: Ticket,
    failures: u32,
    trouble: Option<String>,
    samples_since: Option<Instant>,
    closing: bool,
}

impl<R: Fn(Input)> Worker<R> {
    fn new(store: Store, shared: Arc<Shared>, pace: Pace, report: R) -> Self {
        Self {
            store,
            shared,
            pace,
            report,
            held: Vec::new(),
            last: Ticket(0),
            failures: 0,
            trouble: None,
            samples_since: None,
            closing: false,
        }
    }

    fn run(mut self) -> Finished {
        loop {
            self.wait();
            self.fetch();
            let started = now();
            let written = self.write();
            if written {
                self.tell_lag(limits::LAGGING_TIME <= started.elapsed());
            }
            if self.closing && self.is_finished(written) {
                return self.end();
            }
        }
    }

    /// Until something is there, a pause is over, samples are due or the program ends.
    fn wait(&mut self) {
        let pause = self.pause();
        let started = now();
        let mut queue = self.shared.lock();
        loop {
            // While a batch is held after a failure, new ones change nothing: the pause counts.
            let ready = self.failures == 0 && (queue.closing || !queue.items.is_empty());
            let just_closing = queue.closing && !self.closing;
            let left = pause.map(|pause| pause.saturating_sub(started.elapsed()));
            if ready || just_closing || left == Some(Duration::ZERO) {
                break;
            }
            queue = match left {
                Some(left) => {
                    self.shared.wake.wait_timeout(queue, left).unwrap_or_else(PoisonError::into_inner).0
                }
                None => self.shared.wake.wait(queue).unwrap_or_else(PoisonError::into_inner),
            };
        }
    }

    fn pause(&self) -> Option<Duration> {
        if 0 < self.failures {
            let doubled = self.pace.retry_first.saturating_mul(1 << (self.failures - 1).min(16));
            return Some(doubled.min(self.pace.retry_longest));
        }
        self.samples_since.map(|since| self.batch_time().saturating_sub(since.elapsed()))
    }

    fn batch_time(&self) -> Duration {
        if self.store.run_waiting() { self.pace.samples } else { self.pace.samples_at_rest }
    }

    /// Takes what waits, unless a failed batch is still held: then the queue keeps it, and its limits hold.
    fn fetch(&mut self) {
        let mut queue = self.shared.lock();
        if queue.closing && !self.closing {
            self.closing = true;
            self.failures = 0;
        }
        if self.held.is_empty() || self.closing {
            self.held.extend(queue.items.drain(..));
            queue.samples = 0;
        }
    }

    /// Writes what is held, and samples that are due.
    fn write(&mut self) -> bool {
        if !self.held.is_empty() {
            if let Err(error) = self.store.commit(&self.held) {
                self.failures = self.failures.saturating_add(1);
                let first = self.held.first().map_or(self.last, |(ticket, _)| *ticket);
                self.tell_failure(first, &error);
                return false;
            }
            self.last = self.held.last().map_or(self.last, |(ticket, _)| *ticket);
            self.held.clear();
            self.failures = 0;
            self.confirm();
        }
        if 0 < self.store.samples_waiting() {
            let since = *self.samples_since.get_or_insert_with(now);
            let due = self.batch_time() <= since.elapsed()
                || limits::SAMPLE_BATCH_ROWS <= self.store.samples_waiting()
                || self.closing;
            if due {
                // Samples that cannot be written wait for their next turn; they hold no record up.
                self.samples_since = match self.store.flush_samples() {
                    Ok(()) => None,
                    Err(error) => {
                        self.tell_failure(self.last, &error);
                        Some(now())
                    }
                };
            }
        }
        true
    }

    fn confirm(&self) {
        let refused = self.shared.lock().refused_from;
        if refused.is_none_or(|refused| self.last < refused) {
            (self.report)(Input::Persisted(self.last));
        } else if let Some(before) = refused.and_then(|refused| refused.0.checked_sub(1)) {
            (self.report)(Input::Persisted(Ticket(before)));
        }
    }

    fn tell_failure(&mut self, ticket: Ticket, error: &StoreError) {
        let why = error.to_string();
        self.trouble = Some(why.clone());
        (self.report)(Input::PersistFailed { ticket, why });
    }

    fn tell_lag(&self, slow: bool) {
        let mut queue = self.shared.lock();
        let lags = slow || limits::LAGGING_LEN <= queue.items.len();
        if std::mem::replace(&mut queue.lagging, lags) != lags {
            drop(queue);
            (self.report)(Input::StoreLagging(lags));
        }
    }

    fn is_finished(&self, written: bool) -> bool {
        let nothing_left = written && self.shared.lock().items.is_empty();
        nothing_left || limits::RETRIES_AT_CLOSE <= self.failures
    }

    fn end(self) -> Finished {
        let left = self.held.iter().filter(|(_, record)| !matches!(record, Record::Sample(_))).count() as u64;
        // Samples that could not be written are lost by the rule above.
        let closed = self.store.close().err().map(|error| error.to_string());
        Finished { unwritten: left, trouble: if 0 < left { self.trouble } else { closed } }
    }
}

#[expect(clippy::disallowed_methods, reason = "the shell around the disk measures how long the disk takes")]
fn now() -> Instant {
    Instant::now()
}
