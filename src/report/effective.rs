//! The rule set in force as one rule file without `extends`: every value with the file and line that states it. What is
//! printed reads back as the same rules.

use crate::rules::{At, Group, NetPattern, Origin, PairPattern, Rule, RuleSet, Setting, Stackup, Waiver, key, quoted};
use crate::source::printable_name;
use std::fmt::Write;

use super::run::level_word;

/// Where the remark behind a value begins, unless the value is longer.
const REMARK: usize = 48;

/// The file's text. Writing into a string cannot fail.
#[must_use]
pub fn effective(rules: &RuleSet, chosen: &str) -> String {
    let mut out =
        format!("# {}, {chosen}: everything in force, and where it is stated.\n", printable_name(&rules.name));
    for file in &rules.files {
        let _ = writeln!(out, "#   from {}", printable_name(file.name()));
    }
    for stackup in &rules.stackups {
        self::stackup(&mut out, stackup, rules.stackups.len() > 1);
    }
    for group in &rules.groups {
        self::group(&mut out, group);
    }
    for rule in &rules.rules {
        self::rule(&mut out, rule);
    }
    for off in &rules.switched_off {
        let _ = writeln!(out, "\n# {} on {} is switched off  {}", off.check, list(off.on.iter()), off.origin);
    }
    for waiver in &rules.waivers {
        self::waiver(&mut out, waiver);
    }
    out
}

/// A line with its remark.
fn line(out: &mut String, text: &str, origin: &Origin) {
    let _ = writeln!(out, "{text:REMARK$}  # {}", printable_name(&origin.to_string()));
}

/// A line `key = value`; `width` is that of the keys.
fn entry(out: &mut String, width: usize, name: &str, value: &str, origin: &Origin) {
    line(out, &format!("{name:width$} = {value}"), origin);
}

fn list(names: impl Iterator<Item = impl AsRef<str>>) -> String {
    format!("[{}]", names.map(|name| quoted(name.as_ref())).collect::<Vec<_>>().join(", "))
}

/// A quantity, number or date as its file writes it.
fn written<T>(at: &At<T>) -> &str {
    at.origin.written()
}

fn group(out: &mut String, group: &Group) {
    out.push('\n');
    line(out, &format!("[groups.{}]", key(&group.name)), &group.origin);
    if !group.nets.is_empty() {
        out.push_str("nets = [\n");
        for net in &group.nets {
            line(out, &format!("  {},", quoted(&net.value.0)), &net.origin);
        }
        out.push_str("]\n");
    }
    if !group.pairs.is_empty() {
        out.push_str("pairs = [\n");
        for pair in &group.pairs {
            let text = match &pair.value {
                PairPattern::Legs(text) | PairPattern::Proposed(text) => quoted(text),
                PairPattern::Nets(p, n) => list([p, n].into_iter()),
            };
            line(out, &format!("  {text},"), &pair.origin);
        }
        out.push_str("]\n");
    }
    if let Some(origin) = &group.proposed {
        entry(out, 9, "proposed", "true", origin);
    }
    if let Some(impedance) = &group.impedance {
        entry(out, 9, "impedance", written(impedance), &impedance.origin);
    }
    for (name, at) in [("rate", &group.rate), ("current", &group.current)] {
        if let Some(at) = at {
            entry(out, 9, name, written(at), &at.origin);
        }
    }
}

fn rule(out: &mut String, rule: &Rule) {
    out.push('\n');
    line(out, "[[check]]", &rule.origin);
    let width = rule.settings.keys().map(|name| name.len()).max().unwrap_or(0).max("source".len());
    let _ = writeln!(out, "{:width$} = \"{}\"", "use", rule.check);
    if !rule.on.is_empty() {
        let _ = writeln!(out, "{:width$} = {}", "on", list(rule.on.iter().map(|on| &on.value)));
    }
    for (name, at) in [("warn", &rule.warn), ("limit", &rule.limit)] {
        if let Some(at) = at {
            entry(out, width, name, written(at), &at.origin);
        }
    }
    let _ = writeln!(out, "{:width$} = \"{}\"", "level", level_word(rule.level));
    for (name, at) in &rule.settings {
        entry(out, width, name, &setting(at), &at.origin);
    }
    if let Some(source) = &rule.source {
        let _ = writeln!(out, "{:width$} = {}", "source", quoted(&source.value));
    }
}

fn setting(at: &At<Setting>) -> String {
    match &at.value {
        Setting::Quantity(_) => written(at).to_owned(),
        Setting::Switch(on) => on.to_string(),
        Setting::Nets(patterns) => list(patterns.iter().map(|pattern: &At<NetPattern>| &pattern.value.0)),
        Setting::Word(word) => quoted(word),
    }
}

fn stackup(out: &mut String, stackup: &Stackup, several: bool) {
    out.push('\n');
    line(out, if several || !stackup.boards.is_empty() { "[[stackup]]" } else { "[stackup]" }, &stackup.origin);
    if !stackup.boards.is_empty() {
        let _ = writeln!(out, "boards    = {}", list(stackup.boards.iter().map(|board| &board.value)));
    }
    if let Some(roughness) = &stackup.roughness {
        entry(out, 9, "roughness", written(roughness), &roughness.origin);
    }
    if let Some(source) = &stackup.source {
        let _ = writeln!(out, "source    = {}", quoted(&source.value));
    }
    out.push_str("layer = [\n");
    for layer in &stackup.layers {
        let mut parts = vec![format!("{} = {}", layer.kind.word(), quoted(&layer.name.value))];
        parts.extend(layer.thickness.as_ref().map(|at| format!("thickness = {}", written(at))));
        parts.extend(layer.permittivity.as_ref().map(|at| format!("permittivity = {}", written(at))));
        parts.extend(layer.loss_tangent.as_ref().map(|at| format!("loss-tangent = {}", written(at))));
        // Where materials hold is stated for the layer or for all; copper has none.
        let frequency = layer.frequency.as_ref().filter(|_| layer.kind != crate::rules::StackupKind::Copper);
        parts.extend(frequency.map(|at| format!("frequency = {}", written(at))));
        line(out, &format!("  {{ {} }},", parts.join(", ")), &layer.origin);
    }
    out.push_str("]\n");
}

fn waiver(out: &mut String, waiver: &Waiver) {
    out.push('\n');
    line(out, "[[waive]]", &waiver.origin);
    let _ = writeln!(out, "check    = \"{}\"\nplace    = \"{}\"", waiver.check.value, waiver.place.value);
    if let Some(board) = &waiver.board {
        let _ = writeln!(out, "board    = {}", quoted(&board.value));
    }
    if let Some(accepted) = &waiver.accepted {
        let _ = writeln!(out, "accepted = {}", written(accepted));
    }
    let _ = writeln!(out, "reason   = {}", quoted(&waiver.reason.value));
    if let Some(until) = &waiver.until {
        let _ = writeln!(out, "until    = {}", until.value);
    }
}
