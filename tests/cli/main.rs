//! The command line from outside: what people read, exit codes, streams.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss
)]

mod bad_input;
mod baselines;
mod commands;
mod excerpt;
mod exit;
mod findings;
mod hosts;
mod made;
mod measure;
mod measure_signal;
mod pieces;
mod profile;
mod profile_touchstone;
mod readme;
mod report;
mod rule_sets;
mod run;
mod sarif;
mod schema;
mod stackup;
mod streams;
mod waivers;
mod width;

#[path = "../support/mod.rs"]
mod support;
