//! Rule sets: read, extend, select. Every value keeps the file and span it came from. Knows no boards.

mod extend;
mod glob;
mod origin;
mod pattern;
mod read;
mod schema;
mod set;
mod sheet;
mod shipped;
mod statement;

pub use glob::{Glob, GlobError};
pub use origin::{At, Origin};
pub use pattern::{LegPattern, NetPattern, PairPattern};
pub use read::read;
pub use schema::{CheckSchema, Parameter, ParameterKind};
pub use set::{Group, Level, Rule, RuleSet, Setting, SwitchedOff};
pub use shipped::{SHIPPED, shipped};
