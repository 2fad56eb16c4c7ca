//! What kind of number is expected: decides which units may be typed and in which unit the value comes back.

use barrico_model::{Dimension, Quantity};

/// Kinds of numbers that people type. The first ones are the dimensions of quantities, the last ones occur in settings only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Volume per time, L/h.
    Flow,
    /// Temperature, °C.
    Temperature,
    /// Salt per mass of water, g/kg.
    Salinity,
    /// Dissolved solids per volume, mg/L.
    Solids,
    /// Conductivity at 25 °C, µS/cm.
    Conductivity,
    /// Gauge pressure, bar.
    Pressure,
    /// Pressure difference, bar.
    PressureDifference,
    /// Electrical potential, V.
    Voltage,
    /// Electrical current, A.
    Current,
    /// Power, W.
    Power,
    /// Frequency, Hz.
    Frequency,
    /// Turning speed, rpm.
    Speed,
    /// Share in percent.
    Percent,
    /// Time, s.
    Duration,
    /// Area, m2.
    Area,
    /// Volume, L.
    Volume,
    /// Length, µm.
    Length,
    /// Energy, Wh.
    Energy,
    /// Charge of a battery, Ah.
    Charge,
    /// Apparent power, VA.
    ApparentPower,
    /// Mass, kg.
    Mass,
}

impl Measure {
    /// Every measure.
    pub const ALL: [Measure; 21] = [
        Self::Flow,
        Self::Temperature,
        Self::Salinity,
        Self::Solids,
        Self::Conductivity,
        Self::Pressure,
        Self::PressureDifference,
        Self::Voltage,
        Self::Current,
        Self::Power,
        Self::Frequency,
        Self::Speed,
        Self::Percent,
        Self::Duration,
        Self::Area,
        Self::Volume,
        Self::Length,
        Self::Energy,
        Self::Charge,
        Self::ApparentPower,
        Self::Mass,
    ];

    /// The measure of a quantity; states and routes have none, they are named.
    pub const fn of(quantity: Quantity) -> Option<Self> {
        Some(match quantity.dimension() {
            Dimension::Flow => Self::Flow,
            Dimension::Temperature => Self::Temperature,
            Dimension::Salinity => Self::Salinity,
            Dimension::Solids => Self::Solids,
            Dimension::Conductivity => Self::Conductivity,
            Dimension::Pressure => Self::Pressure,
            Dimension::PressureDifference => Self::PressureDifference,
            Dimension::Voltage => Self::Voltage,
            Dimension::Current => Self::Current,
            Dimension::Power => Self::Power,
            Dimension::Frequency => Self::Frequency,
            Dimension::Speed => Self::Speed,
            Dimension::Level => Self::Percent,
            Dimension::Duration => Self::Duration,
            Dimension::State | Dimension::Route => return None,
        })
    }

    /// The unit in which values come back.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Flow => "L/h",
            Self::Temperature => "°C",
            Self::Salinity => "g/kg",
            Self::Solids => "mg/L",
            Self::Conductivity => "µS/cm",
            Self::Pressure | Self::PressureDifference => "bar",
            Self::Voltage => "V",
            Self::Current => "A",
            Self::Power => "W",
            Self::Frequency => "Hz",
            Self::Speed => "rpm",
            Self::Percent => "%",
            Self::Duration => "s",
            Self::Area => "m2",
            Self::Volume => "L",
            Self::Length => "µm",
            Self::Energy => "Wh",
            Self::Charge => "Ah",
            Self::ApparentPower => "VA",
            Self::Mass => "kg",
        }
    }

    /// The word for it, with its article.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Flow => "a flow",
            Self::Temperature => "a temperature",
            Self::Salinity => "a salinity",
            Self::Solids => "dissolved solids",
            Self::Conductivity => "a conductivity",
            Self::Pressure => "a pressure",
            Self::PressureDifference => "a pressure difference",
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Power => "a power",
            Self::Frequency => "a frequency",
            Self::Speed => "a turning speed",
            Self::Percent => "a share in percent",
            Self::Duration => "a time",
            Self::Area => "an area",
            Self::Volume => "a volume",
            Self::Length => "a length",
            Self::Energy => "an energy",
            Self::Charge => "the charge of a battery",
            Self::ApparentPower => "an apparent power",
            Self::Mass => "a mass",
        }
    }

    /// Two or three ways to write one.
    pub const fn examples(self) -> &'static str {
        match self {
            Self::Flow => "`320 L/h`, `5.4 L/min`, `40 US gal/h`",
            Self::Temperature => "`18.5 C`, `65 F`",
            Self::Salinity => "`35 g/kg`, `35 psu`, `36 g/L`",
            Self::Solids => "`250 mg/L`, `0.25 g/L`",
            Self::Conductivity => "`420 uS/cm`, `53 mS/cm`, `250 ppm NaCl`",
            Self::Pressure => "`55 bar`, `800 psi`, `5.5 MPa`",
            Self::PressureDifference => "`0.4 bar`, `6 psi`, `40 kPa`",
            Self::Voltage => "`230 V`, `12.6 V`",
            Self::Current => "`9.5 A`",
            Self::Power => "`2.2 kW`, `350 W`, `3 hp`",
            Self::Frequency => "`50 Hz`",
            Self::Speed => "`1450 rpm`",
            Self::Percent => "`60 %`",
            Self::Duration => "`90 s`, `15 min`, `7 d`",
            Self::Area => "`2.6 m2`, `28 ft2`",
            Self::Volume => "`400 L`, `0.4 m3`, `100 US gal`",
            Self::Length => "`5 um`, `20 micron`",
            Self::Energy => "`800 Wh`, `1.2 kWh`",
            Self::Charge => "`400 Ah`",
            Self::ApparentPower => "`3500 VA`, `3.5 kVA`",
            Self::Mass => "`45 kg`, `100 lb`",
        }
    }
}
