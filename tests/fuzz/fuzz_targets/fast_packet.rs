#![no_main]
//! See `targets::fast_packet`.

libfuzzer_sys::fuzz_target!(|data: &[u8]| barrico_fuzz::targets::fast_packet(data));
