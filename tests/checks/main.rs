//! Checks from outside: drawn boards, planted faults, limits.

#[path = "../support/mod.rs"]
mod support;

mod drawing;
