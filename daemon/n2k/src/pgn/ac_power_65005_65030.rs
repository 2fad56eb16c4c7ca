//! AC power in the style of J1939, 65001 to 65030: single frames of 8 bytes, priority 3.
//!
//! Three places (bus, utility, generator), each as average or total and as phases A, B, C; per place basic quantities, and
//! except for the bus also power, reactive power and energy. Powers carry an offset of -2 000 000 000 W. Source: canboat's
//! database, which marks 65005 and 65018 (energy) as uncertain and the intervals as unknown.

use super::ac_phases_127744_127749::Phase;
use super::macros::{codes, group};
use crate::field::{code, unsigned};

/// Where the power is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum AcPlace {
    /// A bus bar.
    Bus,
    /// Shore.
    Utility,
    /// A generator.
    Generator,
}

/// Which of the four kinds a group is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AcKind {
    /// Voltage, frequency, current.
    Quantities,
    /// Real and apparent power.
    Power,
    /// Reactive power and power factor.
    ReactivePower,
    /// Energy.
    Energy,
}

/// Place, phase (`None`: average or total) and kind of one of the groups 65001 to 65030.
pub(super) fn classify(pgn: u32) -> Option<(AcPlace, Option<Phase>, AcKind)> {
    let (place, index) = match pgn {
        65001..=65003 => return Some((AcPlace::Bus, Phase::from_index(65003 - pgn), AcKind::Quantities)),
        65004 => return Some((AcPlace::Bus, None, AcKind::Quantities)),
        65005..=65017 => (AcPlace::Utility, pgn - 65005),
        65018..=65030 => (AcPlace::Generator, pgn - 65018),
        _ => return None,
    };
    // First the energy, then three groups each for phase C, B, A and the average.
    let Some(index) = index.checked_sub(1) else { return Some((place, None, AcKind::Energy)) };
    let kind = [AcKind::ReactivePower, AcKind::Power, AcKind::Quantities][index as usize % 3];
    let phase = 2u32.checked_sub(index / 3).and_then(Phase::from_index);
    Some((place, phase, kind))
}

/// The group [`classify`] gives these for; the energy if a bus has no such group.
pub(super) fn group_of(place: AcPlace, phase: Option<Phase>, kind: AcKind) -> u32 {
    let groups = match place {
        AcPlace::Bus => 65001..=65004,
        AcPlace::Utility => 65005..=65017,
        AcPlace::Generator => 65018..=65030,
    };
    let fallback = *groups.start();
    groups.into_iter().find(|pgn| classify(*pgn) == Some((place, phase, kind))).unwrap_or(fallback)
}

group! {
    /// Basic AC quantities.
    pub struct AcBasicQuantities, 8 bytes {
        /// Voltage between lines, V.
        voltage_line_line_v: f64 = unsigned(0, 16, 1.0, 1.0);
        /// Voltage between line and neutral, V.
        voltage_line_neutral_v: f64 = unsigned(16, 16, 1.0, 1.0);
        /// Frequency, Hz.
        frequency_hz: f64 = unsigned(32, 16, 1.0, 128.0);
        /// Current, A.
        current_a: f64 = unsigned(48, 16, 1.0, 1.0);
    }
}

/// Offset of the powers (canboat's database).
const POWER_OFFSET: f64 = -2_000_000_000.0;

group! {
    /// AC power.
    pub struct AcPower, 8 bytes {
        /// Real power, W.
        real_power_w: f64 = unsigned(0, 32, 1.0, 1.0).plus(POWER_OFFSET);
        /// Apparent power, VA.
        apparent_power_va: f64 = unsigned(32, 32, 1.0, 1.0).plus(POWER_OFFSET);
    }
}

codes! {
    /// Whether the current lags or leads.
    pub enum PowerFactorSense {
        /// Current leads.
        Leading = 0,
        /// Current lags.
        Lagging = 1,
    }
}

group! {
    /// AC reactive power.
    pub struct AcReactivePower, 8 bytes {
        /// Reactive power, VAr.
        reactive_power_var: f64 = unsigned(0, 32, 1.0, 1.0).plus(POWER_OFFSET);
        /// Power factor.
        power_factor: f64 = unsigned(32, 16, 1.0, 16384.0);
        /// Whether the current lags or leads.
        power_factor_sense: PowerFactorSense = code(48, 2);
    }
}

group! {
    /// AC energy.
    pub struct AcEnergy, 8 bytes {
        /// Energy given, kWh.
        export_kwh: f64 = unsigned(0, 32, 1.0, 1.0);
        /// Energy taken, kWh.
        import_kwh: f64 = unsigned(32, 32, 1.0, 1.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Names of some of the 30 groups in canboat's database.
    #[test]
    fn groups_by_place_phase_and_kind() {
        use AcKind::*;
        use AcPlace::*;
        let cases = [
            (65001, (Bus, Some(Phase::C), Quantities)),
            (65003, (Bus, Some(Phase::A), Quantities)),
            (65004, (Bus, None, Quantities)),
            (65005, (Utility, None, Energy)),
            (65006, (Utility, Some(Phase::C), ReactivePower)),
            (65010, (Utility, Some(Phase::B), Power)),
            (65012, (Utility, Some(Phase::A), ReactivePower)),
            (65013, (Utility, Some(Phase::A), Power)),
            (65014, (Utility, Some(Phase::A), Quantities)),
            (65015, (Utility, None, ReactivePower)),
            (65017, (Utility, None, Quantities)),
            (65018, (Generator, None, Energy)),
            (65025, (Generator, Some(Phase::A), ReactivePower)),
            (65027, (Generator, Some(Phase::A), Quantities)),
            (65029, (Generator, None, Power)),
            (65030, (Generator, None, Quantities)),
        ];
        for (pgn, expected) in cases {
            assert_eq!(classify(pgn), Some(expected), "{pgn}");
        }
        for pgn in 65001..=65030 {
            let (place, phase, kind) = classify(pgn).unwrap();
            assert_eq!(group_of(place, phase, kind), pgn);
        }
        assert_eq!((classify(65000), classify(65031)), (None, None));
    }
}
