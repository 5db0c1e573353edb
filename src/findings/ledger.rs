//! The ledger: what was looked at, how it fared, and what was not looked at.

use super::{Entry, Standing, order};
use crate::checks::{Outcome, RuleRun};
use crate::rules::{Level, Origin};

/// The count of one check over all boards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The check.
    pub check: &'static str,
    /// The highest level that a rule of the check has.
    pub level: Level,
    /// Subjects looked at: the sum of the following.
    pub examined: u64,
    /// Within limits.
    pub passed: u64,
    /// Beyond a limit, by level.
    pub errors: u64,
    /// Beyond a limit, by level.
    pub warnings: u64,
    /// Beyond a limit, by level.
    pub notes: u64,
    /// Not judged.
    pub unchecked: u64,
    /// Beyond a limit or not judged, as the baseline has it.
    pub known: u64,
    /// Beyond a limit or not judged, and waived.
    pub waived: u64,
    /// Why they were not judged, most frequent first.
    pub reasons: Vec<Reason>,
    /// Verdicts that are counted above but were not kept.
    pub left_out: u64,
}

/// Why subjects were not judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// The sentence, with the values of the first subject that it held for.
    pub text: String,
    /// Subjects that it held for.
    pub count: u64,
    template: &'static str,
}

impl Reason {
    /// Whether the sentence holds values of its first subject.
    #[must_use]
    pub fn is_filled(&self) -> bool {
        self.text != self.template
    }
}

/// A rule that looked at nothing on any board.
#[derive(Debug, Clone)]
pub struct Idle {
    /// Its check.
    pub check: &'static str,
    /// Its level.
    pub level: Level,
    /// The groups it names.
    pub groups: Vec<String>,
    /// Where it is stated.
    pub origin: Origin,
}

/// What all checks looked at.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// One row per check of the rule set, in the order of checks.
    pub rows: Vec<Row>,
    /// Rules that looked at nothing.
    pub idle: Vec<Idle>,
}

impl Ledger {
    /// Rows for the rules that ran, and the rules that had no subject. `runs` holds, per board, one run per rule in
    /// the same order.
    pub(super) fn open(runs: &[&[RuleRun<'_>]]) -> Self {
        let mut ledger = Self::default();
        for run in runs.iter().flat_map(|runs| runs.iter()) {
            match ledger.rows.iter_mut().find(|row| row.check == run.rule.check) {
                Some(row) => row.level = row.level.max(run.rule.level),
                None => ledger.rows.push(Row::new(run.rule.check, run.rule.level)),
            }
        }
        ledger.rows.sort_by_key(|row| order::check_row(row.check));
        let Some(first) = runs.first() else { return ledger };
        for (at, run) in first.iter().enumerate() {
            let idle = runs.iter().all(|runs| runs.get(at).is_none_or(|run| run.verdicts.is_empty()));
            if idle {
                ledger.idle.push(Idle {
                    check: run.rule.check,
                    level: run.rule.level,
                    groups: run.rule.on.iter().map(|group| group.value.clone()).collect(),
                    origin: run.rule.origin.clone(),
                });
            }
        }
        ledger
    }

    /// Counts a verdict.
    pub(super) fn count(&mut self, entry: &Entry<'_>) {
        let Some(row) = self.rows.iter_mut().find(|row| row.check == entry.verdict.check) else { return };
        row.examined += 1;
        match entry.standing() {
            Standing::Pass => row.passed += 1,
            Standing::Waived => row.waived += 1,
            Standing::Known => row.known += 1,
            Standing::Fail(Level::Error) => row.errors += 1,
            Standing::Fail(Level::Warning) => row.warnings += 1,
            Standing::Fail(Level::Note) => row.notes += 1,
            Standing::Unchecked => {
                row.unchecked += 1;
                let Outcome::Unchecked { missing } = &entry.verdict.outcome else { return };
                match row.reasons.iter_mut().find(|reason| reason.template == missing.template) {
                    Some(reason) => reason.count += 1,
                    None => {
                        let text = entry.missing.clone().unwrap_or_default();
                        row.reasons.push(Reason { text, count: 1, template: missing.template });
                    }
                }
            }
        }
    }

    /// Sorts what was counted. Entries were counted in report order, so equal counts keep that.
    pub(super) fn close(&mut self) {
        for row in &mut self.rows {
            row.reasons.sort_by_key(|reason| std::cmp::Reverse(reason.count));
        }
    }

    /// The sum of a column.
    #[must_use]
    pub fn sum(&self, column: impl Fn(&Row) -> u64) -> u64 {
        self.rows.iter().map(column).sum()
    }
}

impl Row {
    fn new(check: &'static str, level: Level) -> Self {
        Self {
            check,
            level,
            examined: 0,
            passed: 0,
            errors: 0,
            warnings: 0,
            notes: 0,
            unchecked: 0,
            known: 0,
            waived: 0,
            reasons: Vec::new(),
            left_out: 0,
        }
    }
}
