//! Everything `tiewright check` does with one file: compile, draft every style in every size, judge
//! the proof, and render what is wrong.

#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| tiewright_fuzz::check(text));
