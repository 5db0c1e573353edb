//! One small board, drawn in every generation of the format: the same copper must come out of all of them, and each
//! file also holds what only its generation has.

use crate::support::read;
use std::path::Path as FilePath;
use throughline::board::{Board, LayerId, NetId, Nets, PadKind, Side, ZoneKind};
use throughline::geometry::{Arc, Path, Point, Shape, Vector};

const NAMES: [&str; 8] = ["v3", "v4", "v5", "v6", "v7", "v8", "v9", "v10"];

fn board(name: &str) -> Board {
    let folder = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/generations");
    read(&folder.join(format!("{name}.kicad_pcb"))).unwrap_or_else(|report| panic!("{report}"))
}

fn mm(x: f64, y: f64) -> Point {
    Point::new((x * 1e6).round() as i64, (y * 1e6).round() as i64)
}

fn net(nets: &Nets, id: NetId) -> &str {
    nets.name(id)
}

/// Centre-line length of a net's tracks in mm.
fn length(board: &Board, name: &str) -> f64 {
    let id = board.nets.find(name).unwrap();
    board.tracks.values().filter(|track| track.net == id).map(|track| track.path.length()).sum::<f64>() / 1e6
}

#[test]
fn every_generation_gives_the_same_pads() {
    for name in NAMES {
        let board = board(name);
        let pads: Vec<_> = board
            .pads
            .values()
            .take(10)
            .map(|pad| {
                let part = &board.footprints[pad.footprint];
                (
                    part.reference.as_str(),
                    pad.number.as_str(),
                    pad.at,
                    pad.layers.iter().map(|l| l.0).collect::<Vec<_>>(),
                    net(&board.nets, pad.net),
                )
            })
            .collect();
        // Worked out by hand from the placement rule: J1 is turned by 90°, J2 lies on the bottom, P1 is turned by 30°.
        let all = vec![0, 1, 2, 3];
        let want = [
            ("J1", "1", mm(54.6, 49.5), vec![0], "/SEIS_P"),
            ("J1", "2", mm(55.4, 49.5), vec![0], "/SEIS_N"),
            ("J1", "3", mm(54.6, 46.5), vec![0], "GND"),
            ("J1", "4", mm(55.4, 46.5), vec![0], "GND"),
            ("J2", "1", mm(67.5, 48.4), vec![3], "/SEIS_P"),
            ("J2", "2", mm(67.5, 47.6), vec![3], "/SEIS_N"),
            ("J2", "3", mm(70.5, 48.4), vec![3], "GND"),
            ("J2", "4", mm(70.5, 47.6), vec![3], "GND"),
            ("P1", "1", mm(60.900148, 53.635), all.clone(), "GND"),
            ("P1", "2", mm(63.099852, 52.365), all, "SYNC"),
        ];
        assert_eq!(pads, want, "{name}");
        let sides: Vec<Side> = board.footprints.values().take(3).map(|part| part.side).collect();
        assert_eq!(sides, [Side::Top, Side::Bottom, Side::Top], "{name}");
        assert_eq!(board.revision, "C", "{name}");
        // Turned by 90°, a land of 1 mm × 0.4 mm stands upright.
        let first = board.pads.values().next().unwrap();
        let corners = [mm(54.4, 50.0), mm(54.4, 49.0), mm(54.8, 49.0), mm(54.8, 50.0)];
        assert_eq!(first.shapes, [Shape::Area { ring: corners.to_vec(), radius: 0 }], "{name}");
        let post = board.pads.values().nth(9).unwrap();
        assert_eq!(post.kind, PadKind::Plated, "{name}");
        assert_eq!(post.drill.unwrap().width, 700_000, "{name}");
        let along = Point::new(259_808, -150_000); // 0.3 mm at 30° counter-clockwise.
        let path = Path::Line(post.at - along, post.at + along);
        assert_eq!(post.shapes, [Shape::Stroke { path, radius: 600_000 }], "{name}");
    }
}

#[test]
fn every_generation_gives_the_same_routes() {
    for name in NAMES {
        let board = board(name);
        let root2 = std::f64::consts::SQRT_2;
        // By hand: straight parts plus diagonals.
        assert!((length(&board, "/SEIS_P") - (1.7 + 6.2 + 2.7 + 4.0 * root2)).abs() < 1e-9, "{name}");
        assert!((length(&board, "/SEIS_N") - (1.1 + 5.6 + 2.7 + 3.8 * root2)).abs() < 1e-9, "{name}");
        let bend = if board.version < Some(20_211_014) { 2.0 * root2 } else { std::f64::consts::PI };
        assert!((length(&board, "SYNC") - (66.0 - 63.099852 + bend)).abs() < 2e-6, "{name}");
        let vias: Vec<_> = board
            .vias
            .values()
            .take(5)
            .map(|via| (via.at, via.size, via.drill, via.top.0, via.bottom.0, via.micro, net(&board.nets, via.net)))
            .collect();
        let through = |x, y, net| (mm(x, y), 450_000, Some(200_000), 0, 3, false, net);
        let want = [
            through(61.4, 51.8, "/SEIS_P"),
            through(61.4, 51.0, "/SEIS_N"),
            (mm(68.0, 50.365), 300_000, Some(100_000), 0, 1, true, "SYNC"),
            through(55.0, 45.2, "GND"),
            through(71.3, 48.0, "GND"),
        ];
        assert_eq!(vias, want, "{name}");
    }
}

#[test]
fn every_generation_gives_the_same_outline() {
    for name in NAMES {
        let board = board(name);
        assert_eq!(board.outline.len(), 8, "{name}");
        let total: f64 = board.outline.iter().map(|piece| piece.path.length()).sum();
        assert!((total / 1e6 - (72.0 + 2.0 * std::f64::consts::PI)).abs() < 1e-5, "{name}: {total}");
        for (piece, next) in board.outline.iter().zip(board.outline.iter().cycle().skip(1)) {
            let end = match piece.path {
                Path::Line(_, end) => end,
                Path::Arc(arc) => arc.end,
            };
            let start = match next.path {
                Path::Line(start, _) => start,
                Path::Arc(arc) => arc.start,
            };
            assert_eq!(end, start, "{name}: pieces join end to end, so old arcs turn the right way");
        }
        let corner = board.outline[1].path;
        let mid = Point::new(73_707_107, 40_292_893);
        assert_eq!(corner, Path::Arc(Arc { start: mm(73.0, 40.0), mid, end: mm(74.0, 41.0) }), "{name}");
    }
}

#[test]
fn every_generation_gives_the_same_plane_whichever_way_fills_are_stored() {
    // Copper and gap on either side of each edge, 1 µm off: plane edge, slot under the pair, hole under the laser via.
    let copper = [(50.501, 41.0), (73.499, 48.0), (60.899, 51.0), (64.201, 53.0), (67.649, 50.365), (62.0, 50.499)];
    let bare = [(50.499, 41.0), (73.501, 48.0), (60.901, 51.0), (64.199, 53.0), (67.651, 50.5), (62.0, 50.501)];
    for name in NAMES {
        let board = board(name);
        let plane: Vec<_> = board.fills.values().filter(|fill| fill.layer == LayerId(1)).collect();
        assert_eq!(plane.len(), 1, "{name}");
        assert_eq!(net(&board.nets, plane[0].net), "GND", "{name}");
        let at = |(x, y): (f64, f64)| plane[0].shape.contains(Vector::new(x * 1e6, y * 1e6));
        assert!(copper.into_iter().all(at), "{name}");
        assert!(!bare.into_iter().any(at), "{name}");
        assert_eq!(board.zones.values().next().unwrap().clearance, 200_000, "{name}");
    }
}

#[test]
fn classes_stand_in_boards_before_2020() {
    for name in ["v3", "v4", "v5"] {
        let board = board(name);
        let pair = board.classes.iter().find(|class| class.name == "pair").unwrap();
        let names: Vec<_> = pair.nets.iter().map(|&id| net(&board.nets, id)).collect();
        assert_eq!(names, ["/SEIS_P", "/SEIS_N"], "{name}");
        assert_eq!(pair.track_width.unwrap().to_mm(), 0.15, "{name}");
        assert_eq!(pair.pair_gap.map(|gap| gap.to_mm()), (name == "v5").then_some(0.25), "{name}");
    }
}

#[test]
fn the_first_generation_counts_layers_backwards_and_leaves_quotes_in_words() {
    let board = board("v3");
    let names: Vec<_> = board.layers.ids().map(|id| board.layers.name(id)).collect();
    assert_eq!(names, ["F.Cu", "Inner2.Cu", "Inner1.Cu", "B.Cu"]);
    let mark = board.footprints.values().find(|part| part.reference == "H1").unwrap();
    assert_eq!(mark.value, "->0.96\"");
    let pads: Vec<_> = board.pads.values().skip(10).collect();
    assert_eq!(pads[0].package_length, None, "an overflow is no length");
    assert!(pads[1].layers.is_empty() && pads[1].shapes.is_empty(), "the hole takes all of the pad");
    let dot = board.tracks.values().last().unwrap();
    assert_eq!(dot.path, Path::Line(mm(58.0, 42.0), mm(58.0, 42.0)));
    assert!(!dot.net.is_some());
}

#[test]
fn version_4_renames_copper_and_nets_may_look_like_numbers() {
    let board = board("v4");
    let names: Vec<_> = board.layers.ids().map(|id| board.layers.name(id)).collect();
    assert_eq!(names, ["Top", "Gnd", "Mid", "Bottom"]);
    let pads: Vec<_> = board.pads.values().skip(10).collect();
    assert_eq!((pads[0].kind, net(&board.nets, pads[0].net)), (PadKind::Contact, "224"));
    // Wide at +y by 0.4 mm, then turned by 180°.
    let ring = vec![mm(58.3, 42.3), mm(57.7, 42.3), mm(57.3, 41.7), mm(58.7, 41.7)];
    assert_eq!(pads[0].shapes, [Shape::Area { ring, radius: 0 }]);
    // Anchor at the pad, copper off it by the offset, turned along.
    assert_eq!(pads[1].at, mm(56.0, 42.0));
    let ring = vec![mm(56.2, 42.3), mm(55.2, 42.3), mm(55.2, 41.7), mm(56.2, 41.7)];
    assert_eq!(pads[1].shapes, [Shape::Area { ring, radius: 0 }]);
    assert_eq!(pads[1].drill, None);
    assert_eq!(net(&board.nets, board.tracks.values().last().unwrap().net), "224");
    // A negative angle turns counter-clockwise on screen: from east to north.
    let Shape::Stroke { path: Path::Arc(arc), radius } = board.graphics.values().next().unwrap().shapes[0] else {
        panic!("an arc");
    };
    assert_eq!((arc.start, arc.end, radius), (mm(67.0, 44.0), mm(66.0, 43.0), 100_000));
    assert_eq!(arc.mid, Point::new(66_707_107, 43_292_893));
}

#[test]
fn version_5_has_custom_pads_curves_pen_strokes_and_rule_areas() {
    let board = board("v5");
    let pad = board.pads.values().last().unwrap();
    assert_eq!(pad.at, mm(58.0, 42.0));
    assert_eq!(pad.shapes.len(), 4, "anchor and three figures");
    // The pad is turned by 90°, so what points to +x in its frame points up on the board; the bottom is not mirrored again.
    let ring = vec![mm(57.8, 42.0), mm(57.8, 40.8), mm(58.2, 40.8), mm(58.2, 42.0)];
    assert_eq!(pad.shapes[1], Shape::Area { ring, radius: 0 });
    let path = Path::Line(mm(58.0, 41.0), mm(58.6, 40.4));
    assert_eq!(pad.shapes[2], Shape::Stroke { path, radius: 50_000 });
    let path = Path::Line(mm(58.0, 40.2), mm(58.0, 40.2));
    assert_eq!(pad.shapes[3], Shape::Stroke { path, radius: 100_000 }, "a circle without a stroke is a disc");
    let blind = board.vias.values().last().unwrap();
    assert_eq!((blind.top, blind.bottom), (LayerId(1), LayerId(2)));
    let fills: Vec<_> = board.fills.values().skip(1).collect();
    assert_eq!(fills.len(), 3);
    let path = Path::Line(mm(52.1, 42.3), mm(53.9, 42.3));
    assert_eq!(fills[1].shape, Shape::Stroke { path, radius: 100_000 });
    let area = board.zones.values().last().unwrap();
    assert_eq!(area.kind, ZoneKind::RuleArea);
    assert_eq!(area.layers.iter().map(|layer| layer.0).collect::<Vec<_>>(), [0, 3]);
    let curve = board.graphics.values().last().unwrap();
    let pieces: Vec<_> = curve.shapes.iter().collect();
    assert!(pieces.len() > 4);
    assert!(pieces.iter().all(|shape| matches!(shape, Shape::Stroke { radius: 100_000, .. })));
}

#[test]
fn version_6_has_sub_layers_arc_tracks_and_pads_without_unused_layers() {
    let board = board("v6");
    let stackup = board.stackup.as_ref().unwrap();
    assert_eq!(stackup.entries.len(), 10, "the core's two sheets stand apart");
    assert_eq!(stackup.total().unwrap().to_mm(), 1.6);
    let barrel = stackup.barrel(LayerId(0), LayerId(3)).unwrap().to_mm();
    assert!((barrel - 1.535).abs() < 1e-9, "{barrel}");
    let height = stackup.height(LayerId(1), LayerId(2)).unwrap().to_mm();
    assert!((height - 1.245).abs() < 1e-9, "{height}");
    assert!(!stackup.looks_like_placeholder());
    assert_eq!(board.layers.get(LayerId(1)).unwrap().alias.as_deref(), Some("PLANE"));
    let pads: Vec<_> = board.pads.values().skip(10).collect();
    assert!((pads[0].angle - 45.0).abs() < 1e-12);
    // Two corners cut, two round: one polygon and two discs.
    assert_eq!(pads[0].shapes.len(), 3);
    let area: f64 = pads[0].shapes.iter().map(|shape| shape.area()).sum();
    assert!(area > 0.0);
    let at = |x: f64, y: f64| {
        // The pad's frame turned back by 45°.
        let (sin, cos) = 45f64.to_radians().sin_cos();
        let centre = pads[0].at;
        let spot =
            Vector::new(centre.x as f64 + (x * cos + y * sin) * 1e6, centre.y as f64 + (y * cos - x * sin) * 1e6);
        pads[0].shapes.iter().any(|shape| shape.contains(spot))
    };
    // Cut by 0.1 mm at top left and bottom right; rounded by 0.1 mm at the others, so (0.27, -0.17) lies inside the arc.
    assert!(!at(-0.27, -0.18) && !at(0.27, 0.18));
    assert!(at(-0.24, -0.15) && at(0.26, -0.16) && !at(0.29, -0.19));
    let via = board.vias.values().last().unwrap();
    assert!(via.remove_unused && via.keep_ends && via.fill_layers.is_empty());
    let text: Vec<_> = board.graphics.values().filter(|graphic| graphic.text).collect();
    assert_eq!(text.len(), 1);
    // Six letters of 0.5 mm from the left, two lines of 0.6 mm, 1.6 letters apart.
    let ring = vec![mm(67.0, 41.72), mm(70.0, 41.72), mm(70.0, 43.28), mm(67.0, 43.28)];
    assert_eq!(text[0].shapes, [Shape::Area { ring, radius: 50_000 }]);
    let frame: Vec<_> = board.graphics.values().filter(|graphic| graphic.shapes.len() == 4).collect();
    assert_eq!(frame.len(), 1, "an unfilled rectangle is four strokes");
}

#[test]
fn version_7_has_teardrops_net_ties_and_ball_pads() {
    let board = board("v7");
    let drop = board.zones.values().last().unwrap();
    assert_eq!((drop.kind, net(&board.nets, drop.net)), (ZoneKind::Teardrop, "SYNC"));
    let tie = board.footprints.values().last().unwrap();
    assert_eq!(tie.net_ties, [["1", "2"], ["3", "4"]]);
    assert!(tie.unfitted);
    let pads: Vec<_> = board.pads.values().skip(10).collect();
    assert!(!pads[0].ball && pads[1].ball);
    assert!(matches!(pads[0].shapes[0], Shape::Stroke { radius: 200_000, .. }), "fully rounded: a disc");
    assert!(matches!(pads[1].shapes[0], Shape::Area { radius: 0, .. }), "ratio 0: a square");
    let ring = board.graphics.values().find(|graphic| graphic.footprint.is_none()).unwrap();
    assert_eq!(ring.shapes.len(), 2, "an unfilled circle is two half arcs");
}

#[test]
fn version_8_has_nets_on_figures_arcs_in_polygons_and_islands() {
    let board = board("v8");
    let figures: Vec<_> = board.graphics.values().collect();
    assert_eq!(net(&board.nets, figures[0].net), "GND");
    let path = Path::Line(mm(63.0, 43.0), mm(63.0, 43.0));
    assert_eq!(figures[0].shapes, [Shape::Stroke { path, radius: 550_000 }]);
    let Shape::Area { ring, .. } = &figures[1].shapes[0] else { panic!("an area") };
    let exact = 4.0 - std::f64::consts::PI / 2.0;
    let area = figures[1].shapes[0].area() / 1e12;
    assert!(ring.len() > 20 && (area - exact).abs() < 1.6e-3, "{area}: chords at most 0.5 µm off an arc of π mm");
    let island = board.fills.values().last().unwrap();
    assert!(island.island);
    assert_eq!(board.footprints.values().next().unwrap().uuid, "00000000-0000-4000-8000-000000000005");
}

#[test]
fn version_9_has_pad_stacks_and_bare_tracks() {
    let board = board("v9");
    let pad = board.pads.values().last().unwrap();
    let stack: Vec<_> = pad.on_layer.iter().map(|(layer, _)| layer.0).collect();
    assert_eq!(stack, [1, 2, 3]);
    let disc = |radius| Shape::Stroke { path: Path::Line(pad.at, pad.at), radius };
    assert_eq!(pad.shapes_on(LayerId(0)), [disc(600_000)]);
    assert_eq!(pad.shapes_on(LayerId(2)), [disc(450_000)]);
    let ring = vec![mm(57.3, 41.5), mm(58.7, 41.5), mm(58.7, 42.5), mm(57.3, 42.5)];
    assert_eq!(pad.shapes_on(LayerId(3)), [Shape::Area { ring, radius: 0 }]);
    let via = board.vias.values().last().unwrap();
    let sizes: Vec<_> = board.layers.ids().map(|layer| via.size_on(layer)).collect();
    assert_eq!(sizes, [600_000, 400_000, 400_000, 500_000]);
    let bare: Vec<_> = board.tracks.values().filter(|track| track.bare).collect();
    assert_eq!((bare.len(), bare[0].layer), (1, LayerId(0)));
    let letter = board.graphics.values().find(|graphic| graphic.text).unwrap();
    let ring = vec![mm(62.9, 42.5), mm(63.1, 42.5), mm(63.1, 43.5), mm(62.9, 43.5)];
    assert_eq!(letter.shapes, [Shape::Area { ring, radius: 0 }], "the letters themselves, not a box");
}

#[test]
fn version_10_has_nets_by_name_back_drills_and_jumpers() {
    let board = board("v10");
    let part = board.footprints.values().last().unwrap();
    assert_eq!(part.jumpers, [vec!["1", "2"], vec!["2"]]);
    let pad = board.pads.values().nth(10).unwrap();
    assert_eq!(net(&board.nets, pad.net), "GND");
    assert_eq!(
        (pad.back_drills[0].diameter, pad.back_drills[0].from, pad.back_drills[0].to),
        (800_000, LayerId(3), LayerId(1))
    );
    assert!(pad.remove_unused && pad.keep_ends);
    assert_eq!(pad.fill_layers.iter().map(|layer| layer.0).collect::<Vec<_>>(), [1]);
    assert_eq!(pad.function, "G");
    let via = &board.vias.values().nth(5).unwrap();
    assert_eq!((via.back_drills[0].from, via.back_drills[0].to), (LayerId(3), LayerId(2)));
    let buried = board.vias.values().last().unwrap();
    assert_eq!((buried.top, buried.bottom), (LayerId(1), LayerId(2)));
    assert!(!board.tracks.values().last().unwrap().net.is_some());
    assert_eq!(board.nets.len(), 5);
}

#[test]
fn files_hold_nothing_that_the_reader_does_not_know() {
    for name in NAMES {
        let board = board(name);
        let unknown: Vec<_> = board.notes.iter().filter(|note| note.message.contains("unknown")).collect();
        assert!(unknown.is_empty() && board.doubts.is_empty(), "{name}: {unknown:?} {:?}", board.doubts);
    }
}
