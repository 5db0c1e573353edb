//! The report for programs. `check.schema.json` beside this file documents it.

use super::run::{VERSION, level_word};
use super::{Run, StackupOf};
use crate::board::Board;
use crate::checks::{Place, Stated};
use crate::findings::{Change, Entry, Fate, Standing, WaiverRow, Whole, outcome_word, sentence};
use crate::geometry::to_f64;
use crate::rules::{Accepted, At, Origin};
use crate::source::{Span, excerpt::head};
use crate::units::Quantity;
use serde_json::{Value, json};
use std::sync::Arc;

/// The schema of this report.
pub const SCHEMA: &str = include_str!("check.schema.json");

/// The report: every verdict that was kept, the ledger, and what was run.
#[must_use]
pub fn json(run: &Run<'_, '_>) -> String {
    let ledger = &run.judgement.ledger;
    let document = json!({
        "schema": "throughline/check/1",
        "tool": { "name": "throughline", "version": VERSION },
        "rules": {
            "name": run.rules.name,
            "chosen": run.chosen,
            "left_out": run.left_out,
            "switched_off": run.rules.switched_off.iter().map(|off| json!({
                "check": off.check,
                "groups": off.on,
                "origin": origin_value(&off.origin),
            })).collect::<Vec<_>>(),
        },
        "boards": run.judgement.boards.iter().map(|board| {
            let stated = Stated::of(run.rules, board);
            board_value(board, &StackupOf::of(board, stated.as_ref()))
        }).collect::<Vec<_>>(),
        "whole": {
            "status": match run.whole {
                Whole::Clean => "clean",
                Whole::Findings => "findings",
                Whole::NotJudged => "not judged",
            },
            "fail_on": level_word(run.fail_on),
            "examined": ledger.sum(|row| row.examined),
            "passed": ledger.sum(|row| row.passed),
            "errors": ledger.sum(|row| row.errors),
            "warnings": ledger.sum(|row| row.warnings),
            "notes": ledger.sum(|row| row.notes),
            "unchecked": ledger.sum(|row| row.unchecked),
            "known": ledger.sum(|row| row.known),
            "waived": ledger.sum(|row| row.waived),
        },
        "as_of": super::accepted::day(run),
        "waivers": run.judgement.waivers.iter().map(waiver_value).collect::<Vec<_>>(),
        "baseline": run.baseline.as_ref().map(|file| json!({
            "file": file,
            "fixed": run.judgement.fixed.as_deref().unwrap_or_default(),
        })),
        "ledger": ledger.rows.iter().map(|row| json!({
            "check": row.check,
            "level": level_word(row.level),
            "examined": row.examined,
            "passed": row.passed,
            "errors": row.errors,
            "warnings": row.warnings,
            "notes": row.notes,
            "unchecked": row.unchecked,
            "known": row.known,
            "waived": row.waived,
            "reasons": row.reasons.iter().map(|reason| json!({ "text": reason.text, "count": reason.count }))
                .collect::<Vec<_>>(),
            "left_out": row.left_out,
        })).collect::<Vec<_>>(),
        "idle": ledger.idle.iter().map(|idle| json!({
            "check": idle.check,
            "level": level_word(idle.level),
            "groups": idle.groups,
            "origin": origin_value(&idle.origin),
            "counts": run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle)),
        })).collect::<Vec<_>>(),
        "problems": run.problems.iter().map(|problem| json!({
            "message": problem.fault.message,
            "label": problem.fault.label,
            "help": problem.fault.help,
            "origin": origin_value(&Origin { file: Arc::clone(&problem.fault.file), span: problem.fault.span }),
            "counts": problem.counts,
        })).collect::<Vec<_>>(),
        "verdicts": run.judgement.entries.iter().map(verdict_value).collect::<Vec<_>>(),
    });
    format!("{document:#}\n")
}

/// A board, with what its reader remarked.
pub(super) fn board_value(board: &Board, stackup: &StackupOf) -> Value {
    let place = |span: Span, message: &str| {
        let at = board.source.line_column(span.start);
        json!({ "message": message, "line": at.line, "column": at.column })
    };
    json!({
        "name": board.name,
        "file": board.source.name(),
        "format": board.version,
        "copper_layers": board.layers.ids().map(|layer| board.layers.name(layer)).collect::<Vec<_>>(),
        "stackup": stackup.value(),
        "doubts": board.doubts.iter().map(|doubt| place(doubt.span, &doubt.message)).collect::<Vec<_>>(),
        "notes": board.notes.iter().map(|note| place(note.span, &note.message)).collect::<Vec<_>>(),
    })
}

fn verdict_value(entry: &Entry<'_>) -> Value {
    let verdict = &entry.verdict;
    json!({
        "fingerprint": entry.fingerprint.to_string(),
        "check": verdict.check,
        "outcome": if entry.standing() == Standing::Waived { "waived" } else { outcome_word(&verdict.outcome) },
        "baseline": entry.change.map(change_word),
        "waiver": entry.waiver.as_ref().map(|waiver| json!({
            "of": outcome_word(&verdict.outcome),
            "reason": waiver.reason.value,
            "origin": origin_value(&waiver.origin),
        })),
        "level": level_word(entry.level),
        "board": entry.board.name,
        "subject": { "kind": verdict.subject.kind, "name": verdict.subject.name, "ends": verdict.subject.ends },
        "message": entry.text,
        "missing": entry.missing,
        "value": verdict.value.map(quantity_value),
        "limit": verdict.limit.as_ref().map(limit_value),
        "help": verdict.help.as_ref().map(sentence),
        "place": verdict.place.as_ref().map(|place| place_value(entry.board, place)),
        "related": verdict.related.iter().map(|place| place_value(entry.board, place)).collect::<Vec<_>>(),
    })
}

/// How a finding compares with the baseline, as a word.
pub(super) const fn change_word(change: Change) -> &'static str {
    match change {
        Change::New => "new",
        Change::Worse => "worse",
        Change::Same => "same",
    }
}

fn waiver_value(row: &WaiverRow) -> Value {
    let waiver = &row.waiver;
    json!({
        "check": waiver.check.value,
        "place": waiver.place.value,
        "board": waiver.board.as_ref().map(|board| &board.value),
        "accepted": waiver.accepted.as_ref().map(|accepted| match accepted.value {
            Accepted::Value(value) => quantity_value(value),
            Accepted::Unchecked => json!("not checked"),
        }),
        "reason": waiver.reason.value,
        "until": waiver.until.as_ref().map(|until| until.value.to_string()),
        "origin": origin_value(&waiver.origin),
        "fate": match row.fate {
            Fate::InForce => "in force",
            Fate::Lapsing => "lapsing",
            Fate::Aside => "aside",
            Fate::Expired => "expired",
            Fate::Exceeded => "exceeded",
            Fate::Unmatched => "unmatched",
            Fate::Unclear => "unclear",
        },
        "level": row.finding.as_ref().map(|(level, _)| level_word(*level)),
        "message": row.finding.as_ref().map(|(_, fault)| &fault.message),
        "help": row.finding.as_ref().and_then(|(_, fault)| fault.help.as_ref()),
    })
}

/// Number and unit apart, in one unit per dimension.
pub(super) fn quantity_value(quantity: Quantity) -> Value {
    let (number, unit) = quantity.plain();
    json!({ "number": number, "unit": unit })
}

fn limit_value(limit: &At<Quantity>) -> Value {
    let mut value = quantity_value(limit.value);
    if let Some(object) = value.as_object_mut() {
        object.insert("origin".to_owned(), origin_value(&limit.origin));
    }
    value
}

pub(super) fn origin_value(origin: &Origin) -> Value {
    let at = origin.file.line_column(origin.span.start);
    json!({ "file": origin.file.name(), "line": at.line, "column": at.column })
}

fn place_value(board: &Board, place: &Place) -> Value {
    let at = board.source.line_column(head(&board.source, place.span).start);
    json!({
        "file": board.source.name(),
        "line": at.line,
        "column": at.column,
        "layer": place.layer.map(|layer| board.layers.name(layer)),
        "x_mm": place.at.map(|at| to_f64(at.x) / 1e6),
        "y_mm": place.at.map(|at| to_f64(at.y) / 1e6),
        "label": sentence(&place.label),
    })
}
