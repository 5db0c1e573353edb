//! What one file states: its groups and checks, before files are laid over each other.

use super::sheet::{Sheet, Value, choice, did_you_mean, list};
use super::stackup_statement::{StackupStatement, stackups};
use super::{At, CheckSchema, Level, NetPattern, Origin, PairPattern, ParameterKind, Setting};
use super::{Glob, GlobError, Waiver, waiver_statement};
use crate::source::{Fault, SourceFile};
use crate::units::{Dimension, Quantity, Target};
use std::collections::BTreeMap;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a file states of a group.
#[derive(Debug, Clone)]
pub(super) struct GroupStatement {
    pub name: String,
    pub origin: Origin,
    pub nets: Option<Vec<At<NetPattern>>>,
    pub pairs: Option<Vec<At<PairPattern>>>,
    pub proposed: Option<At<bool>>,
    pub rate: Option<At<Quantity>>,
    pub impedance: Option<At<Target>>,
    pub current: Option<At<Quantity>>,
    /// A value of it is at fault, so that what it lacks says nothing.
    pub faulty: bool,
}

/// What a file states of a check.
#[derive(Debug, Clone)]
pub(super) struct CheckStatement {
    pub schema: CheckSchema,
    pub origin: Origin,
    /// Where its name stands.
    pub name: Origin,
    pub on: Vec<At<String>>,
    pub warn: Option<At<Quantity>>,
    pub limit: Option<At<Quantity>>,
    /// `None` inside for "off".
    pub level: Option<At<Option<Level>>>,
    pub source: Option<At<String>>,
    pub settings: BTreeMap<&'static str, At<Setting>>,
    /// A value of it is at fault, so that what it lacks says nothing.
    pub faulty: bool,
}

/// What a file states.
#[derive(Debug, Clone)]
pub(super) struct Statements {
    pub file: Arc<SourceFile>,
    pub extends: Vec<At<String>>,
    pub groups: Vec<GroupStatement>,
    pub checks: Vec<CheckStatement>,
    pub stackups: Vec<StackupStatement>,
    pub waivers: Vec<Waiver>,
    /// Files of waivers, as this file names them.
    pub waiver_files: Vec<At<String>>,
    pub faults: Vec<Fault>,
    /// The file could not be read whole: what it lacks says nothing.
    pub partial: bool,
}

const FILE_KEYS: &[&str] = &["extends", "stackup", "groups", "check", "waive", "waivers"];
const GROUP_KEYS: &[&str] = &["nets", "pairs", "proposed", "impedance", "rate", "current"];
const CHECK_KEYS: &[&str] = &["use", "on", "warn", "limit", "level", "source"];
const LEVELS: &[(&str, Option<Level>)] =
    &[("error", Some(Level::Error)), ("warning", Some(Level::Warning)), ("note", Some(Level::Note)), ("off", None)];

/// Reads one file.
pub(super) fn read(file: &Arc<SourceFile>, schemas: &[CheckSchema]) -> Statements {
    let (mut sheet, root) = Sheet::parse(file);
    let syntax = sheet.faults.len();
    let mut extends = Vec::new();
    let mut groups = Vec::new();
    let mut checks = Vec::new();
    let mut stated = Vec::new();
    let (mut waivers, mut waiver_files) = (Vec::new(), Vec::new());
    let partial = syntax > 0;
    for (key, value) in in_file_order(&root) {
        match key.get_ref().as_ref() {
            "extends" => {
                let expected = "a list of shipped sets or files: `[\"serial-16g\"]`";
                extends = sheet.texts("extends", value, expected).unwrap_or_default();
            }
            "stackup" => stated = stackups(&mut sheet, key, value),
            "groups" => {
                let Some(table) = sheet.table("groups", value, "tables such as `[groups.lanes]`") else { continue };
                for (name, value) in in_file_order(table) {
                    groups.extend(group(&mut sheet, name, value));
                }
            }
            "check" => {
                for value in sheet.list("check", value, "a list of tables: `[[check]]`").unwrap_or_default() {
                    checks.extend(check(&mut sheet, value, schemas));
                }
            }
            "waive" => waivers = waiver_statement::waivers(&mut sheet, value, schemas),
            "waivers" => {
                let expected = "a list of files of waivers: `[\"waivers.toml\"]`";
                waiver_files = sheet.texts("waivers", value, expected).unwrap_or_default();
            }
            _ => sheet.unknown_key("a rule file", key, FILE_KEYS),
        }
    }
    let faults = sheet.into_faults(syntax);
    let file = Arc::clone(file);
    Statements { file, extends, groups, checks, stackups: stated, waivers, waiver_files, faults, partial }
}

/// The entries of a table as they stand in the file.
pub(super) fn in_file_order<'t, 'i>(
    table: &'t DeTable<'i>,
) -> Vec<(&'t Spanned<std::borrow::Cow<'i, str>>, &'t Value<'i>)> {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

fn group(
    sheet: &mut Sheet<'_>,
    name: &Spanned<std::borrow::Cow<'_, str>>,
    value: &Value<'_>,
) -> Option<GroupStatement> {
    let before = sheet.faults.len();
    let table = sheet.table(name.get_ref(), value, "a table such as `[groups.lanes]`")?;
    let mut group = GroupStatement {
        name: name.get_ref().to_string(),
        origin: sheet.origin(name.span()),
        nets: None,
        pairs: None,
        proposed: None,
        rate: None,
        impedance: None,
        current: None,
        faulty: false,
    };
    for (key, value) in in_file_order(table) {
        match key.get_ref().as_ref() {
            "nets" => group.nets = nets(sheet, "nets", value),
            "pairs" => group.pairs = pairs(sheet, value),
            "proposed" => group.proposed = sheet.switch("proposed", value),
            "impedance" => group.impedance = sheet.target("impedance", value, Dimension::Impedance),
            "rate" => group.rate = sheet.quantity("rate", value, &[Dimension::Rate]),
            "current" => group.current = sheet.quantity("current", value, &[Dimension::Current]),
            _ => sheet.unknown_key("a group", key, GROUP_KEYS),
        }
    }
    group.faulty = sheet.faults.len() > before;
    Some(group)
}

/// A list of net patterns.
fn nets(sheet: &mut Sheet<'_>, key: &str, value: &Value<'_>) -> Option<Vec<At<NetPattern>>> {
    let values = sheet.list(key, value, "a list of net patterns: `[\"GND\", \"V*\"]`")?;
    let mut patterns = Vec::new();
    for value in values {
        let Some(text) = sheet.text(key, value, "a net pattern such as `\"V*\"`") else { continue };
        match Glob::parse(&text.value) {
            Ok(_) => patterns.push(At { value: NetPattern(text.value), origin: text.origin }),
            Err(error) => bad_pattern(sheet, value, &error),
        }
    }
    Some(patterns)
}

/// A list of pair patterns and of pairs of names.
fn pairs(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<Vec<At<PairPattern>>> {
    let values = sheet.list("pairs", value, "a list of pair patterns: `[\"LANE?_{P,N}\"]`")?;
    let mut patterns = Vec::new();
    for value in values {
        let pattern = if let DeValue::Array(legs) = value.get_ref() {
            let [p, n] = legs.get(..).unwrap_or_default() else {
                let message = format!("{} instead of two names", legs.len());
                sheet.fault(
                    value.span(),
                    message,
                    "expected the nets of leg P and leg N: `[\"CK_P\", \"CK_N\"]`",
                    None,
                );
                continue;
            };
            let p = sheet.text("pairs", p, "the net of leg P");
            let n = sheet.text("pairs", n, "the net of leg N");
            let (Some(p), Some(n)) = (p, n) else { continue };
            if p.value == n.value {
                sheet.fault(value.span(), "both legs are the same net", "expected two nets", None);
                continue;
            }
            PairPattern::Nets(p.value, n.value)
        } else {
            let Some(text) = sheet.text("pairs", value, "a pair pattern such as `\"LANE?_{P,N}\"`") else { continue };
            match PairPattern::parse(&text.value) {
                Ok(pattern) => pattern,
                Err(error) => {
                    bad_pattern(sheet, value, &error);
                    continue;
                }
            }
        };
        patterns.push(At { value: pattern, origin: sheet.origin(value.span()) });
    }
    Some(patterns)
}

fn bad_pattern(sheet: &mut Sheet<'_>, value: &Value<'_>, error: &GlobError) {
    let at = sheet.inside(value, error.range.clone());
    sheet.fault(at, error.message, "this pattern can't be used", Some(error.help.to_owned()));
}

fn check(sheet: &mut Sheet<'_>, value: &Value<'_>, schemas: &[CheckSchema]) -> Option<CheckStatement> {
    let before = sheet.faults.len();
    let table = sheet.table("check", value, "tables such as `[[check]]`")?;
    let Some((_, name)) = table.iter().find(|(key, _)| key.get_ref() == "use") else {
        let known: Vec<&str> = schemas.iter().map(|schema| schema.name).collect();
        let help = format!("checks are {}", list(&known));
        sheet.fault(value.span(), "no check is named", "expected `use = \"…\"` below", Some(help));
        return None;
    };
    let text = sheet.text("use", name, "the name of a check")?;
    let Some(schema) = schemas.iter().find(|schema| schema.name == text.value) else {
        let known: Vec<&str> = schemas.iter().map(|schema| schema.name).collect();
        let help =
            did_you_mean(&text.value, known.iter().copied()).unwrap_or_else(|| format!("checks are {}", list(&known)));
        sheet.fault(name.span(), format!("unknown check `{}`", text.value), "not a check", Some(help));
        return None;
    };
    let mut statement = CheckStatement {
        schema: *schema,
        origin: sheet.origin(value.span()),
        name: text.origin,
        on: Vec::new(),
        warn: None,
        limit: None,
        level: None,
        source: None,
        settings: BTreeMap::new(),
        faulty: false,
    };
    for (key, value) in in_file_order(table) {
        entry(sheet, &mut statement, key, value);
    }
    let stated = table.iter().any(|(key, _)| key.get_ref() == "on");
    if schema.groups && !stated {
        let label = format!("`{}` needs `on`, the groups to look at", schema.name);
        sheet.fault(
            name.span(),
            "no groups are named",
            label,
            Some("add a line such as `on = [\"lanes\"]`".to_owned()),
        );
    }
    statement.faulty = sheet.faults.len() > before;
    Some(statement)
}

/// One key of a check.
fn entry(
    sheet: &mut Sheet<'_>,
    statement: &mut CheckStatement,
    key: &Spanned<std::borrow::Cow<'_, str>>,
    value: &Value<'_>,
) {
    let schema = statement.schema;
    match key.get_ref().as_ref() {
        "use" => {}
        "on" if !schema.groups => {
            let message = format!("`{}` looks at the whole board", schema.name);
            sheet.fault(key.span(), message, "expected no `on` here", None);
        }
        "on" => {
            let Some(names) = sheet.texts("on", value, "a list of groups: `[\"lanes\"]`") else { return };
            if names.is_empty() {
                sheet.fault(value.span(), "no groups are named", "expected at least one", None);
            }
            for (at, name) in names.iter().enumerate() {
                if names.iter().take(at).any(|other| other.value == name.value) {
                    let (start, end) = (name.origin.span.start as usize, name.origin.span.end as usize);
                    sheet.fault(start..end, format!("`{}` is named twice", name.value), "expected once", None);
                }
            }
            statement.on = names;
        }
        "warn" | "limit" if schema.limit.is_empty() => {
            let message = format!("`{}` has no `{}`", schema.name, key.get_ref());
            sheet.fault(key.span(), message, "expected no limit: what it looks for is never right", None);
        }
        "warn" => statement.warn = sheet.quantity("warn", value, schema.limit),
        "limit" => statement.limit = sheet.quantity("limit", value, schema.limit),
        "level" => {
            let words: Vec<&str> = LEVELS.iter().map(|(word, _)| *word).collect();
            let Some(word) = word(sheet, "level", value, &words) else { return };
            let level = LEVELS.iter().find(|(name, _)| *name == word.value).and_then(|(_, level)| *level);
            statement.level = Some(At { value: level, origin: word.origin });
        }
        "source" => {
            statement.source = sheet.text("source", value, "who says so: a published source, or common practice")
        }
        other => {
            let Some(parameter) = schema.parameters.iter().find(|parameter| parameter.key == other) else {
                let own = schema.parameters.iter().map(|parameter| parameter.key);
                let known: Vec<&str> = CHECK_KEYS.iter().copied().chain(own).collect();
                sheet.unknown_key(&format!("`{}`", schema.name), key, &known);
                return;
            };
            let setting = match parameter.kind {
                ParameterKind::Quantity(allowed) => {
                    sheet.quantity(other, value, allowed).map(|at| map(at, Setting::Quantity))
                }
                ParameterKind::Switch => sheet.switch(other, value).map(|at| map(at, Setting::Switch)),
                ParameterKind::Nets => nets(sheet, other, value)
                    .map(|patterns| At { value: Setting::Nets(patterns), origin: sheet.origin(value.span()) }),
                ParameterKind::Word(words) => word(sheet, other, value, words).map(|at| map(at, Setting::Word)),
            };
            if let Some(setting) = setting {
                statement.settings.insert(parameter.key, setting);
            }
        }
    }
}

/// One of a few words.
fn word(sheet: &mut Sheet<'_>, key: &str, value: &Value<'_>, words: &[&str]) -> Option<At<String>> {
    let expected = choice(words);
    let text = sheet.text(key, value, &expected)?;
    if words.contains(&text.value.as_str()) {
        return Some(text);
    }
    let help = did_you_mean(&text.value, words.iter().copied());
    sheet.fault(value.span(), format!("`{}` is no {key}", text.value), format!("expected {expected}"), help);
    None
}

fn map<T, U>(at: At<T>, f: impl FnOnce(T) -> U) -> At<U> {
    At { value: f(at.value), origin: at.origin }
}
