//! Any text as a line of `coldjacket frames`.
#![no_main]

use std::sync::OnceLock;

use coldjacket::batch::line::Line;
use coldjacket::register::{self, Register};
use coldjacket_fuzz::folder;

static REGISTER: OnceLock<Register> = OnceLock::new();

libfuzzer_sys::fuzz_target!(|text: &str| {
    let register = REGISTER.get_or_init(|| register::open(folder(&[]).path()).unwrap());
    if let Ok(line) = Line::read(text) {
        let _ = line.outcome(register, 0);
    }
});
