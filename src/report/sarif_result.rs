//! One result of a SARIF report.

use super::Run;
use super::accepted::waiver_words;
use super::facts::{board_place, place_words, subject_words, value_words};
use super::json::{change_word, quantity_value};
use super::run::level_word;
use super::sarif_place::{fault_location, link, literal, message, origin_location, physical, put};
use super::sarif_rule::WAIVER;
use crate::checks::{Outcome, Place};
use crate::findings::{Change, Entry, sentence};
use crate::geometry::to_f64;
use crate::rules::{Level, Waiver};
use crate::source::{Fault, Span};
use serde_json::{Value, json};

/// Related places listed; hosts show about a hundred.
const RELATED: usize = 20;

/// A verdict that is no pass.
pub fn entry_result(run: &Run<'_, '_>, entry: &Entry<'_>, rule: Option<usize>) -> Value {
    let verdict = &entry.verdict;
    let (kind, level) = match &verdict.outcome {
        Outcome::Fail(level) => ("fail", level_word(*level)),
        // The standard: not enough is known to decide; such a result has no level.
        Outcome::Unchecked { .. } => ("open", "none"),
        Outcome::Pass => ("pass", "none"),
    };
    let related = related(entry);
    let print = entry.fingerprint.to_string();
    let mut result = json!({
        "ruleId": verdict.check,
        "ruleIndex": rule,
        "kind": kind,
        "level": level,
        "message": { "text": text(entry, &related) },
        "locations": [location(entry)],
        "partialFingerprints": {
            "throughline/v1": print,
            // Some hosts compare this one alone. Board files are reordered when saved, so a hash of the line, which they
            // would make themselves, would not hold.
            "primaryLocationLineHash": format!("{print}:1"),
        },
        "properties": properties(run, entry),
    });
    if !related.is_empty() {
        put(&mut result, "relatedLocations", related.iter().map(|(_, value)| value.clone()).collect());
    }
    if let Some(waiver) = &entry.waiver {
        put(&mut result, "suppressions", json!([suppression(waiver)]));
    }
    if run.baseline.is_some() {
        let state = match entry.change {
            Some(Change::New) => "new",
            Some(Change::Worse) => "updated",
            Some(Change::Same) | None => "unchanged",
        };
        put(&mut result, "baselineState", json!(state));
    }
    result
}

/// A finding about a waiver.
pub fn waiver_result(level: Level, fault: &Fault, rule: Option<usize>) -> Value {
    let help = fault.help.as_ref().map_or_else(String::new, |help| format!("; {help}"));
    json!({
        "ruleId": WAIVER,
        "ruleIndex": rule,
        "kind": "fail",
        "level": level_word(level),
        "message": message(&format!("{}: {}{help}", fault.message, fault.label)),
        "locations": [fault_location(fault)],
    })
}

/// What was found, by how much, what to do, and links to the related places.
fn text(entry: &Entry<'_>, related: &[(String, Value)]) -> String {
    let verdict = &entry.verdict;
    let subject = subject_words(&verdict.subject);
    let fact = match &entry.missing {
        Some(missing) => format!("{subject} is not checked: {missing}"),
        None => format!("{subject}: {}", entry.text),
    };
    let mut lines = vec![literal(&fact)];
    lines.extend(value_words(entry).map(|value| literal(&value)));
    lines.extend(verdict.help.as_ref().map(|help| literal(&format!("to do: {}", sentence(help)))));
    if !related.is_empty() {
        let links: Vec<String> = related.iter().enumerate().map(|(at, (label, _))| link(label, at + 1)).collect();
        lines.push(format!("see {}", links.join("; ")));
    }
    lines.join("\n")
}

/// The first location is the one that hosts show: a verdict without a place lies on the board's first character.
fn location(entry: &Entry<'_>) -> Value {
    let verdict = &entry.verdict;
    let span = verdict.place.as_ref().map_or(Span::new(0, 1), |place| place.span);
    let subject = &verdict.subject;
    let name = if subject.name.is_empty() { subject.kind } else { &subject.name };
    let mut location = json!({
        "physicalLocation": physical(&entry.board.source, span),
        "logicalLocations": [{ "name": name, "fullyQualifiedName": format!("{}/{name}", entry.board.name) }],
    });
    let words = verdict.place.as_ref().map(|place| place_words(entry.board, place)).unwrap_or_default();
    if !words.is_empty() {
        put(&mut location, "message", message(&words));
    }
    location
}

/// The related places with their words, the limit's own line last; their ids count from 1.
fn related(entry: &Entry<'_>) -> Vec<(String, Value)> {
    let verdict = &entry.verdict;
    let words = |place: &Place| match place_words(entry.board, place) {
        words if words.is_empty() => "related place".to_owned(),
        words => words,
    };
    let mut list: Vec<(String, Value)> = verdict
        .related
        .iter()
        .take(RELATED)
        .map(|place| (words(place), json!({ "physicalLocation": physical(&entry.board.source, place.span) })))
        .collect();
    if let Some(limit) = &verdict.limit {
        list.push(("the limit".to_owned(), origin_location(&limit.origin)));
    }
    for (at, (words, value)) in list.iter_mut().enumerate() {
        put(value, "id", json!(at + 1));
        put(value, "message", message(words));
    }
    list
}

fn suppression(waiver: &Waiver) -> Value {
    json!({
        "kind": "external",
        "status": "accepted",
        "justification": waiver_words(waiver),
        "location": origin_location(&waiver.origin),
    })
}

fn properties(run: &Run<'_, '_>, entry: &Entry<'_>) -> Value {
    let verdict = &entry.verdict;
    let at = verdict.place.as_ref().and_then(|place| place.at);
    json!({
        "board": entry.board.name,
        "subject": { "kind": verdict.subject.kind, "name": verdict.subject.name, "ends": verdict.subject.ends },
        "groups": run.rules.rules.get(entry.rule_row).map(|rule| rule.on.iter().map(|on| &on.value).collect::<Vec<_>>()),
        "ruleLevel": level_word(entry.level),
        "value": verdict.value.map(quantity_value),
        "limit": verdict.limit.as_ref().map(|limit| quantity_value(limit.value)),
        "place": verdict.place.as_ref().and_then(|place| board_place(entry.board, place)),
        "x_mm": at.map(|at| to_f64(at.x) / 1e6),
        "y_mm": at.map(|at| to_f64(at.y) / 1e6),
        "baseline": entry.change.map(change_word),
    })
}
