//! Causes of the group "normal here": the unit is sound, or does what it should do in this moment.

use super::*;

/// A sound unit does none of this.
pub(super) const AGAINST_SOUND: &[(Sign, Grade)] = &[
    (is(Fact::NoPressure), Decisive),
    (is(Fact::NoConcentrate), Decisive),
    (is(Fact::NoProduct), Decisive),
    (is(Fact::Collapsed), Decisive),
    (is(Fact::CollapsedFromLimit), Decisive),
    (is(Fact::PressureFades), Strong),
    (is(Fact::PressureHunts), Strong),
    (is(Fact::PressureBelowSet), Strong),
    (is(Fact::PressureAboveSet), Strong),
    (is(Fact::ValveWider), Strong),
    (is(Fact::DeliveryDown), Strong),
    (is(Fact::ShareBelowBuilt), Strong),
    (is(Fact::ProductCollapsed), Strong),
    (is(Fact::OutputDrifts), Strong),
    (is(Fact::SaltStep), Strong),
    (is(Fact::TankGainsLess), Strong),
    (is(Fact::GallonFactor), Strong),
    (is(Fact::WaterMissing), Strong),
    (is(Fact::FrequencyOff), Strong),
    (is(Fact::SpeedDown), Strong),
    (is(Fact::DcLow), Weak),
    (is(Fact::AcLow), Strong),
    (is(Fact::MoreCurrentForWork), Weak),
    (is(Fact::VesselDropUp), Strong),
    (is(Fact::ProductLinePressure), Strong),
    (is(Fact::SideBySide), Weak),
    (is(Fact::SendersDiffer), Weak),
];

/// Nobody can call a unit sound without these.
pub(super) const SOUND: &[&[Q]] =
    &[&[Q::ProductFlow], &[Q::FeedPressure, Q::ConcentratePressure], &[Q::FeedTemperature]];

pub(super) const ROWS: &[Row] = &[
    Row::new("nothing-changed", Sound, Pace::Any, "most doubts end here; common practice")
        .fits(&[(is(Fact::ProductAsUsual), Weak)])
        .against(AGAINST_SOUND)
        .needs(SOUND)
        .family(Family::Sound),
    Row::new(
        "new-element-settling",
        Usual,
        Pace::Days,
        "compaction in the first days; general membrane guides",
    )
    .effect(Effect::Membrane(1.0, 1.0, &[-0.05, 0.04, 0.08, 0.13]))
    .fits(&[(is(Fact::NewElement), Strong), (lately(EventKind::ElementReplaced), Weak)])
    .against(AGAINST_SOUND)
    .missed(&[(is(Fact::NewElement), Strong)])
    .told_of(&[is(Fact::NewElement)])
    .needs(SOUND)
    .family(Family::Sound)
    .act(&[act::LET_IT_SETTLE]),
    Row::new(
        "just-cleaned",
        Usual,
        Pace::Step,
        "alkaline cleaning opens the membrane for hours; common practice",
    )
    .effect(Effect::Membrane(0.3, 1.0, &[-0.02, 0.05, 0.12, 0.2]))
    .fits(&[(is(Fact::RoseAfterCleaning), Strong), (lately(EventKind::Cleaned), Weak)])
    .against(AGAINST_SOUND)
    .missed(&[(lately(EventKind::Cleaned), Strong)])
    .told_of(&[lately(EventKind::Cleaned)])
    .needs(SOUND)
    .family(Family::Sound)
    .act(&[act::NOTE_CLEANING]),
    Row::new(
        "starting",
        Common,
        Pace::Any,
        "salt creeps through a resting membrane; public glossaries of the trade",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::SaltFallsInRun), Strong),
        (is(Fact::FirstMinutes), Weak),
        (is(Fact::SaltOverLimit), Weak),
    ])
    .against(&[
        (is(Fact::NoPressure), Decisive),
        (is(Fact::NoConcentrate), Decisive),
        (is(Fact::NoProduct), Strong),
        (is(Fact::ProductLinePressure), Decisive),
        (is(Fact::PressureFades), Strong),
        (is(Fact::SaltStep), Weak),
        (is(Fact::RestedInPreservative), Weak),
    ])
    .missed(&[(is(Fact::FirstMinutes), Decisive)])
    .act(&[act::WAIT_FIRST_MINUTES, act::DIVERT_PRODUCT]),
    Row::new("flushing", Common, Pace::Any, "common practice; the states of NMEA 2000 PGN 130567")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::FeedFresh), Strong),
            (is(Fact::TankGivesWater), Strong),
            (is(Fact::NoPressure), Weak),
        ])
        .against(&[
            (is(Fact::NoConcentrate), Strong),
            (seen("pump-loud"), Weak),
            (is(Fact::CurrentFarAbove), Decisive),
        ])
        .missed(&[(is(Fact::FeedFresh), Strong), (is(Fact::TankGivesWater), Weak)])
        .act(&[act::LOG_FLUSH]),
    Row::new(
        "preservative-rinse",
        Usual,
        Pace::Any,
        "common practice: run and discard for half an hour or more",
    )
    .effect(Effect::Anything)
    .fits(&[
        (seen("taste-of-preservative"), Strong),
        (is(Fact::RestedInPreservative), Strong),
        (is(Fact::LaidUp), Weak),
    ])
    .against(&[
        (is(Fact::NoPressure), Decisive),
        (is(Fact::NoProduct), Decisive),
        (is(Fact::NoConcentrate), Decisive),
        (is(Fact::ProductLinePressure), Decisive),
        (is(Fact::OnAndNothing), Decisive),
        (is(Fact::NoCurrent), Decisive),
    ])
    .act(&[act::RINSE_BY_TIMER, act::DIVERT_PRODUCT]),
];
