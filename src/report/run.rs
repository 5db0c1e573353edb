//! What a report is about, beside the verdicts.

use crate::findings::{Idle, Judgement, Whole};
use crate::rules::{Level, RuleSet};
use crate::source::Fault;
use crate::units::Date;

/// Something that the rule set asks for and a board does not have, or has in an unclear way.
#[derive(Debug, Clone)]
pub struct Problem {
    /// What, and where in the rule file.
    pub fault: Fault,
    /// Whether it keeps the run from being clean.
    pub counts: bool,
}

/// One run of `check`.
#[derive(Debug)]
pub struct Run<'r, 'b> {
    /// The verdicts.
    pub judgement: &'r Judgement<'b>,
    /// The rule set.
    pub rules: &'r RuleSet,
    /// How the rule set came to be used: "named on the command line".
    pub chosen: String,
    /// What the boards do not have although the rule set asks for it.
    pub problems: Vec<Problem>,
    /// Checks that the command line left out although the rule set asks for them.
    pub left_out: Vec<&'static str>,
    /// Findings from this level on fail the run.
    pub fail_on: Level,
    /// What the run says as a whole.
    pub whole: Whole,
    /// Rules without a subject that keep the run from being clean.
    pub unseen: Vec<&'r Idle>,
    /// The day on which waivers were judged.
    pub as_of: Date,
    /// The baseline's file, if there is one.
    pub baseline: Option<String>,
}

/// The version of this program, for reports.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// A level as a word.
#[must_use]
pub const fn level_word(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "note",
    }
}

/// `1 error`, `2 errors`.
#[must_use]
pub fn counted(count: u64, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}
