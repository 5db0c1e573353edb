//! A rule set after reading and extending.

use super::{At, NetPattern, Origin, PairPattern, Stackup, Waiver};
use crate::source::{Fault, SourceFile};
use crate::units::{Quantity, Target};
use std::collections::BTreeMap;
use std::sync::Arc;

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

/// A named group of nets or pairs.
#[derive(Debug, Clone)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// Net patterns.
    pub nets: Vec<At<NetPattern>>,
    /// Pair patterns.
    pub pairs: Vec<At<PairPattern>>,
    /// Where the group asks for all pairs that names and copper propose, if it does.
    pub proposed: Option<Origin>,
    /// Symbol rate, if stated.
    pub rate: Option<At<Quantity>>,
    /// Target impedance, if stated.
    pub impedance: Option<At<Target>>,
    /// Current that each net carries, if stated.
    pub current: Option<At<Quantity>>,
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
    Nets(Vec<At<NetPattern>>),
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

/// A check that the rule set switches off, for the ledger: what isn't held must not look as if it were.
#[derive(Debug, Clone)]
pub struct SwitchedOff {
    /// Name of the check.
    pub check: &'static str,
    /// The groups it would have looked at.
    pub on: Vec<String>,
    /// Where it is switched off.
    pub origin: Origin,
}

/// A rule set, flattened.
#[derive(Debug, Clone, Default)]
pub struct RuleSet {
    /// Name of the outermost file or shipped set.
    pub name: String,
    /// Every file of it, in the order in which their keys count: later ones win.
    pub files: Vec<Arc<SourceFile>>,
    /// Groups in order of first statement.
    pub groups: Vec<Group>,
    /// Rules in order of first statement.
    pub rules: Vec<Rule>,
    /// Checks that are switched off.
    pub switched_off: Vec<SwitchedOff>,
    /// Stackups, in order of first statement; no two for the same boards.
    pub stackups: Vec<Stackup>,
    /// Waivers, in the order of files and in them from top to bottom.
    pub waivers: Vec<Waiver>,
    /// Files that hold nothing but waivers, in the order in which they are named; the outermost rule file's last.
    pub waiver_files: Vec<Arc<SourceFile>>,
    /// What a person should know though the set can be used: a group that no rule looks at.
    pub warnings: Vec<Fault>,
}

impl RuleSet {
    /// The group of a name.
    #[must_use]
    pub fn group(&self, name: &str) -> Option<&Group> {
        self.groups.iter().find(|group| group.name == name)
    }

    /// The stackups that a board has by this rule set: those that name it, else the one for all boards. More than one
    /// is no answer.
    #[must_use]
    pub fn stackups_of(&self, board: &str) -> Vec<&Stackup> {
        let named: Vec<&Stackup> = self.stackups.iter().filter(|stackup| stackup.names(board)).collect();
        if named.is_empty() {
            return self.stackups.iter().filter(|stackup| stackup.boards.is_empty()).collect();
        }
        named
    }
}
