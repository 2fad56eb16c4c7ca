//! Causes in valves, hoses and fittings of feed and concentrate.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new(
        "valve-moved",
        Common,
        Pace::Step,
        "unit model: a step of p over the square of the flow at full delivery",
    )
    .only(&[Only::ValveMakesPressure])
    .fits(&[
        (is(Fact::ValveWider), Strong),
        (is(Fact::ValveNarrower), Strong),
        (is(Fact::PressureBelowSet), Strong),
        (seen("valve-touched"), Strong),
        (lately(EventKind::ValveTurned), Strong),
        (is(Fact::DeliveryFull), Weak),
    ])
    .against(&[
        (is(Fact::DeliveryDown), Strong),
        (is(Fact::ValveMuchWider), Weak),
        (is(Fact::NoPressure), Strong),
        (is(Fact::PressureHunts), Weak),
        (is(Fact::InletLow), Strong),
        (is(Fact::SpeedDown), Strong),
        (is(Fact::FrequencyOff), Strong),
        (is(Fact::DcLow), Weak),
        (is(Fact::AcLow), Weak),
        (is(Fact::NoConcentrate), Strong),
    ])
    .missed(&[(is(Fact::ValveWider), Strong), (seen("valve-touched"), Weak)])
    .needs(&[FLOW, &[Q::FeedPressure, Q::ConcentratePressure]])
    .act(&[act::SET_VALVE_BY_MANUAL]),
    Row::new(
        "bypass-open",
        Usual,
        Pace::Step,
        "common practice: opened for the start and not closed fully; jugs add up",
    )
    .only(&[Only::ValveMakesPressure])
    .fits(&[
        (seen("bypass-not-shut"), Decisive),
        (is(Fact::ValveWider), Strong),
        (is(Fact::PressureBelowSet), Strong),
        (is(Fact::ValveMuchWider), Weak),
        (is(Fact::DeliveryFull), Weak),
    ])
    .against(&[
        (is(Fact::DeliveryDown), Strong),
        (is(Fact::InletLow), Strong),
        (is(Fact::SpeedDown), Strong),
        (is(Fact::FrequencyOff), Strong),
        (is(Fact::DcLow), Weak),
        (is(Fact::NoConcentrate), Strong),
        (seen("valve-touched"), Weak),
        (lately(EventKind::ValveTurned), Weak),
    ])
    .missed(&[
        (is(Fact::ValveWider), Strong),
        (is(Fact::ValveMuchWider), Weak),
        (seen("bypass-not-shut"), Decisive),
    ])
    .needs(ONLY_IF_SEEN)
    .told_by(&[Look::Inspection])
    .act(&[act::CLOSE_BYPASS]),
    Row::new(
        "relief-passing",
        Seldom,
        Pace::Any,
        "common practice: the relief's own hose runs and is warm; unit model",
    )
    .only(&[Only::ValveMakesPressure])
    .effect(Effect::Delivery(&[-0.06, -0.1, -0.2]))
    .fits(&[
        (seen("relief-hose-runs"), Decisive),
        (seen("relief-hose-warm"), Strong),
        (is(Fact::DeliveryDown), Strong),
        (is(Fact::CurrentFitsPressure), Weak),
    ])
    .against(&[
        (is(Fact::DeliveryFull), Decisive),
        // What the relief lets go has passed the meter.
        (is(Fact::FeedMeterDown), Strong),
        (seen("drip-at-packings"), Weak),
        (is(Fact::SpeedDown), Weak),
    ])
    .missed(&[(seen("relief-hose-runs"), Decisive), (is(Fact::DeliveryDown), Strong)])
    .needs(&[FLOW])
    .told_by(&[Look::Inspection])
    .act(&[act::RELIEF_BY_SERVICE]),
    Row::new(
        "relief-lifted",
        Usual,
        Pace::Step,
        "US Army TM 10-4610-241-10: sudden loss of pressure from above the limit",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::CollapsedFromLimit), Decisive),
        (seen("relief-hose-runs"), Weak),
        (is(Fact::Collapsed), Weak),
    ])
    .missed(&[(is(Fact::CollapsedFromLimit), Decisive)])
    .needs(&[&[Q::FeedPressure, Q::ConcentratePressure]])
    .family(Family::ConcentrateOut)
    .act(&[act::STOP_BY_MANUAL, act::FIND_REASON_FOR_PRESSURE]),
    Row::new("concentrate-blocked", Usual, Pace::Step, "US Army TM 10-4610-241-10; common practice")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::OverLimit), Strong),
            (is(Fact::NoConcentrate), Strong),
            (is(Fact::CollapsedFromLimit), Strong),
            (is(Fact::ValveNarrower), Strong),
        ])
        .against(&[
            (is(Fact::NoPressure), Strong),
            (is(Fact::PressureBelowSet), Strong),
            (is(Fact::ConcentrateIsFeed), Decisive),
            (is(Fact::FeedFresh), Strong),
        ])
        .family(Family::ConcentrateOut)
        .act(&[act::STOP_BY_MANUAL, act::FIND_REASON_FOR_PRESSURE]),
    Row::new(
        "high-pressure-leak",
        Usual,
        Pace::Step,
        "owner's report: a hole in an end fitting; crevice corrosion by a yard's page",
    )
    .effect(Effect::Delivery(&[-0.06, -0.1, -0.2]))
    .fits(&[
        (seen("jet-or-mist"), Decisive),
        (is(Fact::WaterMissing), Strong),
        (seen("bilge-pump-cycles"), Weak),
        (is(Fact::BilgeRuns), Weak),
        (seen("leak-outside"), Weak),
    ])
    .against(&[(seen("connector-broke"), Strong), (is(Fact::DeliveryFull), Strong)])
    .missed(&[
        (seen("jet-or-mist"), Strong),
        (is(Fact::WaterMissing), Strong),
        (seen("leak-outside"), Strong),
    ])
    .told_of(&[
        seen("jet-or-mist"),
        seen("leak-outside"),
        seen("bilge-pump-cycles"),
        is(Fact::BilgeRuns),
        is(Fact::WaterMissing),
    ])
    .needs(&[FLOW])
    .act(&[act::STOP_BY_MANUAL, act::WAIT_FOR_NO_PRESSURE]),
    Row::new("low-pressure-leak", Usual, Pace::Step, "owner's report: push-in connectors come off")
        .effect(Effect::Anything)
        .fits(&[
            (seen("connector-broke"), Decisive),
            (is(Fact::BilgeRuns), Strong),
            (seen("bilge-pump-cycles"), Weak),
            (seen("leak-outside"), Weak),
        ])
        .against(&[(seen("jet-or-mist"), Decisive), (is(Fact::WaterMissing), Weak)])
        .missed(&[(seen("connector-broke"), Weak), (seen("leak-outside"), Weak)])
        .act(&[act::STOP_BY_MANUAL, act::LOOK_AT_HOSES]),
];
