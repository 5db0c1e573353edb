//! The list of checks, and the page of one, with the limits in force.

use super::Paint;
use super::page::page;
use super::run::level_word;
use crate::checks::{ALL, Info};
use crate::rules::{Rule, RuleSet, Setting};
use crate::source::excerpt::Look;
use crate::source::printable_name;
use std::fmt::Write;

/// The list: per check its rules in force, or that the rule set doesn't ask for it.
#[must_use]
pub fn checks(rules: &RuleSet, chosen: &str, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = format!("rules  {}, {chosen}\n", printable_name(&rules.name));
    for check in ALL {
        let info = check.info();
        let _ = writeln!(out, "\n{}  {}", paint.strong(info.schema.name), info.summary);
        in_force(&mut out, info, rules, paint);
    }
    out
}

/// The page of a check as plain text, then its rules in force.
#[must_use]
pub fn explain(info: &Info, rules: &RuleSet, chosen: &str, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = format!("{}  {}\n\n", paint.strong(info.schema.name), info.summary);
    out.push_str(&page(info.page, look.width.min(88), paint));
    let _ = writeln!(out, "\n{}", paint.strong("In a rule file"));
    let _ = writeln!(out, "  level     {}, unless the rule says otherwise", level_word(info.schema.level));
    if !info.schema.limit.is_empty() {
        let kinds = info.schema.limit.iter().map(|kind| format!("{} such as `{}`", kind.name(), kind.example()));
        let _ = writeln!(out, "  warn, limit  {}", kinds.collect::<Vec<_>>().join(", or "));
    }
    for parameter in info.schema.parameters {
        let _ = writeln!(out, "  {}  {}", parameter.key, parameter.about);
    }
    let _ = writeln!(out, "\n{}", paint.strong("In force"));
    let _ = writeln!(out, "  rules  {}, {chosen}", printable_name(&rules.name));
    in_force(&mut out, info, rules, paint);
    out
}

fn in_force(out: &mut String, info: &Info, rules: &RuleSet, paint: Paint) {
    let mut rules = rules.rules.iter().filter(|rule| rule.check == info.schema.name).peekable();
    if rules.peek().is_none() {
        let _ = writeln!(out, "  {}", paint.faint("the rule set does not ask for it"));
    }
    for rule in rules {
        rule_lines(out, rule, paint);
    }
}

fn rule_lines(out: &mut String, rule: &Rule, paint: Paint) {
    let groups: Vec<_> = rule.on.iter().map(|group| format!("`{}`", printable_name(&group.value))).collect();
    let on = if groups.is_empty() { "the whole board".to_owned() } else { groups.join(", ") };
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
        let _ = writeln!(out, "    source: {}", printable_name(&source.value));
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
