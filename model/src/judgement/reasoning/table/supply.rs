//! Causes in supply, switch, motor, belt and engine.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new("supply-dc-low", Usual, Pace::Step, "a direct-current motor's speed follows its volts")
        .only(&[Only::DirectCurrent])
        .effect(Effect::Slower(&[-0.05, -0.1, -0.15]))
        .fits(&[
            (is(Fact::DcLow), Strong),
            (is(Fact::FlowFollowsVolts), Strong),
            (is(Fact::PressureFades), Weak),
            (is(Fact::ProductSinks), Weak),
            (seen("nothing-starts"), Weak),
            (seen("electronics-trip"), Weak),
        ])
        .against(&[(is(Fact::SupplyThere), Decisive)])
        .missed(&[(is(Fact::DcLow), Strong)])
        .needs(&[&[Q::SupplyVoltage]])
        .act(&[act::MEASURE_VOLTS_UNDER_LOAD]),
    Row::new(
        "supply-ac-low",
        Usual,
        Pace::Step,
        "an induction motor at held torque draws more on low volts; general motor rule",
    )
    .only(&[Only::AlternatingCurrent])
    .fits(&[
        (is(Fact::AcLow), Decisive),
        (is(Fact::MoreCurrentForWork), Strong),
        (seen("motor-hot"), Weak),
        (seen("starts-badly"), Weak),
    ])
    .against(&[(is(Fact::SupplyThere), Decisive)])
    .needs(&[&[Q::SupplyVoltage]])
    .act(&[act::STOP_BY_MANUAL, act::QUALIFIED_ELECTRICIAN]),
    Row::new("frequency-off", Seldom, Pace::Step, "a motor on the mains turns with it")
        .only(&[Only::OnMains])
        .effect(Effect::Slower(&[-0.06, -0.18, 0.18]))
        .fits(&[(is(Fact::FrequencyOff), Decisive), (is(Fact::SpeedDown), Strong)])
        .missed(&[(is(Fact::FrequencyOff), Decisive)])
        .needs(&[&[Q::SupplyFrequency]])
        .family(Family::Slow)
        .act(&[act::STOP_BY_MANUAL, act::QUALIFIED_ELECTRICIAN]),
    Row::new("speed-low", Seldom, Pace::Step, "governor, engine or inverter; unit model")
        .effect(Effect::Slower(&[-0.05, -0.1, -0.2]))
        .fits(&[(is(Fact::SpeedDown), Strong), (seen("engine-slows-under-load"), Weak)])
        .against(&[
            (is(Fact::SpeedAsAlways), Decisive),
            (is(Fact::PumpBehindEngine), Strong),
            (seen("engine-free-without-load"), Strong),
            // It fell within the run: the load grew, nobody set it.
            (is(Fact::EngineSlowsInRun), Strong),
        ])
        .missed(&[(is(Fact::SpeedDown), Strong)])
        .needs(&[&[Q::PumpSpeed, Q::EngineSpeed, Q::SupplyFrequency]])
        .family(Family::Slow),
    Row::new(
        "belt-slip",
        Usual,
        Pace::Step,
        "the pump behind its motor, heat, squeal and dust; common practice, unit model",
    )
    .only(&[Only::Belt])
    .effect(Effect::Slower(&[-0.05, -0.1, -0.15]))
    .fits(&[
        (is(Fact::PumpBehindEngine), Decisive),
        (seen("belt-squeals"), Strong),
        (seen("better-when-cold"), Weak),
        (is(Fact::PressureBelowSet), Weak),
    ])
    .against(&[(is(Fact::DeliveryFull), Decisive), (is(Fact::SpeedAsAlways), Strong)])
    .missed(&[(is(Fact::PumpBehindEngine), Strong), (seen("belt-squeals"), Weak)])
    .needs(&[&[Q::PumpSpeed, Q::ConcentrateFlow, Q::FeedFlow]])
    .act(&[act::LOOK_AT_BELT]),
    Row::new("control-signal-lost", Usual, Pace::Step, "owners after a winter: a splice, a switch, a float")
        .only(&[Only::Electric])
        .effect(Effect::Anything)
        .fits(&[
            (seen("nothing-starts"), Strong),
            (is(Fact::SupplyThere), Weak),
            (is(Fact::OnAndNothing), Weak),
            (is(Fact::LaidUp), Weak),
        ])
        .against(&[
            (seen("runs-after-knock"), Strong),
            (is(Fact::CurrentFarAbove), Decisive),
            (is(Fact::DcLow), Strong),
        ])
        .missed(&[(seen("nothing-starts"), Strong)])
        .needs(&[&[Q::SupplyVoltage]])
        .act(&[act::QUALIFIED_ELECTRICIAN]),
    Row::new("motor-open-circuit", Usual, Pace::Step, "owners after a rest: brush or thermal switch stuck")
        .only(&[Only::Electric])
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::NoCurrent), Strong),
            (seen("pump-silent"), Strong),
            (seen("runs-after-knock"), Strong),
            (is(Fact::SupplyThere), Weak),
            (is(Fact::LaidUp), Weak),
            (seen("nothing-starts"), Weak),
        ])
        .missed(&[(is(Fact::NoCurrent), Decisive)])
        .needs(&[&[Q::SupplyCurrent, Q::SupplyPower]])
        .act(&[act::QUALIFIED_ELECTRICIAN]),
    Row::new(
        "motor-stalled",
        Usual,
        Pace::Step,
        "an owners' mail list: capacitor and windings; locked rotors take four to eight times the current",
    )
    .only(&[Only::Electric])
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::CurrentFarAbove), Decisive),
        (is(Fact::NoPressure), Weak),
        (seen("burnt-smell"), Strong),
        (seen("breaker-trips"), Weak),
        (seen("starts-badly"), Weak),
    ])
    .missed(&[(is(Fact::CurrentFarAbove), Decisive)])
    .needs(&[&[Q::SupplyCurrent, Q::SupplyPower]])
    .act(&[act::STOP_BY_MANUAL, act::QUALIFIED_ELECTRICIAN]),
    Row::new(
        "motor-overheating",
        Usual,
        Pace::Weeks,
        "owners: the pressure fades some minutes into each run",
    )
    .only(&[Only::Electric])
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::PressureFades), Strong),
        (seen("breaker-trips"), Strong),
        (seen("motor-hot"), Strong),
        (seen("better-when-cold"), Weak),
        (seen("burnt-smell"), Weak),
        (seen("electronics-trip"), Weak),
    ])
    .against(&[(is(Fact::AcLow), Strong), (is(Fact::DcLow), Weak), (seen("salt-falls-with-speed"), Weak)])
    .needs(&[&[Q::SupplyCurrent, Q::SupplyPower], &[Q::SupplyVoltage]])
    .told_by(&[Look::Inspection])
    .act(&[act::STOP_BY_MANUAL, act::QUALIFIED_ELECTRICIAN]),
    Row::new("drive-seizing", Seldom, Pace::Step, "owners: the load grows within a run at the same pressure")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::EngineSlowsInRun), Strong),
            (seen("engine-slows-under-load"), Strong),
            (seen("engine-free-without-load"), Strong),
            (is(Fact::MoreCurrentForWork), Strong),
            (seen("pump-loud"), Weak),
        ])
        .against(&[(is(Fact::AcLow), Decisive), (is(Fact::NoCurrent), Decisive)])
        .needs(&[&[Q::PumpSpeed, Q::SupplyCurrent, Q::SupplyPower]])
        .told_by(&[Look::Inspection])
        .act(&[act::STOP_BY_MANUAL, act::TURN_BY_HAND_LATER]),
];
