//! The life of an alert.
//!
//! ```text
//!              condition held for `hold`
//!   (none) ───────────────────────────────► raised ──────── acknowledge ───────► acknowledged
//!                                            │  ▲ severity rises: sounds again      │
//!            condition false for `clear`     │  └───────────────────────────────────┤
//!   cleared ◄──────── not latched ───────────┤                                      │ condition false for `clear`
//!                                            └─ latched ─► latched ─ acknowledge ─► cleared ◄┘
//! ```
//!
//! | what happens | what follows |
//! | --- | --- |
//! | condition true, not yet for `hold` | nothing; the clock starts |
//! | condition not known (sensor lost) | nothing: a lost sensor neither raises nor clears |
//! | raised again after it cleared | occurrence + 1, so that an acknowledge of the old one is ignored |
//! | severity rises while active | the acknowledge is void, occurrence + 1: it sounds again |
//! | severity falls while active | changes the severity, keeps the acknowledge |
//! | acknowledge with another occurrence | ignored |
//! | program restarts | alert, occurrence and acknowledge come back from the store |
//! | sensor left the settings, or a person closes it | closed, not cleared, with name and time |

use crate::engine::{AlertRecord, AlertState};
use barrico_model::findings::{Finding, FindingCode, Severity};
use barrico_model::{Monotonic, Quantity, Stamp};
use std::collections::BTreeMap;

/// Hold and clear times of one finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rules {
    /// The condition must be true for so long before the alert is raised, ms.
    pub hold_ms: u64,
    /// The condition must be false for so long before it clears, ms.
    pub clear_ms: u64,
    /// A person must look before it goes away.
    pub latched: bool,
}

/// What is known of the condition at this moment.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// True, with the finding.
    True(Box<Finding>),
    /// False.
    False,
    /// Cannot be judged now. Changes nothing.
    Unknown,
}

/// An alert is told apart by its finding and what it is about.
pub type AlertKey = (FindingCode, Option<Quantity>);

#[derive(Clone, Debug)]
struct Alert {
    record: AlertRecord,
    finding: Option<Finding>,
    true_since: Option<Monotonic>,
    false_since: Option<Monotonic>,
}

/// All alerts of one unit.
#[derive(Clone, Debug, Default)]
pub struct Alerts {
    alerts: BTreeMap<AlertKey, Alert>,
}

impl Alerts {
    /// Takes back what the store remembers. Alerts come back as they were, without a finding until it is measured again.
    pub fn restore(&mut self, records: Vec<AlertRecord>) {
        for record in records {
            let key = (record.code, record.about);
            self.alerts.insert(key, Alert { record, finding: None, true_since: None, false_since: None });
        }
    }

    /// The condition of one finding was judged. Returns the record if the alert changed.
    pub fn judge(
        &mut self,
        now: Monotonic,
        stamp: Stamp,
        key: AlertKey,
        rules: Rules,
        condition: Condition,
    ) -> Option<AlertRecord> {
        match condition {
            Condition::Unknown => None,
            Condition::True(finding) => self.condition_true(now, stamp, key, rules, *finding),
            Condition::False => self.condition_false(now, stamp, key, rules),
        }
    }

    fn condition_true(
        &mut self,
        now: Monotonic,
        stamp: Stamp,
        key: AlertKey,
        rules: Rules,
        finding: Finding,
    ) -> Option<AlertRecord> {
        let alert = self.alerts.entry(key).or_insert_with(|| new_alert(key, stamp, &finding));
        alert.false_since = None;
        let since = *alert.true_since.get_or_insert(now);
        let active = alert.record.state.is_active();
        if !active && now < since.plus_ms(rules.hold_ms) {
            return None;
        }
        let before = alert.record.severity;
        let changed = if !active {
            alert.record.occurrence += 1;
            alert.record.raised = stamp;
            true
        } else if before < finding.severity {
            alert.record.occurrence += 1;
            true
        } else {
            // A latched alert whose condition comes back sounds again, but is the same occurrence to the person.
            alert.record.state == AlertState::Latched
        };
        if changed {
            alert.record.state = AlertState::Raised;
            alert.record.by = None;
        }
        let told = changed || before != finding.severity || alert.record.title != finding.title;
        alert.record.severity = finding.severity;
        alert.record.title.clone_from(&finding.title);
        alert.finding = Some(finding);
        if told {
            alert.record.changed = stamp;
        }
        told.then(|| alert.record.clone())
    }

    fn condition_false(
        &mut self,
        now: Monotonic,
        stamp: Stamp,
        key: AlertKey,
        rules: Rules,
    ) -> Option<AlertRecord> {
        let alert = self.alerts.get_mut(&key)?;
        alert.true_since = None;
        if !alert.record.state.is_active() || alert.record.state == AlertState::Latched {
            return None;
        }
        let since = *alert.false_since.get_or_insert(now);
        if now < since.plus_ms(rules.clear_ms) {
            return None;
        }
        let seen = alert.record.state == AlertState::Acknowledged;
        alert.record.state = if rules.latched && !seen { AlertState::Latched } else { AlertState::Cleared };
        alert.record.changed = stamp;
        if alert.record.state == AlertState::Cleared {
            alert.finding = None;
        }
        Some(alert.record.clone())
    }

    /// Somebody has seen it. Returns the record if that changed anything; an old occurrence changes nothing.
    pub fn acknowledge(
        &mut self,
        stamp: Stamp,
        key: AlertKey,
        occurrence: u32,
        by: &str,
    ) -> Option<AlertRecord> {
        let alert = self.alerts.get_mut(&key)?;
        if alert.record.occurrence != occurrence {
            return None;
        }
        alert.record.state = match alert.record.state {
            AlertState::Raised => AlertState::Acknowledged,
            AlertState::Latched => AlertState::Cleared,
            _ => return None,
        };
        alert.record.by = Some(by.to_owned());
        alert.record.changed = stamp;
        Some(alert.record.clone())
    }

    /// Ends an alert that cannot be measured any more.
    pub fn close(&mut self, stamp: Stamp, key: AlertKey, by: &str) -> Option<AlertRecord> {
        let alert = self.alerts.get_mut(&key).filter(|alert| alert.record.state.is_active())?;
        alert.record.state = AlertState::ClosedNotCleared;
        alert.record.by = Some(by.to_owned());
        alert.record.changed = stamp;
        alert.finding = None;
        Some(alert.record.clone())
    }

    /// Active alerts, most urgent first, then by age.
    pub fn active(&self) -> Vec<(AlertRecord, Option<Finding>)> {
        let mut active: Vec<_> = self
            .alerts
            .values()
            .filter(|alert| alert.record.state.is_active())
            .map(|alert| (alert.record.clone(), alert.finding.clone()))
            .collect();
        active.sort_by(|(a, _), (b, _)| {
            b.severity
                .cmp(&a.severity)
                .then(a.raised.monotonic.cmp(&b.raised.monotonic))
                .then(a.code.cmp(&b.code))
        });
        active
    }

    /// Is there an alert that only waits for its hold or clear time?
    pub fn waits(&self) -> bool {
        self.alerts.values().any(|alert| {
            let active = alert.record.state.is_active();
            (alert.true_since.is_some() && !active) || (alert.false_since.is_some() && active)
        })
    }

    /// The finding behind an alert.
    pub fn finding(&self, key: AlertKey) -> Option<&Finding> {
        self.alerts.get(&key)?.finding.as_ref()
    }
}

fn new_alert(key: AlertKey, stamp: Stamp, finding: &Finding) -> Alert {
    let record = AlertRecord {
        code: key.0,
        about: key.1,
        occurrence: 0,
        state: AlertState::Cleared,
        severity: Severity::Notice,
        title: finding.title.clone(),
        raised: stamp,
        changed: stamp,
        by: None,
    };
    Alert { record, finding: None, true_since: None, false_since: None }
}

#[cfg(test)]
mod tests;
