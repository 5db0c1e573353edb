//! Stackups: heights, sums, what is missing, and what looks untrue.

use crate::support::read_text;
use throughline::board::{Board, LayerId, StackupEntry};

/// A board of four copper layers with a stackup.
fn board(thickness: &str, stackup: &str) -> Board {
    read_text(
        "b",
        &format!(
            "(kicad_pcb (version 20240108) (general (thickness {thickness})) (layers (0 \"F.Cu\" signal) (1 \"In1.Cu\" signal) \
             (2 \"In2.Cu\" signal) (31 \"B.Cu\" signal)) (setup (stackup {stackup})))"
        ),
    )
    .unwrap()
}

fn copper(name: &str) -> String {
    format!("(layer \"{name}\" (type \"copper\") (thickness 0.035))")
}

/// Three sheets between four foils.
fn sheets(one: &str, two: &str, three: &str) -> String {
    let sheet = |text: &str| format!("(layer \"d\" (type \"prepreg\") {text})");
    let foils = ["F.Cu", "In1.Cu", "In2.Cu", "B.Cu"].map(copper);
    format!("{} {} {} {} {} {} {}", foils[0], sheet(one), foils[1], sheet(two), foils[2], sheet(three), foils[3])
}

fn notes(board: &Board) -> Vec<&str> {
    board.notes.iter().map(|note| note.message.as_str()).collect()
}

const TOP: LayerId = LayerId(0);
const BOTTOM: LayerId = LayerId(3);

#[test]
fn heights_are_sums_between_the_layers() {
    let text = sheets(
        "(thickness 0.1) (epsilon_r 4)",
        "(thickness 0.4) (epsilon_r 4.2) addsublayer (thickness 0.3) (epsilon_r 3.9)",
        "(thickness 0.1) (epsilon_r 4)",
    );
    let board = board("1.04", &text);
    assert_eq!(notes(&board), Vec::<&str>::new());
    let stackup = board.stackup.unwrap();
    let mm = |length: Option<throughline::units::Length>| (length.unwrap().to_mm() * 1e6).round() / 1e6;
    assert_eq!(mm(stackup.barrel(TOP, BOTTOM)), 1.005, "from the middle of the top foil to that of the bottom foil");
    assert_eq!(mm(stackup.barrel(BOTTOM, TOP)), 1.005);
    assert_eq!(mm(stackup.barrel(TOP, LayerId(1))), 0.135);
    assert_eq!(mm(stackup.barrel(TOP, TOP)), 0.0);
    assert_eq!(mm(stackup.height(LayerId(1), LayerId(2))), 0.7);
    assert_eq!(mm(stackup.height(TOP, LayerId(2))), 0.835, "the foil between counts");
    assert_eq!(mm(stackup.z(TOP)), 0.0175);
    assert_eq!(mm(stackup.z(BOTTOM)), 1.0225);
    assert_eq!(mm(stackup.total()), 1.04);
    assert_eq!(stackup.between(LayerId(1), LayerId(2)).unwrap().len(), 2);
    assert_eq!(stackup.barrel(TOP, LayerId(9)), None);
    let permittivities: Vec<_> = stackup
        .entries
        .iter()
        .filter_map(|entry| match entry {
            StackupEntry::Dielectric { permittivity, .. } => *permittivity,
            StackupEntry::Copper { .. } => None,
        })
        .collect();
    assert_eq!(permittivities, [4.0, 4.2, 3.9, 4.0]);
}

#[test]
fn what_is_missing_is_not_made_up() {
    let board = board("1", &sheets("(thickness 0.1)", "(epsilon_r 4)", "(thickness 0.1) (loss_tangent 0)"));
    assert_eq!(notes(&board), ["a layer of the stackup has no thickness"]);
    let stackup = board.stackup.unwrap();
    assert_eq!(stackup.total(), None);
    assert_eq!(stackup.barrel(TOP, BOTTOM), None);
    assert!(stackup.barrel(TOP, LayerId(1)).is_some());
    assert_eq!(stackup.z(BOTTOM), None);
    let StackupEntry::Dielectric { loss_tangent, permittivity, .. } = &stackup.entries[5] else { panic!("a sheet") };
    assert_eq!((*loss_tangent, *permittivity), (None, None), "0 means never entered");
}

#[test]
fn a_sum_that_contradicts_the_board_is_noted() {
    let text = sheets("(thickness 0.1)", "(thickness 0.5)", "(thickness 0.1)");
    assert_eq!(notes(&board("0.84", &text)), Vec::<&str>::new());
    assert_eq!(notes(&board("0.841", &text)), Vec::<&str>::new(), "1 µm is rounding");
    assert_eq!(notes(&board("1.6", &text)), ["the stackup is 0.84 mm thick in all, but the board states 1.6 mm"]);
}

#[test]
fn a_stackup_that_nobody_entered_is_told() {
    let untouched = "(thickness 0.48) (epsilon_r 4.5)";
    let told = |one: &str, two: &str, three: &str| {
        board("1.58", &sheets(one, two, three)).stackup.unwrap().looks_like_placeholder()
    };
    assert!(told(untouched, untouched, untouched));
    assert!(told("(thickness 0.48)", untouched, untouched));
    assert!(!told("(thickness 0.48) (epsilon_r 4.4)", untouched, untouched));
    assert!(!told("(thickness 0.2) (epsilon_r 4.5)", untouched, untouched));
    let board = board("1.58", &sheets(untouched, untouched, untouched));
    assert_eq!(
        notes(&board),
        ["the stackup looks like one that nobody entered: all sheets equally thick, permittivity 4.5"]
    );
}

#[test]
fn a_stackup_that_contradicts_the_layer_table_is_not_used() {
    let foils =
        ["F.Cu", "In2.Cu", "In1.Cu", "B.Cu"].map(copper).join(" (layer \"d\" (type \"core\") (thickness 0.3)) ");
    let board = board("1", &foils);
    assert!(board.stackup.is_none());
    assert_eq!(notes(&board), ["the stackup and the layer table name different copper layers; it is not used"]);
}

#[test]
fn a_garbled_word_between_sheets_makes_the_stackup_unusable() {
    let board =
        board("1", &sheets("(thickness 0.1)", "(thickness 0.4) addsubleyer (thickness 0.3)", "(thickness 0.1)"));
    assert!(board.stackup.is_none(), "two sheets would be read as one");
    assert_eq!(notes(&board), ["a layer of the stackup is garbled here; the stackup is not used"]);
    let twice = "(thickness 0.4) (thickness 0.3)";
    assert!(self::board("1", &sheets("(thickness 0.1)", twice, "(thickness 0.1)")).stackup.is_none());
}
