//! Checks from outside: drawn boards, planted faults, limits.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::float_cmp)]

#[path = "../support/mod.rs"]
mod support;

mod demo;
mod drawing;
mod length_match;
mod pad_neck;
mod pair_skew;
mod pictures;
mod plane_gap;
mod planted;
mod planted_real;
mod read_back;
mod route_rules;
mod via_stub;
