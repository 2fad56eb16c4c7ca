//! Everything a figure depends on that is not known exactly, as one list of numbers.

/// The inputs, each with a value and a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub(crate) enum Input {
    TemperatureC,
    SalinityGKg,
    /// Whatever decides the pressure: a reading, a mark, a product flow, a valve's reference pressure, a share.
    Rule,
    ProductPressureBar,
    InletPressureBar,
    FeedFlowLH,
    SpeedRatio,
    Delivery,
    Slip,
    /// First independent part of ln(A25) and ln(B25), in standard deviations.
    PermeabilityFirst,
    /// Second part.
    PermeabilitySecond,
    WaterWarmK,
    WaterColdK,
    SaltK,
    LnFilm,
    LnOsmotic,
    LnDifferentialPressure,
    PumpEfficiency,
    MotorEfficiency,
    PowerFactor,
    /// Start current in A, or as a multiple of the rated current.
    Start,
    /// Exponent of the concentrate valve.
    ValveExponent,
    /// Energy-recovery pump: share of the feed that leaks back, share of concentrate mixed in, pressure behind its outlet, friction.
    Leakage,
    Mixing,
    ExhaustBar,
    LowSideFriction,
}

pub(crate) const INPUTS: usize = Input::LowSideFriction as usize + 1;

/// Values and standard deviations of all inputs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Inputs {
    pub value: [f64; INPUTS],
    pub deviation: [f64; INPUTS],
}

impl Inputs {
    pub(crate) fn new() -> Self {
        Self { value: [0.0; INPUTS], deviation: [0.0; INPUTS] }
    }

    pub(crate) fn set(&mut self, input: Input, value: f64, deviation: f64) {
        self.value[input as usize] = value;
        self.deviation[input as usize] = deviation.abs();
    }

    pub(crate) fn get(&self, input: Input) -> f64 {
        self.value[input as usize]
    }

    /// The same with one input moved by so many of its standard deviations.
    pub(crate) fn moved(&self, index: usize, deviations: f64) -> Self {
        let mut moved = *self;
        moved.value[index] += deviations * self.deviation[index];
        moved
    }
}
