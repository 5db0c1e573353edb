//! The stackup in the draft of a rule file: what the board file itself has, as comments to be filled in.

use super::draft::comment;
use super::run::counted;
use crate::board::stackup::DielectricKind;
use crate::board::{Board, StackupEntry};
use crate::rules::quoted;
use crate::units::{Length, decimal};
use std::fmt::Write;

/// Says what is there and whether it looks real, and shows how the fab's sheet would be stated.
pub fn show(out: &mut String, board: &Board) {
    let coppers: Vec<&str> = board.layers.ids().map(|layer| board.layers.name(layer)).collect();
    let thickness =
        board.thickness.map_or_else(String::new, |thickness| format!(", {thickness} thick by its own word"));
    let seen = match &board.stackup {
        None => "The board file has no stackup: whatever needs a height or a material is answered `not checked`.".to_owned(),
        Some(own) if own.looks_like_placeholder() => {
            "The board file has a stackup that looks as if nobody had entered it: all its dielectrics are alike. What rests \
             on it is worth no more than that."
                .to_owned()
        }
        Some(own) => {
            let total = own.total().map_or_else(|| "without all thicknesses".to_owned(), |total| format!("{total} in all"));
            format!("The board file has a stackup of its own, {total}, which looks as if somebody had entered it.")
        }
    };
    let layers = counted(u64::try_from(coppers.len()).unwrap_or(u64::MAX), "copper layer");
    comment(
        out,
        &format!(
            "{layers}{thickness}. {seen} What the fab will build counts: state its sheet here, and it wins over the file. The \
         lines below say what the board file has; `?` is what it lacks."
        ),
    );
    out.push_str("#\n# [stackup]\n# source = \"the fab's sheet of …\"\n# layer = [\n");
    let length = |value: Option<Length>| value.map_or_else(|| "\"?\"".to_owned(), |value| format!("\"{value:.4}\""));
    let own = board.stackup.as_ref().map(|own| own.entries.as_slice()).unwrap_or_default();
    if own.is_empty() {
        for (at, copper) in coppers.iter().enumerate() {
            if at > 0 {
                out.push_str("#   { prepreg = \"?\", thickness = \"?\", permittivity = ? },\n");
            }
            let _ = writeln!(out, "#   {{ copper = {}, thickness = \"?\" }},", quoted(copper));
        }
    }
    for entry in own {
        let _ = match entry {
            StackupEntry::Copper { layer, thickness, .. } => {
                let name = quoted(board.layers.name(*layer));
                writeln!(out, "#   {{ copper = {name}, thickness = {} }},", length(*thickness))
            }
            StackupEntry::Dielectric { kind, thickness, permittivity, loss_tangent, material, name, .. } => {
                let word = match kind {
                    DielectricKind::Core => "core",
                    DielectricKind::Prepreg => "prepreg",
                    DielectricKind::Mask => "mask",
                };
                let name = quoted(if material.is_empty() { name } else { material });
                let permittivity = match (permittivity, kind) {
                    (Some(value), _) => format!(", permittivity = {}", decimal(*value, 4)),
                    // A mask may lack it.
                    (None, DielectricKind::Mask) => String::new(),
                    (None, _) => ", permittivity = ?".to_owned(),
                };
                let loss =
                    loss_tangent.map_or_else(String::new, |value| format!(", loss-tangent = {}", decimal(value, 5)));
                let thickness = length(*thickness);
                writeln!(out, "#   {{ {word} = {name}, thickness = {thickness}{permittivity}{loss} }},")
            }
        };
    }
    out.push_str("# ]\n\n");
}
