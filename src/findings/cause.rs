//! Findings that repeat one cause, so that a report can show the worst and count the rest.

use super::Entry;
use crate::checks::Outcome;
use crate::rules::Level;
use std::collections::BTreeMap;

/// Findings of one check, one level and one sentence.
#[derive(Debug)]
pub struct Cause<'e, 'b> {
    /// The findings, worst first; never empty.
    pub entries: Vec<&'e Entry<'b>>,
}

/// What the findings of a cause share: check, level of failure, sentence (what is missing, if it was not judged).
type Key = (&'static str, Option<Level>, &'static str);

fn key(entry: &Entry<'_>) -> Key {
    match &entry.verdict.outcome {
        Outcome::Fail(level) => (entry.verdict.check, Some(*level), entry.verdict.message.template),
        Outcome::Unchecked { missing } => (entry.verdict.check, None, missing.template),
        Outcome::Pass => (entry.verdict.check, None, entry.verdict.message.template),
    }
}

/// Groups findings by cause. Causes stand in the order of their worst finding.
#[must_use]
pub fn causes<'e, 'b>(findings: impl Iterator<Item = &'e Entry<'b>>) -> Vec<Cause<'e, 'b>>
where
    'b: 'e,
{
    let mut causes: Vec<Cause<'e, 'b>> = Vec::new();
    let mut rows: BTreeMap<Key, usize> = BTreeMap::new();
    for entry in findings {
        let row = *rows.entry(key(entry)).or_insert_with(|| {
            causes.push(Cause { entries: Vec::new() });
            causes.len() - 1
        });
        if let Some(cause) = causes.get_mut(row) {
            cause.entries.push(entry);
        }
    }
    causes
}
