//! Causes between the elements and the tank, and in the tank.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new(
        "product-shut",
        Usual,
        Pace::Step,
        "membrane autopsies: 5 psi with the feed off lifts the membrane",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::ProductLinePressure), Decisive),
        (is(Fact::NoProduct), Strong),
        (is(Fact::TankFull), Strong),
        (is(Fact::ConcentrateIsFeed), Weak),
    ])
    .against(&[(is(Fact::NoPressure), Strong)])
    .missed(&[(is(Fact::ProductLinePressure), Decisive), (is(Fact::NoProduct), Weak)])
    .family(Family::ProductOut)
    .act(&[act::OPEN_PRODUCT_OUTLET, act::STOP_AFTERWARDS]),
    Row::new(
        "product-check-valve-shut",
        Seldom,
        Pace::Step,
        "common practice: stuck with scale or dried preservative after a lay-up",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::ProductLinePressure), Strong),
        (is(Fact::NoProduct), Strong),
        (is(Fact::LaidUp), Strong),
        (is(Fact::ConcentrateIsFeed), Strong),
    ])
    .against(&[(is(Fact::TankFull), Strong), (is(Fact::NoPressure), Decisive)])
    .missed(&[(is(Fact::ProductLinePressure), Decisive), (is(Fact::NoProduct), Strong)])
    .family(Family::ProductOut)
    .act(&[act::OPEN_PRODUCT_OUTLET, act::STOP_AFTERWARDS]),
    Row::new(
        "product-check-valve-leaking",
        Seldom,
        Pace::Any,
        "common practice: the tank loses litres after each stop",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::TankFallsWhileOff), Strong), (seen("nobody-draws-water"), Weak)])
    .missed(&[(is(Fact::TankFallsWhileOff), Decisive)])
    .needs(ONLY_IF_SEEN)
    .told_by(&[Look::Inspection])
    .act(&[act::CLOSE_FLUSH_BRANCH]),
    // A heading more than a cause: which way is open is not known by it.
    Row::new("tank-loss", Usual, Pace::Any, "owner's report: empty overnight with nobody awake")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::TankFallsWhileOff), Strong),
            (seen("nobody-draws-water"), Weak),
            (seen("house-pump-cycles"), Weak),
            (is(Fact::TankGainsLess), Weak),
        ])
        .missed(&[(is(Fact::TankFallsWhileOff), Strong)])
        .needs(ONLY_IF_SEEN)
        .told_by(&[Look::Inspection, Look::Read(Q::TankLevel)])
        .act(&[act::CLOSE_FLUSH_BRANCH]),
];
