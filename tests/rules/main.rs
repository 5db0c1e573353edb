//! Units and rule sets, from outside.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::string_slice)]

mod dates;
mod documented;
mod extending;
mod globs;
mod mutations;
mod reading;
mod selecting;
mod stackups;
mod support;
mod units;
mod waivers;
