//! Checks from outside: drawn boards, planted faults, limits.

#[path = "../support/mod.rs"]
mod support;

mod demo;
mod drawing;
mod read_back;
