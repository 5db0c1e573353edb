//! Checks from outside: drawn boards, planted faults, limits.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::float_cmp)]

#[path = "../support/mod.rs"]
mod support;

mod added_loss;
mod demo;
mod drawing;
mod guard_rules;
mod identity;
mod impedance_step;
mod length_match;
mod net_open;
mod net_short;
mod pad_neck;
mod pair_gap;
mod pair_impedance;
mod pair_skew;
mod pictures;
mod plane_gap;
mod planted;
mod planted_real;
mod read_back;
mod reference_change;
mod return_via;
mod route_rules;
mod stackup_missing;
mod stackup_stated;
mod stale_fill;
mod uncoupled_run;
mod via_stub;
mod via_stub_notch;
