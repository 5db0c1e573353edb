//! The list of checks, and the page of one, with the limits in force.

use super::page::page;
use super::run::level_word;
use super::{Paint, stackup};
use crate::checks::{ALL, Info};
use crate::rules::{Rule, RuleSet, Setting};
use crate::source::excerpt::Look;
use crate::source::{printable_name, wrap};
use crate::units::Dimension;
use std::fmt::Write;

/// Columns of a page, at most: longer lines are hard to read.
const PAGE: usize = 88;

/// The list: per check its rules in force, or that the rule set doesn't ask for it.
#[must_use]
pub fn checks(rules: &RuleSet, chosen: &str, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = format!("rules  {}, {chosen}\n", printable_name(&rules.name));
    stackups(&mut out, rules, "", paint);
    for check in ALL {
        let info = check.info();
        let _ = writeln!(out, "\n{}  {}", paint.strong(info.schema.name), info.summary);
        in_force(&mut out, info, rules, look, paint);
    }
    out
}

/// The page of a check as plain text, then its rules in force.
#[must_use]
pub fn explain(info: &Info, rules: &RuleSet, chosen: &str, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = format!("{}  {}\n\n", paint.strong(info.schema.name), info.summary);
    out.push_str(&page(info.page, look.width.min(PAGE), paint));
    let _ = writeln!(out, "\n{}", paint.strong("In a rule file"));
    let mut keys = vec![("level", format!("{}, unless the rule says otherwise", level_word(info.schema.level)))];
    if !info.schema.limit.is_empty() {
        let kind = |kind: &Dimension| format!("{} such as `{}`", kind.name(), kind.example());
        let kinds: Vec<_> = info.schema.limit.iter().map(kind).collect();
        keys.push(("warn, limit", kinds.join(", or ")));
    }
    keys.extend(info.schema.parameters.iter().map(|parameter| (parameter.key, parameter.about.to_owned())));
    let width = keys.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    for (key, about) in &keys {
        for (row, line) in wrap(about, look.width.min(PAGE).saturating_sub(width + 4)).lines().enumerate() {
            let _ = writeln!(out, "  {:width$}  {line}", if row == 0 { key } else { "" });
        }
    }
    let _ = writeln!(out, "\n{}", paint.strong("In force"));
    let _ = writeln!(out, "  rules  {}, {chosen}", printable_name(&rules.name));
    stackups(&mut out, rules, "  ", paint);
    in_force(&mut out, info, rules, look, paint);
    // The check of the stackup is where its values are looked up.
    for stackup in rules.stackups.iter().filter(|_| info.schema.name == "stackup-missing") {
        let _ = writeln!(out, "\n{}", paint.strong(&format!("Stackup at {}", stackup.origin)));
        for line in stackup::table(stackup, paint).lines() {
            let _ = writeln!(out, "  {line}");
        }
    }
    out
}

/// The stackups that the rule set states, a line each.
fn stackups(out: &mut String, rules: &RuleSet, indent: &str, paint: Paint) {
    for stackup in &rules.stackups {
        let _ = writeln!(
            out,
            "{indent}stackup  {}  {}",
            stackup::summary(stackup),
            paint.faint(&stackup.origin.to_string())
        );
    }
}

fn in_force(out: &mut String, info: &Info, set: &RuleSet, look: &Look, paint: Paint) {
    let mut rules = set.rules.iter().filter(|rule| rule.check == info.schema.name).peekable();
    let mut off = set.switched_off.iter().filter(|off| off.check == info.schema.name).peekable();
    if rules.peek().is_none() && off.peek().is_none() {
        let _ = writeln!(out, "  {}", paint.faint("the rule set does not ask for it"));
    }
    for rule in rules {
        rule_lines(out, rule, look, paint);
    }
    for off in off {
        let origin = paint.faint(&off.origin.to_string());
        let _ = writeln!(out, "  switched off on {}  {origin}", on_words(off.on.iter().map(|name| &**name)));
    }
}

/// What a rule looks at.
fn on_words<'n>(groups: impl Iterator<Item = &'n str>) -> String {
    let groups: Vec<_> = groups.map(|group| format!("`{}`", printable_name(group))).collect();
    if groups.is_empty() { "the whole board".to_owned() } else { groups.join(", ") }
}

fn rule_lines(out: &mut String, rule: &Rule, look: &Look, paint: Paint) {
    let on = on_words(rule.on.iter().map(|group| &*group.value));
    let _ = writeln!(out, "  {} on {on}  {}", level_word(rule.level), paint.faint(&rule.origin.to_string()));
    for (key, bound) in [("warn", &rule.warn), ("limit", &rule.limit)] {
        if let Some(bound) = bound {
            let _ = writeln!(out, "    {key} {}  {}", bound.value, paint.faint(&bound.origin.to_string()));
        }
    }
    for (key, setting) in &rule.settings {
        let _ =
            writeln!(out, "    {key} {}  {}", setting_words(&setting.value), paint.faint(&setting.origin.to_string()));
    }
    if let Some(source) = &rule.source {
        let words = wrap(&format!("source: {}", printable_name(&source.value)), look.width.saturating_sub(6));
        for (row, line) in words.lines().enumerate() {
            let _ = writeln!(out, "    {}{line}", if row == 0 { "" } else { "  " });
        }
    }
}

fn setting_words(setting: &Setting) -> String {
    match setting {
        Setting::Quantity(quantity) => quantity.to_string(),
        Setting::Switch(on) => on.to_string(),
        Setting::Nets(patterns) => patterns
            .iter()
            .map(|pattern| format!("`{}`", printable_name(&pattern.value.0)))
            .collect::<Vec<_>>()
            .join(", "),
        Setting::Word(word) => word.clone(),
    }
}
