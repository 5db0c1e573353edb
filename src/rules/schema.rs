//! What a check accepts in a rule file. Checks state it; the reader holds rule files against it.

use super::Level;
use crate::units::Dimension;

/// The kind of value a parameter takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParameterKind {
    /// A quantity of one of these dimensions.
    Quantity(&'static [Dimension]),
    /// `true` or `false`.
    Switch,
    /// A list of net patterns.
    Nets,
    /// One of these words.
    Word(&'static [&'static str]),
}

/// One parameter of a check.
#[derive(Debug, Clone, Copy)]
pub struct Parameter {
    /// Key in the rule file.
    pub key: &'static str,
    /// What it takes.
    pub kind: ParameterKind,
    /// What it does, one sentence.
    pub about: &'static str,
}

/// What a check accepts.
#[derive(Debug, Clone, Copy)]
pub struct CheckSchema {
    /// Name of the check.
    pub name: &'static str,
    /// Dimensions that `warn` and `limit` may have; empty if the check has no limit.
    pub limit: &'static [Dimension],
    /// Whether the tolerance of a group's target may stand in for `limit`: then a rule need not state one.
    pub tolerance: bool,
    /// Level of its findings if the rule file names none.
    pub level: Level,
    /// Whether `on` must name groups.
    pub groups: bool,
    /// Parameters beyond `use`, `on`, `warn`, `limit`, `level`, `source`.
    pub parameters: &'static [Parameter],
}
