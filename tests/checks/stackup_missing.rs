//! `stackup-missing`: missing, incomplete, made-up and contradicting stackups.

use crate::guard_rules::{clean, run, run_on, said};
use crate::support::Generation;
use std::sync::Arc;
use throughline::board::{Board, read};
use throughline::source::SourceFile;

/// The clean board with something changed in its text.
fn edited(from: &str, to: &str) -> Board {
    let text = clean().text(Generation::V8);
    let changed = text.replacen(from, to, 1);
    assert_ne!(text, changed, "{from} is not in the file");
    read("clean", Arc::new(SourceFile::new("clean.kicad_pcb", changed))).unwrap()
}

#[test]
fn a_board_without_stackup_is_a_finding_at_its_layers() {
    let mut drawn = clean();
    drawn.stack = drawn.stack.unstated();
    let verdicts = run("stackup-missing", &drawn);
    assert_eq!(said(&verdicts), ["error board clean: the board file has no stackup"]);
    assert!(verdicts[0].place.is_some() && verdicts[0].help.is_some());
}

/// Formats before 2020 can't state one.
#[test]
fn old_formats_have_none() {
    let text = clean().text(Generation::V5);
    let board = read("clean", Arc::new(SourceFile::new("clean.kicad_pcb", text))).unwrap();
    assert_eq!(said(&run_on("stackup-missing", &board)), ["error board clean: the board file has no stackup"]);
}

#[test]
fn a_foil_without_thickness() {
    let text = clean().text(Generation::V8);
    let foil = text.split("(layer \"In1.Cu\"").nth(1).unwrap();
    let thickness = foil.split("(thickness").nth(1).unwrap().split(')').next().unwrap();
    let whole = format!("(layer \"In1.Cu\"{}(thickness{thickness})", foil.split("(thickness").next().unwrap());
    let without = format!("(layer \"In1.Cu\"{}", foil.split("(thickness").next().unwrap());
    let said = said(&run_on("stackup-missing", &edited(&whole, &without)));
    assert_eq!(said, ["error layer In1.Cu: the foil `In1.Cu` has no thickness"]);
}

#[test]
fn a_dielectric_without_permittivity() {
    let text = clean().text(Generation::V8);
    let (before, after) = text.split_once("(epsilon_r").unwrap();
    // The first permittivity of the file is the upper mask's, which is not asked for; the second is the first sheet's.
    let (between, sheet) = after.split_once("(epsilon_r").unwrap();
    let (_, rest) = sheet.split_once(')').unwrap();
    let changed = [before, "(epsilon_r", between, rest].concat();
    let board = read("clean", Arc::new(SourceFile::new("clean.kicad_pcb", changed))).unwrap();
    let said = said(&run_on("stackup-missing", &board));
    assert_eq!(said.len(), 1);
    assert!(said[0].ends_with("has no permittivity") && said[0].starts_with("error layer "), "{said:?}");
}

#[test]
fn a_sum_that_is_not_the_board_s_thickness() {
    let text = clean().text(Generation::V8);
    let stated = text.split("(thickness ").nth(1).unwrap().split(')').next().unwrap();
    for (by, findings) in [(0.19, 0), (0.21, 1)] {
        let other: f64 = stated.parse::<f64>().unwrap() + by;
        let board = edited(&format!("(thickness {stated})"), &format!("(thickness {other:.3})"));
        assert_eq!(said(&run_on("stackup-missing", &board)).len(), findings, "{by}");
    }
}

/// All sheets alike and of permittivity 4.5: nobody entered them.
#[test]
fn a_stackup_that_nobody_entered() {
    let mut drawn = clean();
    for sheet in drawn.stack.sheets.iter_mut().filter(|sheet| matches!(sheet.kind, "core" | "prepreg")) {
        (sheet.thickness, sheet.permittivity) = (0.48, 4.5);
    }
    drawn.stack.thickness = drawn.stack.sheets.iter().map(|sheet| sheet.thickness).sum();
    let said = said(&run("stackup-missing", &drawn));
    assert_eq!(said, ["error board clean: the stackup looks as if nobody had entered it: all dielectrics are alike"]);
}
