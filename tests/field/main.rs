//! Fields of cross-sections, held against exact solutions, series, a general library, other methods and themselves.
//!
//! Each value carries its mark: F exact formula or exact conformal map, S series solution (below 1e-9), L a general
//! radio-frequency library, V another numerical method, M a formula from memory, P published.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::float_cmp)]
#![allow(clippy::excessive_precision)] // Reference values are written as they were found.

mod coupled_chain;
mod crosstalk;
mod direct;
mod eleven;
mod exact;
mod honesty;
mod library;

mod lines;
mod metal;
mod mistakes;
mod open;
mod properties;
mod reflection;
mod refusals;
mod series;
mod touchstone;

mod vias;
mod volume;
