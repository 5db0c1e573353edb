//! The waivers of a file: `[[waive]]` in a rule file, or a file with nothing else.

use super::sheet::{Sheet, Value, did_you_mean, list};
use super::statement::in_file_order;
use super::waiver::PLACE_DIGITS;
use super::{Accepted, At, CheckSchema, Waiver};
use crate::source::{Fault, SourceFile};
use crate::units::{Date, Dimension};
use std::sync::Arc;
use toml::de::{DeTable, DeValue};

const WAIVE_KEYS: &[&str] = &["check", "place", "board", "accepted", "reason", "until"];
/// The word of `accepted` for a subject that could not be checked.
pub(super) const NOT_CHECKED: &str = "not checked";
/// Digits of a whole fingerprint.
const WHOLE: usize = 16;

/// Reads a file that holds nothing but waivers.
pub(super) fn read(file: &Arc<SourceFile>, schemas: &[CheckSchema]) -> (Vec<Waiver>, Vec<Fault>) {
    let (mut sheet, root) = Sheet::parse(file);
    let syntax = sheet.faults.len();
    let mut found = Vec::new();
    for (key, value) in in_file_order(&root) {
        match key.get_ref().as_ref() {
            "waive" => found = waivers(&mut sheet, value, schemas),
            _ => sheet.unknown_key("a waiver file", key, &["waive"]),
        }
    }
    (found, sheet.into_faults(syntax))
}

/// Reads the value of `waive`.
pub(super) fn waivers(sheet: &mut Sheet<'_>, value: &Value<'_>, schemas: &[CheckSchema]) -> Vec<Waiver> {
    let Some(values) = sheet.list("waive", value, "a list of tables: `[[waive]]`") else { return Vec::new() };
    values.iter().filter_map(|value| waiver(sheet, value, schemas)).collect()
}

/// Notes every waiver that names the same finding as one before it.
pub(super) fn judge(waivers: &[Waiver], faults: &mut Vec<Fault>) {
    for (at, waiver) in waivers.iter().enumerate() {
        let same = |other: &&Waiver| {
            let boards = [&other.board, &waiver.board].map(|board| board.as_ref().map(|board| board.value.as_str()));
            other.place.value == waiver.place.value && (boards[0] == boards[1] || boards.contains(&None))
        };
        if let Some(first) = waivers.iter().take(at).find(same) {
            let message = format!("`{}` is waived twice", waiver.place.value);
            let help = Some("keep one of them".to_owned());
            let label = format!("first waived at {}", first.place.origin);
            faults.push(super::sheet::fault_at(&waiver.place.origin, message, label, help));
        }
    }
}

/// One waiver. What is at fault is noted; without check, place and reason there is none.
fn waiver(sheet: &mut Sheet<'_>, value: &Value<'_>, schemas: &[CheckSchema]) -> Option<Waiver> {
    let table = sheet.table("waive", value, "tables such as `[[waive]]`")?;
    let (mut check, mut place, mut board, mut accepted, mut reason, mut until) = (None, None, None, None, None, None);
    for (key, value) in in_file_order(table) {
        match key.get_ref().as_ref() {
            "check" => check = self::check(sheet, value, schemas),
            "place" => place = self::place(sheet, value),
            "board" => board = sheet.text("board", value, "the name of a board: its file without folder and ending"),
            "accepted" => accepted = self::accepted(sheet, value),
            "reason" => reason = sheet.text("reason", value, "a sentence that says why"),
            "until" => until = date(sheet, value),
            _ => sheet.unknown_key("a waiver", key, WAIVE_KEYS),
        }
    }
    let mut complete = true;
    for (key, example) in [
        ("check", "check = \"plane-gap\""),
        ("place", "place = \"9f3a1c07d2e4b586\""),
        ("reason", "reason = \"agreed in review, the loop is short\""),
    ] {
        if !has(table, key) {
            complete = false;
            sheet.fault(value.span(), format!("a waiver without `{key}`"), format!("expected `{example}`"), None);
        }
    }
    let origin = sheet.origin(value.span());
    let (check, place, reason) = (check?, place?, reason?);
    complete.then_some(Waiver { check, place, board, accepted, reason, until, origin })
}

fn has(table: &DeTable<'_>, name: &str) -> bool {
    table.iter().any(|(key, _)| key.get_ref() == name)
}

fn check(sheet: &mut Sheet<'_>, value: &Value<'_>, schemas: &[CheckSchema]) -> Option<At<&'static str>> {
    let text = sheet.text("check", value, "the name of a check")?;
    let found = schemas.iter().find(|schema| schema.name == text.value);
    if found.is_none() {
        let known: Vec<&str> = schemas.iter().map(|schema| schema.name).collect();
        let help =
            did_you_mean(&text.value, known.iter().copied()).unwrap_or_else(|| format!("checks are {}", list(&known)));
        sheet.fault(value.span(), format!("unknown check `{}`", text.value), "not a check", Some(help));
    }
    found.map(|schema| At { value: schema.name, origin: text.origin })
}

fn place(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<At<String>> {
    let expected = "a fingerprint such as `9f3a1c07d2e4b586`";
    let text = sheet.text("place", value, expected)?;
    let hex = text.value.bytes().all(|byte| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte));
    if hex && (PLACE_DIGITS..=WHOLE).contains(&text.value.len()) {
        return Some(text);
    }
    let label = format!("expected {PLACE_DIGITS} to {WHOLE} digits, 0 to 9 and a to f");
    sheet.fault(value.span(), format!("`{}` is no fingerprint", text.value), label, None);
    None
}

fn accepted(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<At<Accepted>> {
    if value.get_ref().as_str() == Some(NOT_CHECKED) {
        return Some(At { value: Accepted::Unchecked, origin: sheet.origin(value.span()) });
    }
    let quantity = sheet.quantity("accepted", value, &Dimension::ALL)?;
    Some(At { value: Accepted::Value(quantity.value), origin: quantity.origin })
}

fn date(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<At<Date>> {
    let date = match value.get_ref() {
        DeValue::Datetime(stated) if stated.time.is_none() => {
            stated.date.and_then(|date| Date::new(date.year, date.month, date.day))
        }
        _ => None,
    };
    if date.is_none() {
        sheet.wrong_kind("until", value, "a day without quotes: `until = 2027-03-01`");
    }
    date.map(|date| At { value: date, origin: sheet.origin(value.span()) })
}
