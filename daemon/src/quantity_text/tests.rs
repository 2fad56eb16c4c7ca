//! Values by published factors, and texts that must not pass.

use super::*;
use crate::settings::{Gallon, PpmScale};
use Quantity::*;

const ASKS: Convention = Convention { gallon: None, ppm: None };

fn close(text: &str, quantity: Quantity, expected: f64, relative: f64) {
    let value = parse(text, quantity, &ASKS).unwrap_or_else(|error| panic!("{text}: {error}"));
    assert!(
        (value - expected).abs() <= relative * expected.abs().max(1e-9),
        "{text}: {value}, expected {expected}"
    );
}

/// NIST Special Publication 811 (2008), appendix B.8, "factors for converting units": the factors as printed there, to pascal, cubic metre
/// per second, kelvin and watt. They have seven digits at most, hence the tolerance.
#[test]
fn factors_are_those_of_the_published_table() {
    let pa = |factor: f64, number: f64| number * factor / 1e5;
    let m3_s = |factor: f64, number: f64| number * factor * 3.6e6;
    let rows = [
        ("800 psi", FeedPressure, pa(6.894_757e3, 800.0)),
        ("56 kg/cm2", FeedPressure, pa(9.806_65e4, 56.0)),
        ("10 inHg vac", InletPressure, pa(3.386_389e3, -10.0)),
        ("1200 mbar", InletPressure, pa(1.0e2, 1200.0)),
        ("5.5 MPa", FeedPressure, pa(1.0e6, 5.5)),
        ("300 kPa", InletPressure, pa(1.0e3, 300.0)),
        ("850 US gal/d", ProductFlow, m3_s(4.381_264e-8, 850.0)),
        ("2 US gal/min", FeedFlow, m3_s(6.309_020e-5, 2.0)),
        // The hour is the minute's factor over 60.
        ("40 US gal/h", ProductFlow, m3_s(6.309_020e-5 / 60.0, 40.0)),
        // gallon [Canadian and U.K. (Imperial)], 4.546 09 E-03 m3.
        ("30 imp gal/h", ProductFlow, m3_s(4.546_09e-3 / 3600.0, 30.0)),
        ("65 F", FeedTemperature, (65.0 - 32.0) / 1.8),
        ("293.15 K", FeedTemperature, 20.0),
        ("3 hp", SupplyPower, 3.0 * 7.456_999e2),
    ];
    for (text, quantity, expected) in rows {
        close(text, quantity, expected, 3e-7);
    }
    let ft2 = parse_measure("28 ft2", Measure::Area, &ASKS).unwrap();
    assert!((ft2 - 28.0 * 9.290_304e-2).abs() < 1e-9, "{ft2}");
}

/// Plain powers of ten and of sixty: the International System of Units, no table needed.
#[test]
fn metric_units_and_their_spellings() {
    let rows = [
        ("55 bar", FeedPressure, 55.0),
        ("55bar", FeedPressure, 55.0),
        ("  55   BAR ", FeedPressure, 55.0),
        ("55 bar g", FeedPressure, 55.0),
        ("-0.3 bar", InletPressure, -0.3),
        ("\u{2212}0.3 bar", InletPressure, -0.3),
        ("-1 bar", InletPressure, -1.0),
        ("5.4 L/min", FeedFlow, 324.0),
        ("5.4 l/min", FeedFlow, 324.0),
        ("320 L/h", FeedFlow, 320.0),
        ("320 litres per hour", FeedFlow, 320.0),
        ("1.5 m³/h", FeedFlow, 1500.0),
        ("2.4 m3/d", ProductFlow, 100.0),
        ("18.5 °C", FeedTemperature, 18.5),
        ("18.5 C", FeedTemperature, 18.5),
        ("420 uS/cm", ProductConductivity, 420.0),
        ("420 µS/cm", ProductConductivity, 420.0),
        ("420 μS/cm", ProductConductivity, 420.0),
        ("53 mS/cm", FeedConductivity, 53_000.0),
        ("5.3 S/m", FeedConductivity, 53_000.0),
        ("35 g/kg", FeedSalinity, 35.0),
        ("35 ppt", FeedSalinity, 35.0),
        ("3.5 %", FeedSalinity, 35.0),
        ("35000 mg/kg", FeedSalinity, 35.0),
        ("250 mg/L", ProductSalinity, 250.0),
        ("0.25 g/L", ProductSalinity, 250.0),
        ("2.2 kW", SupplyPower, 2200.0),
        ("12.6 V", SupplyVoltage, 12.6),
        ("230 V AC", SupplyVoltage, 230.0),
        ("9.5 A", SupplyCurrent, 9.5),
        ("50 Hz", SupplyFrequency, 50.0),
        ("1450 rpm", PumpSpeed, 1450.0),
        ("60 %", TankLevel, 60.0),
        ("120 h", RunTime, 432_000.0),
        ("0.4 bar", DifferentialPressure, 0.4),
        ("1e3 mbar", InletPressure, 1.0),
        (".5 bar", InletPressure, 0.5),
    ];
    for (text, quantity, expected) in rows {
        close(text, quantity, expected, 1e-12);
    }
}

#[test]
fn gallons_are_named_or_asked_for() {
    let us = 3.785_411_784; // 231 cubic inches of 2.54 cm
    for text in [
        "40 US gal/h",
        "40 US gph",
        "40 gph US",
        "40 gal/h (US)",
        "40 U.S. gal/hr",
        "40 gal US/h",
        "40 usgph",
    ] {
        close(text, ProductFlow, 40.0 * us, 1e-12);
    }
    for text in ["40 imp gal/h", "40 imperial gallons per hour", "40 gph imp", "40 UK gal/h"] {
        close(text, ProductFlow, 40.0 * 4.546_09, 1e-12);
    }
    for text in ["40 gal/h", "40 gph", "1 gpm", "850 gpd", "40 gallons/hour"] {
        let error = parse(text, ProductFlow, &ASKS).unwrap_err();
        assert!(
            matches!(error, QuantityError::AskScale { scale: AskedScale::Gallon, .. }),
            "{text}: {error}"
        );
    }
    let told = Convention { gallon: Some(Gallon::Imperial), ppm: None };
    assert_eq!(parse("10 gal/h", ProductFlow, &told), Ok(45.4609));
    assert_eq!(
        parse("10 US gal/h", ProductFlow, &told),
        Ok(37.854_117_84),
        "what is typed wins over what was told"
    );
    assert_eq!(parse_measure("100 US gal", Measure::Volume, &ASKS), Ok(378.541_178_4));
    assert!(matches!(
        parse("10 US gal", ProductFlow, &ASKS),
        Err(QuantityError::WrongMeasure { is: Measure::Volume, .. })
    ));
}

/// Scales of hand meters: 0.5 and 0.7 of the conductivity. Common practice, no source.
#[test]
fn ppm_is_named_or_asked_for() {
    close("250 ppm NaCl", ProductConductivity, 500.0, 1e-12);
    close("350 ppm 442", ProductConductivity, 500.0, 1e-12);
    close("350 ppm (442)", ProductConductivity, 500.0, 1e-12);
    let error = parse("350 ppm", ProductConductivity, &ASKS).unwrap_err();
    assert!(matches!(error, QuantityError::AskScale { scale: AskedScale::Ppm, .. }), "{error}");
    let told = Convention { gallon: None, ppm: Some(PpmScale::Scale442) };
    assert!((parse("350 ppm", ProductConductivity, &told).unwrap() - 500.0).abs() < 1e-9);
    assert!(matches!(parse("35000 ppm", FeedSalinity, &told), Err(QuantityError::PpmOfSeawater { .. })));
    assert!(matches!(
        parse("350 ppm KCl", ProductConductivity, &ASKS),
        Err(QuantityError::UnknownUnit { .. })
    ));
}

/// The ocean's practical salinity scale with its low-salinity extension gives 240.8 mg/L at 500 µS/cm and 25 °C (Gibbs SeaWater library of TEOS-10).
#[test]
fn ppm_of_product_becomes_dissolved_solids_by_way_of_its_conductivity() {
    close("250 ppm NaCl", ProductSalinity, 240.8, 3e-4);
    close("350 ppm 442", ProductSalinity, 240.8, 3e-4);
}

/// Practical salinity: Millero et al. 2008, 35 is 35.16504 g/kg. Salt by volume: 32,000 and 36,036 mg/L at 20 °C are 31.316 and 35.165 g/kg, by the density
/// of UNESCO technical papers in marine science 44. Gravity from the same paper's densities at 25 °C: 1023.34306 over 997.04796 at practical salinity 35.
#[test]
fn salinity_by_other_measures() {
    close("35 psu", FeedSalinity, 35.165_04, 1e-9);
    close("32 g/L", FeedSalinity, 31.316, 2e-5);
    close("32000 mg/L", FeedSalinity, 31.316, 2e-5);
    close("36.036 g/L", FeedSalinity, 35.165, 2e-5);
    let gravity = 1_023.343_06 / 997.047_96;
    close(&format!("{gravity:.6} SG at 25 C"), FeedSalinity, 35.165, 2e-4);
    close(&format!("{gravity:.6} sg @ 77 F"), FeedSalinity, 35.165, 2e-4);
    close("1.0 SG at 20 C", FeedSalinity, 0.0, 1e-9);
    let error = |text| parse(text, FeedSalinity, &ASKS).unwrap_err();
    assert_eq!(error("1.026 SG"), QuantityError::GravityNeedsTemperature);
    assert_eq!(error("1.2 SG at 20 C"), QuantityError::GravityOutside);
    assert_eq!(error("0.98 SG at 20 C"), QuantityError::GravityOutside);
    assert_eq!(error("1.026 SG at 60 C"), QuantityError::GravityOutside);
    assert!(matches!(error("1.026 SG at 20 bar"), QuantityError::WrongMeasure { .. }));
    assert_eq!(error("900 g/L"), QuantityError::SaltPerLitreOutside);
}

#[test]
fn numbers_that_are_not_clear_are_refused() {
    let error = |text: &str| parse(text, FeedFlow, &ASKS).unwrap_err();
    for text in
        ["", "   ", "L/h", "nan L/h", "inf L/h", "-inf L/h", "1e999 L/h", "about 5 L/h", "<5 L/h", "--5 L/h"]
    {
        assert!(matches!(error(text), QuantityError::NotANumber { .. }), "{text}: {:?}", error(text));
    }
    assert!(matches!(error(&"9".repeat(TEXT_CHARS_MAX + 1)), QuantityError::NotANumber { .. }));
    assert!(
        matches!(error(&"9".repeat(TEXT_CHARS_MAX)), QuantityError::NoUnit { .. }),
        "at the limit it is read"
    );
    let comma = error("1,500 L/h");
    assert!(comma.help().contains("`1500` or `1.500`"), "{}", comma.help());
    assert!(error("5,4 L/min").help().contains("`5.4`"));
    for text in ["1 500 L/h", "1'500 L/h", "1.500.000 L/h", "1_500 L/h", "1\u{202f}500 L/h", "5. 4 L/min"] {
        assert!(matches!(error(text), QuantityError::GroupedDigits { .. }), "{text}: {:?}", error(text));
    }
    assert!(matches!(error("1.500,5 L/h"), QuantityError::DecimalComma { .. }));
    for text in ["300-320 L/h", "300 ± 5 L/h", "300 – 320 L/h", "1/2 L/h"] {
        assert_eq!(error(text), QuantityError::OneValue, "{text}");
    }
    assert!(matches!(error("320"), QuantityError::NoUnit { measure: Measure::Flow }));
}

#[test]
fn units_that_are_not_clear_or_of_something_else_are_refused() {
    let error = |text, quantity| parse(text, quantity, &ASKS).unwrap_err();
    let wrong = error("35 g/kg", FeedPressure);
    assert_eq!(wrong.to_string(), "`g/kg` is a unit of salinity; feed pressure is expected");
    assert!(wrong.help().contains("`55 bar`"), "{}", wrong.help());
    assert!(matches!(
        error("40 US gal/h", FeedPressure),
        QuantityError::WrongMeasure { is: Measure::Flow, .. }
    ));
    assert!(matches!(error("40 L", ProductFlow), QuantityError::WrongMeasure { is: Measure::Volume, .. }));
    assert!(error("500 uS/cm", ProductSalinity).help().contains("product_conductivity"));
    assert!(
        matches!(error("55 mPa", FeedPressure), QuantityError::UnknownUnit { .. }),
        "millipascal is not megapascal"
    );
    for text in ["800 psia", "3 bar abs", "3 bara", "300 kPa absolute"] {
        assert!(matches!(error(text, FeedPressure), QuantityError::AbsolutePressure { .. }), "{text}");
    }
    assert!(matches!(error("10 inHg", InletPressure), QuantityError::MercuryWithoutVacuum { .. }));
    assert_eq!(error("-10 inHg vac", InletPressure), QuantityError::OddVacuum);
    assert_eq!(error("2 inHg vac", PrefilterDifferentialPressure), QuantityError::OddVacuum);
    assert!(matches!(error("55 furlong", FeedPressure), QuantityError::UnknownUnit { .. }));
}

#[test]
fn what_cannot_be_aboard_is_refused() {
    let error = |text, quantity| parse(text, quantity, &ASKS).unwrap_err();
    assert!(matches!(error("-1.01 bar", InletPressure), QuantityError::BelowVacuum { .. }));
    assert!(matches!(error("30 inHg vac", InletPressure), QuantityError::BelowVacuum { .. }));
    assert!(parse("29 inHg vac", InletPressure, &ASKS).is_ok());
    let high = error("800 bar", FeedPressure);
    assert_eq!(high.to_string(), "800 bar is not possible as feed pressure: it lies between -1 and 120 bar");
    assert!(matches!(error("65 C", FeedTemperature), QuantityError::Impossible { .. }));
    assert_eq!(error("-300 C", FeedTemperature), QuantityError::BelowAbsoluteZero);
    assert!(matches!(error("-5 L/h", ProductFlow), QuantityError::Impossible { .. }));
}

#[test]
fn sizes_have_no_zero_point() {
    let size = |text, measure| parse_size(text, measure, &ASKS);
    assert_eq!(size("0.5 K", Measure::Temperature), Ok(0.5));
    assert_eq!(size("0.5 C", Measure::Temperature), Ok(0.5));
    assert!((size("0.9 F", Measure::Temperature).unwrap() - 0.5).abs() < 1e-12);
    assert_eq!(size("1 bar", Measure::Pressure), Ok(1.0));
    assert_eq!(size("0.5 g/kg", Measure::Salinity), Ok(0.5));
    assert_eq!(size("-1 bar", Measure::Pressure), Err(QuantityError::NegativeSize));
    assert_eq!(size("1 inHg vac", Measure::Pressure), Err(QuantityError::OddVacuum));
}

#[test]
fn states_and_routes_go_by_name() {
    assert_eq!(parse("running", Quantity::OperatingState, &ASKS), Ok(2.0));
    assert_eq!(parse("tank", Quantity::ProductRoute, &ASKS), Ok(0.0));
    let error = parse("on", Quantity::OperatingState, &ASKS).unwrap_err();
    assert!(error.help().contains("flushing"), "{}", error.help());
}

#[test]
fn every_example_in_a_message_is_read() {
    for measure in Measure::ALL {
        for (at, example) in measure.examples().split('`').enumerate() {
            if at % 2 == 1 {
                parse_measure(example, measure, &ASKS)
                    .unwrap_or_else(|error| panic!("{measure:?} {example}: {error}"));
            }
        }
    }
}
