//! One value against another, and the worst of many.

/// One value of a source and ours.
#[derive(Clone, Debug)]
pub struct Check {
    /// What, with its arguments and unit.
    pub what: String,
    /// The value of the source.
    pub expected: f64,
    /// Ours.
    pub ours: f64,
    /// Largest deviation that is allowed, as a share of the expected value.
    pub tolerance: f64,
}

impl Check {
    pub fn new(what: impl Into<String>, expected: f64, ours: f64, tolerance: f64) -> Self {
        Self { what: what.into(), expected, ours, tolerance }
    }

    /// Deviation as a share of the expected value.
    pub fn deviation(&self) -> f64 {
        (self.ours - self.expected) / self.expected
    }

    /// Within the tolerance? False for what is no number.
    pub fn holds(&self) -> bool {
        self.deviation().abs() <= self.tolerance
    }
}

/// Checks of one kind against one source.
#[derive(Clone, Debug)]
pub struct Group {
    /// A name for a printed figure: lower case and underscores.
    pub name: &'static str,
    /// What is compared, for a reader.
    pub title: &'static str,
    /// With what.
    pub source: String,
    pub checks: Vec<Check>,
}

impl Group {
    /// The check that deviates most from what is allowed it; a value that is no number comes first.
    pub fn worst(&self) -> &Check {
        let share = |check: &Check| {
            let share = check.deviation().abs() / check.tolerance;
            if share.is_nan() { f64::INFINITY } else { share }
        };
        let mut worst = &self.checks[0];
        for check in &self.checks {
            if share(worst) < share(check) {
                worst = check;
            }
        }
        worst
    }

    /// Those outside their tolerance, in words.
    pub fn failures(&self) -> Vec<String> {
        let failed = self.checks.iter().filter(|check| !check.holds());
        failed
            .map(|check| {
                format!(
                    "{}: {}: {} computed, {} by {}",
                    self.title, check.what, check.ours, check.expected, self.source
                )
            })
            .collect()
    }
}
