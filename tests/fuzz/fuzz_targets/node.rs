#![no_main]
//! See `targets::node`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| barrico_fuzz::targets::node(data));
