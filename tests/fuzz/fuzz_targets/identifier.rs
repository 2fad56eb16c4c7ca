#![no_main]
//! See `targets::identifier`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| barrico_fuzz::targets::identifier(data));
