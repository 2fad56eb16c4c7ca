//! Dates for what was written before the date was known.
//!
//! Each start of the program has one offset from monotonic time to date, once a date was known. It dates everything of the same start.

use super::sample_rows::Boot;
use crate::engine::AlertRecord;
use barrico_model::Stamp;
use barrico_model::records::{Baseline, LogEntry, RunRecord};
use std::collections::BTreeMap;

/// Offsets by start of the program.
#[derive(Clone, Debug, Default)]
pub struct Dating(BTreeMap<u64, i64>);

impl Dating {
    /// From the starts in the file.
    pub fn new(boots: &[Boot]) -> Self {
        Self(boots.iter().filter_map(|boot| Some((boot.boot, boot.offset_ms?))).collect())
    }

    /// Fills a missing date in.
    pub fn stamp(&self, stamp: &mut Stamp) {
        if stamp.wall_ms.is_none() {
            let offset = self.0.get(&stamp.boot);
            stamp.wall_ms = offset.map(|offset| offset.saturating_add(stamp.monotonic.0 as i64));
        }
    }
}

/// Something with stamps in it.
pub trait Dated {
    /// Fills the missing dates in.
    fn date(&mut self, dating: &Dating);
}

impl Dated for LogEntry {
    fn date(&mut self, dating: &Dating) {
        dating.stamp(&mut self.at);
    }
}

impl Dated for RunRecord {
    fn date(&mut self, dating: &Dating) {
        dating.stamp(&mut self.start);
    }
}

impl Dated for Baseline {
    fn date(&mut self, dating: &Dating) {
        dating.stamp(&mut self.taken);
        if let Some((at, _)) = &mut self.retired {
            dating.stamp(at);
        }
    }
}

impl Dated for AlertRecord {
    fn date(&mut self, dating: &Dating) {
        dating.stamp(&mut self.raised);
        dating.stamp(&mut self.changed);
    }
}
