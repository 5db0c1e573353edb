//! What the tests of rule sets share: checks with schemas of their own, rule files in memory, faults as text.

use std::collections::BTreeMap;
use std::sync::Arc;
use throughline::rules::{CheckSchema, Level, Parameter, ParameterKind, RuleSet, read};
use throughline::source::{Fault, SourceFile};
use throughline::units::Dimension;

const fn schema(name: &'static str, groups: bool, limit: &'static [Dimension]) -> CheckSchema {
    CheckSchema { name, limit, tolerance: false, level: Level::Error, groups, parameters: &[] }
}

/// Checks as the tests need them; names as in the shipped sets.
pub const SCHEMAS: &[CheckSchema] = &[
    schema("net-open", false, &[]),
    schema("net-short", false, &[]),
    schema("stale-fill", false, &[]),
    schema("stackup-missing", false, &[]),
    CheckSchema {
        parameters: &[Parameter {
            key: "per",
            kind: ParameterKind::Word(&["group", "link"]),
            about: "what is matched with each other",
        }],
        ..schema("length-match", true, &[Dimension::Length, Dimension::Time])
    },
    CheckSchema {
        parameters: &[Parameter {
            key: "peak",
            kind: ParameterKind::Quantity(&[Dimension::Length]),
            about: "greatest running mismatch",
        }],
        ..schema("pair-skew", true, &[Dimension::Length, Dimension::Time])
    },
    CheckSchema {
        name: "plane-gap",
        limit: &[Dimension::Length],
        tolerance: false,
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "margin",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "how far beyond the copper to look",
            },
            Parameter {
                key: "breakout",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length at each end that is not looked at",
            },
            Parameter { key: "reference", kind: ParameterKind::Nets, about: "nets that may be a reference" },
            Parameter { key: "both", kind: ParameterKind::Switch, about: "whether both sides must be covered" },
            Parameter { key: "side", kind: ParameterKind::Word(&["nearest", "above", "below"]), about: "which side" },
        ],
    },
    schema("via-stub", true, &[Dimension::Length]),
    schema("pad-neck", true, &[Dimension::Length]),
    schema("via-count", true, &[Dimension::Count]),
];

/// What the program's own checks accept.
pub fn own_schemas() -> Vec<CheckSchema> {
    throughline::checks::ALL.iter().map(|check| check.info().schema).collect()
}

/// The checks of the tests, and those that only shipped sets ask for.
pub fn all_schemas() -> Vec<CheckSchema> {
    let more = own_schemas().into_iter().filter(|own| SCHEMAS.iter().all(|schema| schema.name != own.name));
    SCHEMAS.iter().copied().chain(more).collect()
}

/// A rule file in memory.
pub fn file(name: &str, text: &str) -> Arc<SourceFile> {
    Arc::new(SourceFile::new(name, text))
}

/// Reads the first of these files, which may extend the others.
pub fn read_files(files: &[(&str, &str)]) -> Result<RuleSet, Vec<Fault>> {
    let known: BTreeMap<&str, &str> = files.iter().copied().collect();
    let mut load = |name: &str| known.get(name).map(|text| file(name, text)).ok_or_else(|| "no such file".to_owned());
    // A list of checks in a fault stays the tests' own, whatever checks are added.
    let shipped = files.iter().any(|(_, text)| text.contains("extends") && text.contains("serial-"));
    let schemas = if shipped { all_schemas() } else { SCHEMAS.to_vec() };
    read(file(files[0].0, files[0].1), &schemas, &mut load)
}

/// Reads one file that extends only shipped sets.
pub fn read_text(text: &str) -> Result<RuleSet, Vec<Fault>> {
    read_files(&[("rules.toml", text)])
}

/// A fault as people would see it: place, message, the marked text with its label, help.
pub fn show(fault: &Fault) -> String {
    let at = fault.file.line_column(fault.span.start);
    let marked = fault.file.slice(fault.span).replace('\n', "⏎");
    let mut text = format!("{}:{}:{}: {}", fault.file.name(), at.line, at.column, fault.message);
    text.push_str(&format!("\n    {marked} <- {}", fault.label));
    if let Some(help) = &fault.help {
        text.push_str(&format!("\n    help: {help}"));
    }
    text
}

/// All faults of a file that must have some.
pub fn faults(text: &str) -> String {
    show_all(&read_text(text).expect_err("the file has faults"))
}

/// All faults, each on its own lines.
pub fn show_all(faults: &[Fault]) -> String {
    faults.iter().map(show).collect::<Vec<_>>().join("\n")
}
