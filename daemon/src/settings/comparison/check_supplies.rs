//! The supplies: what feeds the drives, what it stands, what it burns and costs.

use super::super::check::Check;
use super::super::typed::{Field, Named, NamedTable};
use super::check_need::spoken;
use super::named;
use super::ranges::SUPPLIES_MAX;
use super::raw::RawSupply;
use barrico_model::sizing::{Battery, Fuel, Prices, Supply, SupplyKind};

/// One supply after its checks.
#[derive(Clone, Debug)]
pub(super) struct CheckedSupply {
    pub id: String,
    pub name: String,
    /// None if something was wrong with it.
    pub supply: Option<Supply>,
    /// Voltage of a battery, V.
    pub battery_voltage_v: Option<f64>,
    /// Does a battery have an inverter?
    pub has_inverter: bool,
}

/// Kinds of supply as they are written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Generator,
    Shore,
    Battery,
    Engine,
}

const KINDS: &[(&str, Kind)] = &[
    ("generator", Kind::Generator),
    ("battery", Kind::Battery),
    ("engine", Kind::Engine),
    ("shore", Kind::Shore),
];

pub(super) fn all(check: &mut Check, field: &Field<Named<RawSupply>>) -> Vec<CheckedSupply> {
    named(check, field, 1, SUPPLIES_MAX, "supply").iter().map(|one| self::one(check, one)).collect()
}

fn one(check: &mut Check, named: &NamedTable<RawSupply>) -> CheckedSupply {
    let raw = &named.table;
    let name = check.text(&raw.name).unwrap_or_else(|| spoken(&named.name));
    let voltage_v = check.amount(&raw.voltage);
    let supply = supply(check, raw, voltage_v);
    CheckedSupply {
        id: named.name.clone(),
        name,
        supply,
        battery_voltage_v: voltage_v,
        has_inverter: raw.inverter_efficiency.given,
    }
}

fn supply(check: &mut Check, raw: &RawSupply, voltage_v: Option<f64>) -> Option<Supply> {
    let current_limit_a = check.amount(&raw.current);
    let start_limit_a = check.amount(&raw.start_current);
    let power_limit_va = check.amount(&raw.power);
    let capacity_ah = check.amount(&raw.capacity);
    let usable = check.share(&raw.usable);
    let inverter = check.share(&raw.inverter_efficiency);
    let charge_power_w = check.amount(&raw.charge_power);
    let fuel = Fuel { idle_l_h: check.amount(&raw.idle_fuel), per_kwh_l: check.amount(&raw.fuel_per_kwh) };
    let prices = Prices {
        fuel_per_l: check.plain(&raw.fuel_litre_price),
        energy_per_kwh: check.plain(&raw.kwh_price),
        service_per_hour: check.plain(&raw.service_hour_price),
    };
    let kind = check.need_choice(&raw.kind, KINDS)?;
    keys(check, raw, kind);
    let kind = match kind {
        Kind::Generator => SupplyKind::Generator,
        Kind::Shore => SupplyKind::Shore,
        Kind::Engine => SupplyKind::Engine,
        Kind::Battery => {
            check.need_amount(&raw.capacity);
            check.need(&raw.voltage, "\"24 V\"");
            check.need_noted(&raw.usable, "\"50 %\"", "of the capacity, by the battery's own manual");
            SupplyKind::Battery(Battery {
                capacity_wh: capacity_ah? * voltage_v?,
                usable_share: usable?,
                inverter_efficiency: inverter.unwrap_or(1.0),
                charge_power_w,
            })
        }
    };
    Some(Supply { kind, current_limit_a, start_limit_a, power_limit_va, fuel, prices })
}

/// Reports keys that this kind of supply has no use for.
fn keys(check: &mut Check, raw: &RawSupply, kind: Kind) {
    if kind != Kind::Battery {
        let why = "only a battery has this";
        check.refuse(&raw.capacity, why);
        check.refuse(&raw.voltage, why);
        check.refuse(&raw.usable, why);
        check.refuse(&raw.inverter_efficiency, why);
        check.refuse(&raw.charge_power, why);
    }
    if kind == Kind::Shore {
        let why = "power from the shore burns nothing aboard";
        check.refuse(&raw.idle_fuel, why);
        check.refuse(&raw.fuel_per_kwh, why);
        check.refuse(&raw.fuel_litre_price, why);
        check.refuse(&raw.service_hour_price, why);
    } else {
        check.refuse(&raw.kwh_price, "only power from the shore is bought by the kilowatt-hour");
    }
    if kind == Kind::Engine {
        let why = "a pump on the engine draws no current";
        check.refuse(&raw.current, why);
        check.refuse(&raw.start_current, why);
        check.refuse(&raw.power, why);
    }
}
