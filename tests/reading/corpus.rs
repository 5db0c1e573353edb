//! Every board of the corpus reads, and holds what a foreign parser finds in it, item for item and value for value.

use crate::oracle::{Expected, Node, expected};
use crate::support::{corpus, label};
use rayon::prelude::*;
use std::collections::BTreeMap;
use throughline::board::{Board, Doubt, LayerSet};
use throughline::geometry::{Path, Point, Shape};

fn pair(point: Point) -> (i64, i64) {
    (point.x, point.y)
}

fn names(board: &Board, layers: LayerSet) -> Vec<String> {
    layers.iter().map(|layer| board.layers.name(layer).to_owned()).collect()
}

#[test]
fn every_board_holds_what_the_foreign_parser_finds() {
    corpus().par_iter().for_each(|board| {
        let tree = symbolic_expressions::parser::parse_str(board.source.text()).unwrap();
        compare(board, &expected(Node(&tree)), &label(board));
    });
}

fn compare(board: &Board, want: &Expected, file: &str) {
    assert_eq!(board.version, Some(want.version), "{file}");
    assert_eq!(names(board, board.layers.all()), want.copper, "{file}: copper layers, top to bottom");
    assert_eq!(board.footprints.len(), want.footprints.len(), "{file}: footprints");
    for (got, want) in board.footprints.values().zip(&want.footprints) {
        assert_eq!(&got.reference, want, "{file}");
    }
    for net in &want.nets {
        assert!(board.nets.find(net).is_some(), "{file}: net {net}");
    }
    tracks(board, want, file);
    vias(board, want, file);
    pads(board, want, file);
    zones(board, want, file);
    let texts = board.graphics.values().filter(|graphic| graphic.text).count();
    assert_eq!(board.graphics.len() - texts, want.figures, "{file}: figures on copper");
    assert_eq!(texts, want.texts, "{file}: texts on copper");
    let mut edges: Vec<_> = board.outline.iter().map(|piece| piece.span).collect();
    edges.dedup();
    assert_eq!(edges.len(), want.edges.values().sum::<usize>(), "{file}: edge figures");
}

fn tracks(board: &Board, want: &Expected, file: &str) {
    assert_eq!(board.tracks.len(), want.tracks.len(), "{file}: tracks");
    for (got, want) in board.tracks.values().zip(&want.tracks) {
        let points = match got.path {
            Path::Line(start, end) => vec![pair(start), pair(end)],
            Path::Arc(arc) => vec![pair(arc.start), pair(arc.mid), pair(arc.end)],
        };
        assert_eq!(points, want.points, "{file}");
        assert_eq!(got.width, want.width, "{file}");
        assert_eq!(board.layers.name(got.layer), want.layer, "{file}");
        assert_eq!(board.nets.name(got.net), want.net, "{file}");
    }
}

fn vias(board: &Board, want: &Expected, file: &str) {
    assert_eq!(board.vias.len(), want.vias.len(), "{file}: vias");
    for (got, want) in board.vias.values().zip(&want.vias) {
        assert_eq!(pair(got.at), want.at, "{file}");
        assert_eq!(got.size, want.size, "{file}");
        if want.drill.is_some() {
            assert_eq!(got.drill, want.drill, "{file}");
        } else {
            assert!(got.drill.is_some(), "{file}: a drill from the net class");
        }
        assert_eq!(board.layers.name(got.top), want.ends.0, "{file}");
        assert_eq!(board.layers.name(got.bottom), want.ends.1, "{file}");
        assert_eq!(board.nets.name(got.net), want.net, "{file}");
        assert_eq!(got.micro, want.micro, "{file}");
    }
}

fn pads(board: &Board, want: &Expected, file: &str) {
    assert_eq!(board.pads.len(), want.pads.len(), "{file}: pads");
    for (got, want) in board.pads.values().zip(&want.pads) {
        assert_eq!(got.number, want.number, "{file}");
        let (dx, dy) = ((got.at.x - want.at.0).abs(), (got.at.y - want.at.1).abs());
        assert!(dx <= 1 && dy <= 1, "{file}: pad {} at {:?}, expected {:?}", got.number, got.at, want.at);
        assert!((got.angle - want.angle).abs() < 1e-12, "{file}");
        assert_eq!(got.size, want.size, "{file}");
        assert_eq!(board.nets.name(got.net), want.net, "{file}");
        assert_eq!(names(board, got.layers), want.layers, "{file}: pad {}", got.number);
        assert_eq!(got.drill.map(|drill| (drill.width, drill.height)), want.drill, "{file}: pad {}", got.number);
        assert_eq!(got.shapes.is_empty(), want.layers.is_empty(), "{file}: copper of pad {}", got.number);
    }
}

fn zones(board: &Board, want: &Expected, file: &str) {
    assert_eq!(board.zones.len(), want.zones.len(), "{file}: zones");
    for (got, (net, layers)) in board.zones.values().zip(&want.zones) {
        assert_eq!(board.nets.name(got.net), net, "{file}");
        assert_eq!(&names(board, got.layers), layers, "{file}");
    }
    assert_eq!(board.fills.len(), want.fills.len(), "{file}: fills");
    for (got, want) in board.fills.values().zip(&want.fills) {
        assert_eq!(board.layers.name(got.layer), want.layer, "{file}");
        assert_eq!(board.nets.name(got.net), want.net, "{file}");
        assert_eq!(got.island, want.island, "{file}");
        let (points, radius) = match &got.shape {
            Shape::Area { ring, radius } => (ring.iter().map(|&point| pair(point)).collect(), *radius),
            Shape::Stroke { path: Path::Line(from, to), radius } => (vec![pair(*from), pair(*to)], *radius),
            Shape::Stroke { path: Path::Arc(_), .. } => panic!("{file}: an arc as a fill"),
        };
        assert_eq!(points, want.points, "{file}");
        assert_eq!(radius, want.radius, "{file}");
    }
}

#[test]
fn doubts_of_the_corpus_are_known() {
    // A doubt blocks verdicts, so each one on a real board must be looked at. None is left.
    let doubts: BTreeMap<String, &[Doubt]> = corpus()
        .iter()
        .filter(|board| !board.doubts.is_empty())
        .map(|board| (label(board), board.doubts.as_slice()))
        .collect();
    assert_eq!(doubts, BTreeMap::new());
}
