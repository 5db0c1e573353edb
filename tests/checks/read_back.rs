//! What the crate reads is what was drawn, in every generation: places, sizes, layers, nets and copper extents.

#![allow(
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    reason = "helpers of tests may stop them; indices are small"
)]

use crate::support::copper::{pad_copper, pad_layers};
use crate::support::part::Hole;
use crate::support::{
    Anchor, Board, Generation, Pad, PadShape, Part, Point, Primitive, Stack, from_nm, keyhole, nm, read, rectangle,
};
use throughline::board::{LayerId, LayerSet};
use throughline::geometry::{self, Shape};

/// Every pad shape on both sides at odd angles; shapes that a generation can't hold are left out of it.
fn parts(generation: Generation) -> Board {
    let mut board = Board::new("read-back", Stack::four());
    board.outline((0.0, 0.0), (40.0, 30.0));
    let mut shapes = vec![PadShape::Circle, PadShape::Rect, PadShape::Oval, PadShape::Trapezoid(0.0, 0.3)];
    if generation >= Generation::V5 {
        shapes.push(PadShape::RoundRect(0.2));
        let triangle = vec![(0.0, 0.0), (1.2, 0.1), (0.3, 0.8)];
        shapes.push(PadShape::Custom(Anchor::Rect, vec![Primitive::Polygon { points: triangle, width: 0.1 }]));
    }
    if generation >= Generation::V6 {
        shapes.push(PadShape::Chamfer { round: 0.0, cut: 0.3, corners: vec!["top_left", "bottom_right"] });
    }
    for (index, angle) in [0.0, 90.0, 37.5].into_iter().enumerate() {
        for bottom in [false, true] {
            let at = (8.0 + 10.0 * index as f64, if bottom { 22.0 } else { 8.0 });
            let name = format!("U{}{}", index + 1, if bottom { "B" } else { "T" });
            let mut part = Part::new(&name, at).rotated(angle);
            part.bottom = bottom;
            for (row, shape) in shapes.iter().enumerate() {
                let y = 1.5 * row as f64 - 4.0;
                let pad = Pad::land(&format!("{row}"), shape.clone(), (1.0, y), (0.9, 0.5));
                part.pads.push(pad.rotated(20.0).offset((0.1, 0.05)).net("A"));
            }
            let slot = Hole::Slot(0.5, 0.9);
            part.pads.push(Pad::hole("H", PadShape::Oval, (-2.0, 1.0), (0.9, 1.4), slot).net("B"));
            board.part(part);
        }
    }
    board.arc("A", "F.Cu", 0.2, (1.0, 1.0), (2.0, 1.5), (2.5, 3.0));
    board.track("A", "In2.Cu", 0.15, &[(5.0, 1.0), (6.25, 1.0), (7.0, 1.75)]);
    board.via("B", (3.0, 20.0)).span("F.Cu", "In1.Cu").sized(0.5, 0.25);
    board.via("GND", (5.0, 20.0));
    board.zone("GND", &["In1.Cu"], &rectangle((1.0, 1.0), (39.0, 29.0)));
    board.fill();
    board
}

/// The box about some shapes, millimetres.
fn extent(shapes: &[Shape]) -> (Point, Point) {
    let mut found = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
    let mut grow = |point: geometry::Point, radius: i64| {
        let (x, y, r) = (from_nm(point.x), from_nm(point.y), from_nm(radius));
        found.0 = (found.0.0.min(x - r), found.0.1.min(y - r));
        found.1 = (found.1.0.max(x + r), found.1.1.max(y + r));
    };
    for shape in shapes {
        match shape {
            Shape::Stroke { path: geometry::Path::Line(a, b), radius } => {
                grow(*a, *radius);
                grow(*b, *radius);
            }
            Shape::Stroke { path: geometry::Path::Arc(_), .. } => panic!("no pad here has arcs"),
            Shape::Area { ring, radius } => ring.iter().for_each(|&corner| grow(corner, *radius)),
        }
    }
    found
}

fn drawn_extent(part: &Part, pad: &Pad) -> (Point, Point) {
    let shapes = pad_copper(part, pad);
    let corners = shapes.iter().flat_map(|core| core.grown(0.0));
    let corners = corners.flat_map(|shape| shape.exterior().coords().map(|at| (at.x, at.y)).collect::<Vec<_>>());
    corners.fold(((f64::MAX, f64::MAX), (f64::MIN, f64::MIN)), |(min, max), (x, y)| {
        ((min.0.min(x), min.1.min(y)), (max.0.max(x), max.1.max(y)))
    })
}

#[test]
fn pads_lie_where_they_were_drawn() {
    for generation in Generation::ALL {
        let drawn = parts(generation);
        let board = read(&drawn, generation);
        assert!(board.doubts.is_empty(), "{generation:?}: {:?}", board.doubts);
        let pads: Vec<_> = drawn.parts.iter().flat_map(|part| part.pads.iter().map(move |pad| (part, pad))).collect();
        assert_eq!(board.pads.len(), pads.len(), "{generation:?}");
        for ((_, found), (part, pad)) in board.pads.iter().zip(pads) {
            let context = format!("{generation:?} {}.{} {:?}", part.reference, pad.number, pad.shape);
            let (x, y) = part.place(pad.at);
            // An odd angle rounds on both sides.
            assert!((found.at.x - nm(x)).abs() <= 1 && (found.at.y - nm(y)).abs() <= 1, "{context}: {:?}", found.at);
            let layers: LayerSet =
                pad_layers(&drawn, part, pad).iter().map(|&at| LayerId(u8::try_from(at).unwrap())).collect();
            assert_eq!(found.layers, layers, "{context}");
            assert_eq!(board.nets.name(found.net), pad.net, "{context}");
            let (min, max) = extent(&found.shapes);
            let (drawn_min, drawn_max) = drawn_extent(part, pad);
            // The drawing code's round outlines are polygons about the true shape: at most 0.5 % of the radius larger.
            for (found, drawn) in
                [(min.0, drawn_min.0), (min.1, drawn_min.1), (max.0, drawn_max.0), (max.1, drawn_max.1)]
            {
                assert!(
                    (found - drawn).abs() < 0.004,
                    "{context}: {min:?} {max:?} against {drawn_min:?} {drawn_max:?}"
                );
            }
        }
    }
}

#[test]
fn tracks_vias_and_fills_are_what_was_drawn() {
    for generation in Generation::ALL {
        let drawn = parts(generation);
        let board = read(&drawn, generation);
        let layers: Vec<_> = board.layers.ids().map(|id| board.layers.name(id).to_owned()).collect();
        assert_eq!(layers.len(), 4, "{generation:?}: {layers:?}");
        let last = board.tracks.iter().last().expect("tracks").1;
        let line = geometry::Path::Line(
            geometry::Point::new(6_250_000, 1_000_000),
            geometry::Point::new(7_000_000, 1_750_000),
        );
        assert_eq!((last.path, last.width, last.layer), (line, 150_000, LayerId(2)), "{generation:?}");
        let arcs = board.tracks.iter().filter(|(_, track)| matches!(track.path, geometry::Path::Arc(_))).count();
        assert_eq!(arcs, usize::from(generation.arcs()), "{generation:?}");
        let via = board.vias.iter().next().expect("a via").1;
        assert_eq!((via.size, via.drill, via.top, via.bottom), (500_000, Some(250_000), LayerId(0), LayerId(1)));
        let areas: Vec<f64> = board.fills.iter().map(|(_, fill)| area(&fill.shape)).collect();
        let expected: f64 = drawn.zones[0].fills.iter().flatten().map(|(_, ring)| keyhole::area(ring)).sum();
        let found: f64 = areas.iter().sum();
        assert!((found - expected).abs() < 0.06, "{generation:?}: {found} against {expected}");
        assert_eq!(board.outline.len(), 4, "{generation:?}");
    }
}

/// Area of a fill, a pen counted to first order (perimeter times its radius).
fn area(shape: &Shape) -> f64 {
    let Shape::Area { ring, radius } = shape else { panic!("fills are areas") };
    let corners: Vec<(i64, i64)> = ring.iter().map(|at| (at.x, at.y)).collect();
    let mut perimeter = 0.0;
    let mut edges = std::collections::BTreeMap::<[geometry::Point; 2], i32>::new();
    for at in 0..ring.len() {
        let (a, b) = (ring[at], ring[(at + 1) % ring.len()]);
        // Slits are walked in both directions: they have no edge of copper.
        *edges.entry(if a < b { [a, b] } else { [b, a] }).or_default() += 1;
    }
    for ([a, b], count) in edges {
        perimeter += if count == 1 { from_nm((b.x - a.x).abs()).hypot(from_nm((b.y - a.y).abs())) } else { 0.0 };
    }
    keyhole::area(&corners) + perimeter * from_nm(*radius)
}

#[test]
fn a_stackup_comes_back_as_entered() {
    for generation in Generation::ALL {
        let drawn = Board::new("stackup", Stack::six());
        let board = read(&drawn, generation);
        let Some(stackup) = board.stackup else {
            assert!(!generation.stackup(), "{generation:?} has lost the stackup");
            continue;
        };
        // Every sheet is an entry, sub-layers included.
        assert_eq!(stackup.entries.len(), drawn.stack.sheets.len(), "{generation:?}");
        assert_eq!(board.thickness.map(|length| nm(length.to_mm())), Some(nm(drawn.stack.thickness)));
    }
}
