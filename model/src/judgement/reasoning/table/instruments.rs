//! Causes in instruments, units of measure and the network. An instrument is decided only by a second one, or by a value that cannot be.

use super::*;

const fn sensor(code: &'static str, source: &'static str) -> Row {
    Row::new(code, Usual, Pace::Any, source).needs(ONLY_IF_SEEN).act(&[act::COMPARE_HAND_INSTRUMENT])
}

const fn rare_sensor(code: &'static str, fits: &'static [(Sign, Grade)]) -> Row {
    Row::new(code, Seldom, Pace::Any, "government logs: 'or the gauge may be defective'; common practice")
        .effect(Effect::Anything)
        .fits(fits)
        .needs(ONLY_IF_SEEN)
        .act(&[act::COMPARE_HAND_INSTRUMENT])
}

pub(super) const ROWS: &[Row] = &[
    sensor("pressure-reading", "a gauge's error moves A25 only; unit model")
        .effect(Effect::Absolute(Input::Pressure, &[-3.0, -1.5, 1.5, 3.0]))
        .fits(&[
            (Sign::Differs(Q::FeedPressure), Decisive),
            (Sign::Impossible(Q::FeedPressure), Decisive),
            (is(Fact::PressureWhileOff), Decisive),
            (is(Fact::PressureTooLowForProduct), Weak),
            (is(Fact::PressureBelowSet), Weak),
        ])
        .against(&[(is(Fact::PsiBarFactor), Strong)])
        .missed(&[(Sign::Differs(Q::FeedPressure), Decisive)]),
    sensor("temperature-reading", "a temperature's error moves A25 and B25 the same way; unit model")
        .effect(Effect::Absolute(Input::Temperature, &[-4.0, -2.0, 2.0, 4.0]))
        .fits(&[
            (Sign::Differs(Q::FeedTemperature), Decisive),
            (Sign::Impossible(Q::FeedTemperature), Decisive),
            (seen("sun-on-hull"), Strong),
            (seen("normal-under-way"), Strong),
        ])
        .against(&[(is(Fact::FahrenheitShift), Strong)])
        .missed(&[(Sign::Differs(Q::FeedTemperature), Decisive)]),
    sensor("product-flow-reading", "owners of home-built units; unit model")
        .effect(Effect::Share(Input::ProductFlow, &[-0.15, -0.07, 0.07, 0.15]))
        .fits(&[
            (Sign::Differs(Q::ProductFlow), Decisive),
            (Sign::Impossible(Q::ProductFlow), Decisive),
            (is(Fact::FlowWhileOff), Decisive),
            (seen("ball-does-not-move"), Decisive),
            (is(Fact::TankGainsLess), Weak),
        ])
        .against(&[(is(Fact::GallonFactor), Strong)])
        .missed(&[(Sign::Differs(Q::ProductFlow), Decisive), (is(Fact::TankGainsLess), Weak)])
        .family(Family::DeadValue),
    sensor(
        "product-salinity-reading",
        "cells are dirty, dry or broken more often than membranes; owners' reports",
    )
    .effect(Effect::Share(Input::ProductSalinity, &[-0.3, -0.15, 0.15, 0.3]))
    .fits(&[
        (Sign::Differs(Q::ProductConductivity), Decisive),
        (Sign::Impossible(Q::ProductConductivity), Decisive),
        (seen("probe-fault-reported"), Decisive),
        (seen("probe-in-air"), Decisive),
        (is(Fact::SaltStep), Weak),
        (lately(EventKind::InstrumentReplaced), Weak),
    ])
    .against(&[
        (seen("jumps-with-other-instrument"), Strong),
        (is(Fact::PpmScales), Strong),
        (seen("taste-salty"), Weak),
    ])
    .missed(&[(Sign::Differs(Q::ProductConductivity), Decisive)])
    .family(Family::ProductMeter)
    .told_by(&[Look::Second(Q::ProductConductivity)])
    .act(&[act::CHECK_HAND_METER, act::DIVERT_PRODUCT]),
    Row::new("product-salinity-not-measured", Usual, Pace::Any, "owners' reports: taste is no measure")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::SaltNotMeasured), Strong)])
        .needs(&[SALT])
        .family(Family::ProductMeter)
        .told_by(&[Look::Read(Q::ProductConductivity), Look::Second(Q::ProductConductivity)])
        .act(&[act::CHECK_HAND_METER]),
    rare_sensor(
        "feed-flow-reading",
        &[
            (Sign::Differs(Q::FeedFlow), Decisive),
            (Sign::Impossible(Q::FeedFlow), Decisive),
            (is(Fact::FlowsDoNotFit), Weak),
        ],
    )
    .effect(Effect::Share(Input::FeedFlow, &[-0.15, -0.07, 0.07, 0.15])),
    rare_sensor(
        "concentrate-flow-reading",
        &[(Sign::Differs(Q::ConcentrateFlow), Decisive), (Sign::Impossible(Q::ConcentrateFlow), Decisive)],
    ),
    rare_sensor(
        "feed-salinity-reading",
        &[(Sign::Differs(Q::FeedSalinity), Decisive), (Sign::Impossible(Q::FeedSalinity), Decisive)],
    ),
    rare_sensor(
        "inlet-pressure-reading",
        &[(Sign::Differs(Q::InletPressure), Decisive), (Sign::Impossible(Q::InletPressure), Decisive)],
    ),
    rare_sensor(
        "filter-drop-reading",
        &[
            (Sign::Differs(Q::PrefilterDifferentialPressure), Decisive),
            (Sign::Impossible(Q::PrefilterDifferentialPressure), Decisive),
            (is(Fact::FilterDropJumped), Strong),
        ],
    ),
    rare_sensor(
        "supply-reading",
        &[
            (Sign::Differs(Q::SupplyVoltage), Decisive),
            (Sign::Differs(Q::SupplyCurrent), Decisive),
            (Sign::Impossible(Q::SupplyVoltage), Decisive),
            (Sign::Impossible(Q::SupplyCurrent), Decisive),
        ],
    ),
    rare_sensor(
        "speed-reading",
        &[
            (Sign::Differs(Q::PumpSpeed), Decisive),
            (Sign::Differs(Q::EngineSpeed), Decisive),
            (Sign::Impossible(Q::PumpSpeed), Decisive),
            (Sign::Impossible(Q::EngineSpeed), Decisive),
        ],
    ),
    rare_sensor(
        "tank-level-reading",
        &[
            (Sign::Differs(Q::TankLevel), Decisive),
            (Sign::Impossible(Q::TankLevel), Decisive),
            (is(Fact::TankGainsLess), Weak),
        ],
    ),
    Row::new("probe-crosstalk", Usual, Pace::Any, "threads of open-source pool monitors")
        .effect(Effect::Anything)
        .fits(&[
            (seen("jumps-with-other-instrument"), Decisive),
            (Sign::Differs(Q::ProductConductivity), Weak),
        ])
        .missed(&[(seen("jumps-with-other-instrument"), Strong)])
        .act(&[act::CHECK_HAND_METER]),
    Row::new("unit-psi-bar", Usual, Pace::Any, "owners' letters; NIST SP 811 for the factor")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::PsiBarFactor), Decisive), (Sign::Impossible(Q::FeedPressure), Weak)])
        .missed(&[(is(Fact::PsiBarFactor), Decisive)])
        .needs(ONLY_IF_SEEN)
        .told_by(&[Look::Second(Q::FeedPressure)])
        .act(&[act::READ_WHAT_IS_PRINTED]),
    Row::new("unit-gallon-litre", Usual, Pace::Any, "NIST SP 811 for the factors")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::GallonFactor), Decisive)])
        .missed(&[(is(Fact::GallonFactor), Decisive)])
        .act(&[act::READ_WHAT_IS_PRINTED]),
    Row::new("unit-ppm-scale", Usual, Pace::Any, "conversion table of a meter handbook: 0.50 and 0.71")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::PpmScales), Decisive)])
        .act(&[act::READ_WHAT_IS_PRINTED]),
    Row::new("unit-celsius-fahrenheit", Usual, Pace::Any, "NIST SP 811 for the conversion")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::FahrenheitShift), Decisive),
            (Sign::Differs(Q::FeedTemperature), Strong),
            (Sign::Impossible(Q::FeedTemperature), Strong),
        ])
        .missed(&[(is(Fact::FahrenheitShift), Decisive)])
        .act(&[act::READ_WHAT_IS_PRINTED]),
    Row::new(
        "gauge-place-unknown",
        Usual,
        Pace::Any,
        "energy-recovery units carry their gauge on the feed side; common practice",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::PressureTooLowForProduct), Strong), (is(Fact::PsiBarFactor), Weak)])
    .needs(ONLY_IF_SEEN)
    .told_by(&[Look::Second(Q::FeedPressure), Look::Inspection])
    .act(&[act::READ_WHAT_IS_PRINTED]),
    Row::new("two-senders", Usual, Pace::Any, "threads of open-source dashboards and servers")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::SendersDiffer), Decisive)])
        .against(&[(is(Fact::SendersRunAndStop), Decisive)])
        .act(&[act::NAME_RIGHT_SENDER]),
    Row::new(
        "two-units",
        Seldom,
        Pace::Any,
        "US Army TM 55-1925-273-10-1: a vessel with two units; the message has no instance",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::SendersRunAndStop), Decisive), (is(Fact::SendersDiffer), Weak)])
    .act(&[act::NAME_RIGHT_SENDER]),
    Row::new(
        "reading-stale",
        Usual,
        Pace::Any,
        "a dashboard's thread: the display holds on to a sender that has gone",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::SenderGone), Decisive)])
    .act(&[act::NAME_RIGHT_SENDER]),
    Row::new("reading-stuck", Usual, Pace::Any, "constant to the last digit; common practice")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::Stuck), Decisive),
            (is(Fact::FlowWhileOff), Weak),
            (seen("ball-does-not-move"), Weak),
        ])
        .family(Family::DeadValue)
        .act(&[act::COMPARE_HAND_INSTRUMENT]),
];
