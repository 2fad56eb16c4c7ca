#![no_main]
//! See `targets::candump_line`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| barrico_fuzz::targets::candump_line(data));
