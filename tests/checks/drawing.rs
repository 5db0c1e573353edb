//! The drawing code itself: what it writes must be what it drew.

use crate::support::node::Node;
use crate::support::{Board, Generation, from_nm, keyhole, starters};

fn drawn() -> Board {
    let mut board = starters::straight_pair("drawing");
    board.via("PROBE", PROBE);
    board.fill();
    board
}

/// A via of a net of its own: the planes keep away from it.
const PROBE: (f64, f64) = (9.0, 7.0);

#[test]
fn every_generation_is_balanced_and_states_its_version() {
    for generation in Generation::ALL {
        let text = drawn().text(generation);
        assert!(text.starts_with("(kicad_pcb"), "{generation:?}");
        assert!(text.contains(&format!("(version {})", generation.version())), "{generation:?}");
        assert_eq!(text.matches('(').count(), text.matches(')').count(), "{generation:?}");
    }
}

#[test]
fn the_same_drawing_gives_the_same_text() {
    assert_eq!(drawn().text(Generation::V8), drawn().text(Generation::V8));
}

#[test]
fn identifiers_stay_when_other_items_change() {
    let before = drawn();
    let mut after = before.clone();
    after.tracks.insert(0, crate::support::Track { width: 0.5, ..before.tracks[0].clone() });
    after.vias.remove(0);
    let ids = |board: &Board| {
        let text = board.text(Generation::V8);
        text.lines().filter(|line| line.contains("(uuid")).map(str::to_owned).collect::<Vec<_>>()
    };
    let (before, after) = (ids(&before), ids(&after));
    let kept = before.iter().filter(|id| after.contains(id)).count();
    assert_eq!(kept, before.len() - 1, "only the removed via's identifier may go");
}

#[test]
fn a_fill_keeps_its_clearance_and_runs_clockwise() {
    let board = drawn();
    for zone in &board.zones {
        for (_, ring) in zone.fills.as_ref().expect("filled") {
            assert!(keyhole::twice_area(ring) > 0);
            let reach = |&(x, y)| (from_nm(x) - PROBE.0).hypot(from_nm(y) - PROBE.1);
            let nearest = ring.iter().map(reach).fold(f64::INFINITY, f64::min);
            // Pad radius 0.225 and clearance 0.2; corners of the polygon lie a little outside.
            assert!((0.425 - 1e-6..0.428).contains(&nearest), "{nearest}");
        }
    }
}

#[test]
fn a_fill_has_the_area_that_is_left() {
    let board = drawn();
    let (_, ring) = &board.zones[0].fills.as_ref().expect("filled")[0];
    let area = keyhole::area(ring);
    let disc = std::f64::consts::PI * 0.425_f64.powi(2);
    // Rounded corners of the outline take (4 - pi) (0.05 mm)^2; the 32-gon is a little larger than its disc.
    let expected = 19.4 * 9.4 - disc - (4.0 - std::f64::consts::PI) * 0.05_f64.powi(2);
    assert!((area - expected).abs() < 0.003, "{area} against {expected}");
}

#[test]
fn a_bottom_part_is_stored_mirrored() {
    use crate::support::{Pad, PadShape, Part, Stack};
    let mut board = Board::new("bottom", Stack::two());
    let pad = Pad::land("1", PadShape::Rect, (1.0, 0.5), (0.4, 0.2)).rotated(30.0).net("A");
    board.part(Part::new("U1", (10.0, 10.0)).rotated(90.0).bottom().pad(pad));
    let text = board.node(Generation::V7).text(Generation::V7);
    // Library (1, 0.5) is stored as (1, -0.5); its angle 30 becomes 90 - 30.
    assert!(text.contains("(at 1 -0.5 60)"), "{text}");
    // R(90) (1, -0.5) = (-0.5, -1).
    assert_eq!(board.pad_at("U1.1"), (9.5, 9.0));
}

#[test]
fn a_keyholed_ring_keeps_area_with_many_holes_in_rows() {
    // A plane of 20 by 20 with a grid of square holes: slits meet holes of the same row.
    let square = |x: i64, y: i64, size: i64| vec![(x, y), (x + size, y), (x + size, y + size), (x, y + size)];
    let holes: Vec<_> = (0..25).map(|at| square(1_000 + at % 5 * 3_000, 1_000 + at / 5 * 3_000, 1_000)).collect();
    let ring = keyhole::keyholed(square(0, 0, 20_000), holes);
    assert_eq!(keyhole::twice_area(&ring), 2 * (20_000 * 20_000 - 25 * 1_000_000));
}

#[test]
fn nodes_quote_names_by_generation() {
    let tree = crate::support::node::list("net", [Node::Word("1".into()), Node::Name("A\\B \"C\"".into())]);
    assert_eq!(tree.text(Generation::V5).trim(), r#"(net 1 "A\\B \"C\"")"#);
    let plain = crate::support::node::list("net", [Node::Name("GND".into())]);
    assert_eq!(plain.text(Generation::V5).trim(), "(net GND)");
    assert_eq!(plain.text(Generation::V8).trim(), "(net \"GND\")");
}

#[test]
fn numbers_have_no_exponent_and_no_trailing_zero() {
    use crate::support::node::decimal;
    let all = [0.0, -0.5, 1e-6, 12.340_000_1, 1e-9, -0.000_001, 100.0].map(decimal);
    assert_eq!(all, ["0", "-0.5", "0.000001", "12.34", "0", "-0.000001", "100"]);
}

#[test]
fn the_drawing_code_sees_its_own_faults() {
    let mut board = drawn();
    assert_eq!((board.too_close(0.1), board.torn()), (Vec::new(), Vec::new()));
    // A ground via 0.05 mm beside leg N: pad radius 0.225, half the track 0.08.
    board.via("GND", (12.0, starters::N_Y + 0.355));
    let close = board.too_close(0.1);
    assert!(close.len() == 1 && close[0].contains("\"LINK_N\" and \"GND\": 0.05"), "{close:?}");
    let gone = board.tracks.iter().position(|track| track.net == starters::P).expect("a leg");
    board.tracks.remove(gone);
    assert_eq!(board.torn(), vec![(starters::P.to_owned(), 2)], "two pads without their track");
}
