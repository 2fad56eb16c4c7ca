//! What each device says, and when.

use super::faults::{Fault, Faults};
use super::random::Random;
use super::sea::Water;
use super::talk::{BATTERY, GENERATOR, LOG_SENSOR, RECEIVER, SOUNDER, TANKS, Talk};
use super::unit::Unit;
use barrico_model::{Monotonic, WallMs};
use barrico_n2k::Frame;
use barrico_n2k::pgn::{
    AcLineNumber, AcOutput, AcOutputLine, BatteryStatus, Content, EngineRapid, FluidLevel, FluidType,
    GnssMethod, GnssPosition, GnssType, PositionRapid, SystemTime, TemperatureExtended, TemperatureSource,
    TimeSource, Waveform,
};

/// Absolute zero in °C.
const KELVIN: f64 = 273.15;
/// The stuck sensor shows so much less than the sea had, K.
const STUCK_OFF_K: f64 = -3.0;
/// What the two sea temperature sensors are off by themselves: standard deviation, K.
const SENSOR_OFF_K: f64 = 0.12;
/// Product tank, L, and what the crew uses, L/h.
const TANK_L: f64 = 600.0;
const USE_L_H: f64 = 22.0;
/// Power factor of the motor on the generator.
const POWER_FACTOR: f64 = 0.86;
/// Battery, V: at rest, and what the small unit pulls it down.
const BATTERY_V: (f64, f64) = (13.3, -0.5);

/// The devices.
#[derive(Clone, Debug)]
pub(super) struct Devices {
    talk: Talk,
    random: Random,
    sensor_off_k: [f64; 2],
    stuck_c: Option<f64>,
    tank_l: f64,
    last_ms: u64,
}

impl Devices {
    pub fn new(mut random: Random) -> Self {
        let sensor_off_k = std::array::from_fn(|_| SENSOR_OFF_K * random.normal());
        Self { talk: Talk::default(), random, sensor_off_k, stuck_c: None, tank_l: 300.0, last_ms: 0 }
    }

    /// The bus is switched on.
    pub fn switch_on(&mut self, now: Monotonic, out: &mut Vec<(Monotonic, Frame)>) {
        self.talk.introduce(now, out);
    }

    /// Everything that is due in this step.
    pub fn talk(
        &mut self,
        now: Monotonic,
        wall_ms: WallMs,
        water: &Water,
        faults: &Faults,
        units: &mut [Unit],
        out: &mut Vec<(Monotonic, Frame)>,
    ) {
        let due = |interval_ms: u64, phase_ms: u64| now.0 % interval_ms == phase_ms;
        // The first messages wait until the claims are through.
        let at = now.plus_ms(400);
        if due(2_500, 0) {
            for (index, unit) in units.iter_mut().enumerate() {
                let status = unit.status(water);
                self.talk.send(
                    at.plus_ms(20 * index as u64),
                    unit.controller,
                    6,
                    &Content::WatermakerStatus(status),
                    out,
                );
            }
            self.tank(now, units, out);
        }
        if due(2_000, 500) {
            self.sea_temperature(at, water, faults, out);
        }
        if due(1_500, 1_000) {
            self.supply(at, units, out);
        }
        if due(1_000, 0) {
            self.receiver(now, wall_ms, water, out);
            if units.first().is_some_and(Unit::is_on) {
                let speed = 1500.0 + 3.0 * self.random.normal();
                let engine =
                    EngineRapid { instance: Some(2), speed_rpm: Some(speed), ..EngineRapid::default() };
                self.talk.send(at, GENERATOR, 2, &Content::EngineRapid(engine), out);
            }
        }
    }

    fn sea_temperature(
        &mut self,
        at: Monotonic,
        water: &Water,
        faults: &Faults,
        out: &mut Vec<(Monotonic, Frame)>,
    ) {
        for (index, device) in [SOUNDER, LOG_SENSOR].into_iter().enumerate() {
            let mut celsius = water.temperature_c + self.sensor_off_k[index] + 0.02 * self.random.normal();
            if index == 1 && faults.since(Fault::SeaTemperatureStuck).is_some() {
                celsius = *self.stuck_c.get_or_insert(celsius + STUCK_OFF_K);
            }
            let message = TemperatureExtended {
                sid: Some(0),
                instance: Some(0),
                source: Some(TemperatureSource::Sea),
                // Such senders count in hundredths.
                actual_temperature_k: Some(((celsius + KELVIN) * 100.0).round() / 100.0),
                set_temperature_k: None,
            };
            self.talk.send(
                at.plus_ms(7 * index as u64),
                device,
                5,
                &Content::TemperatureExtended(message),
                out,
            );
        }
    }

    fn tank(&mut self, now: Monotonic, units: &[Unit], out: &mut Vec<(Monotonic, Frame)>) {
        let hours = now.0.saturating_sub(self.last_ms) as f64 / 3.6e6;
        self.last_ms = now.0;
        let made: f64 =
            units.iter().filter(|unit| unit.is_running()).map(|unit| unit.doing.product_l_h).sum();
        self.tank_l = (self.tank_l + (made - USE_L_H) * hours).clamp(0.15 * TANK_L, TANK_L);
        let level = 100.0 * self.tank_l / TANK_L + 0.4 * self.random.normal();
        let message = FluidLevel {
            instance: Some(0),
            fluid_type: Some(FluidType::Water),
            level_percent: Some(level),
            capacity_l: Some(TANK_L),
        };
        self.talk.send(now.plus_ms(450), TANKS, 6, &Content::FluidLevel(message), out);
    }

    fn supply(&mut self, at: Monotonic, units: &mut [Unit], out: &mut Vec<(Monotonic, Frame)>) {
        for unit in units {
            let power_w = unit.power_w();
            if unit.has_concentrate_sensor {
                let loaded = if unit.is_running() { BATTERY_V.1 } else { 0.0 };
                let volts = BATTERY_V.0 + loaded + 0.03 * self.random.normal();
                let battery = BatteryStatus {
                    instance: Some(1),
                    voltage_v: Some(volts),
                    // A meter in the unit's own supply line: discharge counts positive.
                    current_a: Some(power_w / volts),
                    temperature_k: None,
                    sid: None,
                };
                self.talk.send(at, BATTERY, 6, &Content::BatteryStatus(battery), out);
            } else if unit.is_on() {
                let volts = 230.0 + self.random.normal();
                let line = AcOutputLine {
                    line: Some(AcLineNumber::Line1),
                    waveform: Some(Waveform::Sine),
                    voltage_v: Some(volts),
                    current_a: Some(power_w / (volts * POWER_FACTOR)),
                    frequency_hz: Some(50.0 + 0.1 * self.random.normal()),
                    breaker_size_a: None,
                    real_power_w: Some(power_w),
                    reactive_power_var: None,
                    power_factor: None,
                };
                let output = AcOutput { instance: Some(0), line_count: Some(1), lines: vec![line] };
                self.talk.send(at, GENERATOR, 6, &Content::AcOutput(output), out);
            }
        }
    }

    fn receiver(
        &mut self,
        now: Monotonic,
        wall_ms: WallMs,
        water: &Water,
        out: &mut Vec<(Monotonic, Frame)>,
    ) {
        let at = now.plus_ms(430);
        let wall_ms = wall_ms + 430;
        let date_days = Some(wall_ms.div_euclid(86_400_000) as u16);
        let time_s = Some(wall_ms.rem_euclid(86_400_000) as f64 / 1000.0);
        let latitude_deg = Some(water.latitude_deg + 2e-5 * self.random.normal());
        let longitude_deg = Some(water.longitude_deg + 2e-5 * self.random.normal());
        let rapid = PositionRapid { latitude_deg, longitude_deg };
        self.talk.send(at, RECEIVER, 2, &Content::PositionRapid(rapid), out);
        if now.0.is_multiple_of(5_000) {
            let time = SystemTime { sid: Some(0), source: Some(TimeSource::Gps), date_days, time_s };
            self.talk.send(at, RECEIVER, 3, &Content::SystemTime(time), out);
        }
        if now.0.is_multiple_of(10_000) {
            let position = GnssPosition {
                sid: Some(0),
                date_days,
                time_s,
                latitude_deg,
                longitude_deg,
                altitude_m: Some(2.0),
                gnss_type: Some(GnssType::Gps),
                method: Some(GnssMethod::Simulated),
                integrity: Some(0),
                satellites: Some(11),
                horizontal_dilution: Some(0.9),
                position_dilution: Some(1.4),
                geoidal_separation_m: Some(48.0),
                reference_stations: Some(0),
            };
            self.talk.send(at, RECEIVER, 3, &Content::GnssPosition(position), out);
        }
    }
}
