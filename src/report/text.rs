//! The report for people: the worst first, with the board's own lines, and the ledger at its end.

use super::facts::{board_place, file_place, place_words, subject_words, value_only, value_words};
use super::run::{counted, level_word};
use super::table::{Side, Table};
use super::{Paint, Run, StackupOf, accepted};
use crate::board::Board;
use crate::checks::{Outcome, Place, Stated};
use crate::findings::{Cause, Entry, Idle, Whole, causes, outcome_word, sentence};
use crate::rules::Level;
use crate::source::excerpt::{Look, Mark, lines};
use crate::source::{Fault, Span, printable, printable_name};
use std::fmt::Write;

/// Further findings of one cause that are listed below the worst.
const LISTED: usize = 6;
/// Related places shown in an excerpt.
const RELATED: usize = 3;
/// Reader's notes listed per board.
const NOTES: usize = 8;
/// Indent of what stands below a heading.
const INDENT: &str = "    ";

/// The report. Writing into a string cannot fail, so the results of `write!` are dropped.
#[must_use]
pub fn text(run: &Run<'_, '_>, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = String::new();
    head(&mut out, run);
    for cause in causes(run.judgement.findings()) {
        out.push('\n');
        show_cause(&mut out, &cause, look, paint);
    }
    for (level, fault) in accepted::waiver_findings(run) {
        let heading = paint.outcome(&Outcome::Fail(level), level_word(level));
        show_fault(&mut out, &format!("{heading}  {}", paint.strong("waiver")), fault, look);
    }
    for problem in &run.problems {
        let word = if problem.counts { "not checked" } else { "warning" };
        let gravity = if problem.counts { run.fail_on } else { Level::Warning };
        show_fault(&mut out, &paint.outcome(&Outcome::Fail(gravity), word), &problem.fault, look);
    }
    idle(&mut out, run, paint);
    accepted::show(&mut out, run, paint);
    ledger(&mut out, run, paint);
    for board in &run.judgement.boards {
        notes(&mut out, board);
    }
    let _ = writeln!(out, "\n{}", verdict(run, paint));
    out
}

/// Something that the rule set states, with its lines.
fn show_fault(out: &mut String, heading: &str, fault: &Fault, look: &Look) {
    let _ = writeln!(out, "\n{heading}  {}", printable(&fault.message));
    let mark = Mark { span: fault.span, text: fault.label.clone() };
    out.push_str(&indented(&lines(&fault.file, vec![mark], look)));
    if let Some(help) = &fault.help {
        let _ = writeln!(out, "{INDENT}{}", printable(help));
    }
}

fn head(out: &mut String, run: &Run<'_, '_>) {
    for board in &run.judgement.boards {
        out.push_str(&board_line(board));
        out.extend(StackupOf::of(board, Stated::of(run.rules, board).as_ref()).line());
    }
    let _ = writeln!(out, "rules  {}, {}", printable_name(&run.rules.name), run.chosen);
    for off in &run.rules.switched_off {
        let groups = off.on.iter().map(|group| format!("`{}`", printable_name(group))).collect::<Vec<_>>().join(", ");
        let on = if groups.is_empty() { String::new() } else { format!(" on {groups}") };
        let _ = writeln!(out, "       switched off: {}{on}, at {}", off.check, off.origin);
    }
    if !run.left_out.is_empty() {
        let _ = writeln!(out, "       left out on the command line: {}", run.left_out.join(", "));
    }
    if let Some(day) = accepted::day(run) {
        let _ = writeln!(out, "       waivers judged on {day}");
    }
}

/// One line on a board.
#[must_use]
pub fn board_line(board: &Board) -> String {
    let format = board.version.map_or_else(|| "no format version".to_owned(), |v| format!("format {v}"));
    let layers = u64::try_from(board.layers.len()).unwrap_or(u64::MAX);
    let nets = u64::try_from(board.nets.len().saturating_sub(1)).unwrap_or(u64::MAX);
    let (layers, nets) = (counted(layers, "copper layer"), counted(nets, "net"));
    format!("board  {}: {layers}, {nets}, {format}\n", printable_name(board.source.name()))
}

fn show_cause(out: &mut String, cause: &Cause<'_, '_>, look: &Look, paint: Paint) {
    let Some((worst, rest)) = cause.entries.split_first() else { return };
    show(out, worst, look, paint);
    if rest.is_empty() {
        return;
    }
    let more = u64::try_from(rest.len()).unwrap_or(u64::MAX);
    let _ = writeln!(out, "{INDENT}{} of this kind, {} in all:", counted_more(more), more + 1);
    for entry in rest.iter().take(LISTED) {
        let verdict = &entry.verdict;
        let mut parts = vec![subject_words(&verdict.subject)];
        parts.extend(value_only(entry));
        parts.extend(accepted::worse_words(entry).map(str::to_owned));
        parts.extend(verdict.place.as_ref().and_then(|place| board_place(entry.board, place)));
        // The folder stands in the report's first lines.
        let place = match &verdict.place {
            Some(place) => file_place(entry.board, Some(place)),
            None => printable_name(entry.board.source.name()).into_owned(),
        };
        parts.push(place.rsplit(['/', '\\']).next().unwrap_or(&place).to_owned());
        let _ = writeln!(out, "{INDENT}  {}  {}", parts.join("; "), paint.faint(&entry.fingerprint.to_string()));
    }
    if rest.len() > LISTED {
        let _ = writeln!(out, "{INDENT}  and {} more (`--report line` lists each)", rest.len() - LISTED);
    }
}

fn counted_more(more: u64) -> String {
    if more == 1 { "1 more".to_owned() } else { format!("{more} more") }
}

fn show(out: &mut String, entry: &Entry<'_>, look: &Look, paint: Paint) {
    let verdict = &entry.verdict;
    let word = match &verdict.outcome {
        Outcome::Unchecked { .. } => "not checked",
        outcome => outcome_word(outcome),
    };
    let word = paint.outcome(&verdict.outcome, word);
    let _ = writeln!(out, "{word}  {}  {}", paint.strong(verdict.check), subject_words(&verdict.subject));
    let _ = writeln!(out, "{INDENT}{}", entry.missing.as_ref().unwrap_or(&entry.text));
    if let Some(value) = value_words(entry) {
        let _ = writeln!(out, "{INDENT}{value}");
    }
    if let Some(worse) = accepted::worse_words(entry) {
        let _ = writeln!(out, "{INDENT}{worse}");
    }
    let judged = !matches!(verdict.outcome, Outcome::Unchecked { .. });
    if let Some(place) = &verdict.place {
        let at = board_place(entry.board, place).map_or_else(String::new, |at| format!(": {at}"));
        let _ = writeln!(out, "{INDENT}{}{at}", file_place(entry.board, verdict.place.as_ref()));
        if judged {
            out.push_str(&excerpt(entry.board, place, &verdict.related, look));
        }
    }
    // What could not be judged needs an input, not a look at the board's lines.
    for place in verdict.related.iter().skip(RELATED).filter(|_| judged) {
        let at = file_place(entry.board, Some(place));
        let _ = writeln!(out, "{INDENT}{at}: {}", place_words(entry.board, place));
    }
    if let Some(help) = &verdict.help {
        let _ = writeln!(out, "{INDENT}to do: {}", sentence(help));
    }
    let _ = writeln!(out, "{INDENT}{}", paint.faint(&format!("fingerprint {}", entry.fingerprint)));
}

/// The board's lines. Places that share a span share a mark. Where the finding itself lies stands above its lines.
fn excerpt(board: &Board, place: &Place, related: &[Place], look: &Look) -> String {
    let mut marks = vec![Mark { span: place.span, text: sentence(&place.label) }];
    for place in related.iter().take(RELATED) {
        let text = place_words(board, place);
        match marks.iter_mut().find(|mark| mark.span == place.span) {
            Some(mark) => mark.text = format!("{}; {text}", mark.text),
            None => marks.push(Mark { span: place.span, text }),
        }
    }
    indented(&lines(&board.source, marks, look))
}

/// Without blank lines, set in by two.
fn indented(text: &str) -> String {
    text.lines().filter(|line| !line.is_empty()).fold(String::new(), |text, line| text + "  " + line + "\n")
}

/// Rules that had no subject: in one block, but each is named.
fn idle(out: &mut String, run: &Run<'_, '_>, paint: Paint) {
    let all = &run.judgement.ledger.idle;
    let counts = |idle: &Idle| run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle));
    let (counting, others): (Vec<&Idle>, Vec<&Idle>) = all.iter().partition(|idle| counts(idle));
    for (list, level, word) in [(counting, run.fail_on, "not checked"), (others, Level::Warning, "warning")] {
        let Some(width) = list.iter().map(|idle| idle.check.len()).max() else { continue };
        let rules = counted(u64::try_from(list.len()).unwrap_or(u64::MAX), "rule");
        let _ = writeln!(out, "\n{}  {rules} found nothing to look at", paint.outcome(&Outcome::Fail(level), word));
        for idle in list {
            let origin = paint.faint(&idle.origin.to_string());
            let _ = writeln!(out, "{INDENT}{:width$}  {}  {origin}", idle.check, idle_words(idle));
        }
    }
}

/// What a rule without a subject says.
pub(super) fn idle_words(idle: &Idle) -> String {
    let groups: Vec<_> = idle.groups.iter().map(|group| format!("`{}`", printable_name(group))).collect();
    match groups.as_slice() {
        [] => "the board has no subject for it".to_owned(),
        [group] => format!("group {group} selects nothing here"),
        groups => format!("groups {} select nothing here", groups.join(", ")),
    }
}

fn ledger(out: &mut String, run: &Run<'_, '_>, paint: Paint) {
    let ledger = &run.judgement.ledger;
    if ledger.rows.is_empty() {
        let _ = writeln!(out, "\nThe rule set asks for no check.");
        return;
    }
    let mut table = Table::new(&[
        ("check", Side::Left),
        ("examined", Side::Right),
        ("passed", Side::Right),
        ("errors", Side::Right),
        ("warnings", Side::Right),
        ("notes", Side::Right),
        ("not checked", Side::Right),
        ("known", Side::Right),
        ("waived", Side::Right),
    ]);
    for row in &ledger.rows {
        let cells = [row.passed, row.errors, row.warnings, row.notes, row.unchecked];
        let cells = cells.map(|cell| if cell == 0 { "-".to_owned() } else { cell.to_string() });
        // Columns that have nothing in any row are left out.
        let accepted = [row.known, row.waived].map(|cell| if cell == 0 { String::new() } else { cell.to_string() });
        let cells = cells.into_iter().chain(accepted);
        table.row([row.check.to_owned(), row.examined.to_string()].into_iter().chain(cells).collect());
    }
    let _ = write!(out, "\n{}", table.render(paint));
    for row in &ledger.rows {
        for reason in &row.reasons {
            let like = if reason.count > 1 && reason.is_filled() { ", such as" } else { "" };
            let _ = writeln!(out, "{} not checked, {}{like}: {}", reason.count, row.check, reason.text);
        }
    }
    for row in ledger.rows.iter().filter(|row| row.left_out > 0) {
        let _ = writeln!(out, "{} verdicts of {} are counted above but not kept", row.left_out, row.check);
    }
}

/// What the reader wants a person to know, doubts first.
pub(super) fn notes(out: &mut String, board: &Board) {
    let doubts = board.doubts.iter().map(|doubt| (doubt.span, "in doubt: ", &doubt.message));
    let notes = board.notes.iter().map(|note| (note.span, "", &note.message));
    let all: Vec<(Span, &str, &String)> = doubts.chain(notes).collect();
    if all.is_empty() {
        return;
    }
    let _ = writeln!(out, "\nOn reading {}:", printable_name(board.source.name()));
    for (span, kind, message) in all.iter().take(NOTES) {
        let at = board.source.line_column(span.start);
        let _ = writeln!(out, "{INDENT}{}:{}  {kind}{}", at.line, at.column, printable(message));
    }
    if all.len() > NOTES {
        let _ = writeln!(out, "{INDENT}and {} more (`--report json` lists each)", all.len() - NOTES);
    }
}

fn verdict(run: &Run<'_, '_>, paint: Paint) -> String {
    let outcome = match run.whole {
        Whole::Clean if run.judgement.ledger.idle.is_empty() => Outcome::Pass,
        Whole::Clean => Outcome::Fail(Level::Warning),
        Whole::Findings | Whole::NotJudged => Outcome::Fail(run.fail_on),
    };
    let (counts, word, why) = verdict_words(run);
    format!("{counts}\n{}: {why}", paint.outcome(&outcome, word))
}

/// What a run says as a whole: its counts, one word, and why.
pub(super) fn verdict_words(run: &Run<'_, '_>) -> (String, &'static str, String) {
    let ledger = &run.judgement.ledger;
    let (known, waived) = (ledger.sum(|row| row.known), ledger.sum(|row| row.waived));
    let mut counts = vec![
        counted(ledger.sum(|row| row.errors), "error"),
        counted(ledger.sum(|row| row.warnings), "warning"),
        counted(ledger.sum(|row| row.notes), "note"),
        format!("{} not checked", ledger.sum(|row| row.unchecked)),
        format!("{known} known"),
        format!("{waived} waived"),
        format!("{} passed", ledger.sum(|row| row.passed)),
    ];
    counts.retain(|count| !["0 notes", "0 known", "0 waived"].contains(&count.as_str()));
    let level = level_word(run.fail_on);
    // What is accepted must not read as if it had not been found.
    let but = match (known, waived) {
        (0, 0) => "finding at or above",
        (_, 0) => "finding beyond the baseline is at or above",
        (0, _) => "finding beyond the waived ones is at or above",
        (_, _) => "finding beyond the baseline and the waived ones is at or above",
    };
    let (word, why) = match run.whole {
        Whole::Clean if ledger.idle.is_empty() => ("clean", format!("no {but} the fail level `{level}`")),
        // A run in which rules looked at nothing must not read as if they had passed.
        Whole::Clean => {
            let idle = counted(u64::try_from(ledger.idle.len()).unwrap_or(u64::MAX), "rule");
            ("clean in part", format!("no {but} the fail level `{level}`, but {idle} found nothing to look at"))
        }
        Whole::Findings => ("fails", format!("a finding is at or above the fail level `{level}`")),
        Whole::NotJudged if ledger.sum(|row| row.examined) == 0 => {
            ("not judged", "no check looked at anything".to_owned())
        }
        Whole::NotJudged => (
            "not judged",
            format!("no {but} the fail level `{level}`, but something that counts there could not be checked"),
        ),
    };
    (counts.join(", "), word, why)
}
