//! Parameter groups: what a payload says.
//!
//! One file per group or family. Every field is an `Option`: `None` is "no value" (not available, error, reserved code
//! or a payload too short; the `missing` function of each group tells which). Units are in the field names and are those
//! of the standard: K, Pa, V, A, L/h. Enumerations keep codes they do not know.
//!
//! Source of all tables: the canboat PGN database (8.0.0-beta3, commit 01d0dc3), reverse engineered and published under
//! Apache-2.0; the NMEA standard itself was not read. The tests compare with two independent decoders.
//!
//! Failure: decoding cannot fail. A group that is not in the list gives `None`.

mod macros;

pub mod ac_lines_127503_127504;
pub mod ac_phases_127744_127749;
pub mod ac_power_65005_65030;
pub mod alerts_126983_126988;
pub mod configuration_information_126998;
mod content;
pub mod converter_status_127750;
pub mod dc_127506_127508_127751;
pub mod engine_127488_127489;
pub mod environment_130310_130311;
pub mod fluid_level_127505;
pub mod group_function_126208;
pub mod heartbeat_126993;
pub mod humidity_130313;
pub mod iso_59392_59904_60928;
pub mod pgn_list_126464;
pub mod position_129025_129029;
pub mod pressure_130314_130315;
pub mod product_information_126996;
pub mod stations_130321_130323;
pub mod switch_bank_127501_127502;
pub mod temperature_130312_130316;
pub mod time_126992_129033;
pub mod watermaker_status_130567;

pub use ac_lines_127503_127504::{
    AcInput, AcInputLine, AcLineNumber, AcOutput, AcOutputLine, Acceptability, Waveform,
};
pub use ac_phases_127744_127749::{AcPowerCurrent, AcVoltageFrequency, Phase};
pub use ac_power_65005_65030::{
    AcBasicQuantities, AcEnergy, AcPlace, AcPower, AcReactivePower, PowerFactorSense,
};
pub use alerts_126983_126988::{
    Alert, AlertCategory, AlertConfiguration, AlertHead, AlertResponse, AlertState, AlertText,
    AlertThreshold, AlertThresholdParameter, AlertType, AlertValue, AlertValueParameter, Language,
    ResponseCommand, ThresholdStatus, TriggerCondition,
};
pub use configuration_information_126998::ConfigurationInformation;
pub use content::{Content, KNOWN_GROUPS, decode};
pub use converter_status_127750::{ConverterCondition, ConverterState, ConverterStatus};
pub use dc_127506_127508_127751::{BatteryStatus, DcDetailedStatus, DcType, DcVoltageCurrent};
pub use engine_127488_127489::{EngineDynamic, EngineRapid};
pub use environment_130310_130311::{Environment, EnvironmentSea};
pub use fluid_level_127505::{FluidLevel, FluidType};
pub use group_function_126208::{
    GroupAcknowledge, GroupCommand, GroupFunction, GroupReadWrite, GroupRequest, Pair, PairWidth, pairs,
};
pub use heartbeat_126993::{ControllerState, EquipmentStatus, Heartbeat};
pub use humidity_130313::{Humidity, HumiditySource};
pub use iso_59392_59904_60928::{Acknowledgement, AddressClaim, IsoAcknowledgement, IsoRequest};
pub use pgn_list_126464::{PgnList, PgnListKind};
pub use position_129025_129029::{GnssMethod, GnssPosition, GnssType, PositionRapid};
pub use pressure_130314_130315::{ActualPressure, PressureSource, SetPressure};
pub use product_information_126996::ProductInformation;
pub use stations_130321_130323::{MeteorologicalStation, SalinityStation, StationMode, WindReference};
pub use switch_bank_127501_127502::SwitchBank;
pub use temperature_130312_130316::{Temperature, TemperatureExtended, TemperatureSource};
pub use time_126992_129033::{SystemTime, TimeDate, TimeSource};
pub use watermaker_status_130567::{OperatingState, WatermakerStatus};
