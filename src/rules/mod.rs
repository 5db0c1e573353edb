//! Rule sets: read, extend, select. Every value keeps the file and span it came from. Knows no boards.

mod origin;
mod schema;
mod set;

pub use origin::{At, Origin};
pub use schema::{CheckSchema, Parameter, ParameterKind};
pub use set::{Group, Level, NetPattern, PairPattern, Rule, RuleSet, Setting};
