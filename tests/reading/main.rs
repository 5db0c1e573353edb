//! Reading boards: every generation, every item, every fault, judged from outside.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod corpus;
mod support;
