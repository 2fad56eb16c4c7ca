//! Tables of readings from elsewhere: a CSV file and a mapping become log entries, one for each row.
//!
//! | what is wrong | what follows |
//! | --- | --- |
//! | file not UTF-8, binary, too large, without rows | nothing is imported |
//! | a mapped column is missing or stands twice | nothing is imported; the nearest name is named |
//! | a row has another number of cells than the header | nothing is imported; a decimal comma is the usual reason |
//! | a cell is no number, has a decimal comma, or is not possible aboard | nothing is imported; line, column and remedy are named |
//! | a cell is empty | that quantity was not read in that row |
//! | a row has no reading at all | the row is left out and counted |
//!
//! All rows are checked before any is handed on, and all faults are reported, the first [`FAULTS_SHOWN`] in words. Separators: comma, semicolon or tab, as the header has
//! them. Numbers have a decimal point. A table without times is dated from a start and a step; its entries are marked "time invented". Limits: a file of
//! [`FILE_BYTES_MAX`], [`ROWS_MAX`] rows used.

mod import;
mod mapping;
#[cfg(test)]
mod tests;
mod time;

pub use import::{FAULTS_SHOWN, FILE_BYTES_MAX, Imported, ROWS_MAX, TableFaults, import};
pub use mapping::{Column, Mapping, Only, When};
pub use time::read as read_time;

pub use crate::settings::TableWords;
