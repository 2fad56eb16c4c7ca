//! What a person is advised to do, by code: the same words wherever the same thing is advised, and a name for it that tests and case files can use.
//!
//! A finding names its actions in the order in which they are to be done. What must never be advised has no entry here: [`NEVER`] holds those names, and a test keeps
//! the two apart. Advice is no working instruction: the unit's manual, local codes and qualified people come first.

/// One action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Action {
    /// Short code such as `divert-product`.
    pub code: &'static str,
    /// What to do, in one or two sentences.
    pub text: &'static str,
}

macro_rules! actions {
    ($($(#[$doc:meta])* $name:ident, $code:literal, $text:literal;)*) => {
        $($(#[$doc])* pub const $name: Action = Action { code: $code, text: $text };)*

        /// Every action that is advised somewhere.
        pub const ALL: &[Action] = &[$($name,)*];
    };
}

actions! {
    /// Take the deciding reading.
    MEASURE_NEXT, "measure-next", "Make the measurement that is named with the finding; one jug often decides.";
    /// Feed before pump, pump before membrane.
    LOOK_AT_SUCTION, "look-at-suction", "Look at strainer, pre-filter and pump inlet before anything else.";
    /// What was changed?
    COMPARE_LOG, "compare-log", "Compare with the log: what was changed before it began?";
    /// The meter before the water.
    CHECK_SECOND_METER, "check-second-meter", "Check with a second meter first.";
    /// Events that bring salt.
    LOOK_IN_LOG_FOR_SALT, "look-in-log-for-salt", "Look in the log: was the tank chlorinated, a vessel opened, the unit preserved?";
    /// Salty product is kept out.
    KEEP_OUT_OF_TANK, "keep-out-of-tank", "Keep over-limit product out of the tank.";
    /// The product goes elsewhere than into the tank.
    DIVERT_PRODUCT, "divert-product", "Lead the product to the test outlet or overboard instead of into the tank, by the unit's manual.";
    /// A second meter beside the fitted one.
    CHECK_HAND_METER, "check-hand-meter", "Check with a second, hand-held meter; note its scale.";
    /// Stop.
    STOP_BY_MANUAL, "stop-by-manual", "Stop the unit by the procedure in its manual.";
    /// Nobody touches what is under pressure.
    WAIT_FOR_NO_PRESSURE, "wait-for-no-pressure", "Wait until the gauge shows no pressure before anybody touches the high-pressure side.";
    /// Why did the pressure rise?
    FIND_REASON_FOR_PRESSURE, "find-reason-for-pressure", "Look for the reason before the next start: concentrate valve, concentrate hose, product valve, regulator.";
    /// Ease the unit in fresher or warmer water.
    RUN_AT_MANUALS_LOWER_PRESSURE, "run-at-manuals-lower-pressure", "Run at the lower pressure that the unit's manual gives for brackish or warm water, or do not run here.";
    /// Salinity belongs to a place.
    NOTE_PLACE, "note-place", "Note place and salinity in the log.";
    /// A second instrument on the same quantity.
    COMPARE_HAND_INSTRUMENT, "compare-hand-instrument", "Compare with a hand instrument: thermometer in a bucket of sea water, second gauge, jug and watch, hand meter.";
    /// One of several senders is chosen.
    NAME_RIGHT_SENDER, "name-right-sender", "Name the right sender in the settings, so that the others do not count.";
    /// End a rest in sea water.
    FLUSH_OR_RUN, "flush-or-run", "Flush with product water that is known to be free of chlorine, by the unit's manual, or run the unit in clean sea water.";
    /// The idle clock lives from the log.
    LOG_FLUSH, "log-flush", "Write it down: `barrico log add --event flushed`.";
    /// A new element's first days.
    LET_IT_SETTLE, "let-it-settle", "Let the new element settle: its baseline is provisional until two runs agree after 20 running hours.";
    /// A cleaning is compared, not judged at once.
    NOTE_CLEANING, "note-cleaning", "Note reason, agent, pH, temperature and time of the cleaning, and read again after ten running hours; the baseline stays.";
    /// First minutes.
    WAIT_FIRST_MINUTES, "wait-first-minutes", "Wait until the live salinity is within your limit; minutes alone say nothing.";
    /// After preservative.
    RINSE_BY_TIMER, "rinse-by-timer", "Discard the product for the time that the unit's manual gives after preserving, however low its salinity reads.";
    /// Hot feed.
    STOP_OR_COOL, "stop-or-cool", "Stop, or bring cooler water to the inlet; look up the highest temperature on the element's sheet and enter it.";
    /// Dirty water outside.
    MOVE_OR_PRESERVE, "move-or-preserve", "Do not draw this water in: move to clean water, or preserve the unit for the stay.";
    /// A number and its unit.
    READ_WHAT_IS_PRINTED, "read-what-is-printed", "Read which unit, scale and place is printed on the instrument, and enter it in the settings.";
    /// Volts where they count.
    MEASURE_VOLTS_UNDER_LOAD, "measure-volts-under-load", "Compare with the volts at the motor while it runs; charge first, or run while charging.";
    /// Mains and wiring.
    QUALIFIED_ELECTRICIAN, "qualified-electrician", "Isolate supply and automatic start, and let a qualified person look at lead, plug, switch, capacitor and motor; capacitors keep charge.";
    /// Belt.
    LOOK_AT_BELT, "look-at-belt", "Look at the belt with the drive stopped and its start locked.";
    /// A drive that seizes.
    TURN_BY_HAND_LATER, "turn-by-hand-later", "With the drive stopped, its start locked and the pressure vented, see whether pump and clutch turn freely by hand.";
    /// Cartridge.
    CHANGE_CARTRIDGE, "change-cartridge", "Change the cartridge with the unit stopped and without pressure; note the litres it lasted.";
    /// Air.
    LOOK_FOR_AIR, "look-for-air", "Look at lids, O-rings and clips before the pump, and whether the inlet stays under water when the boat heels.";
    /// Priming.
    BLEED_HOUSINGS, "bleed-housings", "Open the inlet, fill and bleed the housings, and start again at low pressure by the manual.";
    /// Low side.
    OPEN_LOW_SIDE, "open-low-side", "Find what shuts the way out of the low side before the next start.";
    /// The flush branch.
    CLOSE_FLUSH_BRANCH, "close-flush-branch", "Close the flush branch by hand and compare tank and meter again; measure the tank's salinity with a hand meter.";
    /// Pump service.
    SERVICE_PUMP, "service-pump", "Have packings and valves of the pump looked at, by its manual or a service desk, once speed and supply are proven.";
    /// Oil.
    CHANGE_OIL, "change-oil", "Change the oil by the pump's manual and look again after ten hours.";
    /// A valve is set by procedure.
    SET_VALVE_BY_MANUAL, "set-valve-by-manual", "See that the gauge returns to zero, then set the valve by the manual's procedure.";
    /// By-pass.
    CLOSE_BYPASS, "close-bypass", "Stop, close the by-pass fully by hand, and start again by the manual with an eye on the gauge.";
    /// Relief.
    RELIEF_BY_SERVICE, "relief-by-service", "Have the relief valve seen to by the manual or a service desk; leave its setting alone.";
    /// Low side hoses.
    LOOK_AT_HOSES, "look-at-hoses", "Look at connectors and hoses of the low side with the unit stopped; carry spares.";
    /// Which element?
    PROBE_ELEMENTS, "probe-elements", "Measure each element's product alone; look at seals only with the vessel stopped and vented.";
    /// Series.
    COMPARE_IN_SERIES, "compare-in-series", "Compare with the elements in series: `barrico compare` shows product, salt and recovery of both.";
    /// Product has no way out: first this.
    OPEN_PRODUCT_OUTLET, "open-product-outlet", "Open the product's test or divert valve at once, while the unit runs.";
    /// And only then.
    STOP_AFTERWARDS, "stop-afterwards", "Only when the product runs freely, stop by the manual; then look at tank, vent, valve and check valve.";
    /// After a rest.
    DISCARD_FIRST_MINUTES, "discard-first-minutes", "Lead the first minutes overboard, change the cartridges, and flush with product water known to be free of chlorine.";
    /// Chlorine in the tank.
    NO_FLUSH_FROM_TANK, "no-flush-from-tank", "Switch the automatic flush off until the tank is rinsed and a chlorine strip behind the carbon reads zero; log the rinse.";
    /// Not enough for a flush.
    MAKE_FLUSH_WATER, "make-flush-water", "Make or carry enough water known to be free of chlorine before the flush, or flush shorter and again soon.";
    /// Anti-freeze.
    MEASURE_STRENGTH, "measure-strength", "Measure with a refractometer the strength of what comes out of the unit, and enter it in per cent by volume.";
    /// Anode.
    LOOK_AT_ANODE, "look-at-anode", "Look at the anode with the unit stopped, and log it.";
}

/// What is never advised, with the reason. Case files forbid these by their names.
#[rustfmt::skip]
pub const NEVER: &[(&str, &str)] = &[
    ("raise-pressure", "packs a deposit and loads every part; lost flow is not won back by pressure"),
    ("flush-with-dock-water", "chlorine ruins the membrane"),
    ("call-water-safe", "salinity says nothing about microbes, fuel or boron"),
    ("call-water-good", "only salinity against the owner's limit can be said"),
    ("close-concentrate", "pressure rises at once beyond every limit"),
    ("feel-for-jet", "a jet cuts skin"),
    ("touch-live-parts", "mains voltage and charged capacitors kill"),
    ("keep-running", "what is about to break is stopped, not watched; without water packings last seconds"),
    ("restart-at-once", "what stopped it is still there"),
    ("wait-and-see", "it does not clear by itself, and the damage goes on"),
    ("lead-to-tank", "product goes to the tank on a live value within the owner's limit, and after every rinse"),
    ("change-filter-again", "a filter that was changed without effect is not it"),
    ("change-by-fixed-hours", "a cartridge lasts as long as the water lets it"),
    ("call-water-unsafe", "germs are not measured here"),
    ("call-frost-safe", "only a measured strength says what frost it takes"),
    ("trust-label", "the strength in the vessel is not the one on the label"),
    ("ignore-breaker", "a breaker that trips has a reason"),
    ("set-relief-higher", "relief and cut-out are the last protection"),
    ("tighten-relief", "a relief valve is the maker's or a service desk's"),
    ("close-product-outlet", "pressure in the product line tears the membrane"),
    ("carbon-makes-dock-water-fine", "old carbon passes chlorine, and chloramine is not assumed removed"),
    ("use-car-antifreeze", "it is poison"),
    ("replace-element-first", "pump, feed, salinity and seals come before"),
    ("open-vessel-first", "feed, supply, pressure and filter come before"),
    ("clean-first", "cleaning comes after pump, feed and salinity were excluded by measurement"),
    ("replace-pump-first", "feed, supply, valves and wiring come before"),
    ("chase-litres", "a valve is set by the manual's procedure, not by the flow"),
    ("trust-timer", "minutes since the start say nothing about the water"),
    ("run-in-dirty-water", "oil and harbour dirt ruin elements"),
    ("reset-baseline", "a cleaning or a worse unit is no new sound state"),
    ("speed-above-rated-current", "motor and electronics burn"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::registry;
    use crate::judgement::reasoning;

    #[test]
    fn codes_are_unique_and_nothing_is_both_advised_and_never_advised() {
        let mut codes: Vec<&str> =
            ALL.iter().map(|action| action.code).chain(NEVER.iter().map(|never| never.0)).collect();
        codes.sort_unstable();
        assert!(codes.windows(2).all(|pair| pair[0] != pair[1]), "{codes:?}");
    }

    #[test]
    fn every_action_is_advised_by_a_finding_or_a_cause() {
        let by_findings = registry::ALL.iter().flat_map(|finding| finding.act).map(|action| action.code);
        let advised: Vec<&str> = by_findings.chain(reasoning::advised()).collect();
        for action in ALL {
            assert!(advised.contains(&action.code), "nothing advises {}", action.code);
        }
    }
}
