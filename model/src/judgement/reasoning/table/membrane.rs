//! Causes in elements and their vessels. What takes output is never the membrane's alone without a measured feed or concentrate flow.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new(
        "membrane-fouled",
        Usual,
        Pace::Weeks,
        "US Army TM 10-4610-309-14: clean at a loss of 10 %; Desalination and Water Treatment 10 (2009) 108",
    )
    .effect(Effect::Membrane(-1.0, 0.05, &[0.08, 0.15, 0.25, 0.4]))
    .fits(&[(is(Fact::OutputDrifts), Weak), (is(Fact::VesselDropUp), Strong), (is(Fact::ProductSinks), Weak)])
    .against(&[(lately(EventKind::Cleaned), Weak), (is(Fact::VesselDropDown), Weak)])
    .needs(&[FLOW])
    .needs_baseline(),
    Row::new(
        "membrane-scaled",
        Seldom,
        Pace::Weeks,
        "US Army TM 10-4610-309-14: output and rejection down together",
    )
    .effect(Effect::Membrane(-1.0, 1.8, &[0.08, 0.15, 0.25, 0.4]))
    .fits(&[(is(Fact::LastElementSaltier), Strong), (is(Fact::OutputDrifts), Weak)])
    .against(&[(is(Fact::OneElementSaltier), Weak)])
    .needs(&[FLOW])
    .needs_baseline()
    .told_by(&[Look::ByElement]),
    Row::new("membrane-oxidised", Seldom, Pace::Days, "Glater 1983 on halogens; US Army TM 10-4610-240-10")
        .effect(Effect::Membrane(0.2, 1.0, &[0.3, 0.6, 1.0, 1.5]))
        .fits(&[
            (is(Fact::ShoreWater), Strong),
            (is(Fact::TankChlorinated), Strong),
            (is(Fact::CarbonOld), Weak),
            (is(Fact::ElementsAlike), Weak),
        ])
        .against(&[
            (lately(EventKind::VesselOpened), Strong),
            (is(Fact::OneElementSaltier), Strong),
            (is(Fact::DeliveryDown), Weak),
        ])
        .needs(&[&[Q::ProductFlow], SALT, &[Q::FeedTemperature]])
        .needs_baseline()
        .told_by(&[Look::ByElement])
        .act(&[act::KEEP_OUT_OF_TANK, act::LOOK_IN_LOG_FOR_SALT]),
    Row::new("membrane-overheated", Seldom, Pace::Days, "Altmann et al. 2022, Membranes 12, 792")
        .effect(Effect::Membrane(-1.0, 0.2, &[0.05, 0.1, 0.2]))
        .fits(&[(is(Fact::FeedHot), Strong)])
        .told_of(&[is(Fact::FeedHot)])
        .needs(&[FLOW])
        .needs_baseline()
        .family(Family::Heat),
    Row::new("membrane-aged", Seldom, Pace::Weeks, "a consultant's column: 5 to 10 years if not abused")
        .effect(Effect::Membrane(0.05, 1.0, &[0.15, 0.3, 0.6]))
        .fits(&[
            (is(Fact::OldElement), Strong),
            (is(Fact::SaltDrifts), Strong),
            (is(Fact::ElementsAlike), Weak),
            (seen("taste-salty"), Strong),
            (seen("product-milky"), Weak),
        ])
        .against(&[
            (is(Fact::NewElement), Decisive),
            (is(Fact::SaltStep), Strong),
            (is(Fact::OneElementSaltier), Strong),
        ])
        .missed(&[(is(Fact::OldElement), Strong)])
        .needs(&[SALT, &[Q::ProductFlow], &[Q::FeedTemperature]]),
    Row::new(
        "membrane-spoiled-at-rest",
        Seldom,
        Pace::Step,
        "a consultant's case note: mothballed without preservative",
    )
    .effect(Effect::Membrane(-1.0, 1.6, &[0.2, 0.4, 0.6, 0.9]))
    .fits(&[
        (is(Fact::RestedUnpreserved), Strong),
        (is(Fact::LaidUp), Weak),
        (seen("end-caps-corroded"), Weak),
        (seen("smell-of-rotten-eggs"), Weak),
    ])
    .against(&[
        (is(Fact::ProductAsUsual), Strong),
        (is(Fact::NoPressure), Strong),
        (is(Fact::OnAndNothing), Strong),
    ])
    .missed(&[(is(Fact::RestedUnpreserved), Strong)])
    .told_of(&[is(Fact::RestedUnpreserved), is(Fact::LaidUp), is(Fact::IdleTooLong)])
    .needs(&[&[Q::ProductFlow], SALT])
    .act(&[act::STOP_BY_MANUAL, act::KEEP_OUT_OF_TANK]),
    Row::new(
        "leak-to-product",
        Usual,
        Pace::Step,
        "guides on probing the product tube; unit model: salt without flow, in a step",
    )
    .effect(Effect::Membrane(0.02, 1.0, &[0.2, 0.5, 1.0, 1.8]))
    .fits(&[
        (lately(EventKind::VesselOpened), Strong),
        (lately(EventKind::ElementReplaced), Weak),
        (is(Fact::SaltStep), Strong),
        (is(Fact::OneElementSaltier), Strong),
        (seen("taste-salty"), Weak),
    ])
    .against(&[(is(Fact::ElementsAlike), Strong), (is(Fact::ShoreWater), Weak), (is(Fact::SaltDrifts), Weak)])
    .needs(&[&[Q::ProductFlow], SALT])
    .needs_baseline()
    .told_by(&[Look::ByElement, Look::Second(Q::ProductConductivity)])
    .act(&[act::KEEP_OUT_OF_TANK, act::PROBE_ELEMENTS]),
    Row::new(
        "element-torn",
        Seldom,
        Pace::Step,
        "US Army QM4922: product up and salty; membrane autopsies on product pressure",
    )
    .effect(Effect::Membrane(0.35, 1.0, &[0.4, 0.8, 1.4, 2.2]))
    .fits(&[
        (is(Fact::SaltStep), Strong),
        (is(Fact::OneElementSaltier), Strong),
        (is(Fact::ProductLinePressure), Weak),
        (is(Fact::TankFull), Weak),
    ])
    .against(&[
        (is(Fact::ElementsAlike), Strong),
        (is(Fact::ShoreWater), Weak),
        (is(Fact::NoProduct), Strong),
    ])
    .needs(&[&[Q::ProductFlow], SALT])
    .needs_baseline()
    .told_by(&[Look::ByElement, Look::Second(Q::ProductConductivity)])
    .act(&[act::KEEP_OUT_OF_TANK, act::PROBE_ELEMENTS]),
    Row::new(
        "brine-seal-bypass",
        Seldom,
        Pace::Step,
        "industrial reverse-osmosis manuals: differential pressure down",
    )
    .effect(Effect::Membrane(-0.6, 0.6, &[0.1, 0.2, 0.3]))
    .fits(&[(is(Fact::VesselDropDown), Decisive), (lately(EventKind::VesselOpened), Weak)])
    .missed(&[(is(Fact::VesselDropDown), Strong)])
    .needs(&[FLOW, &[Q::DifferentialPressure, Q::ConcentratePressure]])
    .needs_baseline(),
    Row::new(
        "elements-parallel",
        Usual,
        Pace::Any,
        "unit model: in series the first element's concentrate feeds the second",
    )
    .only(&[Only::SideBySide])
    .effect(Effect::Anything)
    .fits(&[(is(Fact::SideBySide), Strong)])
    .needs(&[FLOW])
    .act(&[act::COMPARE_IN_SERIES]),
];
