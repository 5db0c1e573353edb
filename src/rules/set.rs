//! A rule set after reading and extending.

use super::{At, Origin};
use crate::units::Quantity;
use std::collections::BTreeMap;

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// For information.
    Note,
    /// Look at it before release.
    Warning,
    /// Don't order the board.
    Error,
}

/// A pattern over net names: `*`, `?`, `{a,b}`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetPattern(pub String);

/// How a group names pairs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PairPattern {
    /// A pattern whose last `{p,n}` alternative names the legs.
    Legs(String),
    /// The two nets by name.
    Nets(String, String),
    /// A pattern without legs: proposed pairs (found by name and copper) whose name matches.
    Proposed(String),
}

/// A named group of nets or pairs.
#[derive(Debug, Clone)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// Net patterns.
    pub nets: Vec<At<NetPattern>>,
    /// Pair patterns.
    pub pairs: Vec<At<PairPattern>>,
    /// Symbol rate of the group, if stated.
    pub rate: Option<At<Quantity>>,
    /// Target impedance, if stated (ohm).
    pub impedance: Option<At<Quantity>>,
    /// Where the group is stated.
    pub origin: Origin,
}

/// A parameter's value.
#[derive(Debug, Clone, PartialEq)]
pub enum Setting {
    /// A quantity.
    Quantity(Quantity),
    /// A switch.
    Switch(bool),
    /// Net patterns.
    Nets(Vec<NetPattern>),
    /// A word.
    Word(String),
}

/// One `[[check]]`: a check to hold, on what, against which limit.
#[derive(Debug, Clone)]
pub struct Rule {
    /// Name of the check.
    pub check: &'static str,
    /// Groups to look at; empty for a check of the whole board.
    pub on: Vec<At<String>>,
    /// Value above (or below, as the check defines) which to warn.
    pub warn: Option<At<Quantity>>,
    /// Value above (or below) which the check fails at its level.
    pub limit: Option<At<Quantity>>,
    /// Level of a failure.
    pub level: Level,
    /// Who says so.
    pub source: Option<At<String>>,
    /// Other parameters.
    pub settings: BTreeMap<&'static str, At<Setting>>,
    /// Where the rule is stated.
    pub origin: Origin,
}

/// A rule set, flattened.
#[derive(Debug, Clone)]
pub struct RuleSet {
    /// Name of the outermost file or shipped set.
    pub name: String,
    /// Groups in order of first statement.
    pub groups: Vec<Group>,
    /// Rules in order.
    pub rules: Vec<Rule>,
}
