//! Reading boards: every generation, every item, every fault, judged from outside.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::string_slice)]
#![allow(clippy::float_cmp)] // Values on the grid are exact.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // The oracle reads numbers another way.

mod classes;
mod corpus;
mod faults;
mod generations;
mod legacy;
mod limits;
mod metamorphic;
mod mutations;
mod oracle;
mod placement;
mod points;
mod spans;
mod stackup;
mod support;
mod tokens;
