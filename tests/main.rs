//! Every test that goes through the public face of the crate or through the command itself, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on must fail there and then.

mod cases {
    pub mod again;
    pub mod annotate;
    pub mod colour_bar;
    pub mod command;
    pub mod command_frames;
    pub mod command_line;
    pub mod command_output;
    pub mod compare;
    pub mod contract;
    pub mod contract_keys;
    pub mod contract_truth;
    pub mod doubt;
    pub mod followup;
    pub mod frames;
    pub mod layering;
    pub mod near;
    pub mod plan;
    pub mod plan_sheet;
    pub mod read;
    pub mod record;
    pub mod record_files;
    pub mod reference;
    pub mod register;
    pub mod register_faults;
    pub mod register_sheets;
    pub mod register_workbook;
    pub mod resume;
    pub mod sample;
    pub mod scenes;
    pub mod start;
    pub mod table;
    pub mod uncertainty;
    pub mod years;
}
