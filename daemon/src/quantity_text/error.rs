//! Why a text is no quantity, and how to write it instead.
//!
//! `Display` says what is wrong; [`QuantityError::help`] says what to do.

use super::measure::Measure;
use barrico_model::Quantity;
use thiserror::Error;

/// What has to be asked once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AskedScale {
    /// Which gallon.
    Gallon,
    /// Which scale of ppm.
    Ppm,
}

/// Why a text is no quantity.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum QuantityError {
    /// There is no number at the start, or it is not finite.
    #[error("`{text}` is not a number with a unit")]
    NotANumber {
        /// The text.
        text: String,
        /// What was expected.
        measure: Measure,
    },
    /// A comma between digits.
    #[error("`{whole},{fraction}` has a comma, which some read as a decimal point and some as thousands")]
    DecimalComma {
        /// Digits before the comma.
        whole: String,
        /// Digits behind it.
        fraction: String,
    },
    /// Digits in groups, or two decimal points.
    #[error("`{typed}` is not one plain number")]
    GroupedDigits {
        /// The number as typed.
        typed: String,
    },
    /// A range, or a value with an error.
    #[error("one value is expected, not a range or a value with its error")]
    OneValue,
    /// A number alone.
    #[error("the unit is missing")]
    NoUnit {
        /// What was expected.
        measure: Measure,
    },
    /// Not a unit that is known here.
    #[error("`{unit}` is not a known unit of {}", of(*measure))]
    UnknownUnit {
        /// The unit.
        unit: String,
        /// What was expected.
        measure: Measure,
    },
    /// A unit of something else.
    #[error("`{unit}` is a unit of {}; {} is expected", of(*is), label.unwrap_or(expected.noun()))]
    WrongMeasure {
        /// The unit.
        unit: String,
        /// What it measures.
        is: Measure,
        /// What was expected.
        expected: Measure,
        /// The quantity's words for people, if it was for a quantity.
        label: Option<&'static str>,
    },
    /// A bare `gal` or `ppm`.
    #[error("`{unit}` is not clear: {}", question(*scale))]
    AskScale {
        /// The unit.
        unit: String,
        /// What has to be asked.
        scale: AskedScale,
    },
    /// A meter's `ppm` that stands for no conductivity of product water.
    #[error("`{unit}` on a meter is a conductivity times a factor, and this one is beyond any product water")]
    PpmIsConductivity {
        /// The unit.
        unit: String,
    },
    /// `ppm` for seawater: by mass or by volume?
    #[error("`{unit}` is not clear for seawater: by mass and by volume differ by 2 to 3 %")]
    PpmOfSeawater {
        /// The unit.
        unit: String,
    },
    /// An absolute pressure.
    #[error("`{unit}` is an absolute pressure; gauge pressure is expected")]
    AbsolutePressure {
        /// The unit.
        unit: String,
    },
    /// Inches of mercury that are not called a vacuum.
    #[error("`{unit}` without `vac` is not clear: a suction gauge shows a vacuum")]
    MercuryWithoutVacuum {
        /// The unit.
        unit: String,
    },
    /// A vacuum with a minus sign, or as a difference.
    #[error("a vacuum is typed as the gauge shows it, without a minus sign, and only as a pressure")]
    OddVacuum,
    /// A gauge pressure below a perfect vacuum.
    #[error("{} bar is below -1 bar: no gauge pressure lies below a perfect vacuum", tidy(*bar))]
    BelowVacuum {
        /// The pressure.
        bar: f64,
    },
    /// A temperature below absolute zero.
    #[error("this temperature is below absolute zero")]
    BelowAbsoluteZero,
    /// A specific gravity without its temperature.
    #[error("a specific gravity says nothing without the temperature it was read at")]
    GravityNeedsTemperature,
    /// A specific gravity that no seawater has.
    #[error(
        "no seawater between 0 and 80 g/kg has this specific gravity, or the temperature is not between 0 and 40 °C"
    )]
    GravityOutside,
    /// A mass of salt per volume that no seawater has.
    #[error("no seawater has this much salt per litre")]
    SaltPerLitreOutside,
    /// Not possible aboard.
    #[error("{} {unit} is not possible as {label}: it lies between {} and {} {unit}", tidy(*value), tidy(*low), tidy(*high))]
    Impossible {
        /// The value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// The quantity's words for people.
        label: &'static str,
        /// Lowest possible value.
        low: f64,
        /// Highest possible value.
        high: f64,
    },
    /// The size of an error below zero.
    #[error("the size of an error is never negative")]
    NegativeSize,
    /// Not one of the names.
    #[error("`{text}` is no {label}")]
    NotAName {
        /// The text.
        text: String,
        /// The quantity's words for people.
        label: &'static str,
        /// The names that there are.
        names: String,
    },
}

impl QuantityError {
    /// What to write instead.
    pub fn help(&self) -> String {
        match self {
            Self::NotANumber { measure, .. } | Self::NoUnit { measure } | Self::UnknownUnit { measure, .. } => {
                format!("a number with a decimal point, then the unit: {}", measure.examples())
            }
            Self::DecimalComma { whole, fraction } if fraction.len() == 3 => {
                format!("write `{whole}{fraction}` or `{whole}.{fraction}`, with a decimal point and no separator of thousands")
            }
            Self::DecimalComma { whole, fraction } => format!("write a decimal point: `{whole}.{fraction}`"),
            Self::GroupedDigits { .. } => "write all digits together, with at most one decimal point: `1500`, `1.5`".to_string(),
            Self::OneValue => "write one number with its unit".to_string(),
            Self::WrongMeasure { is, expected, .. } => wrong_measure_help(*is, *expected),
            Self::AskScale { scale: AskedScale::Gallon, .. } => {
                "write `US gal` or `imp gal` (as in `40 US gal/h`, `35 imp gal/h`), or say once for the instrument which it means: \
                 `gallon = \"us\"` or `gallon = \"imperial\"`"
                    .to_string()
            }
            Self::AskScale { scale: AskedScale::Ppm, .. } => {
                "write `ppm NaCl` (0.5 of uS/cm) or `ppm 442` (0.7 of uS/cm), as the meter's manual says, or say once for the \
                 instrument which it means: `ppm = \"nacl\"` or `ppm = \"442\"`; clearest is the meter's reading in `uS/cm`"
                    .to_string()
            }
            Self::PpmIsConductivity { .. } => {
                "enter a meter's reading as product_conductivity, in `uS/cm`, `ppm NaCl` or `ppm 442`; a laboratory's result in `mg/L`"
                    .to_string()
            }
            Self::PpmOfSeawater { .. } => "write `mg/kg` or `mg/L`, or use `g/kg`, `g/L`, `psu`".to_string(),
            Self::AbsolutePressure { .. } => {
                "take off the pressure of the air, about 1.013 bar or 14.7 psi, and write `bar` or `psi`".to_string()
            }
            Self::MercuryWithoutVacuum { .. } => "write `10 inHg vac` for a vacuum of ten inches, which is -0.34 bar".to_string(),
            Self::OddVacuum => "write `10 inHg vac`, or the gauge pressure itself: `-0.34 bar`".to_string(),
            Self::BelowVacuum { .. } => {
                "gauge pressure counts from the air around; check sign, number and unit, or whether the gauge shows zero when open to air"
                    .to_string()
            }
            Self::BelowAbsoluteZero => format!("check sign and unit: {}", Measure::Temperature.examples()),
            Self::GravityNeedsTemperature => {
                "write the temperature of the sample behind it: `1.0260 SG at 20 C`; or use g/kg, psu or a conductivity".to_string()
            }
            Self::GravityOutside => "check the number: seawater of 35 g/kg at 20 C has `1.0266 SG at 20 C`".to_string(),
            Self::SaltPerLitreOutside => "check number and unit: open sea has about `36 g/L`".to_string(),
            Self::Impossible { .. } => "check the number, the decimal point and the unit".to_string(),
            Self::NegativeSize => "write it without a sign".to_string(),
            Self::NotAName { names, .. } => format!("one of: {names}"),
        }
    }

    /// The same error with the quantity named where that helps.
    pub(super) fn about(self, quantity: Quantity) -> Self {
        match self {
            Self::WrongMeasure { unit, is, expected, .. } => {
                Self::WrongMeasure { unit, is, expected, label: Some(quantity.label()) }
            }
            other => other,
        }
    }
}

fn wrong_measure_help(is: Measure, expected: Measure) -> String {
    let examples = expected.examples();
    let is_salt = |measure| matches!(measure, Measure::Salinity | Measure::Solids | Measure::Conductivity);
    if is_salt(is) && is_salt(expected) {
        format!(
            "write {examples}; a meter's reading in uS/cm belongs under feed_conductivity or product_conductivity, mg/L of product \
             under product_salinity, g/kg of seawater under feed_salinity"
        )
    } else {
        format!("write {examples}")
    }
}

/// The noun without its article.
fn of(measure: Measure) -> &'static str {
    let noun = measure.noun();
    noun.strip_prefix("a ").or_else(|| noun.strip_prefix("an ")).unwrap_or(noun)
}

fn question(scale: AskedScale) -> &'static str {
    match scale {
        AskedScale::Gallon => "US and imperial gallons differ by a fifth",
        AskedScale::Ppm => "meters show ppm on scales that differ by 40 %",
    }
}

/// Up to four decimals, without zeros at the end.
fn tidy(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}
