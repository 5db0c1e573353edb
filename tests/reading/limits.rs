//! Limits, each at its value and one beyond it, each with its own message.

use crate::support::read_text;
use std::sync::Arc;
use throughline::board::{self, Board};
use throughline::source::limits::{COORDINATE, COPPER_LAYERS, DEPTH, NUMBER_BYTES};
use throughline::source::{Limits, SourceFile};

fn within(text: &str, limits: &Limits) -> Result<Board, String> {
    let source = Arc::new(SourceFile::new("b", text));
    board::read_within("b", source, limits).map_err(|fault| fault.message)
}

fn fails(text: &str, message: &str) {
    let report = read_text("b", text).unwrap_err();
    assert!(report.contains(message), "{report}");
}

#[test]
fn depth() {
    // The root is the first level.
    let nested = |levels: usize| format!("(kicad_pcb {}{})", "(x ".repeat(levels - 1), ")".repeat(levels - 1));
    assert!(read_text("b", &nested(DEPTH)).is_ok());
    fails(&nested(DEPTH + 1), "lists nested more than 64 deep");
    fails(&"(".repeat(5_000_000), "this is not a board file");
    fails(&format!("(kicad_pcb {}", "(x".repeat(3_000_000)), "lists nested more than 64 deep");
}

#[test]
fn coordinates() {
    let at = |x: &str| {
        format!(
            "(kicad_pcb (version 4) (layers (0 F.Cu signal)) (segment (start {x} 0) (end 0 0) (width 0.1) (layer F.Cu)))"
        )
    };
    assert_eq!(COORDINATE, 10_000_000_000);
    assert!(read_text("b", &at("10000")).is_ok());
    assert!(read_text("b", &at("-10000.000000")).is_ok());
    assert!(read_text("b", &at("1e4")).is_ok());
    for beyond in ["10000.000001", "-10000.000001", "1.0000001e4", "99999999999999999999999999999", "1e300", "1e999"] {
        fails(&at(beyond), "lies beyond ±10 m");
    }
}

#[test]
fn number_text() {
    let at = |x: &str| {
        format!(
            "(kicad_pcb (version 4) (layers (0 F.Cu signal)) (segment (start {x} 0) (end 0 0) (width 0.1) (layer F.Cu)))"
        )
    };
    let long = |length: usize| format!("1.{}", "0".repeat(length - 2));
    assert!(read_text("b", &at(&long(NUMBER_BYTES))).is_ok());
    fails(&at(&long(NUMBER_BYTES + 1)), "a number with more than 64 characters");
    let angle =
        |a: &str| format!("(kicad_pcb (version 4) (layers (0 F.Cu signal)) (module m (layer F.Cu) (at 0 0 {a})))");
    assert!(read_text("b", &angle(&long(NUMBER_BYTES))).is_ok());
    fails(&angle(&long(NUMBER_BYTES + 1)), "a number with more than 64 characters");
}

#[test]
fn copper_layers() {
    let rows = |count: usize| {
        let rows: String = (0..count).map(|at| format!("({at} L{at} signal) ")).collect();
        format!("(kicad_pcb (version 4) (layers {rows}))")
    };
    assert_eq!(read_text("b", &rows(COPPER_LAYERS)).unwrap().layers.len(), 64);
    fails(&rows(COPPER_LAYERS + 1), "more than 64 copper layers");
}

#[test]
fn file_size() {
    let text = "(kicad_pcb)";
    let limits = |file_bytes| Limits { file_bytes, ..Limits::default() };
    assert!(within(text, &limits(text.len())).is_ok());
    assert_eq!(within(text, &limits(text.len() - 1)).unwrap_err(), "the file is larger than 10 bytes");
    assert_eq!(Limits::default().file_bytes, 512 << 20);
}

#[test]
fn tokens() {
    let text = "(kicad_pcb (x y))"; // ( kicad_pcb ( x y ) )
    let limits = |tokens| Limits { tokens, ..Limits::default() };
    assert!(within(text, &limits(7)).is_ok());
    assert_eq!(within(text, &limits(6)).unwrap_err(), "more tokens than the limit allows");
    assert_eq!(Limits::default().tokens, 50_000_000);
}

#[test]
fn one_token() {
    let limits = |token_bytes| Limits { token_bytes, ..Limits::default() };
    for (text, longest) in [("(kicad_pcb (x abcdefghijkl))", 12), ("(kicad_pcb (x \"abcdefghij\"))", 12)] {
        assert!(within(text, &limits(longest)).is_ok());
        assert_eq!(within(text, &limits(longest - 1)).unwrap_err(), "a token longer than the limit allows");
    }
    assert_eq!(Limits::default().token_bytes, 64 << 20);
}

#[test]
fn points_made_from_curves_count_as_tokens() {
    // A circle of 4 m radius in chords at most half a micrometre off takes thousands of points.
    let text = "(kicad_pcb (version 20240108) (layers (0 \"F.Cu\" signal)) (gr_poly (layer \"F.Cu\") (width 0) \
                (pts (arc (start 0 0) (mid 4000 4000) (end 8000 0)))))";
    assert!(within(text, &Limits::default()).is_ok());
    let few = Limits { tokens: 1000, ..Limits::default() };
    assert_eq!(within(text, &few).unwrap_err(), "more curve points than the limit allows");
}
