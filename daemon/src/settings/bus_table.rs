//! Which message of the bus can give which quantity.

use barrico_model::Quantity;

/// One message.
#[derive(Clone, Copy, Debug)]
pub(super) struct BusMessage {
    /// Parameter group.
    pub pgn: u32,
    /// Does it have an instance, and up to which number?
    pub instance_max: Option<u32>,
    /// What `kind` chooses in it; `None` if there is nothing to choose.
    pub kind: Option<&'static str>,
    /// What it can give.
    pub quantities: &'static [Quantity],
}

use Quantity::{
    ConcentrateFlow, ConcentratePressure, DriveFrequency, EngineSpeed, FeedPressure, FeedTemperature,
    InletPressure, LowSidePressure, OperatingState, PrefilterInletPressure, ProductFlow, ProductPressure,
    ProductSalinity, ProductTemperature, RunTime, SupplyCurrent, SupplyFrequency, SupplyPower, SupplyVoltage,
    TankLevel,
};

const PHASE_CURRENT: &[Quantity] = &[SupplyCurrent, SupplyPower];
const PHASE_VOLTAGE: &[Quantity] = &[SupplyVoltage, SupplyFrequency, DriveFrequency];
const DIRECT_CURRENT: &[Quantity] = &[SupplyVoltage, SupplyCurrent];
const ALTERNATING: &[Quantity] =
    &[SupplyVoltage, SupplyCurrent, SupplyPower, SupplyFrequency, DriveFrequency];
/// A byte, of which the two highest values are no value.
const BYTE: Option<u32> = Some(253);
/// Four bits, likewise.
const HALF_BYTE: Option<u32> = Some(13);

const fn row(
    pgn: u32,
    instance_max: Option<u32>,
    kind: Option<&'static str>,
    quantities: &'static [Quantity],
) -> BusMessage {
    BusMessage { pgn, instance_max, kind, quantities }
}

/// The messages that readings may come from.
pub(super) const MESSAGES: &[BusMessage] = &[
    row(
        PGN_STATUS,
        None,
        None,
        &[
            OperatingState,
            LowSidePressure,
            ProductSalinity,
            ProductTemperature,
            PrefilterInletPressure,
            InletPressure,
            FeedPressure,
            ProductFlow,
            ConcentrateFlow,
            RunTime,
        ],
    ),
    row(
        130_314,
        BYTE,
        Some("pressure source"),
        &[
            InletPressure,
            PrefilterInletPressure,
            FeedPressure,
            ConcentratePressure,
            LowSidePressure,
            ProductPressure,
        ],
    ),
    row(130_310, None, None, &[FeedTemperature]),
    row(130_311, None, Some("temperature source"), &[FeedTemperature]),
    row(130_312, BYTE, Some("temperature source"), &[FeedTemperature, ProductTemperature]),
    row(130_316, BYTE, Some("temperature source"), &[FeedTemperature, ProductTemperature]),
    row(127_488, BYTE, None, &[EngineSpeed]),
    row(127_503, BYTE, Some("line"), ALTERNATING),
    row(127_504, BYTE, Some("line"), ALTERNATING),
    row(127_505, HALF_BYTE, Some("fluid type"), &[TankLevel]),
    row(127_508, BYTE, None, DIRECT_CURRENT),
    row(127_751, BYTE, None, DIRECT_CURRENT),
    row(127_744, BYTE, None, PHASE_CURRENT),
    row(127_745, BYTE, None, PHASE_CURRENT),
    row(127_746, BYTE, None, PHASE_CURRENT),
    row(127_747, BYTE, None, PHASE_VOLTAGE),
    row(127_748, BYTE, None, PHASE_VOLTAGE),
    row(127_749, BYTE, None, PHASE_VOLTAGE),
];

/// Status of a unit, which names its unit by nothing but its sender.
pub(super) const PGN_STATUS: u32 = 130_567;

/// The row of a parameter group.
pub(super) fn message(pgn: u32) -> Option<&'static BusMessage> {
    MESSAGES.iter().find(|message| message.pgn == pgn)
}

/// Parameter groups that can give a quantity.
pub(super) fn groups_for(quantity: Quantity) -> Vec<u32> {
    MESSAGES
        .iter()
        .filter(|message| message.quantities.contains(&quantity))
        .map(|message| message.pgn)
        .collect()
}

/// Of the instance and the kind of a value on the bus, those that a reading from this group is chosen by.
pub fn chosen_by(pgn: u32, instance: u8, kind: u8) -> (Option<u8>, Option<u8>) {
    let Some(message) = message(pgn) else { return (None, None) };
    let instance = message.instance_max.filter(|max| u32::from(instance) <= *max).map(|_| instance);
    (instance, message.kind.filter(|_| kind != u8::MAX).map(|_| kind))
}

/// All parameter groups that readings may come from.
pub fn bus_groups() -> impl Iterator<Item = u32> {
    MESSAGES.iter().map(|message| message.pgn)
}

/// Quantities of the sea, the supply and the tank, which several units may share. The others belong to one unit.
pub(super) fn is_shared(quantity: Quantity) -> bool {
    matches!(
        quantity,
        FeedTemperature
            | Quantity::FeedSalinity
            | Quantity::FeedConductivity
            | SupplyVoltage
            | SupplyFrequency
            | EngineSpeed
            | TankLevel
    )
}
