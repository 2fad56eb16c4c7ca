//! What a case knows beside the readings that the engine takes: observations, second instruments, single elements, several senders, dead values.
//!
//! Kept whole and in words, so that a judgement can say what it did not use. The engine takes one present value of a quantity; a second value of the same
//! thing is evidence about instruments and must never be averaged into the first.

use barrico_model::WallMs;
use barrico_model::judgement::observation_list::Observable;
pub use barrico_model::judgement::reasoning::Role;
use barrico_model::judgement::reasoning::weighs;
use barrico_model::records::HandReading;

/// Something a person saw, heard, smelt or tasted, or looked for and did not find.
#[derive(Clone, Debug, PartialEq)]
pub struct Observed {
    /// What.
    pub what: &'static Observable,
    /// False: looked, and it is not so.
    pub seen: bool,
    /// When; `None`: with the latest readings.
    pub at: Option<WallMs>,
    /// By whom.
    pub by: String,
}

/// A reading that stands beside the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// Why it does.
    pub role: Role,
    /// When; `None`: with the latest readings.
    pub at: Option<WallMs>,
    /// The reading.
    pub reading: HandReading,
}

/// A reading that has not moved for a while.
#[derive(Clone, Debug, PartialEq)]
pub struct Unchanged {
    /// The reading.
    pub reading: HandReading,
    /// For how long, minutes.
    pub minutes: f64,
}

/// How something in the log was done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Details {
    /// Kind of agent, by its word in case files.
    pub agent: Option<&'static str>,
    /// Acidity of the solution.
    pub ph: Option<f64>,
    /// Temperature of the solution, °C.
    pub temperature_c: Option<f64>,
    /// How long, minutes.
    pub minutes: Option<f64>,
    /// How much, litres.
    pub litres: Option<f64>,
    /// Strength, per cent by volume.
    pub strength_percent: Option<f64>,
    /// Running hours of the unit then.
    pub run_hours: Option<f64>,
    /// Why it was done.
    pub reason: Option<String>,
}

impl Details {
    /// In words, for the note of the entry; empty if there is nothing to say.
    pub(super) fn text(&self) -> String {
        let mut parts: Vec<String> = self.agent.iter().map(|agent| format!("agent: {agent}")).collect();
        let mut put = |value: Option<f64>, before: &str, after: &str| {
            parts.extend(value.map(|value| format!("{before}{value}{after}")));
        };
        put(self.ph, "pH ", "");
        put(self.temperature_c, "", " °C");
        put(self.minutes, "", " min");
        put(self.litres, "", " L");
        put(self.strength_percent, "", " % by volume");
        put(self.run_hours, "at ", " running hours");
        parts.extend(self.reason.iter().map(|reason| format!("reason: {reason}")));
        parts.join(", ")
    }
}

/// All of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    /// What was observed.
    pub observations: Vec<Observed>,
    /// Readings beside the others.
    pub beside: Vec<Beside>,
    /// Readings that do not move.
    pub unchanged: Vec<Unchanged>,
    /// Events with how they were done, by their place in the log of the case.
    pub details: Vec<(usize, Details)>,
}

impl Facts {
    /// One line for each observation that no cause knows.
    pub fn not_weighed(&self) -> Vec<String> {
        let unknown = self.observations.iter().filter(|observed| !weighs(observed.what.code));
        unknown.map(Observed::text).collect()
    }

    /// One line for everything that stands beside the readings.
    pub fn words(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.beside.iter().map(Beside::text).collect();
        lines.extend(self.unchanged.iter().map(|fact| {
            format!(
                "{} has stood at {} for {} minutes",
                fact.reading.quantity.label(),
                fact.reading.typed,
                fact.minutes
            )
        }));
        lines.extend(self.observations.iter().map(Observed::text));
        lines
    }
}

impl Observed {
    fn text(&self) -> String {
        let not = if self.seen { "" } else { "looked for and not found: " };
        format!("observation: {not}{}", self.what.seen)
    }
}

impl Beside {
    fn text(&self) -> String {
        let (label, typed) = (self.reading.quantity.label(), &self.reading.typed);
        match &self.role {
            Role::SecondInstrument => format!("{label} by a second instrument: {typed}"),
            Role::Element(number) => format!("{label} of element {number} alone: {typed}"),
            Role::Sender(name) => format!("{label} from {name}: {typed}; another device sends it too"),
            Role::Impossible => format!("{label}: the instrument shows {typed}, which cannot be"),
        }
    }
}
