//! What a person beside the unit can see, hear, smell or taste, by code: a closed list, each with the question that asks for it.
//!
//! An observation is yes or no, with time and observer like a reading; "looked, and it is not so" counts as much as "it is so". Numbers are readings and belong to
//! [`crate::Quantity`]; what was done to the unit is an event of the log. Every question can be answered without touching anything under pressure or under voltage.

/// One thing that can be observed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Observable {
    /// Short code such as `bubbles-in-clear-hose`.
    pub code: &'static str,
    /// The question; yes means that it is so.
    pub question: &'static str,
    /// What a yes says, without a stop.
    pub seen: &'static str,
}

const fn see(code: &'static str, question: &'static str, seen: &'static str) -> Observable {
    Observable { code, question, seen }
}

/// Every observation.
#[rustfmt::skip]
pub const ALL: &[Observable] = &[
    // feed and suction
    see("bubbles-in-clear-hose", "Are there bubbles in the clear hose or filter bowl before the pump?", "bubbles in the clear hose before the pump"),
    see("inlet-only-dribbles", "With the strainer open and the seacock open, does only a dribble come?", "only a dribble comes through the open seacock"),
    see("growth-in-inlet", "Was there fish, weed or shell in the inlet or strainer?", "fish, weed or shell in the inlet"),
    see("strainer-clean", "Is the strainer clean?", "the strainer is clean"),
    see("pump-runs-in-bucket", "Does the feed pump run well out of a bucket?", "the feed pump runs well out of a bucket"),
    see("worse-when-heeled", "Is it worse when the boat heels or rolls?", "worse when the boat heels or rolls"),
    see("concentrate-spits", "Does the concentrate come out in spurts?", "the concentrate comes out in spurts"),
    see("housing-burst", "Has a filter housing burst or cracked?", "a filter housing has burst"),
    see("oil-on-water", "Is there a sheen of oil or fuel on the water outside?", "a sheen of oil or fuel on the water"),
    see("rubbish-in-water", "Does rubbish float in the water outside?", "rubbish floats in the water"),
    // pump and drive
    see("gauge-swings", "Does the needle of the pressure gauge swing?", "the needle of the pressure gauge swings"),
    see("hoses-jump", "Do the hoses jump once per turn of the pump?", "the hoses jump once per turn of the pump"),
    see("strokes-unequal", "Do the strokes of the pump sound unequal?", "the strokes of the pump sound unequal"),
    see("pump-sounds-normal", "Does the pump sound as always?", "the pump sounds as always"),
    see("pump-loud", "Is the pump louder than usual?", "the pump is louder than usual"),
    see("pump-silent", "Is there no sound from the pump although it is switched on?", "no sound from the pump although it is switched on"),
    see("runs-after-knock", "Did it start after it was taken off and shaken or knocked?", "it started after it was shaken"),
    see("drip-at-packings", "Does more water than usual drip at the pump's packings?", "more water than usual drips at the packings"),
    see("belt-squeals", "Does the belt squeal, or lies black dust around it?", "the belt squeals or leaves black dust"),
    see("better-when-cold", "Is it better when all is cold?", "better when all is cold"),
    see("oil-milky", "Is the pump's oil milky?", "the pump's oil is milky"),
    see("oil-level-up", "Has the level of the pump's oil risen?", "the level of the pump's oil has risen"),
    see("salt-falls-with-speed", "Does the salt fall when the pump is set faster?", "the salt falls when the pump is set faster"),
    // supply and motor
    see("breaker-trips", "Does the breaker trip?", "the breaker trips"),
    see("electronics-trip", "Do the pump's electronics switch off?", "the pump's electronics switch off"),
    see("motor-hot", "Is the motor's case much warmer than usual, by a thermometer from outside?", "the motor's case is much warmer than usual"),
    see("burnt-smell", "Does it smell burnt?", "it smells burnt"),
    see("starts-badly", "Did the motor once not start?", "the motor once did not start"),
    see("nothing-starts", "Does nothing start although the panel is lit?", "nothing starts although the panel is lit"),
    see("engine-slows-under-load", "Does the engine or generator slow down or stall with the unit on?", "the engine slows down or stalls with the unit on"),
    see("engine-free-without-load", "Does the engine or generator run well without the unit?", "the engine runs well without the unit"),
    see("quality-light-on", "Is the unit's own light for the product on?", "the unit's own light for the product is on"),
    // valves, hoses, leaks
    see("valve-touched", "Did anybody turn the pressure valve?", "somebody turned the pressure valve"),
    see("bypass-not-shut", "Was the high-pressure by-pass found not fully closed?", "the high-pressure by-pass was not fully closed"),
    see("relief-hose-runs", "Does water run from the relief valve's own hose?", "water runs from the relief valve's own hose"),
    see("relief-hose-warm", "Is the relief valve's hose warmer than the sea?", "the relief valve's hose is warmer than the sea"),
    see("jet-or-mist", "Is there a mist or a jet at the high-pressure side? Look from a distance, never feel for it.", "a mist or jet at the high-pressure side"),
    see("leak-outside", "Is there water under or around the unit?", "water under or around the unit"),
    see("connector-broke", "Has a hose connector come off or broken?", "a hose connector has come off or broken"),
    see("bilge-pump-cycles", "Does the bilge pump run more often while the unit runs?", "the bilge pump runs more often while the unit runs"),
    see("salt-crust", "Is there a crust of salt at a fitting?", "a crust of salt at a fitting"),
    see("metal-stains", "Are there pink or green stains on metal parts?", "pink or green stains on metal parts"),
    see("end-caps-corroded", "Are the vessel's end caps corroded or hard to move?", "the vessel's end caps are corroded"),
    see("no-galvanic-isolator", "Is the boat on shore power for long times without an isolator?", "on shore power without an isolator"),
    // product, tank, smell and taste
    see("smell-of-rotten-eggs", "Does the first product smell of rotten eggs?", "the first product smells of rotten eggs"),
    see("taste-of-preservative", "Does the product taste or smell of preservative?", "the product tastes of preservative"),
    see("taste-salty", "Does the product taste salty?", "the product tastes salty"),
    see("product-milky", "Is the product milky?", "the product is milky"),
    see("concentrate-brown", "Was the concentrate brown at first?", "the concentrate was brown at first"),
    see("house-pump-cycles", "Does the house's water pump run although nobody draws water?", "the house's water pump runs although nobody draws water"),
    see("nobody-draws-water", "Is it sure that nobody draws water?", "nobody draws water"),
    // instruments
    see("ball-does-not-move", "Does the ball of the flow tube stay where it is?", "the ball of the flow tube does not move"),
    see("probe-in-air", "Is the probe in air?", "the probe is in air"),
    see("probe-fault-reported", "Does the panel report a failed probe?", "the panel reports a failed probe"),
    see("jumps-with-other-instrument", "Does the reading jump when another instrument is switched on?", "the reading jumps when another instrument is switched on"),
    see("sun-on-hull", "Does the sun shine on the hull where the sensor sits?", "the sun shines on the hull where the sensor sits"),
    see("normal-under-way", "Is the output as usual when the boat is under way or at night?", "the output is as usual under way or at night"),
];

/// The observation with this code.
pub fn of(code: &str) -> Option<&'static Observable> {
    ALL.iter().find(|known| known.code == code)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_every_question_is_one() {
        for known in ALL {
            assert_eq!(of(known.code), Some(known), "{} is there twice", known.code);
            assert!(known.question.contains('?') && !known.seen.ends_with('.'), "{}", known.code);
        }
    }
}
