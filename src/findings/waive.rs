//! Waivers held against the verdicts of a run: what each waives, and what is wrong with it.

use super::Entry;
use crate::checks::Outcome;
use crate::rules::{Accepted, Level, Origin, Waiver};
use crate::source::{Fault, printable_name};
use crate::units::Date;
use std::sync::Arc;

/// A waiver that expires within so many days is told beforehand, so that no build breaks overnight.
const AHEAD: i64 = 14;

/// What became of a waiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It waives what it names.
    InForce,
    /// It waives what it names, but not for long.
    Lapsing,
    /// Its board or its check has no part in this run.
    Aside,
    /// Its last day has passed.
    Expired,
    /// What it names is worse than it accepts.
    Exceeded,
    /// There is nothing for it to waive.
    Unmatched,
    /// It could mean several things, or something else than it says.
    Unclear,
}

/// A waiver and what became of it.
#[derive(Debug, Clone)]
pub struct WaiverRow {
    /// The waiver.
    pub waiver: Waiver,
    /// What became of it.
    pub fate: Fate,
    /// The finding that it is in itself, with its level.
    pub finding: Option<(Level, Fault)>,
}

/// Holds every waiver against the entries; those that it waives get it. `left_out` are checks that did not run.
pub(super) fn apply(
    entries: &mut [Entry<'_>],
    waivers: &[Waiver],
    as_of: Date,
    boards: &[&str],
    left_out: &[&str],
) -> Vec<WaiverRow> {
    let prints: Vec<String> = entries.iter().map(|entry| entry.fingerprint.to_string()).collect();
    let mut rows = Vec::new();
    for waiver in waivers {
        let aside = !boards.iter().any(|board| waiver.names(board)) || left_out.contains(&waiver.check.value);
        let named: Vec<usize> = entries
            .iter()
            .zip(&prints)
            .enumerate()
            .filter(|(_, (entry, print))| print.starts_with(&waiver.place.value) && waiver.names(&entry.board.name))
            .map(|(row, _)| row)
            .collect();
        let mut whole: Vec<&String> = named.iter().filter_map(|&row| prints.get(row)).collect();
        whole.sort_unstable();
        whole.dedup();
        let row = match whole.as_slice() {
            _ if aside => WaiverRow { waiver: waiver.clone(), fate: Fate::Aside, finding: None },
            [] => unmatched(waiver),
            // Boards of one name in one run share fingerprints; the worst of what they say is told.
            [_] => {
                let rows = named.iter().filter_map(|&at| entries.get_mut(at).map(|entry| hold(waiver, entry, as_of)));
                rows.reduce(worse).unwrap_or_else(|| unmatched(waiver))
            }
            several => {
                let weight = named.iter().filter_map(|&at| entries.get(at)).map(Entry::weight).max();
                let message = format!("`{}` begins the fingerprints of {} findings", waiver.place.value, several.len());
                let help = "write all 16 digits of the one that is meant".to_owned();
                let weight = weight.unwrap_or(Level::Error);
                found(waiver, Fate::Unclear, weight, &waiver.place.origin, message, "waives none of them", Some(help))
            }
        };
        rows.push(row);
    }
    rows
}

/// The one with the worse finding.
fn worse(one: WaiverRow, other: WaiverRow) -> WaiverRow {
    let level = |row: &WaiverRow| row.finding.as_ref().map(|(level, _)| *level);
    if level(&other) > level(&one) { other } else { one }
}

/// Holds a waiver against the one entry that it names, which gets it if it is waived.
fn hold(waiver: &Waiver, entry: &mut Entry<'_>, as_of: Date) -> WaiverRow {
    let weight = entry.weight();
    let name = match entry.verdict.subject.name.as_str() {
        "" => format!("the {}", entry.verdict.subject.kind),
        name => format!("`{}`", printable_name(name)),
    };
    let unclear = |at: &Origin, message: String, label: &str, help: Option<String>| {
        found(waiver, Fate::Unclear, weight, at, message, label, help)
    };
    if entry.verdict.check != waiver.check.value {
        let message = format!("the finding `{}` is one of `{}`", entry.fingerprint, entry.verdict.check);
        return unclear(&waiver.check.origin, message, "not of this check", None);
    }
    if let Some(other) = &entry.waiver {
        let message = format!("the finding `{}` is waived at {} already", entry.fingerprint, other.place.origin);
        let help = Some("keep one of them".to_owned());
        return found(waiver, Fate::Unmatched, Level::Warning, &waiver.place.origin, message, "waives nothing", help);
    }
    if entry.verdict.outcome == Outcome::Pass {
        let message = format!("{name} passes");
        let help = Some("take the waiver out".to_owned());
        let label = "there is nothing to waive";
        return found(waiver, Fate::Unmatched, Level::Warning, &waiver.place.origin, message, label, help);
    }
    if let Some(until) = waiver.until.as_ref().filter(|until| until.value < as_of) {
        let message = format!("the waiver of {name} expired on {}", until.value);
        let help = Some("correct the board, or have the waiver agreed again with another day".to_owned());
        return found(waiver, Fate::Expired, weight, &until.origin, message, &format!("today is {as_of}"), help);
    }
    if let Some(row) = not_accepted(waiver, entry, weight, &name) {
        return row;
    }
    entry.waiver = Some(Box::new(waiver.clone()));
    if let Some(until) = &waiver.until {
        let days = until.value.days() - as_of.days();
        if days <= AHEAD {
            let message = match days {
                0 => format!("the waiver of {name} expires today"),
                1 => format!("the waiver of {name} expires tomorrow"),
                _ => format!("the waiver of {name} expires in {days} days"),
            };
            let label = format!("today is {as_of}");
            return found(waiver, Fate::Lapsing, Level::Note, &until.origin, message, &label, None);
        }
    }
    WaiverRow { waiver: waiver.clone(), fate: Fate::InForce, finding: None }
}

/// What a waiver does not accept of a finding, if anything.
fn not_accepted(waiver: &Waiver, entry: &Entry<'_>, weight: Level, name: &str) -> Option<WaiverRow> {
    let tell = |fate: Fate, at: &Origin, message: String, label: &str, help: Option<String>| {
        Some(found(waiver, fate, weight, at, message, label, help))
    };
    let verdict = &entry.verdict;
    let unchecked = matches!(verdict.outcome, Outcome::Unchecked { .. });
    match (&waiver.accepted, verdict.value) {
        (Some(accepted), _) if accepted.value == Accepted::Unchecked => {
            if unchecked {
                return None;
            }
            let message = format!("{name} can be checked now, and fails");
            tell(Fate::Exceeded, &accepted.origin, message, "this accepts only that it could not be checked", None)
        }
        (accepted, _) if unchecked => {
            let message = format!("{name} could not be checked");
            let at = accepted.as_ref().map_or(&waiver.place.origin, |accepted| &accepted.origin);
            let help = "`accepted = \"not checked\"` would accept that".to_owned();
            tell(Fate::Exceeded, at, message, "what is not known is not waived", Some(help))
        }
        (None, None) => None,
        (None, Some(value)) => {
            let message = format!("the waiver of {name} does not say which value it accepts");
            let help = format!("it is {value} now; if that is right, add `accepted = \"{value}\"`");
            tell(Fate::Unclear, &waiver.place.origin, message, "expected `accepted` below", Some(help))
        }
        (Some(accepted), None) => {
            let message = format!("{name} has no measured value");
            let help = Some("take `accepted` out of the waiver".to_owned());
            tell(Fate::Unclear, &accepted.origin, message, "there is nothing to hold this against", help)
        }
        (Some(accepted), Some(value)) => {
            let Accepted::Value(most) = accepted.value else { return None };
            match entry.is_worse_than(most) {
                Some(false) => None,
                Some(true) => {
                    let message = format!("{name} is {}, worse than what is waived", value.print_beside(most));
                    tell(Fate::Exceeded, &accepted.origin, message, "no more than this is accepted", None)
                }
                None => {
                    let message = format!("{name} is {value}, {}", value.dimension().name());
                    tell(Fate::Unclear, &accepted.origin, message, "this can't be held against it", None)
                }
            }
        }
    }
}

fn unmatched(waiver: &Waiver) -> WaiverRow {
    let message = format!("no verdict has the fingerprint `{}`", waiver.place.value);
    let more =
        if waiver.board.is_none() { "; if its board was not part of this run, name it: `board = \"…\"`" } else { "" };
    let help = Some(format!("take the waiver out, or give it the finding's new fingerprint{more}"));
    let label = "there is nothing to waive";
    found(waiver, Fate::Unmatched, Level::Warning, &waiver.place.origin, message, label, help)
}

fn found(
    waiver: &Waiver,
    fate: Fate,
    level: Level,
    at: &Origin,
    message: String,
    label: &str,
    help: Option<String>,
) -> WaiverRow {
    let fault = Fault { message, file: Arc::clone(&at.file), span: at.span, label: label.to_owned(), help };
    WaiverRow { waiver: waiver.clone(), fate, finding: Some((level, fault)) }
}
