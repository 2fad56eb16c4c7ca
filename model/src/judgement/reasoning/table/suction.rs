//! Causes between the sea and the high-pressure pump. They come before the pump, and the pump before the membrane.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new(
        "inlet-blocked",
        Usual,
        Pace::Step,
        "owners: weed, fish, shells, a closed seacock, an hour after the hull was cleaned",
    )
    .effect(Effect::Delivery(&[-0.1, -0.3, -0.7]))
    .fits(&[
        (seen("inlet-only-dribbles"), Decisive),
        (seen("growth-in-inlet"), Strong),
        (lately(EventKind::HullCleaned), Strong),
        (is(Fact::InletLow), Strong),
        (is(Fact::NoConcentrate), Strong),
        (is(Fact::DeliveryDown), Weak),
        (is(Fact::ProductCollapsed), Weak),
        (seen("pump-sounds-normal"), Weak),
    ])
    .against(&[
        (seen("strainer-clean"), Strong),
        (is(Fact::InletFine), Decisive),
        (is(Fact::DeliveryFull), Decisive),
        (is(Fact::FilterDropHigh), Weak),
        (is(Fact::NoCurrent), Decisive),
        (is(Fact::OverLimit), Strong),
        (seen("hoses-jump"), Weak),
        (is(Fact::CurrentFarAbove), Decisive),
    ])
    .missed(&[(seen("inlet-only-dribbles"), Strong), (seen("growth-in-inlet"), Weak)])
    .needs(&[&[Q::ConcentrateFlow, Q::FeedFlow, Q::InletPressure]])
    .told_by(&[Look::Inspection])
    .act(&[act::STOP_BY_MANUAL, act::LOOK_AT_SUCTION]),
    Row::new("prefilter-loaded", Usual, Pace::Days, "US Army TM 10-4610-232-12: change at 20 psi")
        .fits(&[
            (is(Fact::FilterDropHigh), Decisive),
            (is(Fact::FilterDropRises), Strong),
            (is(Fact::InletLow), Weak),
            (is(Fact::ProductSinks), Weak),
        ])
        .against(&[
            (is(Fact::FilterDropSmall), Decisive),
            (is(Fact::FilterDropJumped), Strong),
            (lately(EventKind::FilterChanged), Strong),
        ])
        .missed(&[(is(Fact::FilterDropHigh), Strong)])
        .needs(&[&[Q::PrefilterDifferentialPressure, Q::PrefilterInletPressure]])
        .act(&[act::CHANGE_CARTRIDGE]),
    Row::new(
        "feed-pump-weak",
        Usual,
        Pace::Weeks,
        "crews of energy-recovery units: less water past the membrane, more salt",
    )
    .only(&[Only::EnergyRecovery])
    .effect(Effect::Delivery(&[-0.1, -0.2, -0.4, -0.7]))
    .fits(&[
        (is(Fact::DeliveryDown), Strong),
        (seen("salt-falls-with-speed"), Strong),
        (is(Fact::InletLow), Strong),
        (is(Fact::ProductCollapsed), Weak),
        (seen("strainer-clean"), Weak),
        (seen("electronics-trip"), Weak),
        (is(Fact::SaltUp), Weak),
    ])
    .against(&[
        (is(Fact::InletFine), Decisive),
        (is(Fact::DeliveryFull), Decisive),
        (seen("inlet-only-dribbles"), Strong),
        (seen("bubbles-in-clear-hose"), Strong),
        (is(Fact::DcLow), Strong),
        (is(Fact::NoPressure), Weak),
        (is(Fact::FilterDropHigh), Strong),
        (is(Fact::ShareBelowBuilt), Weak),
        (is(Fact::SpeedDown), Strong),
    ])
    .missed(&[(seen("salt-falls-with-speed"), Weak), (is(Fact::DeliveryDown), Strong)])
    .needs(&[&[Q::ConcentrateFlow, Q::FeedFlow, Q::InletPressure]])
    .act(&[act::LOOK_AT_SUCTION]),
    Row::new(
        "feed-pump-weak",
        Seldom,
        Pace::Weeks,
        "a plunger pump takes what it sweeps until its inlet starves; common practice",
    )
    .only(&[Only::BoostedPlunger])
    .effect(Effect::Delivery(&[-0.1, -0.2, -0.4, -0.7]))
    .fits(&[
        (is(Fact::DeliveryDown), Weak),
        (seen("salt-falls-with-speed"), Strong),
        (is(Fact::InletLow), Strong),
        (is(Fact::ProductCollapsed), Weak),
        (seen("strainer-clean"), Weak),
        (seen("electronics-trip"), Weak),
        (is(Fact::SaltUp), Weak),
    ])
    .against(&[
        (is(Fact::InletFine), Decisive),
        (is(Fact::DeliveryFull), Decisive),
        (seen("inlet-only-dribbles"), Strong),
        (seen("bubbles-in-clear-hose"), Strong),
        (is(Fact::DcLow), Strong),
        (is(Fact::NoPressure), Weak),
        (is(Fact::FilterDropHigh), Strong),
        (is(Fact::ShareBelowBuilt), Weak),
        (is(Fact::SpeedDown), Strong),
    ])
    .missed(&[(seen("salt-falls-with-speed"), Weak), (is(Fact::DeliveryDown), Strong)])
    .needs(&[&[Q::ConcentrateFlow, Q::FeedFlow, Q::InletPressure]])
    .act(&[act::LOOK_AT_SUCTION]),
    Row::new(
        "air-in-suction",
        Usual,
        Pace::Step,
        "workshop interview: a clear hose shows air; an inlet must stay under water on either tack",
    )
    .effect(Effect::Anything)
    .fits(&[
        (seen("bubbles-in-clear-hose"), Decisive),
        (is(Fact::PressureHunts), Strong),
        (seen("concentrate-spits"), Strong),
        (seen("worse-when-heeled"), Strong),
        (seen("gauge-swings"), Weak),
        (is(Fact::InletLow), Weak),
        (lately(EventKind::FilterChanged), Weak),
    ])
    .against(&[
        (is(Fact::PressureTooLowForProduct), Strong),
        (seen("hoses-jump"), Weak),
        (is(Fact::DeliveryDownByCylinder), Weak),
        (is(Fact::PressureFades), Weak),
    ])
    .missed(&[
        (seen("bubbles-in-clear-hose"), Strong),
        (is(Fact::PressureHunts), Weak),
        (seen("gauge-swings"), Weak),
    ])
    .act(&[act::LOOK_FOR_AIR]),
    Row::new(
        "air-lock",
        Usual,
        Pace::Step,
        "common practice: housings opened and not filled; packings run dry in seconds",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::NoPressure), Strong),
        (is(Fact::NoConcentrate), Strong),
        (is(Fact::CurrentIdling), Strong),
        (is(Fact::HousingsOpened), Strong),
        (seen("pump-loud"), Weak),
        (is(Fact::LaidUp), Weak),
    ])
    .against(&[
        (seen("inlet-only-dribbles"), Strong),
        (seen("growth-in-inlet"), Strong),
        (seen("pump-sounds-normal"), Weak),
        (is(Fact::CurrentFarAbove), Decisive),
        (is(Fact::NoCurrent), Decisive),
        (seen("pump-silent"), Decisive),
        (seen("nothing-starts"), Decisive),
        (is(Fact::FeedFresh), Decisive),
        (is(Fact::CollapsedFromLimit), Strong),
    ])
    .missed(&[(is(Fact::NoConcentrate), Decisive)])
    .needs(&[
        &[Q::ConcentrateFlow, Q::FeedFlow, Q::SupplyCurrent],
        &[Q::FeedPressure, Q::ConcentratePressure],
    ])
    .act(&[act::STOP_BY_MANUAL, act::BLEED_HOUSINGS]),
    Row::new(
        "low-side-shut",
        Seldom,
        Pace::Step,
        "owner's report: a plastic housing downstream of a pump with its outlet shut",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::LowSideHigh), Decisive), (seen("housing-burst"), Strong)])
    .missed(&[(is(Fact::LowSideHigh), Strong)])
    .needs(&[&[Q::InletPressure, Q::PrefilterInletPressure, Q::LowSidePressure]])
    .act(&[act::STOP_BY_MANUAL, act::OPEN_LOW_SIDE]),
    Row::new(
        "flush-valve-leaking",
        Seldom,
        Pace::Any,
        "unit model: tank water in the feed makes more and better product while the tank gains less",
    )
    .effect(Effect::Absolute(Input::Salinity, &[0.0, 1.0, 2.0, 4.0]))
    .fits(&[
        (is(Fact::TankGainsLess), Strong),
        (seen("house-pump-cycles"), Strong),
        (is(Fact::TankFallsWhileOff), Strong),
        (seen("nobody-draws-water"), Weak),
    ])
    .missed(&[(is(Fact::TankGainsLess), Strong), (seen("house-pump-cycles"), Weak)])
    .told_of(&[is(Fact::TankGainsLess), seen("house-pump-cycles"), is(Fact::TankFallsWhileOff)])
    .needs(&[&[Q::TankLevel], &[Q::ProductFlow]])
    .told_by(&[Look::Inspection])
    .act(&[act::CLOSE_FLUSH_BRANCH]),
];
