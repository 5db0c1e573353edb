//! `throughline waive`: append a waiver for one finding to the waiver file, which keeps all that it holds.

use super::arguments::{Global, WaiveArguments};
use super::hold::{Held, hold};
use super::outcome::Exit;
use super::output::{self, Streams};
use super::rule_set::Chosen;
use super::trouble::{Trouble, Troubles};
use crate::checks::Outcome;
use crate::findings::{Entry, Standing, outcome_word};
use crate::report;
use crate::rules::{Origin, Waiver, quoted};
use crate::source::{Fault, SourceFile};
use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use toml::de::DeTable;

/// Runs the command.
pub fn run(arguments: &WaiveArguments, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    hold(&arguments.inputs, global, streams, |held| waive(&held, arguments))
}

fn waive(held: &Held<'_>, arguments: &WaiveArguments) -> Result<Exit, Troubles> {
    let entry = find(held, &arguments.fingerprint)?;
    if let Some(until) = arguments.until.filter(|until| *until < held.as_of) {
        return Err(Troubles::plain(format!("{until} is past: it is {} now", held.as_of), None));
    }
    let file = target(held.chosen, arguments.into.as_deref())?;
    let addition = addition(file, entry, arguments);
    append(file, &addition)?;
    let said = format!(
        "waived {} {} {}, in {}\n",
        entry.fingerprint,
        entry.verdict.check,
        report::subject_words(&entry.verdict.subject),
        file.name()
    );
    output::print(&said).map_err(|error| Troubles::plain(format!("can't write to standard output: {error}"), None))?;
    Ok(Exit::Clean)
}

/// The one finding that a fingerprint names.
fn find<'h, 'b>(held: &'h Held<'b>, wanted: &str) -> Result<&'h Entry<'b>, Troubles> {
    let named: Vec<&Entry<'b>> =
        held.gathered.entries().iter().filter(|entry| entry.fingerprint.to_string().starts_with(wanted)).collect();
    let Some(first) = named.first() else {
        let help = "the text report shows it below each finding; the finding's board must be among the inputs";
        return Err(Troubles::plain(format!("no finding has the fingerprint `{wanted}`"), Some(help.to_owned())));
    };
    if named.iter().any(|entry| entry.fingerprint != first.fingerprint) {
        let help = Some("write all 16 digits".to_owned());
        return Err(Troubles::plain(format!("`{wanted}` begins the fingerprints of {} verdicts", named.len()), help));
    }
    // Boards of one name share fingerprints; the worst of them comes first.
    let waiver = |entry: &&Waiver| {
        first.fingerprint.to_string().starts_with(&entry.place.value) && entry.names(&first.board.name)
    };
    if let Some(known) = held.chosen.rules.waivers.iter().find(waiver) {
        let Origin { file, span } = known.origin.clone();
        let words = if first.standing() == Standing::Waived { "is waived already" } else { "has a waiver already" };
        return Err(Fault {
            message: format!("the finding `{wanted}` {words}"),
            file,
            span,
            label: "this one".to_owned(),
            help: Some("change that waiver".to_owned()),
        }
        .into());
    }
    if first.verdict.outcome == Outcome::Pass {
        let subject = report::subject_words(&first.verdict.subject);
        let fact = format!("{} of {subject} passes: there is nothing to waive", first.verdict.check);
        return Err(Troubles::plain(fact, None));
    }
    Ok(first)
}

/// The file to append to: the one that was named, else the last waiver file, else the rule file.
fn target<'c>(chosen: &'c Chosen, named: Option<&Path>) -> Result<&'c Arc<SourceFile>, Troubles> {
    let rules = &chosen.rules;
    let own = |file: &&Arc<SourceFile>| {
        !chosen.is_shipped(&Origin { file: Arc::clone(file), span: crate::source::Span::new(0, 0) })
    };
    let mut all = rules.waiver_files.iter().rev().chain(rules.files.iter().rev()).filter(own);
    let Some(named) = named else {
        return all.next().ok_or_else(|| {
            let help = "`throughline init` writes one; name it with `--rules` if it is elsewhere".to_owned();
            Troubles::plain("there is no rule file of your own to write a waiver to", Some(help))
        });
    };
    let whole = |path: &Path| path.canonicalize().ok();
    all.find(|file| whole(Path::new(file.name())).is_some_and(|path| Some(path) == whole(named))).ok_or_else(|| {
        let help = format!("name it in the rule file: `waivers = [\"{}\"]`", named.display());
        Troubles::plain(format!("`{}` is no part of the rule set", named.display()), Some(help))
    })
}

/// The text of the waiver, with what it takes to stand apart from what the file ends with.
fn addition(file: &SourceFile, entry: &Entry<'_>, arguments: &WaiveArguments) -> String {
    let verdict = &entry.verdict;
    let mut lines = vec![
        format!("# {}: {}", outcome_word(&verdict.outcome), report::subject_words(&verdict.subject)),
        "[[waive]]".to_owned(),
        format!("check    = \"{}\"", verdict.check),
        format!("place    = \"{}\"", entry.fingerprint),
        format!("board    = {}", quoted(&entry.board.name)),
    ];
    match (&verdict.outcome, verdict.value) {
        (Outcome::Unchecked { .. }, _) => lines.push("accepted = \"not checked\"".to_owned()),
        (_, Some(value)) => lines.push(format!("accepted = \"{value}\"")),
        (_, None) => {}
    }
    lines.push(format!("reason   = {}", quoted(arguments.reason.trim())));
    lines.extend(arguments.until.map(|until| format!("until    = {until}")));
    let end = if file.text().contains("\r\n") { "\r\n" } else { "\n" };
    let apart = match file.text() {
        "" => String::new(),
        text if text.ends_with('\n') => end.to_owned(),
        _ => end.repeat(2),
    };
    lines.iter().fold(apart, |text, line| text + line + end)
}

/// Appends, if the file is still well formed then; nothing that stands in it is touched.
fn append(file: &SourceFile, addition: &str) -> Result<(), Troubles> {
    let after = file.text().to_owned() + addition;
    if DeTable::parse(&after).is_err() {
        let help = format!("add it by hand:\n{}", addition.trim());
        let fact = format!("`{}` states its waivers in a way that nothing can be appended to", file.name());
        return Err(Troubles(vec![Trouble::Plain(fact, Some(help))]));
    }
    OpenOptions::new()
        .append(true)
        .open(file.name())
        .and_then(|mut open| open.write_all(addition.as_bytes()))
        .map_err(|error| Troubles::plain(format!("can't write to `{}`: {error}", file.name()), None))
}
