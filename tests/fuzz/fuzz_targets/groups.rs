#![no_main]
//! See `targets::groups`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| barrico_fuzz::targets::groups(data));
