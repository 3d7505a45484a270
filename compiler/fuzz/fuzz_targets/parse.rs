//! The parser: never panics, never loops, and every place it names lies in the text between whole
//! characters.

#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| tiewright_fuzz::parse(text));
