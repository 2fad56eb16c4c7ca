//! Every cause that can be told from the others, by code, with its words for the owner.
//!
//! One list for findings, `diagnose` and case files. It says what a cause is, not when it is likely: weighing is `causes`. "Normal here" is a cause like any
//! other, and so is an instrument that is wrong. A code is never given another meaning; a cause that turns out to be two gets two new codes.

/// Where a cause sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// The unit is sound: what it is doing, or what a hand or time set otherwise, explains what is seen.
    Normal,
    /// The unit is sound; the water is another than believed, or not fit to run in.
    Water,
    /// An instrument shows something else than what is there.
    Sensor,
    /// A number is right but its unit, scale or place is not the one believed.
    Units,
    /// A value on the network is old, or comes from another device than believed.
    Network,
    /// Electrical supply, switch and wiring.
    Supply,
    /// Motor, belt, clutch, engine.
    Drive,
    /// Feed water on its way to the high-pressure pump.
    Suction,
    /// The high-pressure pump, also one that recovers energy.
    Pump,
    /// Valves, hoses and fittings of feed and concentrate.
    Outlets,
    /// Elements and their vessels.
    Membrane,
    /// Product on its way to the tank, and the tank.
    ProductLine,
    /// Care that is due, missing or unproven.
    Care,
}

/// One cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NamedCause {
    /// Short code such as `membrane-fouled`.
    pub code: &'static str,
    /// Where it sits.
    pub group: Group,
    /// A few words.
    pub title: &'static str,
    /// One sentence for the owner.
    pub meaning: &'static str,
}

const fn cause(code: &'static str, group: Group, title: &'static str, meaning: &'static str) -> NamedCause {
    NamedCause { code, group, title, meaning }
}

/// Every cause, group by group.
#[rustfmt::skip]
pub const ALL: &[NamedCause] = &[
    cause("nothing-changed", Group::Normal, "nothing changed; chance and instruments explain it", "The unit does what it did when it was sound, within the errors of the readings."),
    cause("starting", Group::Normal, "first minutes after a start", "Salt has come through the resting membrane and is washed out first; salinity counts when it is steady."),
    cause("new-element-settling", Group::Normal, "a new element settles", "A new element gives more in its first hours and is pressed together a little by its first days of work."),
    cause("flushing", Group::Normal, "the unit is being flushed", "Fresh water runs through the idle unit: low pressure and no product are as they should be."),
    cause("preservative-rinse", Group::Normal, "preservative is still being rinsed out", "After a rest with preservative the first product carries it, however good the salinity looks."),
    cause("just-cleaned", Group::Normal, "the membrane was cleaned a short time ago", "Cleaning opens the membrane for some hours: more product and more salt, then both settle."),
    cause("valve-moved", Group::Normal, "the pressure valve has moved", "By a hand, by vibration or by wear; it is no fault by itself."),
    cause("warm-water", Group::Water, "warm water", "Warm water passes the membrane easily: more product and more salt from a sound unit."),
    cause("cold-water", Group::Water, "cold water", "Cold water passes the membrane slowly: less product and less salt from a sound unit."),
    cause("sea-saltier", Group::Water, "the sea here is saltier than believed", "Saltier sea leaves less pressure for making product: less product and more salt from a sound unit."),
    cause("sea-fresher", Group::Water, "the sea here is fresher than believed", "Fresher water gives more product than the element may be meant for; it is no sign of health or damage."),
    cause("feed-too-hot", Group::Water, "the feed is too hot for the element", "Heat for days takes part of the membrane's output for good."),
    cause("water-dirty", Group::Water, "the water outside is not fit to run in", "Oil, fuel and harbour dirt ruin elements faster than a rest does."),
    cause("pressure-reading", Group::Sensor, "the pressure reading is wrong", "The gauge or transmitter of the high side shows another pressure than there is."),
    cause("temperature-reading", Group::Sensor, "the temperature reading is wrong", "The thermometer is broken, drifts, or sits where the water is warmer or colder than the feed."),
    cause("product-flow-reading", Group::Sensor, "the product flow reading is wrong", "The product meter sticks, drifts or is dirty."),
    cause("product-salinity-reading", Group::Sensor, "the product's salinity meter is wrong", "The cell is dirty, broken, dry, not set, or its temperature compensation is off."),
    cause("feed-flow-reading", Group::Sensor, "the feed flow reading is wrong", "The feed meter sticks, drifts or is dirty."),
    cause("concentrate-flow-reading", Group::Sensor, "the concentrate flow reading is wrong", "The concentrate meter sticks, or the jug was not timed well."),
    cause("feed-salinity-reading", Group::Sensor, "the reading of the sea's salinity is wrong", "The meter for the sea is not set, or the sample was not the feed."),
    cause("inlet-pressure-reading", Group::Sensor, "the reading of the pump's inlet pressure is wrong", "The suction gauge sticks, or a vacuum is shown as zero."),
    cause("filter-drop-reading", Group::Sensor, "the reading of the pre-filter's pressure drop is wrong", "One of the two gauges around the filter is off; a drop that jumps at once is often that."),
    cause("supply-reading", Group::Sensor, "the voltage or current reading is wrong", "Volts were measured without load or elsewhere than at the motor, or the current sensor is off."),
    cause("speed-reading", Group::Sensor, "the speed reading is wrong", "The tachometer counts another shaft or misses turns."),
    cause("tank-level-reading", Group::Sensor, "the tank level reading is wrong", "The level sensor sticks, or heel and waves move it."),
    cause("probe-crosstalk", Group::Sensor, "two probes disturb each other", "Each reads right alone; together in the same water on one supply they do not."),
    cause("product-salinity-not-measured", Group::Sensor, "nothing measures the product's salinity", "Without a meter nobody can say whether the water is salty; taste is no measure."),
    cause("unit-psi-bar", Group::Units, "psi taken for bar, or bar for psi", "The number on the gauge is in another unit than it was taken for."),
    cause("unit-gallon-litre", Group::Units, "gallons taken for litres, or litres for gallons", "Flow and tank disagree by a factor of 3.8 or 4.5."),
    cause("unit-ppm-scale", Group::Units, "two scales of ppm", "One meter turns conductivity into ppm by 0.5, the other by 0.7: the water is the same."),
    cause("unit-celsius-fahrenheit", Group::Units, "degrees Celsius taken for Fahrenheit, or the other way round", "The thermometer's number is in another unit than it was taken for."),
    cause("gauge-place-unknown", Group::Units, "it is not known where this gauge sits", "Before the pump, on the feed side of an energy-recovery pump or at the membranes the same number means different things."),
    cause("two-senders", Group::Network, "two devices send this value", "The number jumps between the values of two devices; one of them must be chosen."),
    cause("two-units", Group::Network, "two units are aboard and look like one", "Both send the same message, which has no field to tell them apart except the sender."),
    cause("reading-stale", Group::Network, "the value is old: its sender has gone", "The last number is still shown although nothing has sent it for long."),
    cause("reading-stuck", Group::Network, "the value does not move any more", "It is constant to the last digit although something has changed."),
    cause("supply-dc-low", Group::Supply, "low direct-current voltage at the motor", "The pump turns slower as the battery sinks; membrane and valve are not touched."),
    cause("supply-ac-low", Group::Supply, "low alternating-current voltage at the motor", "A long lead or a weak source: the motor draws more current and runs hot although output looks normal."),
    cause("frequency-off", Group::Supply, "mains of another frequency than the pump is rated for", "The pump turns with the mains: everything scales with it."),
    cause("control-signal-lost", Group::Supply, "no control signal: switch, splice or wire", "The supply is there, but the order to start does not arrive."),
    cause("motor-open-circuit", Group::Drive, "open circuit in the motor or its plug", "Voltage but no current: a brush or thermal switch is stuck, or a plug is off."),
    cause("motor-stalled", Group::Drive, "the motor does not turn and draws far too much", "Blocked rotor or failed start capacitor: the windings burn within a minute."),
    cause("motor-overheating", Group::Drive, "the motor fades as it warms", "Power goes down within minutes of each run: damaged windings, brushes or supply."),
    cause("drive-seizing", Group::Drive, "pump, clutch or bearing seizes", "The load grows within a run at the same pressure until engine or motor stalls."),
    cause("belt-slip", Group::Drive, "the belt slips", "The pump turns slower than the motor: heat, squeal, black dust."),
    cause("speed-low", Group::Drive, "engine, governor or inverter turns too slowly", "Motor and pump both turn slower than they should."),
    cause("inlet-blocked", Group::Suction, "sea water does not reach the unit: seacock, strainer or inlet", "Weed, fish, shells or a closed seacock; the pump is about to run dry."),
    cause("prefilter-loaded", Group::Suction, "the pre-filter is loaded", "Dirt in the cartridge takes the pressure that the pump needs at its inlet."),
    cause("feed-pump-weak", Group::Suction, "boost or feed pump gives too little", "Worn, blocked or too slow: too little water passes the membrane, and its salt rises."),
    cause("air-in-suction", Group::Suction, "air gets in before the pump", "A lid, clip or an inlet that lifts out: pressure hunts, bubbles in the clear hose."),
    cause("air-lock", Group::Suction, "air lock: the pump is not primed", "It turns but moves no water, and its packings run dry."),
    cause("low-side-shut", Group::Suction, "the low side is shut in", "A pump works against a closed way out and the plastic housing takes more than it may."),
    cause("flush-valve-leaking", Group::Suction, "the flush valve passes", "Tank water gets into the feed, or with the house pump off sea water into the tank."),
    cause("pump-worn", Group::Pump, "pump delivers less: packings, valves, belt or speed", "Concentrate and product together are less than this pump should deliver."),
    cause("dead-cylinder", Group::Pump, "one cylinder of the pump does not deliver", "A stuck valve: delivery and current fall together by one cylinder's share, and the hoses jump once per turn."),
    cause("energy-recovery-leak", Group::Pump, "internal leakage of the energy-recovery pump", "Product is a smaller share of all the water than the pump is built for."),
    cause("water-in-oil", Group::Pump, "water in the pump's oil", "Milky oil: condensation or a seal."),
    cause("bypass-open", Group::Outlets, "the high-pressure by-pass is not fully closed", "The pump delivers all, but part of it goes past the membranes."),
    cause("relief-passing", Group::Outlets, "the relief valve passes", "Water is missing between pump and jugs, and the relief's own hose runs."),
    cause("relief-lifted", Group::Outlets, "the relief valve has lifted", "Pressure rose above its limit and then fell at once; something made it rise."),
    cause("concentrate-blocked", Group::Outlets, "the way out for the concentrate is blocked", "Pressure rises and the concentrate stops."),
    cause("high-pressure-leak", Group::Outlets, "leak on the high-pressure side", "A hose, fitting or end cap lets water out aboard."),
    cause("low-pressure-leak", Group::Outlets, "leak at a plastic fitting or hose of the low side", "Water runs into the bilge while the unit runs."),
    cause("membrane-fouled", Group::Membrane, "membrane fouled by silt, growth or organics", "A deposit takes output over days to weeks, salt hardly changes."),
    cause("membrane-scaled", Group::Membrane, "scale on the membrane", "Salts of hardness settle where the water is most concentrated: less product and more salt."),
    cause("membrane-oxidised", Group::Membrane, "membrane damaged by chlorine or another oxidant", "More product and much more salt, lasting."),
    cause("membrane-overheated", Group::Membrane, "membrane damaged by heat", "Output was lost while the water was hot and does not come back."),
    cause("membrane-aged", Group::Membrane, "membrane at the end of its life", "Salt has risen over years."),
    cause("membrane-spoiled-at-rest", Group::Membrane, "membrane overgrown or dried during a long rest", "After months without preservative neither flow nor salinity returns."),
    cause("leak-to-product", Group::Membrane, "leak of feed water into the product: seal, connector or glue line", "Sea water passes into the product at one place, mostly since the vessel was opened."),
    cause("element-torn", Group::Membrane, "an element is torn or has come apart", "Product and salt rise in one step, often after pressure in the product line."),
    cause("brine-seal-bypass", Group::Membrane, "water passes outside an element", "The seal around the element lets feed go past; the pressure drop along it is low."),
    cause("elements-parallel", Group::Membrane, "elements side by side instead of in series", "Each gets part of the feed: less water, more recovery per element."),
    cause("product-shut", Group::ProductLine, "the product has no way out", "A full tank, a blocked vent or a closed valve: pressure in the product line can tear the membrane."),
    cause("product-check-valve-shut", Group::ProductLine, "the product's check valve is stuck shut", "Product does not leave the unit although the pressure is there."),
    cause("product-check-valve-leaking", Group::ProductLine, "the product's check valve does not close", "The tank loses litres through the unit after each stop."),
    cause("tank-loss", Group::ProductLine, "the tank loses water", "An open tap, the flush valve or a flow back through the unit."),
    cause("idle-too-long", Group::Care, "sea water has stood in the unit too long", "What lives in it dies, smells and grows on the membrane."),
    cause("tank-chlorinated", Group::Care, "the tank was chlorinated and not rinsed", "A flush from it would damage the membrane, which shows only days later."),
    cause("flush-water-short", Group::Care, "too little water for a flush", "The tank holds less than a flush needs."),
    cause("frost-protection-unproven", Group::Care, "it is not proven how much frost the unit can take", "What counts is the strength measured in what comes out, not the label."),
    cause("oil-due", Group::Care, "the pump's oil is due", "By running hours or by date, whichever comes first."),
    cause("anode-due", Group::Care, "the anode is due for a look", "By date; nothing aboard measures corrosion here."),
];

/// The cause with this code.
pub fn of(code: &str) -> Option<&'static NamedCause> {
    ALL.iter().find(|cause| cause.code == code)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_plain_and_found() {
        for (at, cause) in ALL.iter().enumerate() {
            assert_eq!(of(cause.code), Some(cause), "{} is there twice", cause.code);
            assert!(cause.code.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", cause.code);
            assert!(!cause.title.ends_with('.') && cause.meaning.ends_with('.'), "{}", cause.code);
            assert!(at == 0 || ALL[at - 1].group <= cause.group, "{} is outside its group", cause.code);
        }
        assert_eq!(of("rust"), None);
    }
}
