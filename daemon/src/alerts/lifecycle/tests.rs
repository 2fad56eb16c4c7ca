use super::*;
use proptest::prelude::*;

const KEY: AlertKey = (FindingCode::OutputLow, None);
const RULES: Rules = Rules { hold_ms: 10_000, clear_ms: 20_000, latched: false };

fn finding(severity: Severity) -> Finding {
    Finding {
        code: FindingCode::OutputLow,
        about: None,
        severity,
        title: "Less product than this water allows".into(),
        evidence: vec![],
        causes: vec![],
        next_measurement: None,
    }
}

fn at(alerts: &mut Alerts, second: u64, rules: Rules, condition: Option<Severity>) -> Option<AlertRecord> {
    let condition =
        condition.map_or(Condition::False, |severity| Condition::True(Box::new(finding(severity))));
    alerts.judge(Monotonic(second * 1000), Stamp::default(), KEY, rules, condition)
}

#[test]
fn it_is_raised_after_the_hold_and_cleared_after_the_clear_time() {
    let mut alerts = Alerts::default();
    assert_eq!(at(&mut alerts, 0, RULES, Some(Severity::Advice)), None);
    assert_eq!(at(&mut alerts, 9, RULES, Some(Severity::Advice)), None);
    let raised = at(&mut alerts, 10, RULES, Some(Severity::Advice)).expect("held for 10 s");
    assert_eq!((raised.state, raised.occurrence), (AlertState::Raised, 1));
    assert_eq!(at(&mut alerts, 11, RULES, None), None);
    assert_eq!(at(&mut alerts, 30, RULES, None), None);
    assert_eq!(at(&mut alerts, 31, RULES, None).expect("clear for 20 s").state, AlertState::Cleared);
}

#[test]
fn a_lost_sensor_never_clears() {
    let mut alerts = Alerts::default();
    at(&mut alerts, 0, RULES, Some(Severity::Alert));
    at(&mut alerts, 10, RULES, Some(Severity::Alert));
    for second in 11..1000 {
        assert_eq!(
            alerts.judge(Monotonic(second * 1000), Stamp::default(), KEY, RULES, Condition::Unknown),
            None
        );
    }
    assert_eq!(alerts.active().len(), 1);
}

#[test]
fn an_old_acknowledge_is_ignored_and_a_step_up_sounds_again() {
    let mut alerts = Alerts::default();
    at(&mut alerts, 0, RULES, Some(Severity::Advice));
    at(&mut alerts, 10, RULES, Some(Severity::Advice));
    assert!(alerts.acknowledge(Stamp::default(), KEY, 1, "skipper").is_some());
    let up = at(&mut alerts, 12, RULES, Some(Severity::Alarm)).expect("severity rose");
    assert_eq!((up.state, up.occurrence, up.by), (AlertState::Raised, 2, None));
    assert_eq!(alerts.acknowledge(Stamp::default(), KEY, 1, "skipper"), None);
    let seen = alerts.acknowledge(Stamp::default(), KEY, 2, "skipper").expect("this occurrence");
    assert_eq!(seen.by.as_deref(), Some("skipper"));
    let down = at(&mut alerts, 13, RULES, Some(Severity::Advice)).expect("told");
    assert_eq!((down.state, down.occurrence), (AlertState::Acknowledged, 2));
}

#[test]
fn a_latched_alert_waits_for_a_person() {
    let rules = Rules { hold_ms: 0, clear_ms: 0, latched: true };
    let mut alerts = Alerts::default();
    at(&mut alerts, 0, rules, Some(Severity::Alarm));
    assert_eq!(at(&mut alerts, 1, rules, None).expect("condition gone").state, AlertState::Latched);
    assert_eq!(at(&mut alerts, 500, rules, None), None);
    assert_eq!(
        alerts.acknowledge(Stamp::default(), KEY, 1, "crew").expect("seen").state,
        AlertState::Cleared
    );
}

#[test]
fn a_restart_keeps_occurrence_and_acknowledge() {
    let mut before = Alerts::default();
    at(&mut before, 0, RULES, Some(Severity::Advice));
    at(&mut before, 10, RULES, Some(Severity::Advice));
    let seen = before.acknowledge(Stamp::default(), KEY, 1, "skipper").expect("seen");
    let mut after = Alerts::default();
    after.restore(vec![seen]);
    assert_eq!(at(&mut after, 1, RULES, Some(Severity::Advice)), None);
    assert_eq!(after.active()[0].0.state, AlertState::Acknowledged);
}

proptest! {
    /// Whatever happens, an alarm whose condition has held is never silently gone: it is active until the condition was false
    /// for the clear time.
    #[test]
    fn never_silent_while_the_condition_holds(steps in proptest::collection::vec((0u8..4, 1u64..30), 1..200)) {
        let mut alerts = Alerts::default();
        let (mut second, mut true_since, mut occurrence) = (0u64, None, 0);
        for (kind, wait) in steps {
            second += wait;
            match kind {
                0 | 1 => {
                    true_since.get_or_insert(second);
                    at(&mut alerts, second, RULES, Some(Severity::Alarm));
                    if true_since.is_some_and(|since| since + 10 <= second) {
                        prop_assert_eq!(alerts.active().len(), 1);
                    }
                }
                2 => {
                    true_since = None;
                    at(&mut alerts, second, RULES, None);
                }
                _ => {
                    let now = alerts.active().first().map_or(0, |(record, _)| record.occurrence);
                    prop_assert!(occurrence <= now || now == 0);
                    occurrence = now;
                    alerts.acknowledge(Stamp::default(), KEY, now, "crew");
                }
            }
        }
    }
}
