//! Our structs as a list of named values, with the names and units of canboat.

use barrico_n2k::Name;
use barrico_n2k::field::Code;
use barrico_n2k::pgn::*;
use std::collections::BTreeMap;

#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    Number(Option<f64>),
    Whole(Option<u64>),
    Text(Option<String>),
}

pub type Fields = BTreeMap<String, Value>;

pub trait AsValue {
    fn as_value(&self) -> Value;
}

impl AsValue for Option<f64> {
    fn as_value(&self) -> Value {
        Value::Number(*self)
    }
}

impl AsValue for Option<String> {
    fn as_value(&self) -> Value {
        Value::Text(self.clone())
    }
}

impl AsValue for Option<Name> {
    fn as_value(&self) -> Value {
        Value::Whole(self.map(|name| name.0))
    }
}

macro_rules! whole {
    ($($t:ty),*) => { $( impl AsValue for Option<$t> { fn as_value(&self) -> Value { Value::Whole(self.map(u64::from)) } } )* };
}
whole!(u8, u16, u32, u64, bool);

macro_rules! code {
    ($($t:ty),* $(,)?) => { $( impl AsValue for Option<$t> { fn as_value(&self) -> Value { Value::Whole(self.map(|code| u64::from(code.to_raw()))) } } )* };
}
code!(
    OperatingState,
    Acknowledgement,
    AlertType,
    AlertCategory,
    TriggerCondition,
    ThresholdStatus,
    AlertState,
    ResponseCommand,
    Language,
    PgnListKind,
    TimeSource,
    ControllerState,
    EquipmentStatus,
    AcLineNumber,
    Acceptability,
    Waveform,
    FluidType,
    DcType,
    ConverterState,
    ConverterCondition,
    TemperatureSource,
    HumiditySource,
    PressureSource,
    StationMode,
    WindReference,
);

macro_rules! put {
    ($out:expr, $($name:literal = $value:expr),* $(,)?) => {{ $( $out.insert($name.to_owned(), ($value).as_value()); )* }};
}

/// Units of time canboat uses for times of day.
const TIME_UNITS_PER_S: f64 = 10_000.0;

pub fn time(time_s: Option<f64>) -> Option<u64> {
    time_s.map(|time_s| (time_s * TIME_UNITS_PER_S).round() as u64)
}

pub fn listed(out: &mut Fields, index: usize, item: Fields) {
    out.extend(item.into_iter().map(|(name, value)| (format!("list.{index}.{name}"), value)));
}

fn head(out: &mut Fields, head: &AlertHead) {
    put!(
        out,
        "alertType" = head.alert_type,
        "alertCategory" = head.category,
        "alertSystem" = head.system,
        "alertSubSystem" = head.sub_system,
        "alertId" = head.alert_id,
        "dataSourceNetworkIdName" = head.data_source_name,
        "dataSourceInstance" = head.data_source_instance,
        "dataSourceIndexSource" = head.data_source_index,
        "alertOccurrenceNumber" = head.occurrence,
    );
}

pub fn fields(content: &Content) -> Fields {
    let mut out = Fields::new();
    let o = &mut out;
    match content {
        Content::WatermakerStatus(w) => put!(
            o,
            "watermakerOperatingState" = w.operating_state,
            "productionStartStop" = w.production,
            "rinseStartStop" = w.rinse,
            "lowPressurePumpStatus" = w.low_pressure_pump,
            "highPressurePumpStatus" = w.high_pressure_pump,
            "emergencyStop" = w.emergency_stop,
            "productSolenoidValveStatus" = w.product_solenoid_valve_warning,
            "flushModeStatus" = w.flush_mode,
            "salinityStatus" = w.salinity_warning,
            "sensorStatus" = w.sensor_warning,
            "oilChangeIndicatorStatus" = w.oil_change_warning,
            "filterStatus" = w.filter_warning,
            "systemStatus" = w.system_warning,
            "salinity" = w.salinity_ppm,
            "productWaterTemperature" = w.product_water_temperature_k,
            "preFilterPressure" = w.pre_filter_pressure_pa,
            "postFilterPressure" = w.post_filter_pressure_pa,
            "feedPressure" = w.feed_pressure_pa,
            "systemHighPressure" = w.system_high_pressure_pa,
            "productWaterFlow" = w.product_water_flow_l_h,
            "brineWaterFlow" = w.brine_water_flow_l_h,
            "runTime" = w.run_time_s,
        ),
        Content::IsoAcknowledgement(a) => {
            put!(o, "control" = a.control, "groupFunction" = a.group_function, "pgn" = a.pgn)
        }
        Content::IsoRequest(r) => put!(o, "pgn" = r.pgn),
        Content::AddressClaim(c) => {
            let parts = c.name.unwrap().parts();
            put!(
                o,
                "uniqueNumber" = Some(parts.unique_number),
                "manufacturerCode" = Some(parts.manufacturer_code),
                "deviceInstanceLower" = Some(parts.device_instance_lower),
                "deviceInstanceUpper" = Some(parts.device_instance_upper),
                "deviceFunction" = Some(parts.device_function),
                "deviceClass" = Some(parts.device_class),
                "systemInstance" = Some(parts.system_instance),
                "industryGroup" = Some(parts.industry_group),
                "arbitraryAddressCapable" = Some(parts.arbitrary_address_capable),
            );
        }
        Content::GroupFunction(function) => group_function(o, function),
        Content::PgnList(list) => {
            put!(o, "functionCode" = Some(list.kind));
            for (index, pgn) in list.pgns.iter().enumerate() {
                listed(o, index, Fields::from([("pgn".to_owned(), Some(*pgn).as_value())]));
            }
        }
        Content::Alert(a) => {
            head(o, &a.head);
            put!(
                o,
                "temporarySilenceStatus" = a.temporary_silence,
                "acknowledgeStatus" = a.acknowledged,
                "escalationStatus" = a.escalated,
                "temporarySilenceSupport" = a.temporary_silence_supported,
                "acknowledgeSupport" = a.acknowledge_supported,
                "escalationSupport" = a.escalation_supported,
                "acknowledgeSourceNetworkIdName" = a.acknowledge_source_name,
                "triggerCondition" = a.trigger_condition,
                "thresholdStatus" = a.threshold_status,
                "alertPriority" = a.priority,
                "alertState" = a.state,
            );
        }
        Content::AlertResponse(r) => {
            head(o, &r.head);
            put!(
                o,
                "acknowledgeSourceNetworkIdName" = r.acknowledge_source_name,
                "responseCommand" = r.command
            );
        }
        Content::AlertText(t) => {
            head(o, &t.head);
            put!(
                o,
                "languageId" = t.language,
                "alertTextDescription" = t.description,
                "alertLocationTextDescription" = t.location,
            );
        }
        Content::AlertConfiguration(c) => {
            head(o, &c.head);
            put!(
                o,
                "alertControl" = c.control,
                "userDefinedAlertAssignment" = c.user_defined_assignment,
                "reactivationPeriod" = c.reactivation_period,
                "temporarySilencePeriod" = c.temporary_silence_period,
                "escalationPeriod" = c.escalation_period,
            );
        }
        Content::AlertThreshold(t) => {
            head(o, &t.head);
            put!(o, "numberOfParameters" = t.parameter_count);
            for (index, p) in t.parameters.iter().enumerate() {
                let mut item = Fields::new();
                put!(
                    item,
                    "parameterNumber" = p.parameter,
                    "triggerMethod" = p.trigger_method,
                    "thresholdDataFormat" = p.data_format,
                    "thresholdLevel" = p.level,
                );
                listed(o, index, item);
            }
        }
        Content::AlertValue(v) => {
            head(o, &v.head);
            put!(o, "numberOfParameters" = v.parameter_count);
            for (index, p) in v.parameters.iter().enumerate() {
                let mut item = Fields::new();
                put!(
                    item,
                    "valueParameterNumber" = p.parameter,
                    "valueDataFormat" = p.data_format,
                    "valueData" = p.value
                );
                listed(o, index, item);
            }
        }
        Content::SystemTime(t) => {
            put!(o, "sid" = t.sid, "source" = t.source, "date" = t.date_days, "time" = time(t.time_s));
        }
        Content::TimeDate(t) => put!(
            o,
            "date" = t.date_days,
            "time" = time(t.time_s),
            "localOffset" = t.local_offset_min.map(|minutes| minutes * 60.0),
        ),
        Content::Heartbeat(h) => put!(
            o,
            "dataTransmitOffset" = h.interval_ms,
            "sequenceCounter" = h.sequence_counter,
            "controller1State" = h.controller_1,
            "controller2State" = h.controller_2,
            "equipmentStatus" = h.equipment,
        ),
        Content::ProductInformation(p) => put!(
            o,
            "nmea2000Version" = p.database_version,
            "productCode" = p.product_code,
            "modelId" = p.model_id,
            "softwareVersionCode" = p.software_version,
            "modelVersion" = p.model_version,
            "modelSerialCode" = p.serial_code,
            "certificationLevel" = p.certification_level,
            "loadEquivalency" = p.load_equivalency,
        ),
        Content::ConfigurationInformation(c) => put!(
            o,
            "installationDescription1" = c.installation_description_1,
            "installationDescription2" = c.installation_description_2,
            "manufacturerInformation" = c.manufacturer_information,
        ),
        other => super::plant_fields::plant_and_weather(o, other),
    }
    out
}

fn group_function(o: &mut Fields, function: &GroupFunction) {
    put!(o, "pgn" = Some(function.pgn()));
    match function {
        GroupFunction::Request(r) => put!(
            o,
            "functionCode" = Some(0u8),
            "transmissionInterval" = Some(r.interval_ms).filter(|interval| *interval != u32::MAX),
            "transmissionIntervalOffset" = Some(r.offset_10_ms).filter(|offset| *offset != u16::MAX),
            "numberOfParameters" = Some(r.pair_count),
        ),
        GroupFunction::Command(c) => {
            put!(
                o,
                "functionCode" = Some(1u8),
                "priority" = Some(c.priority),
                "numberOfParameters" = Some(c.pair_count),
            );
            // All fields of 130567 that can be commanded are two bits wide: one byte each.
            for (index, pair) in pairs(&c.pairs, c.pair_count, |_| Some(PairWidth::Bytes(1))).enumerate() {
                let mut item = Fields::new();
                put!(item, "parameter" = Some(pair.field), "value" = Some(pair.value[0]));
                listed(o, index, item);
            }
        }
        GroupFunction::Acknowledge(a) => {
            put!(
                o,
                "functionCode" = Some(2u8),
                "pgnErrorCode" = Some(a.pgn_error),
                "transmissionIntervalPriorityErrorCode" = Some(a.interval_error),
                "numberOfParameters" = Some(a.parameter_errors.len() as u64),
            );
            for (index, error) in a.parameter_errors.iter().enumerate() {
                listed(o, index, Fields::from([("parameter".to_owned(), Some(*error).as_value())]));
            }
        }
        other => panic!("no vector has {other:?}"),
    }
}

pub(crate) use put;
