//! What people read about bad board files: the message, the place, what was expected there. And what a board says that
//! is only half understood.

use crate::support::read_text;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;
use throughline::board;
use throughline::source::SourceFile;

/// A fault as text: place, message, the line with a marker under the span, label, advice.
fn told(name: &str, text: &str) -> String {
    let source = Arc::new(SourceFile::new(name, text));
    let fault = match board::read("board", Arc::clone(&source)) {
        Ok(board) => panic!("{name} was read: {:?}", board.doubts),
        Err(fault) => fault,
    };
    let at = source.line_column(fault.span.start);
    let line = text.lines().nth(at.line as usize - 1).unwrap_or("").replace('\t', " ");
    let width = (fault.span.end - fault.span.start).max(1) as usize;
    let mut out = format!("{name}:{}:{}: {}\n{line}\n", at.line, at.column, fault.message);
    writeln!(out, "{}{} {}", " ".repeat(at.column as usize - 1), "^".repeat(width), fault.label).unwrap();
    if let Some(help) = fault.help {
        writeln!(out, "help: {help}").unwrap();
    }
    out
}

fn broken(stem: &str) -> String {
    let file = format!("{stem}.kicad_pcb");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/broken").join(&file);
    told(&file, &std::fs::read_to_string(path).unwrap())
}

#[test]
fn broken_files_are_told_with_place_and_expectation() {
    insta::assert_snapshot!(broken("empty"), @r"
empty.kicad_pcb:1:1: the file is empty

^ expected `(kicad_pcb …)`
");
    insta::assert_snapshot!(broken("lone-root"), @r"
lone-root.kicad_pcb:1:11: the file ends inside `kicad_pcb`
(kicad_pcb
          ^ expected `)`
help: the list starts at 1:1; the file may be cut short
");
    insta::assert_snapshot!(broken("wrong-root"), @r#"
wrong-root.kicad_pcb:1:2: the root of the file is `export`
(export (version "E")
 ^^^^^^ expected `(kicad_pcb …)`
"#);
    insta::assert_snapshot!(broken("not-a-board"), @r"
not-a-board.kicad_pcb:1:1: this is not a board file
Geophone link, revision C: see the drawing.
^^^^^^^^ expected `(kicad_pcb …)`
");
    insta::assert_snapshot!(broken("open-string"), @r#"
open-string.kicad_pcb:2:9: a string without an end
 (paper "A4)
        ^ expected a closing `"` after this
"#);
    insta::assert_snapshot!(broken("one-too-many"), @r#"
one-too-many.kicad_pcb:3:2: text after the end of the board
 (net 0 "") (net 1 "GND")
 ^ expected the end of the file
help: a `)` too many before this place closes the board early
"#);
    insta::assert_snapshot!(broken("no-end"), @r#"
no-end.kicad_pcb:4:3: `segment` without `end`
 (segment (start 10 20) (width 0.2) (layer "F.Cu") (net 1))
  ^^^^^^^ expected `(end X Y)` in here
"#);
    insta::assert_snapshot!(broken("garbled-number"), @r#"
garbled-number.kicad_pcb:4:21: `2O` is not a number
 (segment (start 10 2O) (end 12 20) (width 0.2) (layer "F.Cu") (net 1))
                    ^^ expected a y coordinate in mm
"#);
    insta::assert_snapshot!(broken("no-layer-table"), @r#"
no-layer-table.kicad_pcb:3:56: the board has no layer table
 (segment (start 10 20) (end 12 20) (width 0.2) (layer "F.Cu") (net 1))
                                                       ^^^^^^ this item names a layer of the missing table
help: expected `(layers …)` with the copper layers before the first item
"#);
    insta::assert_snapshot!(broken("cut-short"), @r"
cut-short.kicad_pcb:6:1: the file ends inside `xy`

^ expected `)`
help: the list starts at 5:57; the file may be cut short
");
    insta::assert_snapshot!(broken("conflict-markers"), @r"
conflict-markers.kicad_pcb:4:1: a merge conflict marker
<<<<<<< HEAD
^^^^^^^ expected `(`
help: the file holds both sides of a merge; resolve it before the check
");
}

#[test]
fn parentheses_around_nothing_are_no_board() {
    for text in ["()", "( )", "(((())))", "((kicad_pcb))", "(\"\" (version 3))"] {
        let told = told("b", text);
        let [line, ..] = told.lines().collect::<Vec<_>>()[..] else { panic!("{told}") };
        assert!(line.starts_with("b:1:") && line.ends_with(": this is not a board file"), "{told}");
        assert!(told.contains("expected `(kicad_pcb …)`"), "{told}");
    }
}

/// A board with two copper layers and one net, around some items.
fn around(items: &str) -> String {
    format!(
        "(kicad_pcb (version 20240108)\n(layers (0 \"F.Cu\" signal) (31 \"B.Cu\" signal) (44 \"Edge.Cuts\" user))\n\
         (net 0 \"\") (net 1 \"GND\")\n{items}\n)"
    )
}

#[test]
fn garbled_items_are_told_with_place_and_expectation() {
    let told = |items: &str| told("b", &around(items));
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (layer \"F.Cu\") (net 1))"), @r#"
b:4:2: `segment` without `width`
(segment (start 1 1) (end 2 2) (layer "F.Cu") (net 1))
 ^^^^^^^ expected `(width W)` in here
"#);
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width -0.1) (layer \"F.Cu\") (net 1))"), @r#"
b:4:39: a track width in mm cannot be negative
(segment (start 1 1) (end 2 2) (width -0.1) (layer "F.Cu") (net 1))
                                      ^^^^ expected 0 or more
"#);
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2 2) (width 0.1) (layer \"F.Cu\") (net 1))"), @r#"
b:4:31: a value too many
(segment (start 1 1) (end 2 2 2) (width 0.1) (layer "F.Cu") (net 1))
                              ^ expected `)`
"#);
    insta::assert_snapshot!(told("(segment (start 1) (end 2 2) (width 0.1) (layer \"F.Cu\") (net 1))"), @r#"
b:4:18: a y coordinate in mm is missing
(segment (start 1) (end 2 2) (width 0.1) (layer "F.Cu") (net 1))
                 ^ expected a y coordinate in mm
"#);
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"F.Cu\") (net))"), @r#"
b:4:60: a `net` without a net
(segment (start 1 1) (end 2 2) (width 0.1) (layer "F.Cu") (net))
                                                           ^^^ expected a net number or name
"#);
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"F.Cu\") (net G))"), @r#"
b:4:64: the net number is not a whole number
(segment (start 1 1) (end 2 2) (width 0.1) (layer "F.Cu") (net G))
                                                               ^ expected a net number
"#);
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 inf) (width 0.1) (layer \"F.Cu\") (net 1))"), @r#"
b:4:29: `inf` is not a number
(segment (start 1 1) (end 2 inf) (width 0.1) (layer "F.Cu") (net 1))
                            ^^^ expected a y coordinate in mm
"#);
    insta::assert_snapshot!(told("(via (at 1 1) (size 0.4) (drill 0.2) (net 1))"), @r"
b:4:2: `via` without `layers`
(via (at 1 1) (size 0.4) (drill 0.2) (net 1))
 ^^^ expected `(layers UPPER LOWER)` in here
");
    insta::assert_snapshot!(told("(footprint \"x\" (layer \"F.Cu\") (pad \"1\" smd rect (at 0 0) (size 1 1) (layers \"F.Cu\")))"), @r#"
b:4:2: `footprint` without `at`
(footprint "x" (layer "F.Cu") (pad "1" smd rect (at 0 0) (size 1 1) (layers "F.Cu")))
 ^^^^^^^^^ expected `(at X Y)` in here
"#);
    insta::assert_snapshot!(told("(footprint \"x\" (layer \"F.Cu\") (at 0 0) (pad \"1\" smd (at 0 0) (size 1 1) (layers \"F.Cu\")))"), @r#"
b:4:53: a pad shape such as `rect` is missing
(footprint "x" (layer "F.Cu") (at 0 0) (pad "1" smd (at 0 0) (size 1 1) (layers "F.Cu")))
                                                    ^ expected a pad shape such as `rect`
"#);
    insta::assert_snapshot!(told("(zone (net 1) (layer \"F.Cu\") (filled_polygon (pts (xz 1 1))))"), @r#"
b:4:52: unknown point form `xz`
(zone (net 1) (layer "F.Cu") (filled_polygon (pts (xz 1 1))))
                                                   ^^ expected `(xy X Y)` or `(arc …)`
"#);
    insta::assert_snapshot!(told("(gr_line (start 0 0) (end 1 1))"), @r"
b:4:2: `gr_line` without `layer`
(gr_line (start 0 0) (end 1 1))
 ^^^^^^^ expected `(layer NAME)` in here
");
    insta::assert_snapshot!(told("(net 1 \"OTHER\")"), @r#"
b:4:6: net number 1 is given twice
(net 1 "OTHER")
     ^ given before
"#);
    insta::assert_snapshot!(told("(version next)"), @r"
b:4:10: the format version is not a number
(version next)
         ^^^^ expected a version number
");
}

/// Notes and doubts of a board as text.
fn remarks(text: &str) -> String {
    let board = read_text("b", text).unwrap();
    let place = |start| {
        let at = board.source.line_column(start);
        format!("{}:{}", at.line, at.column)
    };
    let layers = |set: board::LayerSet| set.iter().map(|id| board.layers.name(id)).collect::<Vec<_>>().join(" ");
    let notes = board.notes.iter().map(|note| format!("note {} {}\n", place(note.span.start), note.message));
    let doubts =
        board.doubts.iter().map(|d| format!("doubt {} {} [{}]\n", place(d.span.start), d.message, layers(d.layers)));
    notes.chain(doubts).collect()
}

#[test]
fn half_understood_copper_is_a_doubt_on_its_layers() {
    let told = |items: &str| remarks(&around(items));
    insta::assert_snapshot!(told("(barcode (layer \"B.Cu\") (text \"1\"))\n(barcode (layer \"F.Cu\"))"), @"doubt 4:2 unknown node `barcode` in `kicad_pcb`, 2 times [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(frobnicate (x 1))\n(frobnicate (x 2))"), @"note 4:2 unknown node `frobnicate` in `kicad_pcb`, 2 times");
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"F.Cu\") (net 1) (taper 2))"), @"doubt 4:68 unknown node `taper` in `segment` [F.Cu]");
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"X.Cu\") (net 1))"), @"doubt 4:52 a `segment` on layer `X.Cu`, which is not a copper layer [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"Edge.Cuts\") (net 1))"), @"doubt 4:52 a `segment` on layer `Edge.Cuts`, which is not a copper layer [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(segment (start 1 1) (end 2 2) (width 0.1) (layer \"F.Cu\") (net 7))"), @"note 4:64 net number 7 is not in the net table");
    insta::assert_snapshot!(told("(via (at 1 1) (size 0.4) (layers \"F.Cu\" \"B.Cu\") (net 1))"), @"note 4:2 a via without a drill, and no net class states one");
    insta::assert_snapshot!(told("(via (at 1 1) (size 0.4) (drill 0.2) (layers \"F.Cu\") (net 1))"), @"doubt 4:2 a via that names only one copper layer [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(via (at 1 1) (size 0.4) (drill 0.2) (layers \"F.Cu\" \"Q.Cu\") (net 1))"), @"doubt 4:2 a via that names a layer which is not copper; it is taken as a through via [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(via (at 1 1) (size 0.4) (drill 0.2) (layers \"F.Cu\" \"B.Cu\") (front_post_machining counterbore (size 1) (depth 0.2)))"), @"doubt 4:62 `front_post_machining` of a via is not taken into account [F.Cu B.Cu]");
    let pad = |pad: &str| told(&format!("(footprint \"x\" (layer \"F.Cu\") (at 0 0)\n{pad})"));
    insta::assert_snapshot!(pad("(pad \"1\" smd hexagon (at 0 0) (size 1 1) (layers \"F.Cu\"))"), @"doubt 5:14 pad shape `hexagon` is not known; its bounding box stands in [F.Cu]");
    insta::assert_snapshot!(pad("(pad \"1\" glued rect (at 0 0) (size 1 1) (layers \"F.Cu\"))"), @"doubt 5:10 unknown word `glued` in `pad` [F.Cu]");
    insta::assert_snapshot!(pad("(pad \"1\" thru_hole rect (at 0 0) (size 1 1) (layers \"*.Cu\"))"), @"doubt 5:2 a plated pad without a drill [F.Cu B.Cu]");
    insta::assert_snapshot!(pad("(pad \"1\" smd rect (at 0 0) (size 1 1) (layers \"F.Cu\" \"Gold\"))"), @"doubt 5:55 a `pad` names layer `Gold`, which is not in the layer table [F.Cu B.Cu]");
    insta::assert_snapshot!(pad("(pad \"1\" smd rect (at 0 0) (size 1 1) (layers \"F.Cu\" \"In7.Cu\") (net 1 \"VCC\"))"), @"doubt 5:69 net number 1 is `GND` in the net table but `VCC` here; the number is believed [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(gr_rect (start 0 0) (end 1 1) (stroke (width 0.1)) (fill cross_hatch) (layer \"F.Cu\"))"), @"doubt 4:2 a hatched figure on copper; it is taken as solid [F.Cu]");
    insta::assert_snapshot!(told("(dimension (type aligned) (layer \"F.Cu\") (pts (xy 0 0) (xy 1 1)))"), @"doubt 4:2 the copper of a `dimension` is not worked out [F.Cu]");
    insta::assert_snapshot!(told("(zone (net 1) (net_name \"VCC\") (layers \"F.Cu\" \"B.Cu\") (filled_polygon (pts (xy 0 0) (xy 1 0) (xy 1 1))))"), @r"
note 4:25 the zone's net number means `GND` but its name says `VCC`; the number is believed
doubt 4:2 a zone drawn with a pen of unknown thickness [F.Cu B.Cu]
doubt 4:56 a filled polygon that does not say on which layer it lies [F.Cu B.Cu]
");
    insta::assert_snapshot!(told("(gr_text \"two\nlines\" (at 0 0) (layer \"F.SilkS\"))"), @"doubt 4:10 a string runs over a line break: a missing quote may hide what follows [F.Cu B.Cu]");
    insta::assert_snapshot!(told("(segment (start 1.00000049 1) (end 2 2e0) (width 0.1) (layer \"F.Cu\") (net 1))"), @"note 4:17 1 number is finer than 1 nm and was rounded");
    insta::assert_snapshot!(remarks("(kicad_pcb (version 20991231))"), @"note 1:13 format version 20991231 is newer than any that this reader was tested with");
    insta::assert_snapshot!(remarks("(kicad_pcb (layers (0 F.Cu signal)) (net 1 A) (zone (net 1) (layer F.Cu) (min_thickness 0.2) (filled_polygon (pts (xy 0 0) (xy 1 0) (xy 1 1)))))"), @"doubt 1:48 without a format version it is not known whether fills are drawn with a pen [F.Cu]");
}

#[test]
fn the_smallest_boards_are_boards() {
    for text in [
        "(kicad_pcb)",
        "(kicad_pcb (version 4) (host kicad \"dummy file\") )",
        "(kicad_pcb (version 20240108) (generator \"fixture\") (generator_version \"8.0\"))",
    ] {
        let board = read_text("small", text).unwrap();
        assert!(board.layers.is_empty() && board.nets.len() == 1 && board.notes.is_empty() && board.doubts.is_empty());
    }
}
