//! A unit's readings against its own parts: the inversion with this unit's elements and pump.

use super::Calibration;
use super::condition::Condition;
use super::pump;
use crate::membrane::Train;
use crate::parts::Parts;
use crate::performance::{Inversion, NotComputable, PumpAssumption, Readings, inversion};

/// The train of this unit with the calibration's elements.
pub fn train(parts: &Parts, calibration: &Calibration) -> Train {
    Train { elements: calibration.elements.clone(), parallel: parts.parallel_trains }
}

/// What membranes the readings mean. Without a measured feed or concentrate flow the pump stands in for it, at the speed that `condition`
/// tells, and the answer is the joint region of water permeability and delivery.
///
/// # Errors
/// [`NotComputable`], for a missing reading by name.
pub fn invert(
    parts: &Parts,
    calibration: &Calibration,
    readings: &Readings,
    condition: &Condition,
) -> Result<Inversion, NotComputable> {
    let assumption = pump::speed(parts, condition).ok().map(|speed| {
        let pressure_bar = readings
            .feed_pressure_bar
            .or(readings.concentrate_pressure_bar)
            .map_or(parts.pump.rated_pressure_bar, |measured| measured.value);
        let (delivery, slip) = (calibration.delivery, calibration.slip);
        let share = pump::delivery_at(&parts.pump, delivery.value, slip.value, pressure_bar);
        let speed_sd = share * speed.ratio.deviation / speed.ratio.value;
        PumpAssumption {
            swept_flow_l_h: parts.pump.nameplate_flow_l_h * speed.ratio.value,
            delivery: share,
            delivery_sd: (delivery.deviation * delivery.deviation + speed_sd * speed_sd).sqrt(),
        }
    });
    let train = train(parts, calibration);
    inversion::invert(&train, &calibration.form, calibration.temperature_sd_k, readings, assumption)
}
