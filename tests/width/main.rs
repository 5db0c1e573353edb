//! From a wanted impedance to widths and gaps.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod drawn;
mod known;
mod order;
mod stacks;

#[path = "../support/mod.rs"]
mod support;
