//! Stations ashore: 130321 salinity, 130323 weather. Fast packets, priority 6. canboat never saw a sample of them.
//! They describe stations, not sensors on board.

use super::macros::{codes, group};
use crate::field::{code, count, float, signed, unsigned};

codes! {
    /// How a station works.
    pub enum StationMode {
        /// Autonomous.
        Autonomous = 0,
        /// Differential.
        Differential = 1,
        /// Estimated.
        Estimated = 2,
        /// Simulator.
        Simulator = 3,
        /// Manual.
        Manual = 4,
    }
}

codes! {
    /// What a wind is measured against.
    pub enum WindReference {
        /// True, ground, north.
        TrueGroundNorth = 0,
        /// Magnetic, ground, north.
        MagneticGroundNorth = 1,
        /// Apparent.
        Apparent = 2,
        /// True, referenced to the boat.
        TrueBoat = 3,
        /// True, referenced to the water.
        TrueWater = 4,
    }
}

group! {
    /// Salinity station, PGN 130321.
    pub struct SalinityStation = 130321, 21 bytes {
        /// How the station works.
        mode: StationMode = code(0, 4);
        /// Days since 1970-01-01.
        date_days: u16 = count(8, 16);
        /// Seconds since midnight UTC, s.
        time_s: f64 = unsigned(24, 32, 1.0, 10_000.0);
        /// Latitude, degrees.
        latitude_deg: f64 = signed(56, 32, 1.0, 1e7);
        /// Longitude, degrees.
        longitude_deg: f64 = signed(88, 32, 1.0, 1e7);
        /// Salinity, parts per thousand.
        salinity_ppt: f64 = float(120);
        /// Water temperature, K.
        water_temperature_k: f64 = unsigned(152, 16, 1.0, 100.0);
        @texts 60 {
            /// Identifier of the station.
            station_id;
            /// Name of the station.
            station_name;
        }
    }
}

group! {
    /// Meteorological station, PGN 130323.
    pub struct MeteorologicalStation = 130323, 26 bytes {
        /// How the station works.
        mode: StationMode = code(0, 4);
        /// Days since 1970-01-01.
        date_days: u16 = count(8, 16);
        /// Seconds since midnight UTC, s.
        time_s: f64 = unsigned(24, 32, 1.0, 10_000.0);
        /// Latitude, degrees.
        latitude_deg: f64 = signed(56, 32, 1.0, 1e7);
        /// Longitude, degrees.
        longitude_deg: f64 = signed(88, 32, 1.0, 1e7);
        /// Wind speed, m/s.
        wind_speed_m_s: f64 = unsigned(120, 16, 1.0, 100.0);
        /// Wind direction, rad.
        wind_direction_rad: f64 = unsigned(136, 16, 1.0, 10_000.0);
        /// What the wind is measured against.
        wind_reference: WindReference = code(152, 3);
        /// Gusts, m/s.
        wind_gusts_m_s: f64 = unsigned(160, 16, 1.0, 100.0);
        /// Atmospheric pressure, Pa.
        atmospheric_pressure_pa: f64 = unsigned(176, 16, 100.0, 1.0);
        /// Air temperature, K.
        ambient_temperature_k: f64 = unsigned(192, 16, 1.0, 100.0);
        @texts 60 {
            /// Identifier of the station.
            station_id;
            /// Name of the station.
            station_name;
        }
    }
}
