//! Benchmarks of the whole way from bytes to verdicts.

fn main() {}
