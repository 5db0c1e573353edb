//! Damaged files: cut anywhere, bytes changed, tokens dropped. The reader never panics, and copper never goes missing
//! without a fault or a doubt.

use crate::support::{fixtures, read_text};
use rayon::prelude::*;
use throughline::board::{Board, LayerSet};
use throughline::source::Limits;
use throughline::source::lexer::{Lexer, TokenKind};

/// All constructs in few bytes, as files up to 2018 write them: bare words, one node per line.
const BARE: &str = r#"(kicad_pcb (version 20171130) (host x y)
(general (thickness 1.6))
(layers (0 F.Cu signal) (1 Mid power) (31 B.Cu signal) (44 Edge.Cuts user))
(setup (via_drill 0.2))
(net 0 "") (net 1 GND)
(net_class Default "" (via_dia 0.5) (via_drill 0.2) (add_net GND))
(module a (layer B.Cu) (at 5 5 90) (fp_text user T (at 0 0) (layer F.Cu) (effects (font (size 1 1))))
(fp_arc (start 0 0) (end 1 0) (angle 90) (layer F.Cu) (width 0.1))
(pad 1 smd trapezoid (at 1 1 90) (size 1 2) (rect_delta 0 0.5) (layers F.Cu F.Mask) (net 1 GND))
(pad 2 thru_hole oval (at 2 1) (size 1 2) (drill oval 0.5 0.8 (offset 0 0.1)) (layers *.Cu) (net 1 GND))
(pad 3 smd custom (at 3 1) (size 1 1) (layers F.Cu) (options (anchor rect))
(primitives (gr_poly (pts (xy 0 0) (xy 1 0) (xy 1 1)) (width 0)) (gr_circle (center 1 1) (end 1 2) (width 0)))))
(gr_line (start 1 1) (end 9 1) (layer Edge.Cuts) (width 0.1))
(gr_curve (pts (xy 0 0) (xy 1 0) (xy 1 1) (xy 2 1)) (layer F.Cu) (width 0.1))
(segment (start 1 1) (end 2 1) (width 0.2) (layer F.Cu) (net 1) (tstamp 5A))
(via micro (at 2 2) (size 0.5) (layers F.Cu Mid) (net 1))
(via (at 2 3) (size 0.5) (drill 0.2) (layers F.Cu B.Cu) (net 1))
(zone (net 1) (net_name GND) (layer Mid) (hatch edge 0.5) (connect_pads (clearance 0.2)) (min_thickness 0.2)
(fill yes) (polygon (pts (xy 0 0) (xy 9 0) (xy 9 9))) (filled_polygon (pts (xy 0 0) (xy 9 0) (xy 9 9)))
(fill_segments (pts (xy 1 1) (xy 8 1))))
)
"#;

/// The same idea as files since 2021 write them: quoted names, nets by name at the end.
const QUOTED: &str = r#"(kicad_pcb
(version 20260206)
(generator "x")
(layers
(0 "F.Cu" signal)
(4 "In1.Cu" power "G")
(2 "B.Cu" signal)
(25 "Edge.Cuts" user)
)
(setup (stackup (layer "F.Cu" (type "copper") (thickness 0.035))
(layer "d1" (type "core") (thickness 0.2) addsublayer (thickness 0.3) (epsilon_r 4))
(layer "In1.Cu" (type "copper") (thickness 0.035))
(layer "d2" (type "prepreg") (thickness 0.5) (epsilon_r 4))
(layer "B.Cu" (type "copper") (thickness 0.035))))
(footprint "a" (layer "B.Cu") (uuid "1") (at 5 5 90)
(property "Reference" "U1" (at 0 0 0) (layer "F.Cu") (effects (font (size 1 1))))
(net_tie_pad_groups "1,2")
(fp_rect (start 0 0) (end 1 1) (stroke (width 0.1) (type solid)) (fill no) (layer "F.Cu") (uuid "2"))
(pad "1" smd roundrect (at 1 1 90) (size 1 2) (layers "F.Cu" "F.Mask") (roundrect_rratio 0.25) (chamfer_ratio 0.2)
(chamfer top_left) (net "GND") (uuid "3"))
(pad "2" thru_hole circle (at 2 1) (size 1 1) (drill 0.5) (backdrill (size 0.7) (layers "B.Cu" "In1.Cu")) (layers "*.Cu")
(padstack (mode custom) (layer "In1.Cu" (shape rect) (size 2 2))) (remove_unused_layers no) (net "GND") (uuid "4"))
(zone (layers "*.Cu") (uuid "5") (hatch edge 0.5) (keepout (tracks not_allowed)) (polygon (pts (xy 0 0) (xy 1 0) (xy 1 1))))
)
(gr_arc (start 1 1) (mid 2 2) (end 3 1) (stroke (width 0.1) (type solid)) (layer "Edge.Cuts") (uuid "6"))
(gr_text "T" (at 1 1) (layer "F.Cu") (uuid "7") (render_cache "T" 0 (polygon (pts (xy 0 0) (xy 1 0) (xy 1 1)))))
(segment (start 1 1) (end 2 1) (width 0.2) (layer "F.Cu") (net "GND") (uuid "8"))
(arc (start 1 1) (mid 2 2) (end 3 1) (width 0.2) (layer "B.Cu") (net "GND") (uuid "9"))
(via (at 2 2) (size 0.5) (drill 0.2) (layers "F.Cu" "B.Cu") (remove_unused_layers yes) (keep_end_layers yes)
(zone_layer_connections "In1.Cu") (net "GND") (uuid "10"))
(zone (net "GND") (layers "In1.Cu" "B.Cu") (uuid "11") (connect_pads (clearance 0.2)) (min_thickness 0.2) (fill yes)
(polygon (pts (xy 0 0) (xy 9 0) (xy 9 9)))
(filled_polygon (layer "In1.Cu") (pts (xy 0 0) (xy 9 0) (xy 9 9)))
(filled_polygon (layer "B.Cu") (island) (pts (xy 0 0) (xy 9 0) (xy 9 9))))
)
"#;

/// How much copper of each kind a board has.
#[derive(Debug, PartialEq, Eq, Clone, Copy)]
struct Tally {
    tracks: usize,
    vias: usize,
    via_layers: u32,
    pads: usize,
    pad_layers: u32,
    pad_shapes: usize,
    zones: usize,
    fills: usize,
    graphics: usize,
    graphic_shapes: usize,
    outline: usize,
}

impl Tally {
    fn of(board: &Board) -> Self {
        let layers = |sets: Vec<LayerSet>| sets.into_iter().map(LayerSet::len).sum();
        Self {
            tracks: board.tracks.len(),
            vias: board.vias.len(),
            via_layers: layers(board.vias.values().map(|via| via.layers()).collect()),
            pads: board.pads.len(),
            pad_layers: layers(board.pads.values().map(|pad| pad.layers).collect()),
            pad_shapes: board.pads.values().map(|pad| pad.shapes.len() + pad.on_layer.len()).sum(),
            zones: board.zones.len(),
            fills: board.fills.len(),
            graphics: board.graphics.len(),
            graphic_shapes: board.graphics.values().map(|graphic| graphic.shapes.len()).sum(),
            outline: board.outline.len(),
        }
    }

    fn lost_nothing_of(self, other: Self) -> bool {
        let own = [self.tracks, self.vias, self.pads, self.pad_shapes, self.zones, self.fills, self.graphics];
        let its = [other.tracks, other.vias, other.pads, other.pad_shapes, other.zones, other.fills, other.graphics];
        own.iter().zip(its).all(|(own, its)| *own >= its)
            && self.via_layers >= other.via_layers
            && self.pad_layers >= other.pad_layers
            && self.graphic_shapes >= other.graphic_shapes
            && self.outline >= other.outline
    }
}

/// A text with a change at a place: what happened to it.
fn silent_loss(text: &str, want: Tally, at: usize, change: &str) -> Option<String> {
    let board = read_text("damaged", text).ok()?;
    let got = Tally::of(&board);
    if !board.doubts.is_empty() || got.lost_nothing_of(want) {
        return None;
    }
    let start = (0..=at.min(text.len())).rev().filter(|&at| text.is_char_boundary(at)).nth(20).unwrap_or(0);
    let near: String = text[start..].chars().take(50).collect();
    Some(format!("{change} at {at}: …{near}…: {got:?}"))
}

fn examples() -> [(&'static str, &'static str); 2] {
    [("bare", BARE), ("quoted", QUOTED)]
}

/// The first losses of many.
fn first(lost: &[String]) -> String {
    format!("{} in all\n{}", lost.len(), lost.iter().take(30).cloned().collect::<Vec<_>>().join("\n"))
}

#[test]
fn the_examples_are_whole() {
    for (name, text) in examples() {
        let board = read_text(name, text).unwrap();
        assert_eq!(board.doubts, [], "{name}");
        let tally = Tally::of(&board);
        assert!(tally.tracks >= 1 && tally.vias >= 1 && tally.pads >= 2 && tally.fills >= 2, "{tally:?}");
        assert!(tally.graphics >= 2 && tally.outline >= 1, "{tally:?}");
    }
}

#[test]
fn a_file_cut_anywhere_is_a_fault() {
    for (name, text) in examples() {
        let end = text.trim_end().len();
        for at in 0..text.len() {
            assert_eq!(read_text(name, &text[..at]).is_ok(), at >= end, "{name} cut at {at}");
        }
    }
}

#[test]
fn a_changed_byte_never_loses_copper_in_silence() {
    for (name, text) in examples() {
        let want = Tally::of(&read_text(name, text).unwrap());
        let lost: Vec<String> = (0..text.len())
            .into_par_iter()
            .flat_map_iter(|at| {
                b"()\" \nx0.-|\\".iter().filter_map(move |&byte| {
                    let mut bytes = text.as_bytes().to_vec();
                    let old = std::mem::replace(&mut bytes[at], byte);
                    if old.is_ascii_digit() && byte.is_ascii_digit() {
                        return None; // Another number, so another whole board.
                    }
                    let changed = String::from_utf8(bytes).ok()?;
                    let change = format!("{:?} for {:?}", char::from(byte), char::from(old));
                    silent_loss(&changed, want, at, &change)
                })
            })
            .collect();
        assert!(lost.is_empty(), "{name}, {want:?}:\n{}", first(&lost));
    }
}

/// Byte ranges of all tokens.
fn tokens(text: &str) -> Vec<(usize, usize)> {
    let mut lexer = Lexer::new(text, &Limits::default());
    let mut tokens = Vec::new();
    loop {
        let token = lexer.next_token();
        if token.kind == TokenKind::End {
            return tokens;
        }
        tokens.push((token.span.start as usize, token.span.end as usize));
    }
}

#[test]
fn a_dropped_or_doubled_token_never_loses_copper_in_silence() {
    for (name, text) in examples() {
        let want = Tally::of(&read_text(name, text).unwrap());
        let lost: Vec<String> = tokens(text)
            .into_par_iter()
            .flat_map_iter(|(from, to)| {
                let dropped = format!("{}{}", &text[..from], &text[to..]);
                let doubled = format!("{} {}", &text[..to], &text[from..]);
                let token = &text[from..to];
                // A pad may have any set of layers and of cut corners, even none, so this is another whole board.
                let of_a_list = token.contains(".Cu") && text[..from].rfind("(layers ") > text[..from].rfind(')')
                    || token == "top_left";
                [
                    silent_loss(&dropped, want, from, &format!("{token} dropped")).filter(|_| !of_a_list),
                    silent_loss(&doubled, want, from, &format!("{token} doubled")),
                ]
            })
            .flatten()
            .collect();
        assert!(lost.is_empty(), "{name}, {want:?}:\n{}", first(&lost));
    }
}

/// Every so many bytes of each fixture, another change at each: the full sweep is for the small examples.
#[test]
fn changes_all_over_the_fixtures_never_lose_copper_in_silence() {
    let changes = b"()\"x \n";
    for (name, text) in fixtures() {
        let want = Tally::of(&read_text(&name, &text).unwrap());
        let places: Vec<usize> = (0..text.len()).step_by(23).collect();
        let lost: Vec<String> = places
            .par_iter()
            .filter_map(|&at| {
                let byte = changes[at % changes.len()];
                let mut bytes = text.clone().into_bytes();
                let old = std::mem::replace(&mut bytes[at], byte);
                let changed = String::from_utf8(bytes).ok()?;
                silent_loss(&changed, want, at, &format!("{:?} for {:?}", char::from(byte), char::from(old)))
            })
            .collect();
        assert!(lost.is_empty(), "{name}, {want:?}:\n{}", first(&lost));
    }
}

#[test]
fn fixtures_cut_all_over_are_faults() {
    for (name, text) in fixtures() {
        let end = text.trim_end().len();
        let cuts: Vec<usize> = (0..end).step_by(29).chain([end - 1]).collect();
        cuts.par_iter().for_each(|&at| assert!(read_text(&name, &text[..at]).is_err(), "{name} cut at {at}"));
    }
}
