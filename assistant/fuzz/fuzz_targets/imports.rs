#![no_main]

#[path = "../bodies.rs"]
// One piece for all targets, of which each uses its own.
#[allow(dead_code)]
mod bodies;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bodies::imports(bytes));
