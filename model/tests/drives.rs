//! Pump, drive and energy recovery from end to end: what a reading of speed, frequency or voltage changes in what the unit should make and draw.
#![expect(clippy::unwrap_used, reason = "tests")]

#[macro_use]
#[path = "../src/assert_close.rs"]
mod assert_close;
mod common;

use barrico_model::parts::{DriveKind, Parts, PressureControl, PumpKind, Start};
use barrico_model::plant::energy_recovery::feed_pressure_from_low_side;
use barrico_model::plant::{Calibration, Condition, Estimate, Figures, expect, expect_central};
use common::{boat_unit, condition};

fn central(parts: &Parts, here: &Condition, calibration: &Calibration) -> Figures {
    expect_central(parts, here, calibration).unwrap().output
}

fn with_drive(kind: DriveKind) -> (Parts, Calibration) {
    let (mut parts, calibration) = boat_unit(1);
    parts.drive.kind = kind;
    parts.pump.rated_speed_rpm = Some(1450.0);
    (parts, calibration)
}

const MAINS: DriveKind =
    DriveKind::AcSinglePhase { voltage_v: 230.0, frequency_hz: 60.0, power_factor: None };

/// Positive displacement: delivery goes with the speed. A motor of 60 Hz on 50 Hz turns 17 % slower (5/6, synchronous speed), whoever tells the speed.
#[test]
fn each_drive_tells_the_speed_in_its_own_way() {
    let exact = Estimate::exact;
    let here = condition(20.0, 33.0);
    let inverter =
        DriveKind::Inverter { voltage_v: 230.0, power_factor: None, output_frequency_hz: Some(60.0) };
    let belt = DriveKind::Belt { ratio: 0.5, engine_speed_rpm: None };
    let slow = [
        (MAINS, Condition { supply_frequency_hz: Some(exact(50.0)), ..here }),
        (inverter, Condition { drive_frequency_hz: Some(exact(50.0)), ..here }),
        (DriveKind::Dc { voltage_v: 24.0 }, Condition { supply_voltage_v: Some(exact(20.0)), ..here }),
        (belt, Condition { engine_speed_rpm: Some(exact(1450.0 * 2.0 * 5.0 / 6.0)), ..here }),
        (MAINS, Condition { pump_speed_rpm: Some(exact(1450.0 * 5.0 / 6.0)), ..here }),
        (DriveKind::Hydraulic, Condition { pump_speed_rpm: Some(exact(1450.0 * 5.0 / 6.0)), ..here }),
    ];
    for (kind, slow) in slow {
        let (parts, calibration) = with_drive(kind);
        let found = central(&parts, &slow, &calibration);
        assert_close!(found.feed_flow_l_h, 327.0 * 5.0 / 6.0, relative = 1e-9, "{kind:?}");
    }
    // What stands in front of an inverter says nothing of the pump.
    let (parts, calibration) = with_drive(inverter);
    let mains = Condition { supply_frequency_hz: Some(exact(50.0)), ..here };
    assert_close!(central(&parts, &mains, &calibration).feed_flow_l_h, 327.0, relative = 1e-9);
}

/// P_el = P_shaft/eta, I = P/(U pf), P/(sqrt(3) U pf), P/U (textbook): the same shaft on each supply.
#[test]
fn current_follows_from_power_by_the_kind_of_supply() {
    let here = condition(20.0, 33.0);
    let kinds = [
        (
            DriveKind::AcSinglePhase { voltage_v: 230.0, frequency_hz: 50.0, power_factor: Some(0.8) },
            230.0 * 0.8,
        ),
        (
            DriveKind::AcThreePhase { voltage_v: 400.0, frequency_hz: 50.0, power_factor: Some(0.8) },
            400.0 * 0.8 * 1.7320508,
        ),
        (
            DriveKind::Inverter { voltage_v: 230.0, power_factor: Some(0.8), output_frequency_hz: None },
            230.0 * 0.8,
        ),
        (DriveKind::Dc { voltage_v: 24.0 }, 24.0),
    ];
    for (kind, divisor) in kinds {
        let (mut parts, calibration) = with_drive(kind);
        parts.drive.motor_efficiency = Some(0.7);
        let found = central(&parts, &here, &calibration);
        let watts = found.supply_power_w.unwrap();
        assert_close!(watts, found.shaft_power_w / 0.7, relative = 1e-12);
        assert_close!(found.supply_current_a.unwrap(), watts / divisor, relative = 1e-7, "{kind:?}");
    }
    let (parts, calibration) = with_drive(DriveKind::Belt { ratio: 0.5, engine_speed_rpm: None });
    let found = expect(&parts, &here, &calibration).unwrap();
    assert_eq!((found.output.supply_current_a, found.output.start_current_a), (None, None));
    assert!(found.missing.iter().any(|(key, _)| *key == "start_current_a"));
}

/// Locked rotor over rated current: 6 straight on the line, little more than running behind an inverter (common practice, no source).
#[test]
fn the_start_current_is_the_motors_and_not_the_loads() {
    let here = condition(20.0, 33.0);
    let (mut parts, calibration) = with_drive(MAINS);
    let found = central(&parts, &here, &calibration);
    assert_close!(found.start_current_a.unwrap(), 6.0 * found.supply_current_a.unwrap(), relative = 1e-9);
    // With its rating known it is 6 times the rated current, whatever the pump asks of it.
    parts.drive.motor_power_w = Some(1100.0);
    parts.drive.motor_efficiency = Some(0.7);
    let rated = 1100.0 / 0.7 / (230.0 * 0.83);
    let start = |parts: &Parts, here: &Condition| central(parts, here, &calibration).start_current_a.unwrap();
    assert_close!(start(&parts, &here), 6.0 * rated, relative = 1e-9);
    assert_close!(start(&parts, &condition(30.0, 33.0)), 6.0 * rated, relative = 1e-9);
    parts.drive.start = Start { multiple: Some(4.5), ..Start::default() };
    assert_close!(start(&parts, &here), 4.5 * rated, relative = 1e-9);
    parts.drive.start = Start { current_a: Some(44.0), ..Start::default() };
    assert_close!(start(&parts, &here), 44.0, relative = 1e-12);
    assert_close!(
        expect(&parts, &here, &calibration).unwrap().uncertainty.start_current_a.unwrap(),
        4.4,
        relative = 1e-6
    );
    parts.drive.start = Start { soft: true, ..Start::default() };
    assert_close!(start(&parts, &here), 3.0 * rated, relative = 1e-9);
    parts.drive.kind =
        DriveKind::Inverter { voltage_v: 230.0, power_factor: Some(0.83), output_frequency_hz: None };
    parts.drive.start = Start::default();
    assert_close!(start(&parts, &here), 1.2 * rated, relative = 1e-9);
}

/// One element, 720 L/h of feed, a tenth of it product; the plain unit needs 47.5 bar (computed independently).
fn recovery_unit() -> (Parts, Calibration) {
    let (mut parts, mut calibration) = boat_unit(1);
    parts.pressure_control = PressureControl::FixedRecovery;
    parts.pump.kind = PumpKind::EnergyRecovery { product_share: 0.10 };
    parts.pump.nameplate_flow_l_h = 720.0;
    calibration.delivery = Estimate::exact(1.0);
    (parts, calibration)
}

/// Volumes alone: of 720 L/h in, 2 % leak back and 90 % return by the geometry; 8 % is product.
#[test]
fn an_internal_leak_takes_product_and_pressure() {
    let (mut parts, calibration) = recovery_unit();
    let here = condition(20.0, 33.0);
    let tight = central(&parts, &here, &calibration);
    parts.pump.internal_leakage = Some(0.02);
    let leaking = central(&parts, &here, &calibration);
    assert_close!(leaking.product_flow_l_h, 0.08 * 720.0, relative = 1e-5);
    assert_close!(leaking.feed_flow_l_h, 0.98 * 720.0, relative = 1e-9);
    assert!(leaking.feed_pressure_bar < tight.feed_pressure_bar - 2.0);
    // The work goes with what the pump takes in, so a litre costs more than the pressure saves.
    assert!(tight.specific_energy_wh_l < leaking.specific_energy_wh_l);
    parts.pump.internal_leakage = Some(0.11);
    assert!(expect_central(&parts, &here, &calibration).is_err());
}

/// Salt balance of the mixing: with a share x of the concentrate mixed in, S_f becomes S_m = (1 - x) S_f + x S_b.
#[test]
fn mixing_raises_what_enters_the_membranes() {
    let (mut parts, calibration) = recovery_unit();
    let here = condition(20.0, 33.0);
    let plain = central(&parts, &here, &calibration);
    parts.pump.mixing = Some(0.03);
    let mixed = central(&parts, &here, &calibration);
    // The concentrate is k times what enters, mixed or not: S_m = S_f (1 - x)/(1 - x k).
    let (k, x) = (plain.concentrate_salinity_g_kg / 33.0, 0.03);
    let salinity = k * 33.0 * (1.0 - x) / (1.0 - x * k);
    assert_close!(mixed.concentrate_salinity_g_kg, salinity, relative = 5e-5);
    // Osmotic pressure rises by 0.74 bar for each g/kg; the concentrate gives the mean.
    let rise = mixed.concentrate_pressure_bar - plain.concentrate_pressure_bar;
    assert!(0.05 < rise && rise < 0.2, "{rise}");
}

/// p_low = Y p + (1 - Y) p_exhaust of a lossless intensifier (energy balance), forwards and back.
#[test]
fn the_low_side_gives_the_pressure_at_the_membranes_back() {
    let (parts, calibration) = recovery_unit();
    let expected = expect(&parts, &condition(20.0, 33.0), &calibration).unwrap();
    let low = expected.output.low_side_pressure_bar.unwrap();
    assert_close!(low, 0.1 * expected.output.feed_pressure_bar + 0.9 * 0.2, relative = 1e-12);
    let back = feed_pressure_from_low_side(&parts, Estimate::new(low, 0.1)).unwrap();
    assert_close!(back.value, expected.output.feed_pressure_bar, relative = 1e-12);
    // A gauge error of 0.1 bar is 1 bar there; friction and exhaust add to it.
    assert!(1.0 < back.deviation && back.deviation < 5.0, "{}", back.deviation);
    assert!(0.0 < expected.uncertainty.low_side_pressure_bar.unwrap());
    let (plunger, _) = boat_unit(1);
    assert_eq!(feed_pressure_from_low_side(&plunger, Estimate::exact(4.6)), None);
}

/// Equal trains share the feed: two of them are twice one with half of the pump. Two elements side by side make 123.5 L/h of 720 L/h at 25 °C, 35 g/kg and
/// 55 bar where one makes 72.0 and two in series 136.4 (computed independently).
#[test]
fn trains_side_by_side_share_the_feed() {
    let (mut parts, mut calibration) = boat_unit(1);
    parts.pump.nameplate_flow_l_h = 720.0;
    parts.set_pressure_bar = Some(55.0);
    calibration.elements = vec![common::element(2.797742e-12, 4.983215e-8)];
    let here = condition(25.0, 35.0);
    assert_close!(central(&parts, &here, &calibration).product_flow_l_h, 72.0, relative = 2e-3);
    parts.parallel_trains = 2;
    let beside = central(&parts, &here, &calibration);
    assert_close!(beside.product_flow_l_h, 123.5, relative = 2e-3);
    let (mut half, half_calibration) = (parts.clone(), calibration.clone());
    half.parallel_trains = 1;
    half.pump.nameplate_flow_l_h = 360.0;
    let alone = central(&half, &here, &half_calibration);
    assert_close!(beside.product_flow_l_h, 2.0 * alone.product_flow_l_h, relative = 1e-6);
    assert_close!(beside.product_tds_mg_l, alone.product_tds_mg_l, relative = 1e-6);
    assert_close!(beside.recovery, alone.recovery, relative = 1e-6);
}
