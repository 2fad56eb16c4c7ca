//! When the crew runs which unit: start, two to three hours, flush, idle.

use super::random::Random;

/// Seconds of a day.
pub(super) const DAY_S: u64 = 86_400;
/// From standstill to working pressure, s.
const STARTING_S: u64 = 20;
/// From working pressure to standstill, s.
const STOPPING_S: u64 = 15;
/// Flush with product water after each run, s.
const FLUSHING_S: u64 = 180;
/// A run begins up to so much before or after its usual time, s.
const JITTER_S: f64 = 1200.0;

/// What a unit is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Phase {
    Stopped,
    /// Share of the working pressure in per mille.
    Starting(u64),
    /// Seconds since it came to pressure.
    Running(u64),
    Stopping,
    Flushing,
}

/// Usual runs of one unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Habit {
    /// Second of the day (UTC) at which a run usually begins.
    pub starts_s: &'static [u64],
    /// Every so many days.
    pub every_days: u64,
    /// Shortest and longest run, s.
    pub length_s: (f64, f64),
}

/// One run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Run {
    /// Start, seconds since the beginning.
    pub start_s: u64,
    /// End at working pressure.
    pub end_s: u64,
    /// Number of the run, from 0.
    pub number: u64,
}

/// The runs of one unit, one after the other.
#[derive(Clone, Debug)]
pub(super) struct Schedule {
    habit: Habit,
    random: Random,
    /// Second of the day at which the simulation begins.
    begin_s: u64,
    /// The present run, or the next.
    pub run: Run,
}

impl Schedule {
    pub fn new(habit: Habit, random: Random, begin_s: u64) -> Self {
        let nothing = Run { start_s: 0, end_s: 0, number: 0 };
        let mut schedule = Self { habit, random, begin_s, run: nothing };
        schedule.run = schedule.plan(0);
        schedule
    }

    fn plan(&mut self, number: u64) -> Run {
        let per_day = self.habit.starts_s.len() as u64;
        let day = number / per_day * self.habit.every_days;
        let usual = day * DAY_S + self.habit.starts_s[(number % per_day) as usize];
        let jitter = JITTER_S * self.random.signed();
        // Runs before the beginning of the simulation do not take place: all usual starts lie behind it.
        let start_s = (usual as f64 + jitter) as u64 - self.begin_s;
        let (short, long) = self.habit.length_s;
        let length = short + (long - short) * self.random.uniform();
        Run { start_s, end_s: start_s + STARTING_S + length as u64, number }
    }

    /// Moves on to the next run once the present one is over and flushed.
    pub fn move_on(&mut self, now_s: u64) {
        while self.done_s() <= now_s {
            self.run = self.plan(self.run.number + 1);
        }
    }

    /// When the present run is over, flush included.
    pub fn done_s(&self) -> u64 {
        self.run.end_s + STOPPING_S + FLUSHING_S
    }

    /// What the unit does at this second. `away`: the crew leaves it alone from that second on.
    pub fn phase(&self, now_s: u64, away_s: Option<u64>) -> Phase {
        let Run { start_s, end_s, .. } = self.run;
        let left = away_s.is_some_and(|away| away <= start_s);
        match now_s {
            _ if left || now_s < start_s => Phase::Stopped,
            s if s < start_s + STARTING_S => Phase::Starting((s - start_s) * 1000 / STARTING_S),
            s if s < end_s => Phase::Running(s - start_s - STARTING_S),
            s if s < end_s + STOPPING_S => Phase::Stopping,
            s if s < self.done_s() => Phase::Flushing,
            _ => Phase::Stopped,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HABIT: Habit = Habit { starts_s: &[25_200, 61_200], every_days: 1, length_s: (7200.0, 10_800.0) };

    #[test]
    fn a_run_starts_runs_stops_flushes_and_rests() {
        let schedule = Schedule::new(HABIT, Random::new(1, 1), 0);
        let Run { start_s, end_s, .. } = schedule.run;
        assert!((24_000..=26_400).contains(&start_s) && (7_200..=10_820).contains(&(end_s - start_s)));
        assert_eq!(schedule.phase(start_s - 1, None), Phase::Stopped);
        assert_eq!(schedule.phase(start_s, None), Phase::Starting(0));
        assert_eq!(schedule.phase(start_s + STARTING_S, None), Phase::Running(0));
        assert_eq!(schedule.phase(end_s, None), Phase::Stopping);
        assert_eq!(schedule.phase(end_s + STOPPING_S, None), Phase::Flushing);
        assert_eq!(schedule.phase(schedule.done_s(), None), Phase::Stopped);
        assert_eq!(schedule.phase(start_s + 100, Some(start_s)), Phase::Stopped);
        assert_eq!(schedule.phase(start_s + 100, Some(start_s + 1)), Phase::Running(80));
    }

    #[test]
    fn runs_follow_each_other() {
        let mut schedule = Schedule::new(HABIT, Random::new(1, 1), 0);
        for number in 1..20 {
            let done = schedule.done_s();
            schedule.move_on(done);
            assert_eq!(schedule.run.number, number);
            assert!(done < schedule.run.start_s);
        }
    }
}
