//! The report as workflow commands: lines on standard output that a build service turns into remarks on a change.
//!
//! Services keep ten remarks of a kind in a step. So one line stands for all findings of one cause, worst first, no
//! more than ten of a kind, and a last line has the true totals.

use super::Run;
use super::accepted::waiver_findings;
use super::facts::{subject_words, value_words};
use super::run::level_word;
use super::text::{idle_words, verdict_words};
use crate::checks::Outcome;
use crate::findings::{Entry, causes, sentence};
use crate::rules::Level;
use crate::source::excerpt::head;
use crate::source::{Fault, SourceFile, Span};
use std::fmt::Write;

/// Remarks of one kind that a service keeps.
const MOST: usize = 10;

struct Remark {
    level: Level,
    file: String,
    line: u32,
    column: u32,
    end: u32,
    title: String,
    text: String,
}

/// The report.
#[must_use]
pub fn annotations(run: &Run<'_, '_>) -> String {
    let mut remarks: Vec<Remark> = Vec::new();
    for cause in causes(run.judgement.findings()) {
        if let Some((worst, rest)) = cause.entries.split_first() {
            remarks.push(finding(run, worst, rest.len()));
        }
    }
    for (level, fault) in waiver_findings(run) {
        remarks.push(stated(level, "waiver".to_owned(), fault));
    }
    for problem in &run.problems {
        let level = if problem.counts { run.fail_on } else { Level::Warning };
        remarks.push(stated(level, "rules".to_owned(), &problem.fault));
    }
    for idle in &run.judgement.ledger.idle {
        let counts = run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle));
        let level = if counts { run.fail_on } else { Level::Warning };
        let text = format!("nothing to look at: {}", idle_words(idle));
        let title = format!("{} not checked", idle.check);
        remarks.push(at(level, &idle.origin.file, idle.origin.span, title, text));
    }
    let mut out = String::new();
    let mut left_out = 0;
    for level in [Level::Error, Level::Warning, Level::Note] {
        // The last line takes one of the notices.
        let most = if level == Level::Note { MOST - 1 } else { MOST };
        let of_level = remarks.iter().filter(|remark| remark.level == level);
        left_out += of_level.clone().count().saturating_sub(most);
        for remark in of_level.take(most) {
            let (file, title) = (property(&remark.file), property(&remark.title));
            let Remark { line, column, end, .. } = remark;
            // Writing into a string cannot fail.
            let _ = writeln!(
                out,
                "::{} file={file},line={line},endLine={line},col={column},endColumn={end},title={title}::{}",
                command(level),
                data(&remark.text)
            );
        }
    }
    let (counts, word, why) = verdict_words(run);
    let more = if left_out > 0 { format!("; {left_out} more causes are not shown here") } else { String::new() };
    let _ = writeln!(out, "::notice title=throughline::{}", data(&format!("{counts}. {word}: {why}{more}")));
    out
}

const fn command(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "notice",
    }
}

fn finding(run: &Run<'_, '_>, entry: &Entry<'_>, more: usize) -> Remark {
    let verdict = &entry.verdict;
    let (level, title) = match &verdict.outcome {
        Outcome::Fail(level) => (*level, verdict.check.to_owned()),
        _ => (
            if entry.level >= run.fail_on { Level::Error } else { Level::Warning },
            format!("{} not checked", verdict.check),
        ),
    };
    let fact = entry.missing.as_ref().unwrap_or(&entry.text);
    let mut parts = vec![format!("{}: {fact}", subject_words(&verdict.subject))];
    parts.extend(value_words(entry));
    parts.extend(verdict.help.as_ref().map(|help| format!("to do: {}", sentence(help))));
    if more > 0 {
        parts.push(format!("{more} more of this kind, {} in all", more + 1));
    }
    let span = verdict.place.as_ref().map_or(Span::new(0, 1), |place| place.span);
    at(level, &entry.board.source, span, title, parts.join("\n"))
}

fn stated(level: Level, title: String, fault: &Fault) -> Remark {
    let text = format!("{}: {}", fault.message, fault.label);
    let text = fault.help.as_ref().map_or(text.clone(), |help| format!("{text}\n{help}"));
    let title = if title == "waiver" { format!("waiver {}", level_word(level)) } else { title };
    at(level, &fault.file, fault.span, title, text)
}

fn at(level: Level, file: &SourceFile, span: Span, title: String, text: String) -> Remark {
    let head = head(file, span);
    let (start, end) = (file.line_column(head.start), file.line_column(head.end));
    let name = file.name().replace('\\', "/");
    Remark { level, file: name, line: start.line, column: start.column, end: end.column, title, text }
}

/// Text behind the second `::`.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// Text of a property.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
