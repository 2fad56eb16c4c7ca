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

trait AsValue {
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

fn time(time_s: Option<f64>) -> Option<u64> {
    time_s.map(|time_s| (time_s * TIME_UNITS_PER_S).round() as u64)
}

fn listed(out: &mut Fields, index: usize, item: Fields) {
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

macro_rules! ac_line {
    ($line:expr, $name:literal = $own:expr) => {{
        let mut item = Fields::new();
        put!(
            item,
            "line" = $line.line,
            $name = $own,
            "voltage" = $line.voltage_v,
            "current" = $line.current_a,
            "frequency" = $line.frequency_hz,
            "breakerSize" = $line.breaker_size_a,
            "realPower" = $line.real_power_w,
            "reactivePower" = $line.reactive_power_var,
            "powerFactor" = $line.power_factor,
        );
        item
    }};
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
        other => plant_and_weather(o, other),
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

fn plant_and_weather(o: &mut Fields, content: &Content) {
    match content {
        Content::EngineRapid(e) => put!(
            o,
            "instance" = e.instance,
            "speed" = e.speed_rpm,
            "boostPressure" = e.boost_pressure_pa,
            "tiltTrim" = e.tilt_trim_percent,
        ),
        Content::EngineDynamic(e) => put!(
            o,
            "instance" = e.instance,
            "oilPressure" = e.oil_pressure_pa,
            "oilTemperature" = e.oil_temperature_k,
            "temperature" = e.coolant_temperature_k,
            "alternatorPotential" = e.alternator_voltage_v,
            "fuelRate" = e.fuel_rate_l_h,
            "totalEngineHours" = e.total_hours_s,
            "coolantPressure" = e.coolant_pressure_pa,
            "fuelPressure" = e.fuel_pressure_pa,
            // canboat gives no value for an empty set.
            "discreteStatus1" = e.status_1.filter(|bits| *bits != 0),
            "discreteStatus2" = e.status_2.filter(|bits| *bits != 0),
            "engineLoad" = e.load_percent,
            "engineTorque" = e.torque_percent,
        ),
        Content::SwitchBankStatus(bank) => switches(o, bank, "indicator"),
        Content::SwitchBankControl(bank) => switches(o, bank, "switch"),
        Content::AcInput(ac) => {
            put!(o, "instance" = ac.instance, "numberOfLines" = ac.line_count);
            for (index, line) in ac.lines.iter().enumerate() {
                listed(o, index, ac_line!(line, "acceptability" = line.acceptability));
            }
        }
        Content::AcOutput(ac) => {
            put!(o, "instance" = ac.instance, "numberOfLines" = ac.line_count);
            for (index, line) in ac.lines.iter().enumerate() {
                listed(o, index, ac_line!(line, "waveform" = line.waveform));
            }
        }
        Content::FluidLevel(f) => put!(
            o,
            "instance" = f.instance,
            "type" = f.fluid_type,
            "level" = f.level_percent,
            "capacity" = f.capacity_l,
        ),
        Content::DcDetailedStatus(d) => put!(
            o,
            "sid" = d.sid,
            "instance" = d.instance,
            "dcType" = d.dc_type,
            "stateOfCharge" = d.state_of_charge_percent,
            "stateOfHealth" = d.state_of_health_percent,
            "timeRemaining" = d.time_remaining_s,
            "rippleVoltage" = d.ripple_voltage_v,
            "remainingCapacity" = d.remaining_capacity_ah,
        ),
        Content::BatteryStatus(b) => put!(
            o,
            "instance" = b.instance,
            "voltage" = b.voltage_v,
            "current" = b.current_a,
            "temperature" = b.temperature_k,
            "sid" = b.sid,
        ),
        Content::DcVoltageCurrent(d) => put!(
            o,
            "sid" = d.sid,
            "connectionNumber" = d.connection,
            "dcVoltage" = d.voltage_v,
            "dcCurrent" = d.current_a,
        ),
        Content::AcPowerCurrent(_, ac) => put!(
            o,
            "sid" = ac.sid,
            "connectionNumber" = ac.connection,
            "acRmsCurrent" = ac.current_a,
            "power" = ac.power_w,
        ),
        Content::AcVoltageFrequency(_, ac) => put!(
            o,
            "sid" = ac.sid,
            "connectionNumber" = ac.connection,
            "acVoltageLineToNeutral" = ac.voltage_line_neutral_v,
            "acVoltageLineToLine" = ac.voltage_line_line_v,
            "frequency" = ac.frequency_hz,
        ),
        Content::ConverterStatus(c) => put!(
            o,
            "sid" = c.sid,
            "connectionNumber" = c.connection,
            "operatingState" = c.operating_state,
            "temperatureState" = c.temperature,
            "overloadState" = c.overload,
            "lowDcVoltageState" = c.low_dc_voltage,
            "rippleState" = c.ripple,
        ),
        Content::AcPower(_, _, p) => {
            put!(o, "realPower" = p.real_power_w, "apparentPower" = p.apparent_power_va);
        }
        Content::AcBasicQuantities(_, _, q) => put!(
            o,
            "lineLineAcRmsVoltage" = q.voltage_line_line_v,
            "lineNeutralAcRmsVoltage" = q.voltage_line_neutral_v,
            "acFrequency" = q.frequency_hz,
            "acRmsCurrent" = q.current_a,
        ),
        other => environment(o, other),
    }
}

fn switches(o: &mut Fields, bank: &SwitchBank, name: &str) {
    put!(o, "instance" = bank.instance);
    for (index, on) in bank.on.iter().enumerate() {
        // In a control message 3 is "leave as it is", which canboat gives as a value.
        let value = if name == "switch" { Some(on.map_or(3, u64::from)) } else { on.map(u64::from) };
        o.insert(format!("{name}{}", index + 1), Value::Whole(value));
    }
}

fn environment(o: &mut Fields, content: &Content) {
    match content {
        Content::EnvironmentSea(e) => put!(
            o,
            "sid" = e.sid,
            "waterTemperature" = e.sea_temperature_k,
            "outsideAmbientAirTemperature" = e.outside_temperature_k,
            "atmosphericPressure" = e.atmospheric_pressure_pa,
        ),
        Content::Environment(e) => put!(
            o,
            "sid" = e.sid,
            "temperatureSource" = e.temperature_source,
            "humiditySource" = e.humidity_source,
            "temperature" = e.temperature_k,
            "humidity" = e.humidity_percent,
            "atmosphericPressure" = e.atmospheric_pressure_pa,
        ),
        Content::Temperature(t) => put!(
            o,
            "sid" = t.sid,
            "instance" = t.instance,
            "source" = t.source,
            "actualTemperature" = t.actual_temperature_k,
            "setTemperature" = t.set_temperature_k,
        ),
        Content::TemperatureExtended(t) => put!(
            o,
            "sid" = t.sid,
            "instance" = t.instance,
            "source" = t.source,
            "temperature" = t.actual_temperature_k,
            "setTemperature" = t.set_temperature_k,
        ),
        Content::ActualPressure(p) => {
            put!(o, "sid" = p.sid, "instance" = p.instance, "source" = p.source, "pressure" = p.pressure_pa,)
        }
        Content::SetPressure(p) => {
            put!(o, "sid" = p.sid, "instance" = p.instance, "source" = p.source, "pressure" = p.pressure_pa,)
        }
        Content::SalinityStation(s) => put!(
            o,
            "mode" = s.mode,
            "measurementDate" = s.date_days,
            "measurementTime" = time(s.time_s),
            "stationLatitude" = s.latitude_deg,
            "stationLongitude" = s.longitude_deg,
            "salinity" = s.salinity_ppt,
            "waterTemperature" = s.water_temperature_k,
            "stationId" = s.station_id,
            "stationName" = s.station_name,
        ),
        Content::MeteorologicalStation(s) => put!(
            o,
            "mode" = s.mode,
            "measurementDate" = s.date_days,
            "measurementTime" = time(s.time_s),
            "stationLatitude" = s.latitude_deg,
            "stationLongitude" = s.longitude_deg,
            "windSpeed" = s.wind_speed_m_s,
            "windDirection" = s.wind_direction_rad,
            "windReference" = s.wind_reference,
            "windGusts" = s.wind_gusts_m_s,
            "atmosphericPressure" = s.atmospheric_pressure_pa,
            "ambientTemperature" = s.ambient_temperature_k,
            "stationId" = s.station_id,
            "stationName" = s.station_name,
        ),
        other => panic!("no vector has {other:?}"),
    }
}
