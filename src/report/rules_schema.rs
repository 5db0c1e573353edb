//! The JSON schema of rule files, for editors: what `src/rules` reads, check by check, from the checks themselves.

use crate::checks::{ALL, Info};
use crate::rules::ParameterKind;
use crate::units::{Dimension, UNITS};
use serde_json::{Map, Value, json};

/// The schema, for editors that know JSON schemas for TOML.
#[must_use]
pub fn rules_schema() -> String {
    let checks: Vec<Value> = ALL.iter().map(|check| self::check(check.info())).collect();
    let names: Vec<&str> = ALL.iter().map(|check| check.info().schema.name).collect();
    let document = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "throughline rule file",
        "description": "Which nets to look at and what must hold there.",
        "type": "object",
        "properties": {
            "extends": list("Shipped sets (`serial-16g`) and files (`own.toml`) that this one is laid over.", text("A set or a file.")),
            "waivers": list("Files that hold nothing but `[[waive]]`.", text("A file, relative to this one.")),
            "stackup": {
                "description": "What the fab will build; several with `boards` each.",
                "anyOf": [
                    { "$ref": "#/$defs/stackup" },
                    { "type": "array", "items": { "$ref": "#/$defs/stackup" } },
                ],
            },
            "groups": {
                "type": "object",
                "description": "Groups of nets or pairs, by name.",
                "additionalProperties": { "$ref": "#/$defs/group" },
            },
            "check": {
                "type": "array",
                "description": "Checks to hold.",
                "items": { "anyOf": checks },
            },
            "waive": {
                "type": "array",
                "description": "Findings that are accepted.",
                "items": { "$ref": "#/$defs/waiver" },
            },
        },
        "additionalProperties": false,
        "$defs": {
            "group": group(),
            "stackup": stackup(),
            "waiver": waiver(&names),
        },
    });
    format!("{document:#}\n")
}

fn text(description: &str) -> Value {
    json!({ "type": "string", "description": description })
}

fn list(description: &str, items: Value) -> Value {
    json!({ "type": "array", "description": description, "items": items })
}

fn number(description: &str) -> Value {
    json!({ "type": "number", "description": description })
}

/// A quantity: a text with a unit, or a bare count.
fn quantity(description: &str, allowed: &[Dimension]) -> Value {
    let examples: Vec<&str> = allowed.iter().map(|dimension| dimension.example()).collect();
    let units: Vec<&str> =
        UNITS.iter().filter(|unit| allowed.contains(&unit.dimension)).map(|unit| unit.symbol).collect();
    let units = if units.is_empty() { String::new() } else { format!(" Units: {}.", units.join(", ")) };
    let kind = if allowed.contains(&Dimension::Count) { json!(["string", "integer"]) } else { json!("string") };
    json!({ "type": kind, "description": format!("{description}{units}"), "examples": examples })
}

fn group() -> Value {
    json!({
        "type": "object",
        "properties": {
            "nets": list("Net patterns: `*`, `?`, `{a,b}`.", text("A net pattern.")),
            "pairs": list("Pair patterns, whose last list of two marks the legs, and lists of two nets.", json!({
                "anyOf": [
                    text("A pair pattern such as `LANE?_{P,N}`."),
                    list("The nets of leg P and leg N.", text("A net.")),
                ],
            })),
            "proposed": { "type": "boolean", "description": "All pairs that names and copper propose." },
            "impedance": text("The target, with or without tolerance: `85 ohm ±10 %`."),
            "rate": quantity("The symbol rate.", &[Dimension::Rate]),
            "current": quantity("The current that each net carries.", &[Dimension::Current]),
        },
        "additionalProperties": false,
    })
}

fn check(info: &Info) -> Value {
    let schema = info.schema;
    let mut properties = Map::new();
    let mut required = vec!["use"];
    let mut add = |key: &str, value: Value| properties.insert(key.to_owned(), value);
    add("use", json!({ "const": schema.name, "description": info.summary }));
    if schema.groups {
        required.push("on");
        add("on", list("The groups it looks at.", text("A group.")));
    }
    if !schema.limit.is_empty() {
        add("warn", quantity("A value before the limit, beyond which it warns.", schema.limit));
        add("limit", quantity("The value beyond which it fails; exactly at it passes.", schema.limit));
    }
    add("level", json!({ "enum": ["error", "warning", "note", "off"], "description": "How bad a failure is." }));
    add("source", text("Who says so."));
    for parameter in schema.parameters {
        let value = match parameter.kind {
            ParameterKind::Quantity(allowed) => quantity(parameter.about, allowed),
            ParameterKind::Switch => json!({ "type": "boolean", "description": parameter.about }),
            ParameterKind::Nets => list(parameter.about, text("A net pattern.")),
            ParameterKind::Word(words) => json!({ "enum": words, "description": parameter.about }),
        };
        add(parameter.key, value);
    }
    json!({
        "type": "object",
        "description": info.summary,
        "required": required,
        "properties": properties,
        "additionalProperties": false,
    })
}

fn stackup() -> Value {
    json!({
        "type": "object",
        "properties": {
            "boards": list("Patterns over the names of the boards it is for; without it, all.", text("A pattern.")),
            "frequency": quantity("Where permittivity and loss tangent hold; 1 GHz if not stated.", &[Dimension::Frequency]),
            "roughness": quantity("Height of the foils' roughness, peak to valley (Rz).", &[Dimension::Length]),
            "source": text("Who says so."),
            "layer": list("The layers, top to bottom.", json!({
                "type": "object",
                "properties": {
                    "copper": text("A copper layer: its name on the board, or its number from the top (`L1`)."),
                    "core": text("A core's material."),
                    "prepreg": text("A prepreg's material."),
                    "mask": text("A solder mask, above the top or below the bottom copper."),
                    "thickness": quantity("The finished thickness.", &[Dimension::Length]),
                    "permittivity": number("Relative permittivity of a dielectric."),
                    "loss-tangent": number("Loss tangent of a dielectric."),
                    "frequency": quantity("Where the values of this layer hold.", &[Dimension::Frequency]),
                },
                "additionalProperties": false,
            })),
        },
        "additionalProperties": false,
    })
}

fn waiver(checks: &[&str]) -> Value {
    json!({
        "type": "object",
        "required": ["check", "place", "reason"],
        "properties": {
            "check": { "enum": checks, "description": "The check." },
            "place": text("The finding's fingerprint: 8 to 16 digits, 0 to 9 and a to f."),
            "board": text("The board's name."),
            "accepted": quantity("The worst value that is accepted, or `not checked`.", &Dimension::ALL),
            "reason": text("Why."),
            // Dates of TOML are no JSON; editors that check TOML take them for texts.
            "until": { "type": "string", "description": "The last day on which it holds, without quotes: 2027-03-01." },
        },
        "additionalProperties": false,
    })
}
