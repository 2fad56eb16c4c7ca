//! What is kept, how long, and at what cost to the card.

use std::time::Duration;

/// Sample rows kept over all units. One unit that runs 4 h a day writes 1,680 a day of about 130 bytes: a year and a half in 120 MB.
pub const SAMPLE_ROWS_MAX: i64 = 1_000_000;
/// Oldest rows dropped in one go, so that dropping costs a few pages a week and not one per batch.
pub const SAMPLE_ROWS_DROPPED: i64 = 10_000;
/// Samples are written in batches of this many rows …
pub const SAMPLE_BATCH_ROWS: usize = 600;
/// … or after this time, whichever comes first. It is what a power cut can take.
pub const SAMPLE_BATCH_TIME: Duration = Duration::from_secs(60);
/// While no unit runs, samples only show that the watcher was alive: they wait longer, which halves what the card is written.
pub const SAMPLE_BATCH_TIME_AT_REST: Duration = Duration::from_secs(15 * 60);
/// Sample rows that wait while nothing can be written: more than a day of one unit. Then the oldest go, counted.
pub const SAMPLES_WAITING_MAX: usize = 6_000;
/// Records that wait: an import of 20,000 sets of readings makes 40,000 records, and other records come meanwhile.
pub const RECORDS_WAITING_MAX: usize = 50_000;
/// The store lags when so much waits: far more than the 96 rows a minute of 16 units, less than what is dropped.
pub const LAGGING_LEN: usize = 5_000;
/// The store lags when one commit takes so long; a good card needs 10 to 100 ms (common practice, no source).
pub const LAGGING_TIME: Duration = Duration::from_secs(2);
/// Run records of one unit that the engine gets back.
pub const RESTORED_RUNS_MAX: usize = 500;
/// Log entries of one unit that the engine gets back …
pub const RESTORED_LOG_MAX: usize = 4_000;
/// … and their age, ms: two years before the newest date in the store.
pub const RESTORED_LOG_AGE_MS: i64 = 2 * 366 * 86_400_000;
/// First pause after a failed commit; each further one is twice as long.
pub const RETRY_FIRST: Duration = Duration::from_secs(1);
/// Longest pause after a failed commit.
pub const RETRY_LONGEST: Duration = Duration::from_secs(60);
/// Attempts at the end of the program; then what is not written is told.
pub const RETRIES_AT_CLOSE: u32 = 3;
/// A reader waits for the writer so long before it gives up.
pub const BUSY_TIMEOUT: Duration = Duration::from_secs(5);
/// Damaged histories that are kept beside the good one; then a person must look.
pub const DAMAGED_KEPT_MAX: u32 = 9;
