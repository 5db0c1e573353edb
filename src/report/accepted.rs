//! What a run accepts: waivers and what is wrong with them, the baseline and what it no longer needs.

use super::facts::{named_words, subject_words, value_only};
use super::run::{counted, level_word};
use super::{Paint, Run};
use crate::checks::Outcome;
use crate::findings::{Change, Entry, Known, Standing, WaiverRow};
use crate::rules::{Accepted, Level, Waiver};
use crate::source::printable_name;
use std::fmt::Write;

/// Fixed findings listed in text; the rest is counted.
const LISTED: usize = 12;
const INDENT: &str = "    ";

/// The day, if a waiver depends on it; a report without such a waiver is the same on any day.
pub fn day(run: &Run<'_, '_>) -> Option<String> {
    let dated = run.rules.waivers.iter().any(|waiver| waiver.until.is_some());
    dated.then(|| run.as_of.to_string())
}

/// What a waiver accepts, and why.
pub fn waiver_words(waiver: &Waiver) -> String {
    let mut parts = vec![printable_name(&waiver.reason.value).into_owned()];
    match waiver.accepted.as_ref().map(|accepted| accepted.value) {
        Some(Accepted::Value(value)) => parts.push(format!("no worse than {value}")),
        Some(Accepted::Unchecked) => parts.push("accepted as not checked".to_owned()),
        None => {}
    }
    parts.extend(waiver.until.as_ref().map(|until| format!("until {}", until.value)));
    parts.join("; ")
}

/// Waivers that are findings of their own, worst first.
pub fn waiver_findings<'r>(run: &Run<'r, '_>) -> Vec<(Level, &'r crate::source::Fault)> {
    let mut found: Vec<_> = run
        .judgement
        .waivers
        .iter()
        .filter_map(|row| row.finding.as_ref().map(|(level, fault)| (*level, fault)))
        .collect();
    found.sort_by_key(|(level, _)| std::cmp::Reverse(*level));
    found
}

/// How many waivers there are, and how many of them waive something.
pub fn waiver_counts(rows: &[WaiverRow]) -> String {
    use crate::findings::Fate;
    let count = |wanted: &[Fate]| rows.iter().filter(|row| wanted.contains(&row.fate)).count();
    let parts = [
        (count(&[Fate::InForce, Fate::Lapsing]), "in force"),
        (count(&[Fate::Expired]), "expired"),
        (count(&[Fate::Exceeded]), "exceeded"),
        (count(&[Fate::Unmatched]), "unmatched"),
        (count(&[Fate::Unclear]), "unclear"),
        (count(&[Fate::Aside]), "without a part in this run"),
    ];
    let parts: Vec<_> =
        parts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
    parts.join(", ")
}

/// How a finding compares with the baseline, if it is worse.
pub fn worse_words(entry: &Entry<'_>) -> Option<&'static str> {
    (entry.change == Some(Change::Worse)).then_some("worse than in the baseline")
}

/// The blocks of the text report.
pub fn show(out: &mut String, run: &Run<'_, '_>, paint: Paint) {
    let judgement = run.judgement;
    let waived: Vec<_> = judgement.standing(|standing| standing == Standing::Waived).collect();
    if !judgement.waivers.is_empty() {
        let _ = writeln!(out, "\n{}  {}", paint.strong("waivers"), waiver_counts(&judgement.waivers));
        for entry in waived {
            let _ = writeln!(out, "{INDENT}{}", entry_words(entry, paint));
            if let Some(waiver) = &entry.waiver {
                let origin = paint.faint(&waiver.origin.to_string());
                let _ = writeln!(out, "{INDENT}  {}  {origin}", waiver_words(waiver));
            }
        }
    }
    let Some(name) = &run.baseline else { return };
    let known = judgement.ledger.sum(|row| row.known);
    let name = printable_name(name);
    let word = if known == 1 { "finding is" } else { "findings are" };
    let _ = writeln!(out, "\n{}  {known} {word} in `{name}` and no worse", paint.strong("baseline"));
    for row in judgement.ledger.rows.iter().filter(|row| row.known > 0) {
        let _ = writeln!(out, "{INDENT}{}  {}", row.check, row.known);
    }
    let fixed = judgement.fixed.as_deref().unwrap_or_default();
    if !fixed.is_empty() {
        let count = u64::try_from(fixed.len()).unwrap_or(u64::MAX);
        let _ = writeln!(out, "{INDENT}fixed since then: {}", counted(count, "finding"));
        for row in fixed.iter().take(LISTED) {
            let _ = writeln!(out, "{INDENT}  {}", known_words(row));
        }
        if fixed.len() > LISTED {
            let _ = writeln!(out, "{INDENT}  and {} more", fixed.len() - LISTED);
        }
    }
}

fn entry_words(entry: &Entry<'_>, paint: Paint) -> String {
    let verdict = &entry.verdict;
    let level = match &verdict.outcome {
        Outcome::Fail(level) => level_word(*level),
        Outcome::Unchecked { .. } | Outcome::Pass => "not checked",
    };
    let value = value_only(entry).map_or_else(String::new, |value| format!(", {value}"));
    let print = paint.faint(&entry.fingerprint.to_string());
    format!("waived {level}  {}  {}{value}  {print}", paint.strong(verdict.check), subject_words(&verdict.subject))
}

/// A finding of the baseline.
pub fn known_words(row: &Known) -> String {
    let subject = named_words(&printable_name(&row.kind), &row.name, &row.ends);
    format!("{}  {subject}  {}", row.check, row.fingerprint)
}
