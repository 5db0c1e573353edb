//! Placement conventions, judged by what designers drew: tracks end in pads, and pads of different nets don't overlap.

use crate::support::{corpus, label};
use rayon::prelude::*;
use std::collections::BTreeMap;
use throughline::board::{Board, LayerId, NetId, Pad};
use throughline::geometry::{Path, Point, Shape, Vector, to_f64};

fn vector(point: Point) -> Vector {
    let (x, y) = point.to_f64();
    Vector { x, y }
}

/// Track ends that touch no other track or via of their net: how many, and how many of them lie in a pad of their net.
fn free_ends(board: &Board) -> (usize, usize) {
    let mut tracks: BTreeMap<(NetId, LayerId), Vec<_>> = BTreeMap::new();
    for (id, track) in board.tracks.iter().filter(|(_, track)| track.net.is_some()) {
        let copper = Shape::Stroke { path: track.path, radius: track.width / 2 };
        tracks.entry((track.net, track.layer)).or_default().push((id, copper));
    }
    let (mut count, mut met) = (0, 0);
    for (&(net, layer), list) in &tracks {
        let vias: Vec<_> = board.vias.values().filter(|via| via.net == net && via.layers().contains(layer)).collect();
        let pads: Vec<_> = board.pads.values().filter(|pad| pad.net == net).collect();
        for (id, _) in list {
            let (start, end) = match board.tracks[*id].path {
                Path::Line(start, end) => (start, end),
                Path::Arc(arc) => (arc.start, arc.end),
            };
            for end in [start, end] {
                let on_via = vias.iter().any(|via| via.at.distance(end) <= to_f64(via.size / 2));
                let on_track = list.iter().any(|(other, copper)| other != id && copper.contains(vector(end)));
                if on_via || on_track {
                    continue;
                }
                count += 1;
                let pad_at = |pad: &&&Pad| pad.shapes_on(layer).iter().any(|shape| shape.contains(vector(end)));
                met += usize::from(pads.iter().find(pad_at).is_some());
            }
        }
    }
    (count, met)
}

#[test]
fn free_track_ends_lie_in_pads_of_their_net() {
    let counts: Vec<(String, usize, usize)> = corpus()
        .par_iter()
        .map(|board| {
            let (count, met) = free_ends(board);
            (label(board), count, met)
        })
        .filter(|&(_, count, _)| count >= 20)
        .collect();
    let (all, met) = counts.iter().fold((0, 0), |(all, met), &(_, a, m)| (all + a, met + m));
    let poor: Vec<_> = counts.iter().filter(|(_, all, met)| met * 100 < all * 95).collect();
    // The rest are ends inside filled zones and unfinished routes.
    assert!(met * 100 >= all * 95, "{met} of {all} ends; below 95 %: {poor:?}");
    assert!(poor.len() * 5 <= counts.len(), "too many boards below 95 %: {poor:?}");
}

#[test]
fn no_pad_lies_on_a_pad_of_another_net_in_its_part() {
    let overlaps: Vec<String> = corpus()
        .par_iter()
        .flat_map_iter(|board| {
            let mut parts: BTreeMap<_, Vec<_>> = BTreeMap::new();
            for pad in board.pads.values().filter(|pad| pad.net.is_some() && !pad.shapes.is_empty()) {
                parts.entry(pad.footprint).or_default().push(pad);
            }
            let mut found = Vec::new();
            for pads in parts.values() {
                for (one, other) in pads.iter().flat_map(|one| pads.iter().map(move |other| (one, other))) {
                    let apart = one.net == other.net || one.layers.and(other.layers).is_empty();
                    if !apart && other.shapes.iter().any(|shape| shape.contains(vector(one.at))) {
                        found.push(format!("{}: {} on {}", label(board), one.number, other.number));
                    }
                }
            }
            found
        })
        .collect();
    assert_eq!(overlaps, Vec::<String>::new());
}
