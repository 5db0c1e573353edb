//! The rules of a SARIF report: the checks with their pages.

use super::Run;
use super::checks::explain;
use super::run::level_word;
use crate::checks::{ALL, Info};
use crate::rules::Level;
use crate::source::excerpt::Look;
use serde_json::{Value, json};

/// The rule behind findings about waivers.
pub const WAIVER: &str = "waiver";
/// Characters of a description that hosts keep.
const DESCRIPTION: usize = 1_024;

/// One rule per check that the rule set asks for, in the order of checks; one more if waivers have findings.
pub fn rules(run: &Run<'_, '_>) -> Vec<Value> {
    let asked = |info: &Info| run.rules.rules.iter().any(|rule| rule.check == info.schema.name);
    let mut rules: Vec<Value> =
        ALL.iter().map(|check| check.info()).filter(|info| asked(info)).map(|info| rule(run, info)).collect();
    if run.judgement.waivers.iter().any(|row| row.finding.is_some()) {
        rules.push(waiver_rule());
    }
    rules
}

fn rule(run: &Run<'_, '_>, info: &Info) -> Value {
    let name = info.schema.name;
    let levels = run.rules.rules.iter().filter(|rule| rule.check == name).map(|rule| rule.level);
    let level = levels.max().unwrap_or(info.schema.level);
    let page = markdown(info.page);
    let text = explain(info, run.rules, &run.chosen, &Look::PLAIN);
    let in_force = text.rsplit_once("\nIn force\n").map_or("", |(_, rest)| rest);
    json!({
        "id": name,
        "name": pascal(name),
        "shortDescription": { "text": info.summary },
        "fullDescription": { "text": first_paragraph(&page) },
        "help": {
            "text": text.trim_end(),
            "markdown": format!("{}\n\n# In force\n\n```text\n{}\n```", page.trim_end(), in_force.trim_end()),
        },
        "defaultConfiguration": { "level": level_word(level) },
        "properties": {
            "tags": ["copper", if info.schema.groups { "signal" } else { "board" }],
            "precision": "high",
            "problem.severity": severity(level),
        },
    })
}

fn waiver_rule() -> Value {
    let about = "A waiver that has expired, is exceeded, finds nothing to waive, or is about to expire.";
    json!({
        "id": WAIVER,
        "name": "Waiver",
        "shortDescription": { "text": "a waiver that does not hold, or not for long" },
        "fullDescription": { "text": about },
        "help": {
            "text": "Correct what the waiver was for and take it out, or have it agreed again with what holds now.",
        },
        "defaultConfiguration": { "level": "error" },
        "properties": { "tags": ["waiver"], "precision": "very-high", "problem.severity": "error" },
    })
}

/// How hosts name the levels of a rule.
const fn severity(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "recommendation",
    }
}

/// `pair-skew` as `PairSkew`, the form that the standard asks of names.
fn pascal(name: &str) -> String {
    let word = |word: &str| {
        let mut letters = word.chars();
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
    };
    name.split('-').map(word).collect()
}

/// The page without the blank that doc comments begin their lines with.
fn markdown(page: &str) -> String {
    page.lines().map(|line| line.strip_prefix(' ').unwrap_or(line)).collect::<Vec<_>>().join("\n")
}

/// What is measured, as one line.
fn first_paragraph(page: &str) -> String {
    let lines = page.lines().skip_while(|line| line.is_empty() || line.starts_with('#'));
    let text = lines.take_while(|line| !line.is_empty()).collect::<Vec<_>>().join(" ");
    if text.chars().count() <= DESCRIPTION {
        return text;
    }
    text.chars().take(DESCRIPTION - 2).collect::<String>() + " …"
}
