//! Units and rule sets, from outside.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::string_slice)]

mod extending;
mod reading;
mod support;
mod units;
