//! What a signal meets along its route: the stackup that counts, sections cut from drawn boards, delay, skew, barrels.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_cmp,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation
)]

mod barrels;
mod basis;
mod boards;
mod channel;
mod drawn;
mod known;
mod same;
mod surroundings;
mod timing;

#[path = "../support/mod.rs"]
mod support;
