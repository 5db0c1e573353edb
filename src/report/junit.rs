//! The report as JUnit XML, for hosts that show a run as tests. There is no standard; this is the part that readers
//! agree on: one suite per board, one case per verdict, passes included, each under a name of its own.
//!
//! A finding at or above the fail level is a failure, what could not be judged an error, what is waived or in the
//! baseline skipped. A milder finding, and a milder rule that could not judge, passes with its text as output. Times
//! are zero, so that equal runs are equal files.

use super::Run;
use super::accepted::{waiver_findings, waiver_words};
use super::facts::{board_place, file_place, subject_words, value_words};
use super::run::level_word;
use super::text::idle_words;
use crate::board::Board;
use crate::findings::{Entry, Standing, outcome_word, sentence};
use crate::rules::Origin;
use std::collections::BTreeMap;
use std::fmt::Write;

/// What a case says beside its name.
enum Result {
    Pass,
    /// Passes, but has something to say.
    Told(String),
    Failure(&'static str, String),
    Error(String),
    Skipped(String),
}

struct Case {
    name: String,
    class: &'static str,
    file: String,
    line: u32,
    /// Tells cases of one name apart.
    mark: String,
    result: Result,
}

/// The report. Writing into a string cannot fail.
#[must_use]
pub fn junit(run: &Run<'_, '_>) -> String {
    let mut suites: Vec<(String, Vec<Case>)> = Vec::new();
    for board in &run.judgement.boards {
        let own = |entry: &&Entry<'_>| std::ptr::eq(entry.board, *board);
        let mut cases: Vec<Case> =
            run.judgement.entries.iter().filter(own).map(|entry| entry_case(run, board, entry)).collect();
        cases.sort_by(|a, b| (&a.name, &a.mark).cmp(&(&b.name, &b.mark)));
        suites.push((board.source.name().to_owned(), cases));
    }
    let rules = rule_cases(run);
    if !rules.is_empty() {
        suites.push((run.rules.name.clone(), rules));
    }
    tell_apart(&mut suites);
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let all: Vec<&Case> = suites.iter().flat_map(|(_, cases)| cases).collect();
    let _ = writeln!(out, "<testsuites name=\"throughline\" {}>", counts(&all));
    for (name, cases) in &suites {
        let _ = writeln!(out, "  <testsuite name=\"{}\" {}>", xml(name), counts(&cases.iter().collect::<Vec<_>>()));
        for case in cases {
            write_case(&mut out, case);
        }
        out.push_str("  </testsuite>\n");
    }
    out + "</testsuites>\n"
}

fn counts(cases: &[&Case]) -> String {
    let count = |wanted: fn(&Result) -> bool| cases.iter().filter(|case| wanted(&case.result)).count();
    format!(
        "tests=\"{}\" failures=\"{}\" errors=\"{}\" skipped=\"{}\" time=\"0\"",
        cases.len(),
        count(|result| matches!(result, Result::Failure(..))),
        count(|result| matches!(result, Result::Error(_))),
        count(|result| matches!(result, Result::Skipped(_))),
    )
}

fn entry_case(run: &Run<'_, '_>, board: &Board, entry: &Entry<'_>) -> Case {
    let verdict = &entry.verdict;
    let outcome = outcome_word(&verdict.outcome);
    let result = match entry.standing() {
        Standing::Pass => Result::Pass,
        Standing::Waived => {
            let why = entry.waiver.as_ref().map_or_else(String::new, |waiver| waiver_words(waiver));
            Result::Skipped(format!("waived {outcome}: {why}"))
        }
        Standing::Known => Result::Skipped(format!("{outcome} in the baseline: {}", words(entry))),
        Standing::Fail(level) if level >= run.fail_on => Result::Failure(level_word(level), words(entry)),
        Standing::Fail(_) => Result::Told(format!("{outcome}: {}", words(entry))),
        Standing::Unchecked if entry.level >= run.fail_on => Result::Error(words(entry)),
        Standing::Unchecked => Result::Told(format!("not checked: {}", words(entry))),
    };
    let place = verdict.place.as_ref();
    let line = place.map_or(1, |place| board.source.line_column(place.span.start).line);
    Case {
        name: format!("{}: {}: {}", board.name, verdict.check, subject_words(&verdict.subject)),
        class: verdict.check,
        file: board.source.name().replace('\\', "/"),
        line,
        mark: entry.fingerprint.to_string(),
        result,
    }
}

/// What was found: the first line is the message, all of it the body, since readers show the one or the other.
fn words(entry: &Entry<'_>) -> String {
    let verdict = &entry.verdict;
    let mut lines = vec![entry.missing.as_ref().unwrap_or(&entry.text).clone()];
    lines.extend(value_words(entry));
    if let Some(place) = &verdict.place {
        let at = board_place(entry.board, place).map_or_else(String::new, |at| format!(": {at}"));
        lines.push(format!("{}{at}", file_place(entry.board, Some(place))));
    }
    lines.extend(verdict.help.as_ref().map(|help| format!("to do: {}", sentence(help))));
    lines.push(format!("fingerprint {}", entry.fingerprint));
    lines.join("\n")
}

/// What the rule set asks for and no board has, rules without a subject, and waivers that are findings.
fn rule_cases(run: &Run<'_, '_>) -> Vec<Case> {
    let case = |class: &'static str, name: String, origin: &Origin, result: Result| Case {
        name,
        class,
        file: origin.file.name().replace('\\', "/"),
        line: origin.file.line_column(origin.span.start).line,
        mark: origin.to_string(),
        result,
    };
    let mut cases = Vec::new();
    for (level, fault) in waiver_findings(run) {
        let origin = Origin { file: std::sync::Arc::clone(&fault.file), span: fault.span };
        let help = fault.help.as_ref().map_or_else(String::new, |help| format!("\n{help}"));
        let text = format!("{}\n{}{help}", fault.message, fault.label);
        let told = || Result::Told(format!("{}: {text}", level_word(level)));
        let result = if level >= run.fail_on { Result::Failure(level_word(level), text.clone()) } else { told() };
        cases.push(case("waiver", format!("waiver: {}", fault.message), &origin, result));
    }
    for problem in &run.problems {
        let fault = &problem.fault;
        let origin = Origin { file: std::sync::Arc::clone(&fault.file), span: fault.span };
        let text = format!("{}, {}", fault.message, fault.label);
        let result = if problem.counts { Result::Error(text) } else { Result::Told(text) };
        cases.push(case("rules", format!("rules: {}", fault.message), &origin, result));
    }
    for idle in &run.judgement.ledger.idle {
        let words = idle_words(idle);
        let counts = run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle));
        let text = format!("nothing to look at: {words}");
        let result = if counts { Result::Error(text) } else { Result::Skipped(text) };
        cases.push(case(idle.check, format!("{}: {words}", idle.check), &idle.origin, result));
    }
    cases
}

/// Readers keep one case of a name: those that share one get a mark, and a number if that is not enough.
fn tell_apart(suites: &mut [(String, Vec<Case>)]) {
    let mut names: BTreeMap<String, usize> = BTreeMap::new();
    for case in suites.iter().flat_map(|(_, cases)| cases) {
        *names.entry(case.name.clone()).or_default() += 1;
    }
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for case in suites.iter_mut().flat_map(|(_, cases)| cases) {
        if names.get(&case.name).is_some_and(|count| *count > 1) {
            case.name = format!("{} ({})", case.name, case.mark);
        }
        let count = seen.entry(case.name.clone()).or_default();
        *count += 1;
        if *count > 1 {
            case.name = format!("{} #{count}", case.name);
        }
    }
}

fn write_case(out: &mut String, case: &Case) {
    let (name, class, file) = (xml(&case.name), xml(case.class), xml(&case.file));
    let head =
        format!("<testcase name=\"{name}\" classname=\"{class}\" file=\"{file}\" line=\"{}\" time=\"0\"", case.line);
    let first = |text: &str| xml(text.lines().next().unwrap_or_default());
    let inner = match &case.result {
        Result::Pass => {
            let _ = writeln!(out, "    {head}/>");
            return;
        }
        Result::Told(text) => format!("<system-out>{}</system-out>", xml(text)),
        Result::Failure(level, text) => {
            format!("<failure type=\"{level}\" message=\"{}\">{}</failure>", first(text), xml(text))
        }
        Result::Error(text) => format!("<error type=\"not checked\" message=\"{}\">{}</error>", first(text), xml(text)),
        Result::Skipped(text) => format!("<skipped message=\"{}\">{}</skipped>", first(text), xml(text)),
    };
    let _ = writeln!(out, "    {head}>\n      {inner}\n    </testcase>");
}

/// Text as XML 1.0 holds it: a control character that no document may hold is shown as `\u{FFFD}`.
fn xml(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(c),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}
