//! All verdicts of a run.

use super::waive::{self, WaiverRow};
use super::{Baseline, Change, Fingerprint, Known, Ledger, Standing, fingerprint, order, sentence};
use crate::board::Board;
use crate::checks::{Outcome, RuleRun, Verdict};
use crate::rules::{Level, Waiver};
use crate::units::Date;

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
    /// What waives it.
    pub waiver: Option<Box<Waiver>>,
    /// How it compares with the baseline, if there is one and it is neither a pass nor waived.
    pub change: Option<Change>,
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

/// All verdicts of all boards, ordered and stamped, before they are counted.
#[derive(Debug)]
pub struct Gathered<'b> {
    boards: Vec<&'b Board>,
    entries: Vec<Entry<'b>>,
    ledger: Ledger,
    waivers: Vec<WaiverRow>,
    left_out: Vec<&'static str>,
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
    /// What became of each waiver, in the order of the rule set.
    pub waivers: Vec<WaiverRow>,
    /// What the baseline has and this run has not; `None` without a baseline.
    pub fixed: Option<Vec<Known>>,
    /// The highest level of a rule that could not judge one of its subjects.
    unjudged: Option<Level>,
}

impl<'b> Gathered<'b> {
    /// Orders and stamps the verdicts of all boards.
    #[must_use]
    pub fn new(verdicts: Vec<Verdicts<'b, '_>>) -> Self {
        let boards = verdicts.iter().map(|verdicts| verdicts.board).collect();
        let ledger = Ledger::open(&verdicts.iter().map(|verdicts| &*verdicts.runs).collect::<Vec<_>>());
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
                    waiver: None,
                    change: None,
                    verdict,
                }));
            }
        }
        entries.sort_by(order::compare);
        fingerprint::stamp(&mut entries);
        Self { boards, entries, ledger, waivers: Vec::new(), left_out: Vec::new() }
    }

    /// Holds waivers against the verdicts. `as_of` is the day they are judged on, `left_out` the checks that did not run.
    #[must_use]
    pub fn waived(mut self, waivers: &[Waiver], as_of: Date, left_out: &[&'static str]) -> Self {
        let boards: Vec<&str> = self.boards.iter().map(|board| board.name.as_str()).collect();
        self.waivers = waive::apply(&mut self.entries, waivers, as_of, &boards, left_out);
        self.left_out = left_out.to_vec();
        self
    }

    /// The entries, worst first, before waivers and baseline count.
    #[must_use]
    pub fn entries(&self) -> &[Entry<'b>] {
        &self.entries
    }

    /// The baseline after this run; see [`Baseline`]. What is new or worse is taken in only if `grow`.
    #[must_use]
    pub fn baseline_after(&mut self, baseline: &Baseline, grow: bool) -> Baseline {
        let judged = in_run(&self.boards, &self.left_out);
        baseline.compare(&mut self.entries, &judged);
        baseline.after(&self.entries, grow, &judged)
    }

    /// Counts everything, with or without a baseline.
    #[must_use]
    pub fn judge(mut self, baseline: Option<&Baseline>) -> Judgement<'b> {
        let judged = in_run(&self.boards, &self.left_out);
        let fixed = baseline.map(|baseline| baseline.compare(&mut self.entries, judged));
        let Self { boards, mut entries, mut ledger, waivers, .. } = self;
        entries.sort_by(order::compare);
        for entry in &entries {
            ledger.count(entry);
        }
        ledger.close();
        let unjudged = entries.iter().filter(|e| e.standing() == Standing::Unchecked).map(|entry| entry.level).max();
        for row in &mut ledger.rows {
            let mut kept = 0;
            let before = entries.len();
            entries.retain(|entry| {
                kept += usize::from(entry.verdict.check == row.check);
                entry.verdict.check != row.check || kept <= MOST_KEPT
            });
            row.left_out = u64::try_from(before - entries.len()).unwrap_or(u64::MAX);
        }
        Judgement { boards, entries, ledger, waivers, fixed, unjudged }
    }
}

/// Whether a run says anything of a finding: its board was part of it, and its check was not left out.
fn in_run(boards: &[&Board], left_out: &[&'static str]) -> impl Fn(&Known) -> bool {
    let boards: Vec<String> = boards.iter().map(|board| board.name.clone()).collect();
    let left_out = left_out.to_vec();
    move |row: &Known| boards.contains(&row.board) && !left_out.contains(&row.check.as_str())
}

impl<'b> Judgement<'b> {
    /// Orders, counts and stamps the verdicts of all boards, without waivers and baseline.
    #[must_use]
    pub fn new(verdicts: Vec<Verdicts<'b, '_>>) -> Self {
        Gathered::new(verdicts).judge(None)
    }

    /// Verdicts that someone must read, worst first: failures, then what could not be judged. Not those that are waived
    /// or in the baseline.
    pub fn findings(&self) -> impl Iterator<Item = &Entry<'b>> {
        self.standing(|standing| matches!(standing, Standing::Fail(_) | Standing::Unchecked))
    }

    /// Verdicts of one kind of standing, worst first.
    pub fn standing(&self, wanted: impl Fn(Standing) -> bool) -> impl Iterator<Item = &Entry<'b>> {
        self.entries.iter().filter(move |entry| wanted(entry.standing()))
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
        let waivers = self.waivers.iter().filter_map(|row| row.finding.as_ref());
        if failed > 0 || waivers.map(|(level, _)| *level).max() >= Some(fail_on) {
            return Whole::Findings;
        }
        let unjudged = self.unjudged >= Some(fail_on);
        let unseen = ledger.idle.iter().any(|idle| idle.level >= fail_on && named(idle));
        // A run that looked at nothing at all proves nothing.
        let nothing = ledger.sum(|row| row.examined) == 0;
        if unjudged || unseen || problems || nothing { Whole::NotJudged } else { Whole::Clean }
    }
}
