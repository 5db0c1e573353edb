//! Checks from outside: drawn boards, planted faults, limits.

#[path = "../support/mod.rs"]
mod support;

mod demo;
mod drawing;
mod pictures;
mod read_back;
