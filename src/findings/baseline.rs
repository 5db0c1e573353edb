//! The baseline: findings of an earlier run, kept in a file, so that a later run can tell what is new.
//!
//! The file is JSON; `baseline.schema.json` in the folder of reports documents it. One finding stands on one line, in
//! an order that depends on nothing but the findings, so that a change of the file can be reviewed.

use super::Entry;
use crate::checks::Outcome;
use crate::source::{Fault, SourceFile, Span};
use crate::units::{Dimension, Quantity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The format of the file; another one is refused.
pub const BASELINE_FORMAT: &str = "throughline/baseline/1";

/// How a finding compares with the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// The baseline has none of this fingerprint.
    New,
    /// The baseline has it, with a better value, a milder outcome, or the other of failed and unchecked.
    Worse,
    /// The baseline has it, as bad as now or worse.
    Same,
}

/// A finding of an earlier run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// Its fingerprint.
    pub fingerprint: String,
    /// The check.
    pub check: String,
    /// The board.
    pub board: String,
    /// Kind of its subject.
    pub kind: String,
    /// Name of its subject.
    pub name: String,
    /// Ends of its subject.
    pub ends: Vec<String>,
    /// `error`, `warning`, `note` or `unchecked`.
    pub outcome: String,
    /// The measured value.
    pub value: Option<KnownValue>,
}

/// A measured value: number and unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownValue {
    /// The number.
    pub number: f64,
    /// Its unit; none for a count.
    pub unit: String,
}

/// All findings of an earlier run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Baseline {
    /// The findings, in the order of the file.
    pub rows: Vec<Known>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    schema: String,
    findings: Vec<Known>,
}

const OUTCOMES: [&str; 4] = ["unchecked", "note", "warning", "error"];

impl Baseline {
    /// Reads a file.
    ///
    /// # Errors
    /// A fault where the file is not of this format.
    pub fn read(source: &Arc<SourceFile>) -> Result<Self, Fault> {
        let fault = |span: Span, message: String, label: &str| Fault {
            message,
            file: Arc::clone(source),
            span,
            label: label.to_owned(),
            help: Some("once it is gone, `--write-baseline --accept-new` makes a new one".to_owned()),
        };
        let document: Document = serde_json::from_str(source.text()).map_err(|error| {
            let text = error.to_string();
            let reason = text.rsplit_once(" at line ").map_or(&*text, |(reason, _)| reason);
            let span = at(source, error.line(), error.column());
            fault(span, format!("not a baseline: {reason}"), "expected a file that this program wrote")
        })?;
        let whole = Span::new(0, 1);
        if document.schema != BASELINE_FORMAT {
            let message = format!("a baseline of another format: `{}`", document.schema);
            return Err(fault(whole, message, &format!("expected `{BASELINE_FORMAT}`")));
        }
        for row in &document.findings {
            let sound = OUTCOMES.contains(&row.outcome.as_str())
                && row.value.as_ref().is_none_or(|value| value.quantity().is_some());
            if !sound {
                let message = format!("the baseline's finding `{}` has no known outcome or unit", row.fingerprint);
                return Err(fault(whole, message, "expected a file that this program wrote"));
            }
        }
        Ok(Self { rows: document.findings })
    }

    /// The file's text.
    #[must_use]
    pub fn write(&self) -> String {
        let line = |row: &Known| serde_json::to_string(row).unwrap_or_default();
        let lines: Vec<String> = self.rows.iter().map(|row| format!("    {}", line(row))).collect();
        let list = if lines.is_empty() { "[]".to_owned() } else { format!("[\n{}\n  ]", lines.join(",\n")) };
        format!("{{\n  \"schema\": \"{BASELINE_FORMAT}\",\n  \"findings\": {list}\n}}\n")
    }

    /// Tells every finding how it compares, and returns what the baseline has and the run has not.
    pub(super) fn compare(&self, entries: &mut [Entry<'_>], judged: impl Fn(&Known) -> bool) -> Vec<Known> {
        let mut left: BTreeMap<&str, &Known> = self.rows.iter().map(|row| (row.fingerprint.as_str(), row)).collect();
        let known = left.clone();
        for entry in entries.iter_mut().filter(|entry| entry.verdict.outcome != Outcome::Pass) {
            let print = entry.fingerprint.to_string();
            left.remove(print.as_str());
            if entry.waiver.is_none() {
                entry.change = Some(known.get(print.as_str()).map_or(Change::New, |row| row.against(entry)));
            }
        }
        self.rows.iter().filter(|row| left.contains_key(row.fingerprint.as_str()) && judged(row)).cloned().collect()
    }

    /// The baseline after a run: what was fixed is gone, what got better is held to that. What is new or worse is taken
    /// in only if `grow`; what the run did not judge stays.
    pub(super) fn after(&self, entries: &[Entry<'_>], grow: bool, judged: impl Fn(&Known) -> bool) -> Self {
        let mut rows: BTreeMap<String, Known> =
            self.rows.iter().map(|row| (row.fingerprint.clone(), row.clone())).collect();
        let mut next: BTreeMap<String, Known> =
            rows.iter().filter(|(_, row)| !judged(row)).map(|(print, row)| (print.clone(), row.clone())).collect();
        for entry in entries.iter().filter(|e| e.verdict.outcome != Outcome::Pass && e.waiver.is_none()) {
            let print = entry.fingerprint.to_string();
            let row = match (rows.remove(&print), entry.change) {
                (Some(old), Some(Change::Worse)) if !grow => old,
                (None, _) if !grow => continue,
                _ => Known::of(entry),
            };
            // Boards of one name share fingerprints; the entries come worst first, so the first one stands.
            next.entry(print).or_insert(row);
        }
        let mut rows: Vec<Known> = next.into_values().collect();
        rows.sort_by(|a, b| a.key().cmp(&b.key()));
        Self { rows }
    }
}

impl Known {
    /// The row of a finding.
    fn of(entry: &Entry<'_>) -> Self {
        let subject = &entry.verdict.subject;
        Self {
            fingerprint: entry.fingerprint.to_string(),
            check: entry.verdict.check.to_owned(),
            board: entry.board.name.clone(),
            kind: subject.kind.to_owned(),
            name: subject.name.clone(),
            ends: subject.ends.clone(),
            outcome: super::outcome_word(&entry.verdict.outcome).to_owned(),
            value: entry.verdict.value.and_then(KnownValue::of),
        }
    }

    fn key(&self) -> (&str, &str, &str, &str, &[String], &str) {
        (&self.check, &self.board, &self.kind, &self.name, &self.ends, &self.fingerprint)
    }

    /// How a finding compares with this earlier state of it.
    fn against(&self, entry: &Entry<'_>) -> Change {
        let rank = |word: &str| OUTCOMES.iter().position(|outcome| *outcome == word);
        let now = super::outcome_word(&entry.verdict.outcome);
        let unchecked = |word: &str| word == "unchecked";
        if unchecked(now) != unchecked(&self.outcome) || rank(now) > rank(&self.outcome) {
            return Change::Worse;
        }
        let before = self.value.as_ref().and_then(KnownValue::quantity);
        match (before, entry.verdict.value) {
            (None, None) => Change::Same,
            _ if unchecked(now) => Change::Same,
            (Some(before), Some(_)) if entry.is_worse_than(before) == Some(false) => Change::Same,
            _ => Change::Worse,
        }
    }
}

impl KnownValue {
    fn of(quantity: Quantity) -> Option<Self> {
        let (number, unit) = quantity.plain();
        number.is_finite().then(|| Self { number, unit: unit.to_owned() })
    }

    fn quantity(&self) -> Option<Quantity> {
        Quantity::parse(&format!("{} {}", self.number, self.unit), &Dimension::ALL).ok()
    }
}

/// The byte at a line and a column, both from 1.
fn at(source: &SourceFile, line: usize, column: usize) -> Span {
    let before: usize = source.text().split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let start = (before + column.saturating_sub(1)).min(source.text().len());
    let start = u32::try_from(start).unwrap_or(u32::MAX);
    Span::new(start, start.saturating_add(1))
}
