//! Pump, drive, pre-filters and limits, and whether they go with the kind of pressure control.

use super::check::{Check, number};
use super::problem::Problem;
use super::ranges::PREFILTERS_MAX;
use super::raw::{RawDrive, RawLimits, RawPrefilter, RawPump, RawUnit};
use super::typed::Field;
use barrico_model::parts::{
    Drive, DriveKind, Element, Limits, Parts, Prefilter, PressureControl, Pump, PumpKind, Start, ValveSetting,
};

const DAY_S: f64 = 86_400.0;

const CONTROLS: &[(&str, PressureControl)] = &[
    ("regulated", PressureControl::Regulated),
    ("fixed-valve", PressureControl::FixedValve),
    ("hand-set-pressure", PressureControl::HandSetPressure),
    ("hand-set-flow", PressureControl::HandSetFlow),
    ("fixed-recovery", PressureControl::FixedRecovery),
];

/// The parts list.
pub(super) fn parts(check: &mut Check, raw: &RawUnit, elements: Option<Vec<Element>>) -> Option<Parts> {
    let control = check.need_choice(&raw.pressure_control, CONTROLS);
    let set_pressure_bar = check.amount(&raw.set_pressure);
    let set_product_flow_l_h = check.amount(&raw.set_product_flow);
    let valve_set_at = valve(check, raw);
    if let Some(control) = control {
        goes_with_control(check, raw, control);
    }
    let pump = table(check, &raw.pump, "the high-pressure pump").and_then(|pump| self::pump(check, pump));
    let drive =
        table(check, &raw.drive, "what turns the pump").and_then(|drive| self::drive(check, drive, raw));
    if let (Some(control), Some(pump)) = (control, raw.pump.value.as_ref()) {
        pump_goes_with_control(check, raw, pump, control);
    }
    let parallel_trains = check.count(&raw.parallel_trains).unwrap_or(1);
    let prefilters = prefilters(check, &raw.prefilters);
    let limits = raw.limits.value.as_ref().map(|limits| self::limits(check, limits)).unwrap_or_default();
    let parts = Parts {
        pressure_control: control?,
        set_pressure_bar,
        set_product_flow_l_h,
        valve_set_at,
        pump: pump?,
        drive: drive?,
        boost_pump: raw.boost_pump.value.unwrap_or(false),
        elements: elements?,
        parallel_trains,
        prefilters,
        limits,
    };
    fits_together(check, raw, &parts);
    Some(parts)
}

fn table<'f, T>(check: &mut Check, field: &'f Field<T>, what: &str) -> Option<&'f T> {
    if check.is_missing(field) {
        let help = format!("add `[{}]` with its keys below", field.place.path);
        check.bad(field, format!("the parts list does not say {what}"), help);
    }
    field.value.as_ref()
}

fn valve(check: &mut Check, raw: &RawUnit) -> Option<ValveSetting> {
    let valve = raw.valve_set_at.value.as_ref()?;
    let pressure_bar = check.need_amount(&valve.pressure);
    let concentrate_flow_l_h = check.need_amount(&valve.concentrate_flow);
    Some(ValveSetting { pressure_bar: pressure_bar?, concentrate_flow_l_h: concentrate_flow_l_h? })
}

/// Each kind of control needs its own mark, and the marks of the others would have no effect.
fn goes_with_control(check: &mut Check, raw: &RawUnit, control: PressureControl) {
    match control {
        PressureControl::Regulated | PressureControl::HandSetPressure => {
            check.need_noted(&raw.set_pressure, "\"55 bar\"", "with the pressure it is set to");
        }
        PressureControl::HandSetFlow => {
            check.need_noted(&raw.set_product_flow, "\"60 L/h\"", "with the product flow it is set to");
            check.refuse(&raw.set_pressure, "a unit that is set to a product flow has no set pressure");
        }
        PressureControl::FixedValve
            if check.is_missing(&raw.valve_set_at) && check.is_missing(&raw.set_pressure) =>
        {
            check.bad(
                &raw.valve_set_at,
                "nothing says where the fixed valve stands",
                format!(
                    "add `[{}]` with `pressure` and `concentrate_flow` as once read together, or, if only the gauge was read, \
                     `set_pressure = \"55 bar\"`: what it shows in usual water",
                    raw.valve_set_at.place.path
                ),
            );
        }
        PressureControl::FixedValve => {}
        PressureControl::FixedRecovery => {
            check.refuse(&raw.set_pressure, "with a fixed recovery the pressure floats; nothing sets it");
        }
    }
    if control != PressureControl::HandSetFlow {
        check.refuse(&raw.set_product_flow, "only `hand-set-flow` has a set product flow");
    }
    if control != PressureControl::FixedValve {
        check.refuse(&raw.valve_set_at, "only `fixed-valve` has a valve that stays as it was set");
    }
}

const PLUNGER: &str = "plunger";
const ENERGY_RECOVERY: &str = "energy-recovery";

fn pump_goes_with_control(check: &mut Check, raw: &RawUnit, pump: &RawPump, control: PressureControl) {
    let kind = pump.kind.value.as_deref();
    if control == PressureControl::FixedRecovery && kind == Some(PLUNGER) {
        let help = "write `kind = \"energy-recovery\"` with its `product_share`, or another pressure control";
        check.bad(&pump.kind, "a fixed recovery needs an energy-recovery pump", help);
    }
    if control != PressureControl::FixedRecovery && kind == Some(ENERGY_RECOVERY) {
        let help = "write `pressure_control = \"fixed-recovery\"`, or `kind = \"plunger\"` for the pump";
        check.bad(
            &raw.pressure_control,
            "an energy-recovery pump makes product a fixed share of the feed",
            help,
        );
    }
}

fn pump(check: &mut Check, raw: &RawPump) -> Option<Pump> {
    let nameplate_flow_l_h = check.need_amount(&raw.flow);
    let rated_speed_rpm = check.amount(&raw.rated_speed);
    let rated_pressure_bar = check.need_amount(&raw.rated_pressure);
    let delivery = check.share(&raw.delivery);
    let cylinders = check.count(&raw.cylinders);
    let internal_leakage = check.share(&raw.internal_leakage);
    let mixing = check.share(&raw.mixing);
    let is_recovery = check.need_choice(&raw.kind, &[(PLUNGER, false), (ENERGY_RECOVERY, true)]);
    let kind = match is_recovery? {
        true => check
            .need_share(&raw.product_share, "\"10 %\"")
            .map(|product_share| PumpKind::EnergyRecovery { product_share }),
        false => {
            check.refuse(&raw.product_share, "a plunger pump has no fixed share of product");
            check.refuse(&raw.internal_leakage, "what a plunger pump leaks is its `delivery`");
            check.refuse(&raw.mixing, "only an energy-recovery pump mixes concentrate into the feed");
            Some(PumpKind::Plunger)
        }
    };
    Some(Pump {
        kind: kind?,
        nameplate_flow_l_h: nameplate_flow_l_h?,
        rated_speed_rpm,
        rated_pressure_bar: rated_pressure_bar?,
        delivery,
        cylinders,
        internal_leakage,
        mixing,
    })
}

/// Kinds of drive as they are written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    SinglePhase,
    ThreePhase,
    Inverter,
    Dc,
    Belt,
    Hydraulic,
}

const DRIVES: &[(&str, Kind)] = &[
    ("ac-single-phase", Kind::SinglePhase),
    ("ac-three-phase", Kind::ThreePhase),
    ("inverter", Kind::Inverter),
    ("dc", Kind::Dc),
    ("belt", Kind::Belt),
    ("hydraulic", Kind::Hydraulic),
];

fn drive(check: &mut Check, raw: &RawDrive, unit: &RawUnit) -> Option<Drive> {
    let power_factor = check.share(&raw.power_factor);
    let motor_power_w = check.amount(&raw.motor_power);
    let motor_efficiency = check.share(&raw.motor_efficiency);
    let voltage_v = check.amount(&raw.voltage);
    let frequency_hz = check.amount(&raw.frequency);
    let ratio = check.plain(&raw.ratio);
    let engine_speed_rpm = check.amount(&raw.engine_speed);
    let output_frequency_hz = check.amount(&raw.output_frequency);
    let start = Start {
        current_a: check.amount(&raw.start_current),
        multiple: check.plain(&raw.start_multiple),
        soft: raw.soft_start.value.unwrap_or(false),
    };
    let kind = check.need_choice(&raw.kind, DRIVES)?;
    drive_keys(check, raw, kind);
    let kind = match kind {
        Kind::SinglePhase => {
            DriveKind::AcSinglePhase { voltage_v: voltage_v?, frequency_hz: frequency_hz?, power_factor }
        }
        Kind::ThreePhase => {
            DriveKind::AcThreePhase { voltage_v: voltage_v?, frequency_hz: frequency_hz?, power_factor }
        }
        Kind::Inverter => DriveKind::Inverter { voltage_v: voltage_v?, power_factor, output_frequency_hz },
        Kind::Dc => DriveKind::Dc { voltage_v: voltage_v? },
        Kind::Belt => {
            if let Some(pump) = &unit.pump.value {
                let note = "the speed at which `flow` holds: a belt turns the pump at others too";
                check.need_noted(&pump.rated_speed, "\"1450 rpm\"", note);
            }
            DriveKind::Belt { ratio: ratio?, engine_speed_rpm }
        }
        Kind::Hydraulic => DriveKind::Hydraulic,
    };
    Some(Drive { kind, motor_power_w, motor_efficiency, start })
}

/// Reports keys that the kind of drive needs and lacks, and those that it has no use for.
fn drive_keys(check: &mut Check, raw: &RawDrive, kind: Kind) {
    let is_mains = matches!(kind, Kind::SinglePhase | Kind::ThreePhase);
    if is_mains || matches!(kind, Kind::Inverter | Kind::Dc) {
        check.need(&raw.voltage, if kind == Kind::Dc { "\"12 V\"" } else { "\"230 V\"" });
    } else {
        let why = "a pump that no electric motor turns has none";
        check.refuse(&raw.voltage, why);
        check.refuse(&raw.motor_power, why);
        check.refuse(&raw.motor_efficiency, why);
        check.refuse(&raw.start_current, why);
        check.refuse(&raw.start_multiple, why);
        check.refuse(&raw.soft_start, why);
    }
    if kind != Kind::Inverter {
        check.refuse(&raw.output_frequency, "only an inverter has an output frequency of its own");
    }
    if raw.start_current.given {
        check.refuse(&raw.start_multiple, "`start_current` says it already");
    }
    if is_mains {
        check.need(&raw.frequency, "\"50 Hz\"");
    } else {
        check.refuse(&raw.frequency, "only a motor straight on the mains turns with its frequency");
    }
    if !is_mains && kind != Kind::Inverter {
        check.refuse(&raw.power_factor, "only alternating current has a power factor");
    }
    if kind == Kind::Belt {
        check.need_noted(&raw.ratio, "0.6", "which is pump speed over engine speed");
    } else {
        check.refuse(&raw.ratio, "only a belt has a ratio");
        check.refuse(&raw.engine_speed, "only a belt makes the engine's speed matter");
    }
}

fn prefilters(check: &mut Check, field: &Field<Vec<RawPrefilter>>) -> Vec<Prefilter> {
    let list = field.value.as_deref().unwrap_or_default();
    if PREFILTERS_MAX < list.len() {
        check.bad(
            field,
            format!("more than {PREFILTERS_MAX} pre-filters"),
            "list those that the feed passes, in its order",
        );
    }
    list.iter()
        .filter_map(|raw| {
            let rating_um = check.need_amount(&raw.rating);
            let change_at_bar = check.amount(&raw.change_at);
            Some(Prefilter { rating_um: rating_um?, change_at_bar })
        })
        .collect()
}

fn limits(check: &mut Check, raw: &RawLimits) -> Limits {
    Limits {
        maximum_feed_pressure_bar: check.amount(&raw.feed_pressure),
        maximum_product_pressure_bar: check.amount(&raw.product_pressure),
        maximum_low_side_pressure_bar: check.amount(&raw.low_side_pressure),
        minimum_inlet_pressure_bar: check.amount(&raw.inlet_pressure_minimum),
        product_conductivity_us_cm: check.amount(&raw.product_conductivity),
        flush_interval_cool_days: check.amount(&raw.flush_interval_cool).map(|seconds| seconds / DAY_S),
        flush_interval_warm_days: check.amount(&raw.flush_interval_warm).map(|seconds| seconds / DAY_S),
    }
}

/// Numbers that are each possible and together are not; each is a slip in one of them.
fn fits_together(check: &mut Check, raw: &RawUnit, parts: &Parts) {
    let mark = match &raw.valve_set_at.value {
        Some(valve) => &valve.pressure,
        None => &raw.set_pressure,
    };
    let set_bar = parts.set_pressure_bar.or(parts.valve_set_at.map(|valve| valve.pressure_bar));
    if let (Some(set_bar), Some((limit_bar, part))) = (set_bar, parts.pressure_limit_bar())
        && limit_bar < set_bar
    {
        let message = format!(
            "{} bar lies above the pressure limit of the {part}, {} bar",
            number(set_bar),
            number(limit_bar)
        );
        check.bad(
            mark,
            message,
            "check both numbers against the sheets of pump, vessel and element; the lowest limit counts",
        );
    }
    let feed_l_h = parts.pump.nameplate_flow_l_h;
    let nominal_l_h: f64 = f64::from(parts.parallel_trains)
        * parts.elements.iter().map(|element| element.sheet.nominal_flow_l_h).sum::<f64>();
    if feed_l_h < nominal_l_h
        && let Some(pump) = &raw.pump.value
    {
        let message = format!(
            "{} L/h of feed for elements that make {} L/h of product on their sheets",
            number(feed_l_h),
            number(nominal_l_h)
        );
        let help = "check the units of both flows: `L/h`, `L/min`, `m3/d`, `US gal/day`; and the number of elements and trains";
        let problem = Problem::new(&pump.flow.place.path, pump.flow.span.clone(), message, help);
        check.problems.push(problem);
    }
}
