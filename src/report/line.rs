//! One line per finding: `path:line:column: level check message`.

use super::Run;
use super::accepted::{waiver_findings, waiver_words};
use super::facts::{file_place, subject_words, value_words};
use super::run::level_word;
use crate::findings::{Standing, outcome_word};
use std::fmt::Write;

/// The report. Passes, and what the baseline knows, are not listed.
#[must_use]
pub fn line(run: &Run<'_, '_>) -> String {
    let mut text = String::new();
    for entry in run.judgement.findings() {
        let verdict = &entry.verdict;
        let place = file_place(entry.board, verdict.place.as_ref());
        let (word, subject) = (outcome_word(&verdict.outcome), subject_words(&verdict.subject));
        let message = entry.missing.as_ref().unwrap_or(&entry.text);
        let value = value_words(entry).map_or_else(String::new, |value| format!(" ({value})"));
        // Writing into a string cannot fail.
        let _ = writeln!(text, "{place}: {word} {} {subject}: {message}{value}", verdict.check);
    }
    for entry in run.judgement.standing(|standing| standing == Standing::Waived) {
        let verdict = &entry.verdict;
        let place = file_place(entry.board, verdict.place.as_ref());
        let why = entry.waiver.as_ref().map_or_else(String::new, |waiver| waiver_words(waiver));
        let _ = writeln!(text, "{place}: waived {} {}: {why}", verdict.check, subject_words(&verdict.subject));
    }
    for (level, fault) in waiver_findings(run) {
        let at = fault.place();
        let _ = writeln!(text, "{}:{}:{}: {} waiver {fault}", fault.file.name(), at.line, at.column, level_word(level));
    }
    for problem in &run.problems {
        let (word, fault) = (if problem.counts { "unchecked" } else { "warning" }, &problem.fault);
        let at = fault.place();
        let _ = writeln!(text, "{}:{}:{}: {word} rules {fault}", fault.file.name(), at.line, at.column);
    }
    for idle in &run.judgement.ledger.idle {
        let word = if run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle)) { "unchecked" } else { "warning" };
        let _ = writeln!(
            text,
            "{}: {word} {} nothing to look at: {}",
            idle.origin,
            idle.check,
            super::text::idle_words(idle)
        );
    }
    text
}
