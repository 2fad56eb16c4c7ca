//! Care that is due, missing or unproven: it follows from dates, entries and what a person sees, and competes only with what is asked.

use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new(
        "idle-too-long",
        Usual,
        Pace::Days,
        "owners quote 3 to 5 days; military practice counts over 3 days as long",
    )
    .effect(Effect::Anything)
    .fits(&[
        (is(Fact::IdleTooLong), Strong),
        (seen("smell-of-rotten-eggs"), Strong),
        (seen("concentrate-brown"), Strong),
    ])
    .missed(&[(is(Fact::IdleTooLong), Strong)])
    .act(&[act::DISCARD_FIRST_MINUTES, act::LOG_FLUSH]),
    Row::new(
        "tank-chlorinated",
        Usual,
        Pace::Any,
        "a chlorinated tank damages like dock water; common practice",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::TankChlorinated), Decisive), (is(Fact::CarbonOld), Weak)])
    .missed(&[(is(Fact::TankChlorinated), Decisive)])
    .act(&[act::NO_FLUSH_FROM_TANK])
    .veto(&[act::FLUSH_OR_RUN]),
    Row::new("flush-water-short", Usual, Pace::Any, "common practice")
        .effect(Effect::Anything)
        .fits(&[(is(Fact::TankBelowFlush), Decisive)])
        .missed(&[(is(Fact::TankBelowFlush), Decisive)])
        .act(&[act::MAKE_FLUSH_WATER])
        .veto(&[act::FLUSH_OR_RUN]),
    Row::new(
        "frost-protection-unproven",
        Usual,
        Pace::Any,
        "a dealer's sheet on propylene glycol: a label's -50 thinned by half takes -4 °C",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::StrengthUnmeasured), Decisive), (is(Fact::FrostNear), Strong)])
    .missed(&[(is(Fact::StrengthUnmeasured), Decisive)])
    .act(&[act::MEASURE_STRENGTH])
    .veto(&[act::FLUSH_OR_RUN]),
    Row::new("anode-due", Usual, Pace::Any, "by date, a year; common practice, partly from memory")
        .effect(Effect::Anything)
        .fits(&[
            (is(Fact::AnodeOld), Strong),
            (seen("metal-stains"), Strong),
            (seen("no-galvanic-isolator"), Weak),
            (seen("salt-crust"), Weak),
        ])
        .missed(&[(is(Fact::AnodeOld), Strong)])
        .act(&[act::LOOK_AT_ANODE]),
];
