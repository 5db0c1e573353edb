//! Islands on drawn boards: what joins, what does not, and what is kept apart on purpose.

use crate::routes_drawing::{board, board_of, layer, net, two_lands};
use crate::support::part::Hole;
use crate::support::{Board as Drawn, Generation, Pad, PadShape, Part, Stack, rectangle};
use std::sync::Arc;
use throughline::board::{Board, read};
use throughline::copper::{Connection, Copper, ItemRef};
use throughline::source::SourceFile;
use throughline::table::Id;

const W: f64 = 0.15;

fn connection(copper: &Copper<'_>, name: &str) -> Connection {
    let id = net(copper.board(), name);
    copper.connections().iter().find(|connection| connection.net == id).expect("two pads").clone()
}

/// How many parts net `A` is in.
fn parts(board: &Board) -> usize {
    connection(&Copper::new(board), "A").parts.len()
}

/// Two lands joined over B.Cu, in every generation of the format.
#[test]
fn a_route_over_two_layers_joins() {
    for generation in Generation::ALL {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
        drawn.via("A", (8.0, 5.0));
        drawn.track("A", "B.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
        drawn.via("A", (12.0, 5.0));
        drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
        assert_eq!(parts(&board_of(&drawn, generation)), 1, "{generation:?}");
        drawn.vias.pop();
        let open = board_of(&drawn, generation);
        let copper = Copper::new(&open);
        let connection = connection(&copper, "A");
        assert_eq!(connection.parts.len(), 2, "{generation:?}");
        let found = connection.parts[1].nearest.unwrap();
        assert!(found.layers.0 != found.layers.1 && found.gap.distance == 0.0, "a via is missing: {found:?}");
    }
}

#[test]
fn a_gap_of_a_micrometre_joins_and_two_do_not() {
    for (gap, expected) in [(0.0, 1), (0.001, 1), (0.002, 2)] {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (10.0, 5.0)]);
        // Square-on, from the round end of one to the round end of the other.
        drawn.track("A", "F.Cu", W, &[(10.0 + W + gap, 5.0), (15.0, 5.0)]);
        assert_eq!(parts(&board(&drawn)), expected, "{gap}");
    }
}

#[test]
fn a_break_has_its_place_and_gap() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(11.0, 5.0), (15.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let connection = connection(&copper, "A");
    let found = connection.parts[1].nearest.unwrap();
    assert!((found.gap.distance - (2.0 - W) * 1e6).abs() < 1.0);
    let mut ends = [found.gap.from.to_point().x, found.gap.to.to_point().x];
    ends.sort_unstable();
    assert_eq!(ends, [9_075_000, 10_925_000]);
    assert_eq!(connection.strays, []);
}

#[test]
fn copper_without_pads_is_a_stray() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(5.0, 8.0), (6.0, 8.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let connection = connection(&copper, "A");
    assert!(!connection.is_open());
    assert_eq!(connection.strays.len(), 1);
}

#[test]
fn unplated_holes_join_nothing() {
    for (pad, expected) in [
        (Pad::hole("2", PadShape::Circle, (0.0, 0.0), (1.2, 1.2), Hole::Round(0.6)), 1),
        // Copper round an unplated hole: on both sides, not through it.
        (
            Pad {
                kind: crate::support::PadKind::Bare,
                ..Pad::hole("2", PadShape::Circle, (0.0, 0.0), (1.2, 1.2), Hole::Round(0.6))
            },
            2,
        ),
    ] {
        let mut drawn = two_lands();
        drawn.part(Part::new("H1", (10.0, 5.0)).pad(pad.net("A")));
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (10.0, 5.0)]);
        drawn.track("A", "B.Cu", W, &[(10.0, 5.0), (15.0, 7.0)]);
        drawn.via("A", (15.0, 7.0));
        drawn.track("A", "F.Cu", W, &[(15.0, 7.0), (15.0, 5.0)]);
        assert_eq!(parts(&board(&drawn)), expected);
    }
}

/// A via drilled out from below to In2: In2 still holds on (stated as an assumption), B.Cu does not.
#[test]
fn a_back_drill_takes_the_barrel_up_to_the_layer_it_reaches() {
    for (inner, expected) in [("In2.Cu", 1), ("B.Cu", 2)] {
        let mut drawn = two_lands();
        drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
        drawn.via("A", (8.0, 5.0)).back_drilled(0.35, "B.Cu", "In2.Cu");
        drawn.track("A", inner, W, &[(8.0, 5.0), (12.0, 5.0)]);
        drawn.via("A", (12.0, 5.0));
        drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
        assert_eq!(parts(&board_of(&drawn, Generation::V10)), expected, "{inner}");
    }
}

/// A via that drops unused pads: a track that ends in it keeps the pad of its layer, and elsewhere the wall stands.
#[test]
fn unused_pads_are_dropped_where_nothing_ends() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
    drawn.via("A", (8.0, 5.0)).sized(0.5, 0.2);
    drawn.track("A", "In1.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0)).sized(0.5, 0.2);
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    let text = drawn
        .text(Generation::V8)
        .replace("(drill 0.2)", "(drill 0.2) (remove_unused_layers yes) (keep_end_layers yes)");
    let board = read("dropped", Arc::new(SourceFile::new("dropped.kicad_pcb", text))).unwrap();
    assert_eq!(parts(&board), 1);
    let copper = Copper::new(&board);
    let via = board.vias.ids().next().unwrap();
    let barrels: Vec<(&str, bool, i64)> = copper
        .items()
        .of(ItemRef::Via(via))
        .map(|(_, item)| (board.layers.name(item.layer), item.barrel, item.shape.radius()))
        .collect();
    assert_eq!(
        barrels,
        [("F.Cu", false, 250_000), ("In1.Cu", false, 250_000), ("In2.Cu", true, 100_000), ("B.Cu", false, 250_000)]
    );
}

fn two_nets(strokes: bool, ties: &[&str]) -> Drawn {
    let mut drawn = Drawn::new("tie", Stack::two());
    let mut part = Part::new("NT1", (10.0, 5.0))
        .pad(Pad::rect("1", (-1.0, 0.0), (0.5, 0.5)).net("A"))
        .pad(Pad::rect("2", (1.0, 0.0), (0.5, 0.5)).net("B"));
    if strokes {
        part.strokes.push(("F.Cu".into(), (-1.0, 0.0), (1.0, 0.0), 0.3));
    }
    part.net_ties = ties.iter().map(|&group| group.to_owned()).collect();
    drawn.part(part);
    for (name, at, net) in [("U1", (2.0, 5.0), "A"), ("U2", (18.0, 5.0), "B")] {
        drawn.part(Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net(net)));
    }
    drawn.track("A", "F.Cu", W, &[(2.0, 5.0), (9.0, 5.0)]);
    drawn.track("B", "F.Cu", W, &[(18.0, 5.0), (11.0, 5.0)]);
    drawn
}

#[test]
fn a_declared_net_tie_is_no_short() {
    let board = board(&two_nets(true, &["1, 2"]));
    let copper = Copper::new(&board);
    assert_eq!(copper.shorts(), []);
    let ties = &copper.islands().ties;
    assert_eq!(ties.len(), 1);
    assert!(ties[0].declared);
    assert!(copper.connections().iter().all(|connection| !connection.is_open()));
}

/// Copper of a footprint between its own pads is a tie too, but one to ask about.
#[test]
fn an_undeclared_net_tie_is_known_as_such() {
    let board = board(&two_nets(true, &[]));
    let copper = Copper::new(&board);
    assert_eq!(copper.shorts(), []);
    assert_eq!(copper.islands().ties.len(), 1);
    assert!(!copper.islands().ties[0].declared);
    assert_eq!(connection(&copper, "A").parts.len(), 1);
}

#[test]
fn a_third_net_on_a_tie_is_a_short() {
    let mut drawn = two_nets(true, &["1, 2"]);
    drawn.track("C", "F.Cu", W, &[(10.0, 8.0), (10.0, 5.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    // The tie itself is no short: one of its nets stands for both.
    let [short] = copper.shorts() else { panic!("{:?}", copper.shorts()) };
    let mut names = [short.nets.0, short.nets.1].map(|net| board.nets.name(net));
    names.sort_unstable();
    assert_eq!(names, ["A", "C"]);
}

/// Copper without net that leads from a tie to a third net.
#[test]
fn copper_without_net_may_lead_on_from_a_tie() {
    let mut drawn = two_nets(true, &["1, 2"]);
    drawn.track("", "F.Cu", W, &[(10.0, 5.0), (10.0, 7.0)]);
    drawn.track("C", "F.Cu", W, &[(10.0, 7.0), (10.0, 9.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    assert_eq!(copper.shorts().len(), 1);
    assert!(copper.connections().iter().all(|connection| !connection.is_open()));
}

#[test]
fn crossing_tracks_are_a_short_with_its_place() {
    let mut drawn = two_nets(false, &[]);
    drawn.track("B", "F.Cu", W, &[(6.0, 3.0), (6.0, 7.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let [short] = copper.shorts() else { panic!("{:?}", copper.shorts()) };
    assert_eq!(short.contacts.len(), 1);
    let at = short.contacts[0].at;
    assert!((at.x - 6_000_000).abs() < 80_000 && (at.y - 5_000_000).abs() < 80_000, "{at:?}");
}

#[test]
fn copper_without_net_takes_the_net_it_touches() {
    let mut drawn = two_lands();
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.track("", "F.Cu", W, &[(9.0, 5.0), (11.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(11.0, 5.0), (15.0, 5.0)]);
    assert_eq!(parts(&board(&drawn)), 1);
    // And joins two nets if it touches two.
    drawn.track("B", "F.Cu", W, &[(10.0, 5.0), (10.0, 8.0)]);
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let [short] = copper.shorts() else { panic!("{:?}", copper.shorts()) };
    assert!(short.through.is_some());
}

/// Copper without net across three nets: which pairs are named does not depend on the order of nets in the file.
#[test]
fn a_bridge_over_three_nets_is_named_by_name() {
    for order in [["A", "B", "C"], ["C", "A", "B"], ["B", "C", "A"]] {
        let mut drawn = Drawn::new("bridge", Stack::two());
        for name in order {
            drawn.net(name);
        }
        for (name, y) in [("A", 1.0), ("B", 2.0), ("C", 3.0)] {
            drawn.track(name, "F.Cu", W, &[(1.0, y), (5.0, y)]);
        }
        drawn.track("", "F.Cu", W, &[(3.0, 0.5), (3.0, 3.5)]);
        let board = board(&drawn);
        let copper = Copper::new(&board);
        let mut pairs: Vec<String> = copper
            .shorts()
            .iter()
            .map(|short| {
                let mut names = [short.nets.0, short.nets.1].map(|net| board.nets.name(net));
                names.sort_unstable();
                names.concat()
            })
            .collect();
        pairs.sort();
        assert_eq!(pairs, ["AB", "BC"]);
    }
}

/// Letters are left out: their outline is a guess.
#[test]
fn letters_join_nothing() {
    let mut drawn = two_nets(false, &[]);
    drawn.texts.push(("F.Cu".into(), (10.0, 5.0), 2.0, "MMMMMMMM".into()));
    let board = board(&drawn);
    assert!(board.graphics.values().any(|graphic| graphic.text), "the text is read as copper");
    let copper = Copper::new(&board);
    assert_eq!(copper.shorts(), []);
    assert!(copper.islands().ties.is_empty());
}

/// A plane joins its vias; foreign copper that was drawn after filling is an overlap, not a short of everything.
#[test]
fn a_fill_under_foreign_copper_is_out_of_date() {
    let mut drawn = crate::support::starters::two_pads("plane", "A");
    drawn.track("A", "F.Cu", W, &[(3.0, 5.0), (17.0, 5.0)]);
    drawn.fill();
    let fresh = board(&drawn);
    let copper = Copper::new(&fresh);
    assert!(copper.islands().overlaps.is_empty() && copper.shorts().is_empty());
    assert!(copper.zone_fills().iter().all(|fill| !fill.is_stale() && fill.missing.is_empty()));
    drawn.via("A", (10.0, 5.0));
    let stale = board(&drawn);
    let copper = Copper::new(&stale);
    assert_eq!(copper.shorts(), []);
    // One contact on each of the two planes.
    assert_eq!(copper.islands().overlaps.len(), 2);
    assert_eq!(copper.zone_fills().iter().filter(|fill| fill.is_stale()).count(), 2);
}

/// A ground via that came after filling: in the fill it touches, in an old antipad it does not, and that shows.
#[test]
fn a_via_left_bare_shows() {
    let mut drawn = crate::support::starters::planes("bare");
    drawn.via("A", (10.0, 5.0));
    drawn.fill();
    drawn.vias.last_mut().unwrap().net = "GND".into();
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let bare: Vec<usize> = copper.zone_fills().iter().map(|fill| fill.bare.len()).collect();
    assert_eq!(bare, [1, 1]);
}

#[test]
fn zones_without_fill_are_told_by_layer() {
    let drawn = crate::support::starters::planes("unfilled");
    let board = board(&drawn);
    let copper = Copper::new(&board);
    let missing: Vec<_> = copper.zone_fills().iter().map(|fill| fill.missing.iter().collect::<Vec<_>>()).collect();
    assert_eq!(missing, [vec![layer(&board, "In1.Cu")], vec![layer(&board, "In2.Cu")]]);
    assert!(copper.zone_fills().iter().all(throughline::copper::ZoneFill::is_unfilled));
}

/// The track's edge laps over the pad's by 30 µm: it joins, but is said to be a graze; 80 µm are half its width.
#[test]
fn a_graze_joins_and_is_known() {
    for (lap, grazes) in [(0.03, 1), (0.08, 0)] {
        let mut drawn = two_lands();
        let y = 5.0 - 0.25 - W / 2.0 + lap;
        drawn.track("A", "F.Cu", W, &[(4.0, y), (10.0, y)]);
        drawn.track("A", "F.Cu", W, &[(10.0, y), (15.0, 5.0)]);
        let board = board(&drawn);
        let copper = Copper::new(&board);
        assert_eq!(parts(&board), 1);
        assert_eq!(copper.islands().grazes.len(), grazes, "{lap}");
    }
}

/// Pads that a part joins inside itself count as one; the file must say so.
#[test]
fn jumper_pads_are_joined_by_their_part() {
    let mut drawn = Drawn::new("jumper", Stack::two());
    drawn.part(
        Part::new("JP1", (10.0, 5.0))
            .pad(Pad::rect("1", (-1.0, 0.0), (0.5, 0.5)).net("A"))
            .pad(Pad::rect("2", (1.0, 0.0), (0.5, 0.5)).net("A")),
    );
    let text = drawn.text(Generation::V10);
    let read_text = |text: String| read("jumper", Arc::new(SourceFile::new("jumper.kicad_pcb", text))).unwrap();
    assert_eq!(parts(&read_text(text.clone())), 2);
    let with = text.replacen("(pad \"1\"", "(jumper_pad_groups (\"1\" \"2\")) (pad \"1\"", 1);
    assert_ne!(with, text);
    assert_eq!(parts(&read_text(with)), 1);
}

/// An arc that bulges into a via: straight between its ends it would miss.
#[test]
fn arcs_touch_along_their_bulge() {
    let mut drawn = Drawn::new("arc", Stack::two());
    for (name, at) in [("U1", (2.0, 5.0)), ("U2", (10.0, 1.0))] {
        drawn.part(Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("A")));
    }
    drawn.arc("A", "F.Cu", W, (2.0, 5.0), (6.0, 1.0), (10.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(6.0, 1.0), (10.0, 1.0)]);
    assert_eq!(parts(&board(&drawn)), 1);
}

/// What filling anew could do: join the parts that lie in the zone, not the one outside.
#[test]
fn filling_anew_joins_what_lies_in_the_zone() {
    let mut drawn = two_lands();
    drawn.zone("A", &["F.Cu"], &rectangle((4.0, 4.0), (16.0, 6.0)));
    let inside = board(&drawn);
    let copper = Copper::new(&inside);
    let refill = copper.refill(&connection(&copper, "A"));
    assert_eq!((refill.zones.len(), refill.apart.len()), (1, 0));
    drawn.part(Part::new("U9", (10.0, 9.0)).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("A")));
    let outside = board(&drawn);
    let copper = Copper::new(&outside);
    let connection = connection(&copper, "A");
    let refill = copper.refill(&connection);
    assert_eq!(refill.apart.len(), 1);
    let apart = &connection.parts[refill.apart[0]];
    assert_eq!(outside.footprints[outside.pads[apart.pads[0]].footprint].reference, "U9");
    assert!(apart.pads[0].index() < outside.pads.len());
}
