//! Causes in the water outside. Cold, warm, brackish and very salty water each imitate a fault.

use super::normal::{AGAINST_SOUND, SOUND};
use super::*;

pub(super) const ROWS: &[Row] = &[
    Row::new("warm-water", Usual, Pace::Any, "temperature correction of every membrane guide; unit model")
        .fits(&[(is(Fact::Warmer), Strong)])
        .against(AGAINST_SOUND)
        .missed(&[(is(Fact::Warmer), Decisive)])
        .needs(SOUND)
        .family(Family::Sound),
    Row::new("cold-water", Usual, Pace::Any, "temperature correction of every membrane guide; unit model")
        .fits(&[(is(Fact::Colder), Strong)])
        .against(AGAINST_SOUND)
        .missed(&[(is(Fact::Colder), Decisive)])
        .needs(SOUND)
        .family(Family::Sound),
    // Measured: the model has it already, and what is left is a sound unit.
    Row::new("sea-saltier", Usual, Pace::Any, "encyclopaedias on the Red Sea and the Gulf; unit model")
        .fits(&[(is(Fact::Saltier), Strong)])
        .against(AGAINST_SOUND)
        .missed(&[(is(Fact::Saltier), Decisive)])
        .needs(SOUND)
        .family(Family::Sound)
        .act(&[act::NOTE_PLACE]),
    Row::new("sea-fresher", Usual, Pace::Any, "owners at river mouths; unit model")
        .fits(&[(is(Fact::Fresher), Strong), (is(Fact::RiverNear), Weak)])
        .against(AGAINST_SOUND)
        .missed(&[(is(Fact::Fresher), Decisive)])
        .needs(SOUND)
        .family(Family::Sound)
        .act(&[act::NOTE_PLACE, act::RUN_AT_MANUALS_LOWER_PRESSURE]),
    // Believed: the figures would be sound in other water.
    Row::new(
        "sea-saltier",
        Usual,
        Pace::Any,
        "unit model: a wrong belief on salinity moves A and B in opposite directions",
    )
    .effect(Effect::Absolute(Input::Salinity, &[-1.0, -2.0, -3.0, -5.0]))
    .fits(&[(is(Fact::Saltier), Weak)])
    .against(&[
        (is(Fact::SalinityMeasured), Decisive),
        (is(Fact::OutputDrifts), Weak),
        (is(Fact::DeliveryDown), Strong),
    ])
    .needs(&[&[Q::FeedSalinity, Q::FeedConductivity]])
    .act(&[act::NOTE_PLACE]),
    Row::new(
        "sea-fresher",
        Usual,
        Pace::Any,
        "unit model: a wrong belief on salinity moves A and B in opposite directions",
    )
    .effect(Effect::Absolute(Input::Salinity, &[1.0, 2.0, 4.0, 8.0]))
    .fits(&[(is(Fact::RiverNear), Strong)])
    .against(&[
        (is(Fact::SalinityMeasured), Decisive),
        (is(Fact::TankGainsLess), Strong),
        (is(Fact::DeliveryDown), Strong),
    ])
    .needs(&[&[Q::FeedSalinity, Q::FeedConductivity]])
    .act(&[act::NOTE_PLACE, act::RUN_AT_MANUALS_LOWER_PRESSURE]),
    Row::new(
        "feed-too-hot",
        Usual,
        Pace::Days,
        "Altmann et al. 2022, Membranes 12, 792: lasting loss after seven days at 40 °C",
    )
    .effect(Effect::Anything)
    .fits(&[(is(Fact::FeedHot), Decisive)])
    .family(Family::Heat)
    .act(&[act::STOP_OR_COOL]),
    Row::new("water-dirty", Usual, Pace::Any, "US Army TM 10-4610-241-24 on petroleum; owners in harbours")
        .effect(Effect::Anything)
        .fits(&[
            (seen("oil-on-water"), Decisive),
            (seen("rubbish-in-water"), Strong),
            (is(Fact::InHarbour), Weak),
        ])
        .missed(&[(seen("oil-on-water"), Weak), (seen("rubbish-in-water"), Weak)])
        .act(&[act::MOVE_OR_PRESERVE])
        .veto(&[act::FLUSH_OR_RUN]),
];
