//! The report as a comment on a pull request: the verdict, counts per group, the worst findings, what is unchecked; the
//! rest folded away. It never grows beyond what hosts take in one comment; what had to be left out is counted.

use super::Run;
use super::accepted::{self, known_words, waiver_findings, waiver_words};
use super::facts::{board_place, file_place, subject_words, value_only, value_words};
use super::text::{idle_words, verdict_words};
use crate::checks::Outcome;
use crate::findings::{Cause, Entry, Standing, causes, outcome_word, sentence};
use crate::source::printable;
use std::fmt::Write;

/// Bytes of a comment that hosts take: 65,536 characters, less some room for what surrounds it.
const MOST: usize = 60_000;
/// Causes shown open.
const OPEN: usize = 10;
/// Bytes kept free for the parts that always stand at the end.
const TAIL: usize = 14_000;

/// The report. Writing into a string cannot fail.
#[must_use]
pub fn markdown(run: &Run<'_, '_>) -> String {
    let mut out = String::new();
    let (counts, word, why) = verdict_words(run);
    let _ = writeln!(out, "### throughline: {word}\n\n**{counts}**: {why}.\n");
    let boards: Vec<_> = run.judgement.boards.iter().map(|board| code(board.source.name())).collect();
    let boards = listed(&boards);
    let _ = writeln!(out, "Boards {boards}; rules {}, {}.\n", code(&run.rules.name), text(&run.chosen));
    if let Some(name) = &run.baseline {
        let _ = writeln!(out, "Held against the baseline {}.\n", code(name));
    }
    groups(&mut out, run);
    let all = causes(run.judgement.findings());
    let (failed, unchecked): (Vec<_>, Vec<_>) = all.into_iter().partition(|cause| failed(cause));
    let open = failed.iter().take(OPEN).collect::<Vec<_>>();
    findings(&mut out, &open, failed.len());
    not_checked(&mut out, run, &unchecked);
    folded(&mut out, run, &failed);
    out
}

fn failed(cause: &Cause<'_, '_>) -> bool {
    cause.entries.first().is_some_and(|worst| matches!(worst.verdict.outcome, Outcome::Fail(_)))
}

/// Counts per group; a check of several groups counts for them together, one of the whole board apart.
fn groups(out: &mut String, run: &Run<'_, '_>) {
    let mut rows: Vec<(String, [u64; 7])> = Vec::new();
    for entry in &run.judgement.entries {
        let on = run.rules.rules.get(entry.rule_row).map(|rule| rule.on.as_slice()).unwrap_or_default();
        let name = match on {
            [] => "whole board".to_owned(),
            on => on.iter().map(|group| code(&group.value)).collect::<Vec<_>>().join(", "),
        };
        let at = rows.iter().position(|(known, _)| *known == name).unwrap_or_else(|| {
            rows.push((name, [0; 7]));
            rows.len() - 1
        });
        let column = usize::from(entry.standing().rank());
        if let Some(cell) = rows.get_mut(at).and_then(|(_, cells)| cells.get_mut(column)) {
            *cell += 1;
        }
    }
    // The whole board first, then groups as the rule set states them.
    let place = |name: &str| run.rules.groups.iter().position(|group| code(&group.name) == name);
    rows.sort_by_key(|(name, _)| (name != "whole board", place(name).unwrap_or(usize::MAX), name.clone()));
    let titles = ["errors", "warnings", "notes", "not checked", "known", "waived", "passed"];
    let used: Vec<usize> = (0..titles.len())
        .filter(|&at| {
            [0, 3, 6].contains(&at) || rows.iter().any(|(_, cells)| cells.get(at).is_some_and(|cell| *cell > 0))
        })
        .collect();
    let title = |at: &usize| titles.get(*at).copied().unwrap_or_default();
    let _ = writeln!(out, "| group | {} |", used.iter().map(title).collect::<Vec<_>>().join(" | "));
    let _ = writeln!(out, "| --- |{}", " ---: |".repeat(used.len()));
    for (name, cells) in &rows {
        let cell = |at: &usize| match cells.get(*at) {
            Some(0) | None => "–".to_owned(),
            Some(count) => count.to_string(),
        };
        let _ = writeln!(out, "| {} | {} |", cell_text(name), used.iter().map(cell).collect::<Vec<_>>().join(" | "));
    }
    out.push('\n');
}

fn findings(out: &mut String, open: &[&Cause<'_, '_>], all: usize) {
    if open.is_empty() {
        return;
    }
    let _ = writeln!(out, "#### Worst findings\n");
    for cause in open {
        if let Some((worst, rest)) = cause.entries.split_first() {
            finding(out, worst, rest.len());
        }
    }
    if all > open.len() {
        let _ = writeln!(out, "- and {} more causes, folded below", all - open.len());
    }
    out.push('\n');
}

fn finding(out: &mut String, entry: &Entry<'_>, more: usize) {
    let verdict = &entry.verdict;
    let word = outcome_word(&verdict.outcome);
    let subject = text(&subject_words(&verdict.subject));
    let _ = write!(out, "- **{word}** {}, {subject}: {}", code(verdict.check), text(&entry.text));
    if let Some(value) = value_words(entry) {
        let _ = write!(out, " ({})", text(&value));
    }
    if let Some(worse) = accepted::worse_words(entry) {
        let _ = write!(out, ", {worse}");
    }
    out.push_str(".  \n");
    if let Some(place) = &verdict.place {
        let at = board_place(entry.board, place).map_or_else(String::new, |at| format!(": {}", text(&at)));
        let _ = writeln!(out, "  {}{at}.  ", code(&file_place(entry.board, Some(place))));
    }
    if let Some(help) = &verdict.help {
        let _ = writeln!(out, "  To do: {}.  ", text(&sentence(help)));
    }
    let rest = if more > 0 { format!("; **{more} more of this kind, {} in all**", more + 1) } else { String::new() };
    let _ = writeln!(out, "  Fingerprint {}{rest}", code(&entry.fingerprint.to_string()));
}

/// What could not be judged, with true totals, and what the rule set asks for in vain.
fn not_checked(out: &mut String, run: &Run<'_, '_>, unchecked: &[Cause<'_, '_>]) {
    let idle = &run.judgement.ledger.idle;
    if unchecked.is_empty() && run.problems.is_empty() && idle.is_empty() {
        return;
    }
    let _ = writeln!(out, "#### Not checked\n");
    for cause in unchecked.iter().take(OPEN) {
        let Some(worst) = cause.entries.first() else { continue };
        let why = text(worst.missing.as_deref().unwrap_or(&worst.text));
        let names: Vec<String> =
            cause.entries.iter().take(4).map(|entry| text(&subject_words(&entry.verdict.subject))).collect();
        let more = cause.entries.len().saturating_sub(names.len());
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let _ = writeln!(
            out,
            "- {} × {}: {why} ({}{more})",
            cause.entries.len(),
            code(worst.verdict.check),
            names.join(", ")
        );
    }
    if unchecked.len() > OPEN {
        let rest: usize = unchecked.iter().skip(OPEN).map(|cause| cause.entries.len()).sum();
        let _ = writeln!(out, "- {rest} × for {} more reasons", unchecked.len() - OPEN);
    }
    for problem in run.problems.iter().take(OPEN) {
        let fault = &problem.fault;
        let at = fault.place();
        let place = code(&format!("{}:{}:{}", fault.file.name(), at.line, at.column));
        let _ = writeln!(out, "- {}, {} ({place})", text(&fault.message), text(&fault.label));
    }
    if run.problems.len() > OPEN {
        let _ = writeln!(out, "- {} more like these in the rule file", run.problems.len() - OPEN);
    }
    for idle in idle.iter().take(OPEN) {
        let _ =
            writeln!(out, "- {}: {} ({})", code(idle.check), text(&idle_words(idle)), code(&idle.origin.to_string()));
    }
    if idle.len() > OPEN {
        let _ = writeln!(out, "- {} more rules found nothing to look at", idle.len() - OPEN);
    }
    out.push('\n');
}

/// Everything else, folded: the list of findings as far as there is room, waivers, what was fixed, the ledger.
fn folded(out: &mut String, run: &Run<'_, '_>, failed: &[Cause<'_, '_>]) {
    let all: Vec<&&Entry<'_>> = failed.iter().flat_map(|cause| &cause.entries).collect();
    if all.len() > failed.len().min(OPEN) {
        let lines = all.iter().map(|entry| {
            let verdict = &entry.verdict;
            let value = value_only(entry).map_or_else(String::new, |value| format!(", {}", text(&value)));
            let place = code(&file_place(entry.board, verdict.place.as_ref()));
            let word = outcome_word(&verdict.outcome);
            format!("- {word} {}, {}{value}, {place}", code(verdict.check), text(&subject_words(&verdict.subject)))
        });
        fold(out, &format!("All {} findings", all.len()), lines, MOST - TAIL);
    }
    let waived: Vec<_> = run.judgement.standing(|standing| standing == Standing::Waived).collect();
    let told = waiver_findings(run);
    if !run.judgement.waivers.is_empty() {
        let title = format!("Waivers: {}", accepted::waiver_counts(&run.judgement.waivers));
        let told = told.iter().map(|(level, fault)| {
            let at = fault.place();
            let place = code(&format!("{}:{}:{}", fault.file.name(), at.line, at.column));
            format!("- **{}** {} ({place})", super::run::level_word(*level), text(&fault.message))
        });
        let waived = waived.iter().map(|entry| {
            let why = entry.waiver.as_ref().map_or_else(String::new, |waiver| waiver_words(waiver));
            let word = outcome_word(&entry.verdict.outcome);
            let subject = text(&subject_words(&entry.verdict.subject));
            format!("- waived {word} {}, {subject}: {}", code(entry.verdict.check), text(&why))
        });
        fold(out, &title, told.chain(waived), MOST - TAIL / 2);
    }
    let fixed = run.judgement.fixed.as_deref().unwrap_or_default();
    if !fixed.is_empty() {
        let lines = fixed.iter().map(|row| format!("- {}", text(&known_words(row))));
        fold(out, &format!("Fixed since the baseline: {}", fixed.len()), lines, MOST - TAIL / 3);
    }
    let header = ["| check | examined | passed | failed | not checked | known | waived |".to_owned()];
    let rows = run.judgement.ledger.rows.iter().map(|row| {
        let failed = row.errors + row.warnings + row.notes;
        let cells = [row.examined, row.passed, failed, row.unchecked, row.known, row.waived];
        let cells: Vec<_> =
            cells.iter().map(|cell| if *cell == 0 { "–".to_owned() } else { cell.to_string() }).collect();
        format!("| {} | {} |", code(row.check), cells.join(" | "))
    });
    let line = ["| --- | ---: | ---: | ---: | ---: | ---: | ---: |".to_owned()];
    fold(out, "What was looked at", header.into_iter().chain(line).chain(rows), MOST);
}

/// A folded part, cut where it would pass `most` bytes of the whole.
fn fold(out: &mut String, title: &str, lines: impl Iterator<Item = String>, most: usize) {
    let _ = writeln!(out, "<details><summary>{}</summary>\n", text(title));
    let mut left_out = 0;
    for line in lines {
        if left_out > 0 || out.len() + line.len() > most {
            left_out += 1;
        } else {
            out.push_str(&line);
            out.push('\n');
        }
    }
    if left_out > 0 {
        let _ = writeln!(out, "- and {left_out} more; the JSON report lists each");
    }
    out.push_str("\n</details>\n");
}

/// A list of a few, the rest counted.
fn listed(items: &[String]) -> String {
    const SHOWN: usize = 8;
    let shown = items.iter().take(SHOWN).cloned().collect::<Vec<_>>().join(", ");
    if items.len() > SHOWN { format!("{shown} and {} more", items.len() - SHOWN) } else { shown }
}

/// A name as code; a backquote in it would end it.
fn code(name: &str) -> String {
    format!("`{}`", printable(name).replace('`', "'").replace('\n', " "))
}

/// Words whose names stand in backquotes already: outside them nothing may read as markup, inside all is code. With an
/// odd number of backquotes, from a name that has one, nothing is code.
fn text(words: &str) -> String {
    let odd = words.matches('`').count() % 2 == 1;
    let words = words.replace('\n', " ");
    let words = if odd { words.replace('`', "'") } else { words };
    let mut out = String::new();
    for (at, part) in words.split('`').enumerate() {
        if at > 0 {
            out.push('`');
        }
        if at % 2 == 1 {
            out.push_str(part);
            continue;
        }
        for c in part.chars() {
            match c {
                '<' => out.push_str("&lt;"),
                '>' => out.push_str("&gt;"),
                '&' => out.push_str("&amp;"),
                '*' | '_' | '#' | '[' | ']' | '|' | '\\' | '~' | '@' => {
                    out.push('\\');
                    out.push(c);
                }
                c => out.push(c),
            }
        }
    }
    out
}

/// A cell of a table: a bar would end it, even in code.
fn cell_text(words: &str) -> String {
    words.replace('|', "\\|")
}
