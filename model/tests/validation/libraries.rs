//! Properties of water against general-purpose libraries, over the tables in `tests/reference`.

use super::check::{Check, Group};
use super::common::bar;
use barrico_model::quantity::{Conductivity, Temperature};
use barrico_model::seawater::density::DensityAt;
use barrico_model::seawater::osmotic_pressure::OsmoticPressureAt;
use barrico_model::seawater::practical_salinity::from_conductivity;
use barrico_model::seawater::product_water::solids_from_conductivity;
use barrico_model::seawater::sodium_chloride::SodiumChlorideAt;
use barrico_model::seawater::viscosity::ViscosityAt;

const DENSITY: &str = include_str!("../../../tests/reference/density.csv");
const VISCOSITY: &str = include_str!("../../../tests/reference/viscosity_pure_water.csv");
const SALINITY: &str = include_str!("../../../tests/reference/practical_salinity.csv");
const OSMOTIC: &str = include_str!("../../../tests/reference/osmotic_pressure_sea_salt.csv");
const SODIUM_CHLORIDE: &str =
    include_str!("../../../tests/reference/osmotic_coefficient_sodium_chloride.csv");
const PRODUCT: &str = include_str!("../../../tests/reference/product_water.csv");

/// A table as it lies in its file.
struct Table {
    comments: Vec<&'static str>,
    columns: Vec<&'static str>,
    rows: Vec<Vec<Option<f64>>>,
}

impl Table {
    fn new(text: &'static str) -> Self {
        let (comments, lines): (Vec<_>, Vec<_>) = text.lines().partition(|line| line.starts_with('#'));
        let columns = lines[0].split(',').collect();
        let row = |line: &&str| line.split(',').map(|cell| cell.parse().ok()).collect();
        Self { comments, columns, rows: lines[1..].iter().map(row).collect() }
    }

    /// The library behind a column, with its version.
    fn library(&self, column: &str) -> String {
        let mark = format!("# {}:", column.split('_').next().unwrap_or(column));
        let line =
            self.comments.iter().find(|line| line.starts_with(&mark)).expect("a column with an origin");
        line[mark.len()..].split(',').next().unwrap_or_default().trim().to_string()
    }

    /// Compares one column, where `ours` has a value and a tolerance for the row; the first cells of a row are the arguments.
    fn compare(
        &self,
        name: &'static str,
        title: &'static str,
        column: &str,
        ours: impl Fn(&[f64]) -> Option<(String, f64, f64)>,
    ) -> Group {
        let at = self.columns.iter().position(|title| *title == column).expect("a known column");
        let mut checks = Vec::new();
        for row in &self.rows {
            let arguments: Vec<f64> = row.iter().map_while(|cell| *cell).collect();
            if let (Some(expected), Some((what, value, tolerance))) = (row[at], ours(&arguments)) {
                checks.push(Check::new(what, expected, value, tolerance));
            }
        }
        Group { name, title, source: self.library(column), checks }
    }
}

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t).expect("finite")
}

/// All comparisons with libraries.
pub fn all() -> Vec<Group> {
    let mut groups = density();
    groups.push(viscosity());
    groups.extend(practical());
    groups.extend(osmotic());
    groups.extend(sodium_chloride());
    groups.push(product());
    groups
}

fn density() -> Vec<Group> {
    let table = Table::new(DENSITY);
    let ours = |row: &[f64], tolerance: f64| {
        let what = format!("{} °C, {} g/kg", row[0], row[1]);
        Some((what, DensityAt::new(celsius(row[0])).kg_m3(row[1]), tolerance))
    };
    let within = |row: &[f64]| row[1] <= 42.0;
    vec![
        // The library prints nine digits.
        table.compare("density_against_eos80", "density, 0 to 43 g/kg", "eos80_kg_m3", |row| ours(row, 1e-8)),
        // 0.01 kg/m3: how far the two equations of state differ.
        table.compare("density_against_teos10", "density, 0 to 42 g/kg", "teos10_kg_m3", |row| {
            ours(row, 1e-5).filter(|_| within(row))
        }),
        // 0.4 kg/m3 at the far end, where both extrapolate.
        table.compare(
            "density_of_concentrate",
            "density, 45 to 70 g/kg (extrapolated)",
            "teos10_kg_m3",
            |row| ours(row, 4e-4).filter(|_| !within(row)),
        ),
    ]
}

fn viscosity() -> Group {
    let table = Table::new(VISCOSITY);
    // The formula's own range begins at 0 °C, where it is worst.
    table.compare("viscosity_of_pure_water", "viscosity of pure water, 0 to 40 °C", "iapws2008_pa_s", |row| {
        Some((format!("{} °C", row[0]), ViscosityAt::new(celsius(row[0])).pure_water_pa_s(), 3e-4))
    })
}

fn practical() -> Vec<Group> {
    let table = Table::new(SALINITY);
    let ours = |row: &[f64], tolerance: f64| {
        let conductivity = Conductivity::from_ms_cm(row[1]).ok()?;
        let found = from_conductivity(conductivity, celsius(row[0]), bar(row[2])).ok()?;
        let what = format!("{} mS/cm at {} °C, {} bar", row[1], row[0], row[2]);
        Some((what, found.as_number(), tolerance))
    };
    vec![
        table.compare("practical_salinity_against_pss78", "practical salinity, 2 to 42", "pss78", |row| {
            ours(row, 1e-8)
        }),
        // Nine printed digits of a conductivity, and ten times that near 2, where the two formulas are joined.
        table.compare(
            "practical_salinity_against_teos10",
            "practical salinity, 0.02 to 42, 0 and 55 bar",
            "teos10",
            |row| ours(row, 1e-7),
        ),
    ]
}

fn osmotic() -> Vec<Group> {
    let table = Table::new(OSMOTIC);
    let pa = |row: &[f64]| OsmoticPressureAt::new(celsius(row[0])).pa(row[1]) / 1e5;
    let what = |row: &[f64]| format!("{} °C, {} g/kg", row[0], row[1]);
    // The correlation's own bias: +0.4 % at 35 g/kg, worst at the ends of the grid.
    let sea = |row: &[f64]| (10.0..=70.0).contains(&row[1]).then(|| (what(row), pa(row), 9.5e-3));
    let dilute = |row: &[f64]| (row[1] < 10.0).then(|| (what(row), pa(row), 1.5e-2));
    vec![
        table.compare(
            "osmotic_pressure_against_teos10",
            "osmotic pressure, 10 to 70 g/kg",
            "teos10_bar",
            sea,
        ),
        table.compare(
            "osmotic_pressure_against_phreeqc",
            "osmotic pressure, 10 to 70 g/kg",
            "phreeqc_bar",
            sea,
        ),
        table.compare(
            "osmotic_pressure_of_dilute_water",
            "osmotic pressure, 0.1 to 10 g/kg",
            "teos10_bar",
            dilute,
        ),
        table.compare(
            "osmotic_coefficient_against_iapws",
            "osmotic coefficient of sea salt, 10 to 70 g/kg",
            "iapws_coefficient",
            |row| {
                let at = OsmoticPressureAt::new(celsius(row[0]));
                (10.0..=70.0).contains(&row[1]).then(|| (what(row), at.coefficient(row[1]), 9.5e-3))
            },
        ),
    ]
}

fn sodium_chloride() -> Vec<Group> {
    let table = Table::new(SODIUM_CHLORIDE);
    let ours = |row: &[f64], tolerance: f64| {
        let at = SodiumChlorideAt::new(celsius(row[0]));
        Some((format!("{} mol/kg at {} °C", row[1], row[0]), at.coefficient_at_molality(row[1]), tolerance))
    };
    vec![
        table.compare(
            "sodium_chloride_against_phreeqc",
            "osmotic coefficient of sodium chloride, 5 to 40 °C, to 1 mol/kg",
            "phreeqc",
            |row| ours(row, 6e-3).filter(|_| row[1] <= 1.0),
        ),
        table.compare(
            "sodium_chloride_against_pyeql",
            "osmotic coefficient of sodium chloride, 25 °C, to 2 mol/kg",
            "pyeql",
            |row| ours(row, 4e-3),
        ),
    ]
}

fn product() -> Group {
    let table = Table::new(PRODUCT);
    table.compare(
        "product_water_against_teos10",
        "dissolved solids of product, 50 to 5000 µS/cm",
        "teos10_mg_l",
        |row| {
            let conductivity = Conductivity::from_us_cm(row[0]).ok()?;
            let found = solids_from_conductivity(conductivity).ok()?;
            Some((format!("{} µS/cm", row[0]), found.as_mg_l(), 1e-5))
        },
    )
}
