//! Causes in the high-pressure pump, also one that recovers energy.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new("pump-worn", Common, Pace::Weeks, "US Army TM 10-4610-240-10 on packings; unit model")
        .only(&[Only::Plunger])
        .effect(Effect::Delivery(&[-0.06, -0.12, -0.2, -0.35, -0.5]))
        .fits(&[
            (is(Fact::DeliveryDown), Strong),
            (seen("drip-at-packings"), Strong),
            (is(Fact::SpeedAsAlways), Weak),
            (is(Fact::CurrentFitsPressure), Weak),
            (is(Fact::ProductSinks), Weak),
        ])
        .against(&[
            (is(Fact::DeliveryFull), Decisive),
            (is(Fact::NoConcentrate), Strong),
        (is(Fact::OverLimit), Strong),
        (is(Fact::InletLow), Weak),
            (is(Fact::NoPressure), Strong),
            (is(Fact::SpeedDown), Strong),
            (is(Fact::PumpBehindEngine), Decisive),
            (is(Fact::CurrentDownByCylinder), Strong),
            (seen("hoses-jump"), Strong),
            (seen("relief-hose-runs"), Strong),
            (seen("jet-or-mist"), Strong),
            (is(Fact::AcLow), Weak),
        ])
        .missed(&[(is(Fact::DeliveryDown), Strong), (seen("drip-at-packings"), Weak)])
        .needs(&[FLOW])
        .act(&[act::SERVICE_PUMP]),
    Row::new("dead-cylinder", Seldom, Pace::Step, "unit model: delivery and load part of the current fall by one cylinder's share; pulsing by common practice")
        .only(&[Only::Plunger])
        .effect(Effect::Delivery(&[-0.33, -0.405, -0.48]))
        .fits(&[
            (is(Fact::DeliveryDownByCylinder), Strong),
            (is(Fact::CurrentDownByCylinder), Strong),
            (seen("hoses-jump"), Strong),
            (seen("strokes-unequal"), Weak),
            (seen("gauge-swings"), Weak),
        ])
        .against(&[(is(Fact::DeliveryFull), Decisive), (is(Fact::CurrentFitsPressure), Strong), (is(Fact::SpeedDown), Weak)])
        .missed(&[(is(Fact::DeliveryDownByCylinder), Strong), (seen("hoses-jump"), Weak)])
        .needs(&[FLOW])
        .act(&[act::STOP_BY_MANUAL, act::SERVICE_PUMP]),
    Row::new("energy-recovery-leak", Usual, Pace::Weeks, "unit model: the product's share of all the water is geometry")
        .only(&[Only::EnergyRecovery])
        .fits(&[
            (is(Fact::ShareBelowBuilt), Decisive),
            (seen("strokes-unequal"), Strong),
            (is(Fact::DeliveryFull), Weak),
        ])
        .missed(&[(is(Fact::ShareBelowBuilt), Decisive)])
        .needs(&[&[Q::ProductFlow], FLOW])
        .act(&[act::SERVICE_PUMP]),
    Row::new("water-in-oil", Usual, Pace::Days, "workshop interview: condensation or a seal")
        .effect(Effect::Anything)
        .fits(&[(seen("oil-milky"), Decisive), (seen("oil-level-up"), Strong), (is(Fact::OilOld), Weak)])
        .missed(&[(seen("oil-milky"), Strong)])
        .family(Family::Oil)
        .act(&[act::CHANGE_OIL]),
    Row::new("oil-due", Usual, Pace::Any, "workshop interview: first at 50 h, then 500 h or yearly")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::OilOld), Strong), (seen("oil-milky"), Weak)])
        .family(Family::Oil)
        .act(&[act::CHANGE_OIL]),
];
