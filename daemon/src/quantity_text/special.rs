//! Units that need more than a factor: gallons, ppm, vacuum, absolute pressure, salt per volume, specific gravity.

use super::error::{AskedScale, QuantityError};
use super::measure::Measure;
use super::units::{IMPERIAL_GALLON_L, INCH_MERCURY_BAR, US_GALLON_L, squash};
use super::{Convention, salinity};
use crate::settings::{Gallon, PpmScale};

type Converted = Result<f64, QuantityError>;

/// Dissolved solids shown per conductivity on the sodium chloride scale, mg/L per µS/cm: the setting of common meters.
/// Common practice, no source.
pub(super) const PPM_NACL_PER_US_CM: f64 = 0.5;
/// The same on the scale of 40 % sodium sulphate, 40 % bicarbonate, 20 % chloride. Common practice, no source.
pub(super) const PPM_442_PER_US_CM: f64 = 0.7;

/// `number` in the unit of the measure if the unit is one of the special ones; `None` if it is for the table.
pub(super) fn convert(
    number: f64,
    unit: &str,
    measure: Measure,
    convention: &Convention,
) -> Option<Converted> {
    match measure {
        Measure::Flow | Measure::Volume => gallons(number, unit, measure, convention),
        Measure::Pressure => vacuum(number, unit).or_else(|| absolute(unit)),
        Measure::PressureDifference => difference(number, unit),
        Measure::Conductivity | Measure::Solids | Measure::Salinity if is_ppm(unit) => {
            Some(ppm(number, unit, measure, convention))
        }
        Measure::Salinity => salinity::convert(number, unit),
        _ => None,
    }
}

/// As [`convert`] for the size of an error. Vacuum and specific gravity are points on a scale, not sizes.
pub(super) fn convert_size(
    number: f64,
    unit: &str,
    measure: Measure,
    convention: &Convention,
) -> Option<Converted> {
    match measure {
        Measure::Pressure => difference(number, unit),
        Measure::Salinity if !is_ppm(unit) => salinity::convert_size(number, unit),
        _ => convert(number, unit, measure, convention),
    }
}

/// What a special unit measures, so that it is named when it stands in the wrong place.
pub(super) fn measure_of(unit: &str) -> Option<Measure> {
    let per_time = |per: Option<f64>| if per.is_some() { Measure::Flow } else { Measure::Volume };
    if is_ppm(unit) {
        Some(Measure::Conductivity)
    } else if let Some((_, per)) = gallon_unit(unit) {
        Some(per_time(per))
    } else if is_vacuum(unit) {
        Some(Measure::Pressure)
    } else if salinity::is_gravity(unit) {
        Some(Measure::Salinity)
    } else {
        None
    }
}

fn is_ppm(unit: &str) -> bool {
    squash(unit).to_ascii_lowercase().starts_with("ppm")
}

/// A meter measures conductivity and shows it times a factor; so ppm is first a conductivity, and dissolved solids come from that.
fn ppm(number: f64, unit: &str, measure: Measure, convention: &Convention) -> Converted {
    let unit = unit.to_string();
    let squashed = squash(&unit).to_ascii_lowercase();
    let scale = match squashed.strip_prefix("ppm").unwrap_or("") {
        "nacl" => Some(PpmScale::Nacl),
        "442" => Some(PpmScale::Scale442),
        "" | "tds" => convention.ppm,
        _ => return Err(QuantityError::UnknownUnit { unit, measure }),
    };
    match (measure, scale) {
        (Measure::Salinity, _) => Err(QuantityError::PpmOfSeawater { unit }),
        (_, None) => Err(QuantityError::AskScale { unit, scale: AskedScale::Ppm }),
        (_, Some(scale)) => {
            let per_us_cm = match scale {
                PpmScale::Nacl => PPM_NACL_PER_US_CM,
                PpmScale::Scale442 => PPM_442_PER_US_CM,
            };
            let conductivity_us_cm = number / per_us_cm;
            if measure == Measure::Solids {
                salinity::solids_mg_l(conductivity_us_cm, &unit)
            } else {
                Ok(conductivity_us_cm)
            }
        }
    }
}

/// Gallon and, for a flow, hours per time unit: `US gal/h`, `imp gal`, `gph`, `gpd US`, `gal/min (US)`.
fn gallon_unit(unit: &str) -> Option<(Option<Gallon>, Option<f64>)> {
    let text = squash(unit).to_ascii_lowercase();
    let mut core = text.as_str();
    let mut gallon = None;
    for (word, meaning) in [
        ("imperial", Gallon::Imperial),
        ("imp", Gallon::Imperial),
        ("uk", Gallon::Imperial),
        ("us", Gallon::Us),
    ] {
        if let Some(rest) = core.strip_prefix(word).or_else(|| core.strip_suffix(word)) {
            core = rest;
            gallon = Some(meaning);
            break;
        }
    }
    let per_hour = match core {
        "gph" => Some(1.0),
        "gpm" => Some(60.0),
        "gpd" => Some(1.0 / 24.0),
        _ => {
            let (volume, time) = core.split_once('/').unwrap_or((core, ""));
            // `US gal/h` has its word in front, `gal US/h` behind the gallon.
            let (volume, inner) = match volume.strip_suffix("us") {
                Some(rest) if rest.starts_with("gal") => (rest, Some(Gallon::Us)),
                _ => match volume.strip_suffix("imp") {
                    Some(rest) if rest.starts_with("gal") => (rest, Some(Gallon::Imperial)),
                    _ => (volume, None),
                },
            };
            if !matches!(volume, "gal" | "gals" | "gallon" | "gallons") {
                return None;
            }
            gallon = gallon.or(inner);
            match time {
                "" => None,
                "h" | "hr" | "hour" => Some(1.0),
                "min" | "minute" => Some(60.0),
                "d" | "day" => Some(1.0 / 24.0),
                _ => return None,
            }
        }
    };
    Some((gallon, per_hour))
}

fn gallons(number: f64, unit: &str, measure: Measure, convention: &Convention) -> Option<Converted> {
    let (gallon, per_hour) = gallon_unit(unit)?;
    let is = if per_hour.is_some() { Measure::Flow } else { Measure::Volume };
    let unit = unit.to_string();
    if is != measure {
        return Some(Err(QuantityError::WrongMeasure { unit, is, expected: measure, label: None }));
    }
    let litres = match gallon.or(convention.gallon) {
        Some(Gallon::Us) => US_GALLON_L,
        Some(Gallon::Imperial) => IMPERIAL_GALLON_L,
        None => return Some(Err(QuantityError::AskScale { unit, scale: AskedScale::Gallon })),
    };
    Some(Ok(number * litres * per_hour.unwrap_or(1.0)))
}

fn mercury(unit: &str) -> Option<String> {
    let text = squash(unit).to_ascii_lowercase();
    text.strip_prefix("inhg").or_else(|| text.strip_prefix("\"hg")).map(str::to_string)
}

fn is_vacuum(unit: &str) -> bool {
    mercury(unit).is_some()
}

fn vacuum(number: f64, unit: &str) -> Option<Converted> {
    Some(match mercury(unit)?.as_str() {
        "vac" | "vacuum" if number < 0.0 => Err(QuantityError::OddVacuum),
        "vac" | "vacuum" => Ok(-number * INCH_MERCURY_BAR),
        _ => Err(QuantityError::MercuryWithoutVacuum { unit: unit.to_string() }),
    })
}

/// Differences and errors may be typed in inches of mercury, but not as a vacuum; `psid` and `bar d` say that it is a difference.
fn difference(number: f64, unit: &str) -> Option<Converted> {
    match mercury(unit).as_deref() {
        Some("") => return Some(Ok(number * INCH_MERCURY_BAR)),
        Some(_) => return Some(Err(QuantityError::OddVacuum)),
        None => {}
    }
    let text = squash(unit).to_ascii_lowercase();
    let plain = match text.as_str() {
        "psid" => "psi",
        "bard" => "bar",
        _ => return None,
    };
    Some(super::units::convert(number, plain, Measure::PressureDifference))
}

fn absolute(unit: &str) -> Option<Converted> {
    const ABSOLUTE: &[&str] = &["psia", "bara", "mbara", "kpaa", "mpaa", "ata"];
    let text = squash(unit).to_ascii_lowercase();
    (ABSOLUTE.contains(&text.as_str()) || text.ends_with("abs") || text.ends_with("absolute"))
        .then(|| Err(QuantityError::AbsolutePressure { unit: unit.to_string() }))
}
