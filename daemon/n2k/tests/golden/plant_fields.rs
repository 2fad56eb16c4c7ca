//! Engines, electricity, tanks, environment and stations: our structs with the names and units of canboat.

use super::fields::{AsValue, Fields, Value, listed, put, time};
use barrico_n2k::pgn::*;

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

pub fn plant_and_weather(o: &mut Fields, content: &Content) {
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
