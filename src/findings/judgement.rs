//! All verdicts of a run.

use super::{Fingerprint, Ledger, fingerprint, order, sentence};
use crate::board::Board;
use crate::checks::{Outcome, RuleRun, Verdict};
use crate::rules::Level;

/// Verdicts kept of one check; the worst are kept, the ledger counts all.
const MOST_KEPT: usize = 20_000;

/// A verdict with what a report needs beside it.
#[derive(Debug, Clone)]
pub struct Entry<'b> {
    /// The board it is about.
    pub board: &'b Board,
    /// The verdict.
    pub verdict: Verdict,
    /// The level of the rule behind it.
    pub level: Level,
    /// Row of the rule in its set.
    pub rule_row: usize,
    /// What was found, filled in.
    pub text: String,
    /// Why it could not be judged, filled in.
    pub missing: Option<String>,
    /// Its identity from run to run.
    pub fingerprint: Fingerprint,
}

/// The verdicts of one board.
#[derive(Debug)]
pub struct Verdicts<'b, 'r> {
    /// The board.
    pub board: &'b Board,
    /// One run per rule, in the order of the rule set.
    pub runs: Vec<RuleRun<'r>>,
}

/// What a run says as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whole {
    /// Everything that counts was judged, and nothing is at or above the fail level.
    Clean,
    /// A finding is at or above the fail level.
    Findings,
    /// No such finding, but something that counts could not be judged.
    NotJudged,
}

/// All verdicts of a run, worst first, with the ledger.
#[derive(Debug)]
pub struct Judgement<'b> {
    /// The boards, in the order given.
    pub boards: Vec<&'b Board>,
    /// Verdicts, worst first.
    pub entries: Vec<Entry<'b>>,
    /// What was looked at.
    pub ledger: Ledger,
}

impl<'b> Judgement<'b> {
    /// Orders, counts and stamps the verdicts of all boards.
    #[must_use]
    pub fn new(verdicts: Vec<Verdicts<'b, '_>>) -> Self {
        let boards = verdicts.iter().map(|verdicts| verdicts.board).collect();
        let mut ledger = Ledger::open(&verdicts.iter().map(|verdicts| &*verdicts.runs).collect::<Vec<_>>());
        let mut entries = Vec::new();
        for Verdicts { board, runs } in verdicts {
            for (rule_row, run) in runs.into_iter().enumerate() {
                let level = run.rule.level;
                entries.extend(run.verdicts.into_iter().map(|verdict| Entry {
                    board,
                    level,
                    rule_row,
                    text: sentence(&verdict.message),
                    missing: match &verdict.outcome {
                        Outcome::Unchecked { missing } => Some(sentence(missing)),
                        _ => None,
                    },
                    fingerprint: Fingerprint::default(),
                    verdict,
                }));
            }
        }
        entries.sort_by(order::compare);
        fingerprint::stamp(&mut entries);
        for entry in &entries {
            ledger.count(entry);
        }
        ledger.close();
        for row in &mut ledger.rows {
            let mut kept = 0;
            let before = entries.len();
            entries.retain(|entry| {
                kept += usize::from(entry.verdict.check == row.check);
                entry.verdict.check != row.check || kept <= MOST_KEPT
            });
            row.left_out = u64::try_from(before - entries.len()).unwrap_or(u64::MAX);
        }
        Self { boards, entries, ledger }
    }

    /// Verdicts that someone must read, worst first: failures, then what could not be judged.
    pub fn findings(&self) -> impl Iterator<Item = &Entry<'b>> {
        self.entries.iter().filter(|entry| entry.verdict.outcome != Outcome::Pass)
    }

    /// What the run says as a whole. A finding at or above the fail level settles it: no answer to what could not be
    /// judged would take it back. Otherwise whatever a rule of such a level could not judge counts, be it a subject,
    /// or all subjects of a group that the user's own file names (`named` says which rules those are) and that this
    /// board does not have. `problems` says that the user's file asks for something else that no board has.
    #[must_use]
    pub fn whole(&self, fail_on: Level, problems: bool, named: impl Fn(&super::Idle) -> bool) -> Whole {
        let ledger = &self.ledger;
        let failed = match fail_on {
            Level::Error => ledger.sum(|row| row.errors),
            Level::Warning => ledger.sum(|row| row.errors + row.warnings),
            Level::Note => ledger.sum(|row| row.errors + row.warnings + row.notes),
        };
        if failed > 0 {
            return Whole::Findings;
        }
        let unjudged =
            self.entries.iter().any(|e| e.level >= fail_on && matches!(e.verdict.outcome, Outcome::Unchecked { .. }));
        let unseen = ledger.idle.iter().any(|idle| idle.level >= fail_on && named(idle));
        // A run that looked at nothing at all proves nothing.
        let nothing = ledger.sum(|row| row.examined) == 0;
        if unjudged || unseen || problems || nothing { Whole::NotJudged } else { Whole::Clean }
    }
}
