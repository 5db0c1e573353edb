//! What the copper does: islands, routes, lengths, pairs, reference.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_cmp,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation
)]

mod islands;
mod islands_boards;
mod islands_random;
mod pairs_boards;
mod pairs_coupling;
mod pairs_mismatch;
mod pairs_names;
mod pairs_proposed;
mod pairs_routes;
mod reference_cover;
mod routes;
mod routes_boards;
mod routes_drawing;
mod routes_stable;
mod routes_stubs;
mod routes_tuned;

#[path = "../support/mod.rs"]
mod support;
