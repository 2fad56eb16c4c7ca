//! All groups as one closed enumeration, and the table from group number to decoder.

use super::ac_power_65005_65030::{AcKind, classify, group_of};
use super::*;

macro_rules! contents {
    ( $( $(#[$meta:meta])* $pgn:literal => $Group:ident, )* ) => {
        /// What a message says.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Content {
            $( $(#[$meta])* $Group($Group), )*
            /// 126208.
            GroupFunction(GroupFunction),
            /// 127501.
            SwitchBankStatus(SwitchBank),
            /// 127502.
            SwitchBankControl(SwitchBank),
            /// 127744 to 127746.
            AcPowerCurrent(Phase, AcPowerCurrent),
            /// 127747 to 127749.
            AcVoltageFrequency(Phase, AcVoltageFrequency),
            /// Voltage, frequency and current of the groups 65001 to 65030; no phase means average.
            AcBasicQuantities(AcPlace, Option<Phase>, AcBasicQuantities),
            /// Power of the groups 65005 to 65030; no phase means total.
            AcPower(AcPlace, Option<Phase>, AcPower),
            /// Reactive power of the groups 65005 to 65030; no phase means total.
            AcReactivePower(AcPlace, Option<Phase>, AcReactivePower),
            /// Energy of the groups 65005 and 65018.
            AcEnergy(AcPlace, AcEnergy),
        }

        impl Content {
            /// Group number.
            #[must_use]
            pub fn pgn(&self) -> u32 {
                match self {
                    $( Self::$Group(_) => $pgn, )*
                    Self::GroupFunction(_) => GroupFunction::PGN,
                    Self::SwitchBankStatus(_) => SwitchBank::STATUS_PGN,
                    Self::SwitchBankControl(_) => SwitchBank::CONTROL_PGN,
                    Self::AcPowerCurrent(phase, _) => 127_744 + phase.index(),
                    Self::AcVoltageFrequency(phase, _) => 127_747 + phase.index(),
                    Self::AcBasicQuantities(place, phase, _) => group_of(*place, *phase, AcKind::Quantities),
                    Self::AcPower(place, phase, _) => group_of(*place, *phase, AcKind::Power),
                    Self::AcReactivePower(place, phase, _) => group_of(*place, *phase, AcKind::ReactivePower),
                    Self::AcEnergy(place, _) => group_of(*place, None, AcKind::Energy),
                }
            }

            /// Appends the payload.
            pub fn encode(&self, out: &mut Vec<u8>) {
                match self {
                    $( Self::$Group(group) => group.encode(out), )*
                    Self::GroupFunction(group) => group.encode(out),
                    Self::SwitchBankStatus(group) | Self::SwitchBankControl(group) => group.encode(out),
                    Self::AcPowerCurrent(_, group) => group.encode(out),
                    Self::AcVoltageFrequency(_, group) => group.encode(out),
                    Self::AcBasicQuantities(_, _, group) => group.encode(out),
                    Self::AcPower(_, _, group) => group.encode(out),
                    Self::AcReactivePower(_, _, group) => group.encode(out),
                    Self::AcEnergy(_, group) => group.encode(out),
                }
            }
        }

        /// Groups that [`decode`] knows.
        pub const KNOWN_GROUPS: &[core::ops::RangeInclusive<u32>] =
            &[65001..=65030, 126208..=126208, 127501..=127502, 127744..=127749, $( $pgn..=$pgn, )*];

        /// Reads a payload. `None` for a group that is not known here (and for a 126208 too short to name its group).
        #[must_use]
        pub fn decode(pgn: u32, payload: &[u8]) -> Option<Content> {
            Some(match pgn {
                $( $pgn => Content::$Group($Group::decode(payload)), )*
                126208 => Content::GroupFunction(GroupFunction::decode(payload)?),
                127501 => Content::SwitchBankStatus(SwitchBank::decode(payload)),
                127502 => Content::SwitchBankControl(SwitchBank::decode(payload)),
                127744..=127746 => {
                    Content::AcPowerCurrent(Phase::from_index(pgn - 127744)?, AcPowerCurrent::decode(payload))
                }
                127747..=127749 => {
                    Content::AcVoltageFrequency(Phase::from_index(pgn - 127747)?, AcVoltageFrequency::decode(payload))
                }
                65001..=65030 => ac_power(pgn, payload)?,
                _ => return None,
            })
        }
    };
}

fn ac_power(pgn: u32, payload: &[u8]) -> Option<Content> {
    let (place, phase, kind) = classify(pgn)?;
    Some(match kind {
        AcKind::Quantities => Content::AcBasicQuantities(place, phase, AcBasicQuantities::decode(payload)),
        AcKind::Power => Content::AcPower(place, phase, AcPower::decode(payload)),
        AcKind::ReactivePower => Content::AcReactivePower(place, phase, AcReactivePower::decode(payload)),
        AcKind::Energy => Content::AcEnergy(place, AcEnergy::decode(payload)),
    })
}

contents! {
    /// 59392.
    59392 => IsoAcknowledgement,
    /// 59904.
    59904 => IsoRequest,
    /// 60928.
    60928 => AddressClaim,
    /// 126464.
    126464 => PgnList,
    /// 126983.
    126983 => Alert,
    /// 126984.
    126984 => AlertResponse,
    /// 126985.
    126985 => AlertText,
    /// 126986.
    126986 => AlertConfiguration,
    /// 126987.
    126987 => AlertThreshold,
    /// 126988.
    126988 => AlertValue,
    /// 126992.
    126992 => SystemTime,
    /// 126993.
    126993 => Heartbeat,
    /// 126996.
    126996 => ProductInformation,
    /// 126998.
    126998 => ConfigurationInformation,
    /// 127488.
    127488 => EngineRapid,
    /// 127489.
    127489 => EngineDynamic,
    /// 127503.
    127503 => AcInput,
    /// 127504.
    127504 => AcOutput,
    /// 127505.
    127505 => FluidLevel,
    /// 127506.
    127506 => DcDetailedStatus,
    /// 127508.
    127508 => BatteryStatus,
    /// 127750.
    127750 => ConverterStatus,
    /// 127751.
    127751 => DcVoltageCurrent,
    /// 129025.
    129025 => PositionRapid,
    /// 129029.
    129029 => GnssPosition,
    /// 129033.
    129033 => TimeDate,
    /// 130310.
    130310 => EnvironmentSea,
    /// 130311.
    130311 => Environment,
    /// 130312.
    130312 => Temperature,
    /// 130313.
    130313 => Humidity,
    /// 130314.
    130314 => ActualPressure,
    /// 130315.
    130315 => SetPressure,
    /// 130316.
    130316 => TemperatureExtended,
    /// 130321.
    130321 => SalinityStation,
    /// 130323.
    130323 => MeteorologicalStation,
    /// 130567.
    130567 => WatermakerStatus,
}
