//! Published check values of the seawater properties, each beside what this crate computes.
//!
//! Used by the tests and by the report that prints the worst error per property. A value is either printed in the source itself or was
//! computed with a general-purpose oceanographic or chemical library, and says which.

use super::density::DensityAt;
use super::osmotic_pressure::OsmoticPressureAt;
use super::practical_salinity::{from_conductivity, published, to_conductivity};
use super::product_water;
use super::salinity_scales::REFERENCE_PER_PRACTICAL_G_KG;
use super::sodium_chloride::SodiumChlorideAt;
use super::viscosity::ViscosityAt;
use crate::quantity::{Conductivity, MassConcentration, PracticalSalinity, Pressure, Temperature};

/// One published value and ours.
#[derive(Clone, Copy, Debug)]
pub struct CheckValue {
    /// Which property, as a name for a report.
    pub property: &'static str,
    /// Arguments.
    pub label: &'static str,
    /// Where the expected value is from.
    pub source: &'static str,
    /// The value of the source.
    pub expected: f64,
    /// The value of this crate; NaN if it could not be computed.
    pub ours: f64,
    /// Largest relative error that the source's rounding or its stated difference from our correlation allows.
    pub tolerance: f64,
}

impl CheckValue {
    /// Deviation as a share of the expected value.
    pub fn relative_error(&self) -> f64 {
        (self.ours - self.expected) / self.expected
    }

    /// Is the deviation within the tolerance? False if ours is not a number.
    pub fn holds(&self) -> bool {
        self.relative_error().abs() <= self.tolerance
    }
}

/// The worst deviation of one property.
#[derive(Clone, Copy, Debug)]
pub struct WorstError {
    /// Which property.
    pub property: &'static str,
    /// How many values were compared.
    pub count: usize,
    /// The value that deviates most.
    pub worst: CheckValue,
}

/// All check values, property by property.
pub fn all() -> Vec<CheckValue> {
    let mut values = practical_salinity();
    values.extend(low_salinity());
    values.extend(conductivity());
    values.extend(density());
    values.extend(viscosity());
    values.extend(osmotic_pressure());
    values.extend(sodium_chloride());
    values.extend(product_water());
    values
}

/// The worst deviation of each property, in the order of [`all`].
pub fn worst_by_property() -> Vec<WorstError> {
    let mut list: Vec<WorstError> = Vec::new();
    for value in all() {
        match list.last_mut() {
            Some(last) if last.property == value.property => {
                last.count += 1;
                let larger = value.relative_error().abs() > last.worst.relative_error().abs();
                if larger || value.ours.is_nan() {
                    last.worst = value;
                }
            }
            _ => list.push(WorstError { property: value.property, count: 1, worst: value }),
        }
    }
    list
}

const UNESCO_44: &str = "Fofonoff & Millard 1983, UNESCO technical papers in marine science 44";
const TEOS_10: &str = "TEOS-10 library gsw";

fn table(
    property: &'static str,
    source: &'static str,
    tolerance: f64,
    rows: impl IntoIterator<Item = (&'static str, f64, Option<f64>)>,
) -> Vec<CheckValue> {
    rows.into_iter()
        .map(|(label, expected, ours)| CheckValue {
            property,
            label,
            source,
            expected,
            ours: ours.unwrap_or(f64::NAN),
            tolerance,
        })
        .collect()
}

fn celsius(t: f64) -> Option<Temperature> {
    Temperature::from_celsius(t).ok()
}

/// Practical salinity and conductivity ratio by the algorithms' own check values.
fn practical_salinity() -> Vec<CheckValue> {
    let sp = |t68, ratio| Some(published::salinity(t68, ratio));
    let ratio = |t68, practical| published::conductivity_ratio(practical, t68).ok();
    table(
        "practical_salinity",
        UNESCO_44,
        3e-8,
        [
            ("t68 15, R_t 1", 35.0, sp(15.0, 1.0)),
            ("t68 20, R_t 1.0568875", 37.245_628, sp(20.0, 1.056_887_5)),
            ("t68 5, R_t 0.81705885", 27.995_347, sp(5.0, 0.817_058_85)),
            ("R of 25 at t68 0", 0.498_008_25, ratio(0.0, 25.0)),
            ("R of 25 at t68 10", 0.654_990_15, ratio(10.0, 25.0)),
            ("R of 40 at t68 10", 1.000_073_11, ratio(10.0, 40.0)),
            ("R of 40 at t68 30", 1.529_966_97, ratio(30.0, 40.0)),
        ],
    )
}

/// Below 2, where the extension of Hill, Dauphinee & Woods 1986 holds. The expected values have six decimals.
fn low_salinity() -> Vec<CheckValue> {
    let sp = |t, ms_cm| {
        let conductivity = Conductivity::from_ms_cm(ms_cm).ok()?;
        from_conductivity(conductivity, celsius(t)?, Pressure::from_bar(0.0).ok()?)
            .ok()
            .map(|sp| sp.as_number())
    };
    table(
        "practical_salinity_below_2",
        TEOS_10,
        2.3e-5,
        [
            ("0.5 mS/cm at 25 °C", 0.240_378, sp(25.0, 0.5)),
            ("0.5 mS/cm at 15 °C", 0.302_020, sp(15.0, 0.5)),
            ("1.0 mS/cm at 20 °C", 0.550_072, sp(20.0, 1.0)),
            ("0.05 mS/cm at 25 °C", 0.022_192, sp(25.0, 0.05)),
        ],
    )
}

/// Conductivity of seawater of practical salinity 35; the expected values have three decimals.
fn conductivity() -> Vec<CheckValue> {
    let ms_cm = |t| {
        let practical = PracticalSalinity::from_number(35.0).ok()?;
        to_conductivity(practical, celsius(t)?).ok().map(|c| c.as_ms_cm())
    };
    table(
        "conductivity",
        TEOS_10,
        1.1e-5,
        [("35 at 20 °C, mS/cm", 47.918, ms_cm(20.0)), ("35 at 25 °C, mS/cm", 53.071, ms_cm(25.0))],
    )
}

fn density() -> Vec<CheckValue> {
    let rho = |practical, t68| Some(DensityAt::at_t68(t68).kg_m3_at_practical(practical));
    table(
        "density",
        UNESCO_44,
        6e-9,
        [
            ("0 at t68 5, kg/m3", 999.966_75, rho(0.0, 5.0)),
            ("0 at t68 25, kg/m3", 997.047_96, rho(0.0, 25.0)),
            ("35 at t68 5, kg/m3", 1_027.675_47, rho(35.0, 5.0)),
            ("35 at t68 25, kg/m3", 1_023.343_06, rho(35.0, 25.0)),
        ],
    )
}

fn viscosity() -> Vec<CheckValue> {
    let mu = |t, s| celsius(t).map(|t| ViscosityAt::new(t).pa_s(s));
    let mut values = table(
        "viscosity",
        "Millero 1974, The Sea vol. 5, check value; our correlation lies 0.5 % above",
        6e-3,
        [("40 at 25 °C, Pa s", 9.6541e-4, mu(25.0, 40.0 * REFERENCE_PER_PRACTICAL_G_KG))],
    );
    values.extend(table(
        "viscosity",
        "IAPWS formulation 2008 for pure water, from memory of its table at 0.1 MPa",
        1e-3,
        [
            ("pure water at 25 °C, Pa s", 8.90e-4, mu(25.0, 0.0)),
            ("pure water at 20 °C, Pa s", 1.0016e-3, mu(20.0, 0.0)),
        ],
    ));
    values
}

/// Against the exact definition solved with the TEOS-10 library. The correlation's own bias is +0.4 % at 35 g/kg, -1 % at 5 g/kg.
fn osmotic_pressure() -> Vec<CheckValue> {
    let bar = |t, s| celsius(t).map(|t| OsmoticPressureAt::new(t).pa(s) / 1e5);
    let mut values = table(
        "osmotic_pressure",
        TEOS_10,
        6e-3,
        [
            ("5 °C, 35.165 g/kg, bar", 24.070, bar(5.0, 35.165)),
            ("15 °C, 35.165 g/kg, bar", 25.037, bar(15.0, 35.165)),
            ("20 °C, 0.3 g/kg, bar", 0.225, bar(20.0, 0.3)),
            ("20 °C, 10 g/kg, bar", 7.056, bar(20.0, 10.0)),
            ("20 °C, 33 g/kg, bar", 23.835, bar(20.0, 33.0)),
            ("20 °C, 45 g/kg, bar", 33.192, bar(20.0, 45.0)),
            ("20 °C, 60 g/kg, bar", 45.622, bar(20.0, 60.0)),
            ("25 °C, 20 g/kg, bar", 14.417, bar(25.0, 20.0)),
            ("25 °C, 35.165 g/kg, bar", 25.920, bar(25.0, 35.165)),
            ("25 °C, 60 g/kg, bar", 46.436, bar(25.0, 60.0)),
            ("30 °C, 35.165 g/kg, bar", 26.335, bar(30.0, 35.165)),
            ("35 °C, 60 g/kg, bar", 47.961, bar(35.0, 60.0)),
        ],
    );
    values.extend(table(
        "osmotic_pressure",
        "documentation of a TEOS-10 library (300 K, 1e5 Pa)",
        5e-3,
        [("26.85 °C, 35 g/kg, bar", 25.946_032, bar(26.85, 35.0))],
    ));
    values.extend(table("osmotic_pressure", TEOS_10, 1.1e-2, [("5 °C, 5 g/kg, bar", 3.381, bar(5.0, 5.0))]));
    values
}

fn sodium_chloride() -> Vec<CheckValue> {
    let phi = |t, m| celsius(t).map(|t| SodiumChlorideAt::new(t).coefficient_at_molality(m));
    let mut values = table(
        "sodium_chloride_osmotic_coefficient",
        "Robinson & Stokes 1959, Electrolyte Solutions, from memory",
        1.5e-3,
        [
            ("0.1 mol/kg at 25 °C", 0.9324, phi(25.0, 0.1)),
            ("0.2 mol/kg at 25 °C", 0.9245, phi(25.0, 0.2)),
            ("0.3 mol/kg at 25 °C", 0.9215, phi(25.0, 0.3)),
            ("0.5 mol/kg at 25 °C", 0.9209, phi(25.0, 0.5)),
            ("0.6 mol/kg at 25 °C", 0.9230, phi(25.0, 0.6)),
            ("1.0 mol/kg at 25 °C", 0.9355, phi(25.0, 1.0)),
            ("2.0 mol/kg at 25 °C", 0.9833, phi(25.0, 2.0)),
        ],
    );
    values.extend(table(
        "sodium_chloride_osmotic_coefficient",
        "PHREEQC with its Pitzer data base",
        3.5e-3,
        [
            ("0.56 mol/kg at 5 °C", 0.9149, phi(5.0, 0.56)),
            ("0.56 mol/kg at 15 °C", 0.9199, phi(15.0, 0.56)),
            ("0.56 mol/kg at 25 °C", 0.9230, phi(25.0, 0.56)),
            ("0.56 mol/kg at 35 °C", 0.9247, phi(35.0, 0.56)),
        ],
    ));
    values
}

/// Dissolved solids of diluted seawater by the TEOS-10 library; the expected values have three to four digits.
fn product_water() -> Vec<CheckValue> {
    let mg_l = |us_cm| {
        let conductivity = Conductivity::from_us_cm(us_cm).ok()?;
        product_water::solids_from_conductivity(conductivity).ok().map(|solids| solids.as_mg_l())
    };
    let us_cm = |mg_l| {
        let solids = MassConcentration::from_mg_l(mg_l).ok()?;
        product_water::conductivity_from_solids(solids).ok().map(|conductivity| conductivity.as_us_cm())
    };
    table(
        "product_water",
        TEOS_10,
        1.4e-3,
        [
            ("100 µS/cm, mg/L", 46.3, mg_l(100.0)),
            ("200 µS/cm, mg/L", 94.3, mg_l(200.0)),
            ("300 µS/cm, mg/L", 142.6, mg_l(300.0)),
            ("500 µS/cm, mg/L", 240.8, mg_l(500.0)),
            ("750 µS/cm, mg/L", 366.0, mg_l(750.0)),
            ("1000 µS/cm, mg/L", 493.5, mg_l(1000.0)),
            ("1413 µS/cm, mg/L", 707.9, mg_l(1413.0)),
            ("2000 µS/cm, mg/L", 1019.0, mg_l(2000.0)),
            ("250 mg/L, µS/cm", 519.0, us_cm(250.0)),
            ("300 mg/L, µS/cm", 619.0, us_cm(300.0)),
            ("400 mg/L, µS/cm", 817.0, us_cm(400.0)),
            ("500 mg/L, µS/cm", 1013.0, us_cm(500.0)),
            ("1000 mg/L, µS/cm", 1966.0, us_cm(1000.0)),
        ],
    )
}
