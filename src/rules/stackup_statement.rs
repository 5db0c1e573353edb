//! What one file states of a stackup: the table `[stackup]`, or several, each for some boards.

use super::sheet::{Sheet, Value};
use super::statement::in_file_order;
use super::{At, Glob, Origin, StackupKind, StackupLayer};
use crate::units::{Dimension, Length, Quantity};
use std::borrow::Cow;
use std::num::FpCategory;
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a file states of a stackup.
#[derive(Debug, Clone)]
pub(super) struct StackupStatement {
    pub origin: Origin,
    pub boards: Vec<At<String>>,
    /// `None` if the file states none, so that it only changes what another file states.
    pub layers: Option<Vec<StackupLayer>>,
    pub frequency: Option<At<Quantity>>,
    pub roughness: Option<At<Length>>,
    pub source: Option<At<String>>,
    /// A value of it is at fault, so that what it lacks says nothing.
    pub faulty: bool,
}

const STACKUP_KEYS: &[&str] = &["boards", "layer", "frequency", "roughness", "source"];
const COPPER_KEYS: &[&str] = &["copper", "thickness"];
const DIELECTRIC_KEYS: &[&str] = &["thickness", "permittivity", "loss-tangent", "frequency"];

/// Beyond these a unit or a comma was mistaken, not a layer made.
const THICKEST: [(StackupKind, Length); 4] = [
    (StackupKind::Copper, Length::mm(0.5)),
    (StackupKind::Core, Length::mm(10.0)),
    (StackupKind::Prepreg, Length::mm(10.0)),
    (StackupKind::Mask, Length::mm(0.2)),
];
/// The roughest foils have some 10 um.
const ROUGHEST: Length = Length::mm(0.05);
/// Laminates have 2 to 12; the rest leaves room for ceramics.
const PERMITTIVITY: RangeInclusive<f64> = 1.0..=100.0;
const LOSS_TANGENT: RangeInclusive<f64> = 1e-6..=0.5;

type Key<'t, 'i> = &'t Spanned<Cow<'i, str>>;

/// Reads the value of `stackup`: one table, or a list of tables.
pub(super) fn stackups(sheet: &mut Sheet<'_>, key: Key<'_, '_>, value: &Value<'_>) -> Vec<StackupStatement> {
    match value.get_ref() {
        DeValue::Table(table) => vec![stackup(sheet, sheet.origin(key.span()), table)],
        DeValue::Array(values) => values
            .iter()
            .filter_map(|value| {
                let table = sheet.table("stackup", value, "tables such as `[[stackup]]`")?;
                Some(stackup(sheet, sheet.origin(value.span()), table))
            })
            .collect(),
        _ => {
            sheet.wrong_kind("stackup", value, "a table `[stackup]`");
            Vec::new()
        }
    }
}

fn stackup(sheet: &mut Sheet<'_>, origin: Origin, table: &DeTable<'_>) -> StackupStatement {
    let before = sheet.faults.len();
    let mut stackup = StackupStatement {
        origin,
        boards: Vec::new(),
        layers: None,
        frequency: None,
        roughness: None,
        source: None,
        faulty: false,
    };
    for (key, value) in in_file_order(table) {
        match key.get_ref().as_ref() {
            "boards" => stackup.boards = boards(sheet, value),
            "layer" => stackup.layers = layers(sheet, value),
            "frequency" => stackup.frequency = frequency(sheet, value),
            "roughness" => stackup.roughness = length(sheet, "roughness", value, ROUGHEST),
            "source" => stackup.source = sheet.text("source", value, "who says so: the fab's sheet, with its date"),
            _ => sheet.unknown_key("a stackup", key, STACKUP_KEYS),
        }
    }
    stackup.faulty = sheet.faults.len() > before;
    stackup
}

/// A list of patterns over names of boards.
fn boards(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Vec<At<String>> {
    let Some(values) = sheet.list("boards", value, "a list of boards: `[\"base\"]`") else { return Vec::new() };
    if values.is_empty() {
        sheet.fault(
            value.span(),
            "no boards are named",
            "expected at least one; without this line it is for all",
            None,
        );
    }
    let mut patterns = Vec::new();
    for value in values {
        let Some(text) = sheet.text("boards", value, "the name of a board such as `\"base\"`") else { continue };
        match Glob::parse(&text.value) {
            Ok(_) => patterns.push(text),
            Err(error) => {
                let at = sheet.inside(value, error.range.clone());
                sheet.fault(at, error.message, "this pattern can't be used", Some(error.help.to_owned()));
            }
        }
    }
    patterns
}

fn layers(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<Vec<StackupLayer>> {
    let values = sheet.list("layer", value, "a list of tables: `[[stackup.layer]]`")?;
    Some(values.iter().filter_map(|value| layer(sheet, value)).collect())
}

/// One layer. Its kind is the key that names it.
fn layer(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<StackupLayer> {
    let before = sheet.faults.len();
    let table = sheet.table("layer", value, "tables such as `[[stackup.layer]]`")?;
    let entries = in_file_order(table);
    let Some((kind, name)) = kind(sheet, &entries) else {
        unknown_keys(sheet, &entries);
        // A misspelt kind is told already.
        if sheet.faults.len() == before {
            let label = "expected `copper`, `core`, `prepreg` or `mask` with a name";
            let help = "such as `copper = \"F.Cu\"` or `core = \"2 x 2116\"`".to_owned();
            sheet.fault(value.span(), "a layer of no kind", label, Some(help));
        }
        return None;
    };
    let name = sheet.text(kind.word(), name, what_is_named(kind));
    let mut layer = StackupLayer {
        kind,
        name: At { value: String::new(), origin: sheet.origin(value.span()) },
        thickness: None,
        permittivity: None,
        loss_tangent: None,
        frequency: None,
        origin: sheet.origin(value.span()),
    };
    for (key, value) in &entries {
        entry(sheet, &mut layer, key, value);
    }
    let named = name.as_ref().map_or_else(|| format!("this {}", kind.word()), |name| format!("`{}`", name.value));
    let at = name.as_ref().map_or(value.span(), |name| range(&name.origin));
    let stated = |key: &str| entries.iter().any(|(stated, _)| stated.get_ref() == key);
    for (key, example) in needed(kind) {
        if !stated(key) {
            let label = format!("expected `{key}` for it, such as `{key} = {example}`");
            sheet.fault(at.clone(), format!("{named} has no {key}"), label, None);
        }
    }
    layer.name = name?;
    Some(layer)
}

/// The key that says what a layer is; a second one is a fault.
fn kind<'t, 'i>(
    sheet: &mut Sheet<'_>,
    entries: &[(Key<'t, 'i>, &'t Value<'i>)],
) -> Option<(StackupKind, &'t Value<'i>)> {
    let of = |key: &str| StackupKind::ALL.into_iter().find(|kind| kind.word() == key);
    let mut kinds = entries.iter().filter_map(|(key, value)| Some((of(key.get_ref())?, *key, *value)));
    let (kind, _, value) = kinds.next()?;
    for (_, key, _) in kinds {
        let message = format!("a layer that is `{}` and `{}`", kind.word(), key.get_ref());
        sheet.fault(key.span(), message, "expected one kind for each `[[stackup.layer]]`", None);
    }
    Some((kind, value))
}

/// Notes the keys that no layer has.
fn unknown_keys(sheet: &mut Sheet<'_>, entries: &[(Key<'_, '_>, &Value<'_>)]) {
    let kinds = StackupKind::ALL.map(StackupKind::word);
    let known: Vec<&str> = kinds.iter().chain(DIELECTRIC_KEYS).copied().collect();
    for (key, _) in entries.iter().filter(|(key, _)| !known.contains(&key.get_ref().as_ref())) {
        sheet.unknown_key("a layer", key, &known);
    }
}

fn entry(sheet: &mut Sheet<'_>, layer: &mut StackupLayer, key: Key<'_, '_>, value: &Value<'_>) {
    let kind = layer.kind;
    let known: Vec<&str> = match kind {
        StackupKind::Copper => COPPER_KEYS.to_vec(),
        _ => [kind.word()].iter().chain(DIELECTRIC_KEYS).copied().collect(),
    };
    let name = key.get_ref().as_ref();
    if !known.contains(&name) {
        if StackupKind::ALL.iter().all(|kind| kind.word() != name) {
            sheet.unknown_key(&format!("a layer of {}", kind.word()), key, &known);
        }
        return;
    }
    let most = THICKEST.iter().find(|(of, _)| *of == kind).map_or(Length::ZERO, |(_, most)| *most);
    match name {
        "thickness" => layer.thickness = length(sheet, name, value, most),
        "permittivity" => layer.permittivity = sheet.number(name, value, "4.1", &PERMITTIVITY),
        "loss-tangent" => layer.loss_tangent = loss_tangent(sheet, value),
        "frequency" => layer.frequency = frequency(sheet, value),
        _ => {}
    }
}

/// What a layer of a kind can't be without, with an example.
const fn needed(kind: StackupKind) -> &'static [(&'static str, &'static str)] {
    match kind {
        StackupKind::Copper => &[("thickness", "\"35 um\"")],
        StackupKind::Core | StackupKind::Prepreg => &[("thickness", "\"0.1 mm\""), ("permittivity", "4.1")],
        StackupKind::Mask => &[],
    }
}

const fn what_is_named(kind: StackupKind) -> &'static str {
    match kind {
        StackupKind::Copper => "the copper layer's name on the board such as `F.Cu`, or its number from the top: `L1`",
        StackupKind::Core | StackupKind::Prepreg => "the material or its construction, such as `2 x 2116`",
        StackupKind::Mask => "the mask's name or colour, such as `green`",
    }
}

/// A loss tangent. Zero stands in files for one that nobody entered, and would make a lossless board.
fn loss_tangent(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<At<f64>> {
    let zero = match value.get_ref() {
        DeValue::Integer(number) => is_zero(number.as_str()),
        DeValue::Float(number) => is_zero(number.as_str()),
        _ => false,
    };
    if zero {
        let help = "leave the line out if the sheet does not state it: losses are then not computed".to_owned();
        sheet.fault(value.span(), "`loss-tangent` is zero", "expected more than zero", Some(help));
        return None;
    }
    sheet.number("loss-tangent", value, "0.02", &LOSS_TANGENT)
}

fn is_zero(number: &str) -> bool {
    number.parse::<f64>().is_ok_and(|number| number.classify() == FpCategory::Zero)
}

fn frequency(sheet: &mut Sheet<'_>, value: &Value<'_>) -> Option<At<Quantity>> {
    let at = sheet.quantity("frequency", value, &[Dimension::Frequency])?;
    // Data sheets state values from 1 MHz up; the model of materials ends at 1 THz.
    if !(1e6..=1e11).contains(&at.value.base()) {
        sheet.fault(value.span(), format!("a frequency of {}", at.value), "expected 1 MHz to 100 GHz", None);
        return None;
    }
    Some(at)
}

/// A length above zero and no more than `most`.
fn length(sheet: &mut Sheet<'_>, key: &str, value: &Value<'_>, most: Length) -> Option<At<Length>> {
    if let DeValue::String(text) = value.get_ref()
        && text.trim_end().ends_with("oz")
    {
        let help = "1 oz of foil is about 35 um, less what is etched, more what is plated".to_owned();
        sheet.fault(value.span(), format!("`{key}` is a weight"), "expected the finished thickness", Some(help));
        return None;
    }
    let at = sheet.quantity(key, value, &[Dimension::Length])?;
    let length = at.value.length()?;
    if length <= Length::ZERO || length > most {
        let message = format!("`{key}` is {}", at.origin.written().trim_matches(['"', '\'']));
        sheet.fault(value.span(), message, format!("expected more than 0 and no more than {most}"), None);
        return None;
    }
    Some(At { value: length, origin: at.origin })
}

fn range(origin: &Origin) -> std::ops::Range<usize> {
    origin.span.start as usize..origin.span.end as usize
}

/// What is wrong with the order of a whole stackup: the layer, the fact, what was expected.
pub(super) fn misplaced(layers: &[StackupLayer]) -> Vec<(&StackupLayer, String, String)> {
    let mut faults = Vec::new();
    let coppers: Vec<usize> =
        layers.iter().enumerate().filter(|(_, layer)| layer.kind == StackupKind::Copper).map(|(at, _)| at).collect();
    let (Some(&top), Some(&bottom)) = (coppers.first(), coppers.last()) else { return faults };
    let mut above: Option<&StackupLayer> = None;
    let mut sheets = 0;
    for (at, layer) in layers.iter().enumerate() {
        let inside = (top..=bottom).contains(&at);
        let name = &layer.name.value;
        match layer.kind {
            StackupKind::Mask if inside => {
                let expected = "expected only above the top copper or below the bottom copper".to_owned();
                faults.push((layer, format!("the mask `{name}` lies inside the stackup"), expected));
            }
            StackupKind::Mask if at != 0 && at + 1 != layers.len() => {
                let label = "expected one on each side, as the first and the last layer".to_owned();
                faults.push((layer, format!("the mask `{name}` is not the outermost layer"), label));
            }
            StackupKind::Core | StackupKind::Prepreg if !inside => {
                let side = if at < top { "above the top" } else { "below the bottom" };
                let label = "expected copper or a mask here".to_owned();
                faults.push((layer, format!("the {} `{name}` lies {side} copper", layer.kind.word()), label));
            }
            StackupKind::Core | StackupKind::Prepreg => sheets += 1,
            StackupKind::Copper => {
                if let Some(above) = above.filter(|_| sheets == 0) {
                    let message = format!("no dielectric lies between `{}` and `{name}`", above.name.value);
                    faults.push((layer, message, "expected `core` or `prepreg` above it".to_owned()));
                }
                let twice = |other: &usize| layers.get(*other).is_some_and(|other| other.name == layer.name);
                if coppers.iter().take_while(|&&other| other < at).any(twice) {
                    faults.push((layer, format!("`{name}` is stated twice"), "expected each layer once".to_owned()));
                }
                (above, sheets) = (Some(layer), 0);
            }
            StackupKind::Mask => {}
        }
    }
    if coppers.len() < 2
        && let Some(layer) = layers.get(top)
    {
        faults.push((layer, "a stackup of one copper layer".to_owned(), "expected at least two".to_owned()));
    }
    faults
}
