//! The figures of a comparison: one list for terminal, JSON and page, with the end that is the bad one.

use barrico_model::plant::{ElementFigures, Estimate};
use barrico_model::sizing::{Case, Figure, Unknown, Worst};

/// One figure.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Key in JSON, with the unit.
    pub key: &'static str,
    /// Words for people.
    pub words: &'static str,
    /// Unit for people.
    pub unit: &'static str,
    /// From the key's unit to that.
    pub factor: f64,
    /// Which end is bad; none if neither is.
    pub worst: Option<Worst>,
    /// The figure.
    pub of: fn(&Case) -> Figure,
}

const LOW: Option<Worst> = Some(Worst::Lowest);
const HIGH: Option<Worst> = Some(Worst::Highest);

/// Product, L/h.
pub const PRODUCT: Row = Row {
    key: "product_flow_l_h",
    words: "product",
    unit: "L/h",
    factor: 1.0,
    worst: LOW,
    of: |case| {
        Ok(Estimate::new(case.expected.output.product_flow_l_h, case.expected.uncertainty.product_flow_l_h))
    },
};
/// Dissolved solids of the product, mg/L.
pub const SOLIDS: Row = Row {
    key: "product_tds_mg_l",
    words: "product salinity",
    unit: "mg/L",
    factor: 1.0,
    worst: HIGH,
    of: |case| {
        Ok(Estimate::new(case.expected.output.product_tds_mg_l, case.expected.uncertainty.product_tds_mg_l))
    },
};
/// Conductivity of the product, µS/cm at 25 °C.
pub const CONDUCTIVITY: Row = Row {
    key: "product_conductivity_us_cm_25c",
    words: "conductivity at 25 °C",
    unit: "µS/cm",
    factor: 1.0,
    worst: HIGH,
    of: |case| {
        let (output, sd) = (&case.expected.output, &case.expected.uncertainty);
        Ok(Estimate::new(output.product_conductivity_us_cm_25c, sd.product_conductivity_us_cm_25c))
    },
};
/// Feed pressure, bar.
pub const PRESSURE: Row = Row {
    key: "feed_pressure_bar_gauge",
    words: "feed pressure",
    unit: "bar",
    factor: 1.0,
    worst: HIGH,
    of: |case| {
        Ok(Estimate::new(case.expected.output.feed_pressure_bar, case.expected.uncertainty.feed_pressure_bar))
    },
};
/// Recovery of the train.
pub const RECOVERY: Row = Row {
    key: "recovery",
    words: "recovery, whole train",
    unit: "%",
    factor: 100.0,
    worst: HIGH,
    of: |case| Ok(Estimate::new(case.expected.output.recovery, case.expected.uncertainty.recovery)),
};
/// Recovery of the element with the highest.
pub const ELEMENT_RECOVERY: Row = Row {
    key: "highest_element_recovery",
    words: "recovery, hardest element",
    unit: "%",
    factor: 100.0,
    worst: HIGH,
    of: |case| highest(case, |element| element.recovery),
};
/// Flux of the element with the highest.
pub const ELEMENT_FLUX: Row = Row {
    key: "highest_element_flux_l_m2_h",
    words: "flux, hardest element",
    unit: "L/(m² h)",
    factor: 1.0,
    worst: HIGH,
    of: |case| highest(case, |element| element.flux_l_m2_h),
};

/// The highest figure of all elements.
fn highest(case: &Case, of: fn(&ElementFigures) -> f64) -> Figure {
    let (output, sd) = (&case.expected.output.elements, &case.expected.uncertainty.elements);
    let all = output.iter().zip(sd).map(|(figures, sd)| Estimate::new(of(figures), of(sd)));
    all.max_by(|a, b| a.value.total_cmp(&b.value)).ok_or(Unknown::NoMeaning("no element"))
}

/// Feed flow, L/h.
pub const FEED: Row = Row {
    key: "feed_flow_l_h",
    words: "feed",
    unit: "L/h",
    factor: 1.0,
    worst: None,
    of: |case| Ok(Estimate::new(case.expected.output.feed_flow_l_h, case.expected.uncertainty.feed_flow_l_h)),
};
/// Power, W.
pub const POWER: Row = Row {
    key: "power_w",
    words: "power",
    unit: "W",
    factor: 1.0,
    worst: HIGH,
    of: |case| Ok(case.load.power_w),
};
/// Current, A.
pub const CURRENT: Row = Row {
    key: "current_a",
    words: "current",
    unit: "A",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.load.current_a,
};
/// Start current, A.
pub const START: Row = Row {
    key: "start_current_a",
    words: "current at the start",
    unit: "A",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.load.start_current_a,
};
/// Running hours a day.
pub const HOURS: Row = Row {
    key: "running_hours_per_day_h",
    words: "running time a day",
    unit: "h",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.day.hours,
};
/// Running hours for one filling.
pub const FILLING: Row = Row {
    key: "running_hours_per_filling_h",
    words: "running time for a filling",
    unit: "h",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.day.filling_hours,
};
/// Energy a day, kWh for people.
pub const ENERGY: Row = Row {
    key: "energy_per_day_wh",
    words: "energy a day",
    unit: "kWh",
    factor: 1e-3,
    worst: HIGH,
    of: |case| case.day.energy_wh,
};
/// Energy of a litre.
pub const PER_LITRE: Row = Row {
    key: "specific_energy_wh_l",
    words: "energy of a litre",
    unit: "Wh/L",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.specific_energy_wh_l,
};
/// Apparent energy of a litre.
pub const APPARENT_PER_LITRE: Row = Row {
    key: "specific_apparent_energy_vah_l",
    words: "the same in VAh",
    unit: "VAh/L",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.specific_apparent_vah_l,
};
/// Hours on the battery alone.
pub const BATTERY: Row = Row {
    key: "battery_hours_h",
    words: "battery alone lasts",
    unit: "h",
    factor: 1.0,
    worst: LOW,
    of: |case| case.day.battery_hours,
};
/// What the sun covers.
pub const SOLAR: Row = Row {
    key: "solar_share",
    words: "covered by the sun",
    unit: "%",
    factor: 100.0,
    worst: LOW,
    of: |case| case.day.solar_share,
};
/// Hours of the engine a day.
pub const ENGINE: Row = Row {
    key: "engine_hours_per_day_h",
    words: "generator/engine time a day",
    unit: "h",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.day.engine_hours,
};
/// Fuel a day.
pub const FUEL: Row = Row {
    key: "fuel_per_day_l",
    words: "fuel a day",
    unit: "L",
    factor: 1.0,
    worst: HIGH,
    of: |case| case.day.fuel_l,
};
/// Of it for turning without load.
pub const FUEL_IDLE: Row = Row {
    key: "fuel_idle_part_per_day_l",
    words: "  of it for turning idle",
    unit: "L",
    factor: 1.0,
    worst: None,
    of: |case| case.day.fuel_idle_l,
};
/// Of it for the load.
pub const FUEL_LOAD: Row = Row {
    key: "fuel_load_part_per_day_l",
    words: "  of it for the load",
    unit: "L",
    factor: 1.0,
    worst: None,
    of: |case| case.day.fuel_load_l,
};

/// All, in the order in which they are shown.
pub const ALL: [Row; 20] = [
    PRODUCT,
    SOLIDS,
    CONDUCTIVITY,
    RECOVERY,
    FEED,
    PRESSURE,
    POWER,
    CURRENT,
    START,
    HOURS,
    FILLING,
    ENERGY,
    PER_LITRE,
    APPARENT_PER_LITRE,
    BATTERY,
    SOLAR,
    ENGINE,
    FUEL,
    FUEL_IDLE,
    FUEL_LOAD,
];
/// Those that tell what a fault does.
pub const WHEN_FAULTY: [Row; 5] = [PRODUCT, CONDUCTIVITY, PRESSURE, HOURS, PER_LITRE];
/// Those that two candidates are told apart by.
pub const DIFFERENCES: [Row; 4] = [PRODUCT, PER_LITRE, HOURS, FUEL];
