//! Random small boards: islands against a flood fill that knows nothing of the crate, and what must not change them.

use crate::routes_drawing::board as read_board;
use crate::support::{Board as Drawn, Pad, Part, Stack};
use geo::{Coord, Distance as _, Euclidean, Line};
use proptest::prelude::*;
use std::collections::BTreeSet;
use throughline::board::Board;
use throughline::copper::{Copper, ItemRef, Items, TOUCH, pad_name};
use throughline::geometry::to_f64;

const LAYERS: [&str; 4] = ["F.Cu", "In1.Cu", "In2.Cu", "B.Cu"];
const NETS: [&str; 4] = ["", "A", "B", "C"];

/// Where a thing may lie: steps of 0.1 mm, so that things meet, graze and miss.
type Spot = (i32, i32);

#[derive(Debug, Clone)]
struct Track {
    net: usize,
    layer: usize,
    from: Spot,
    to: Spot,
    /// Tenths of a millimetre.
    width: i32,
}

#[derive(Debug, Clone)]
struct Via {
    net: usize,
    at: Spot,
    top: usize,
    bottom: usize,
}

#[derive(Debug, Clone)]
struct Land {
    net: usize,
    at: Spot,
    bottom: bool,
    name: usize,
}

#[derive(Debug, Clone)]
struct Scene {
    tracks: Vec<Track>,
    vias: Vec<Via>,
    lands: Vec<Land>,
}

const VIA: f64 = 0.4;
const LAND: f64 = 0.5;

fn mm((x, y): Spot) -> (f64, f64) {
    (f64::from(x) / 10.0, f64::from(y) / 10.0)
}

impl Scene {
    fn draw(&self) -> Board {
        let mut drawn = Drawn::new("random", Stack::four());
        for land in &self.lands {
            let part = Part::new(&format!("U{}", land.name), mm(land.at))
                .pad(Pad::circle("1", (0.0, 0.0), LAND).net(NETS[land.net]));
            drawn.part(if land.bottom { part.bottom() } else { part });
        }
        for track in &self.tracks {
            let width = f64::from(track.width) / 10.0;
            drawn.track(NETS[track.net], LAYERS[track.layer], width, &[mm(track.from), mm(track.to)]);
        }
        for via in &self.vias {
            drawn.via(NETS[via.net], mm(via.at)).sized(VIA, 0.2).span(LAYERS[via.top], LAYERS[via.bottom]);
        }
        read_board(&drawn)
    }

    /// Every piece of copper: object, layer, centre line in mm, radius.
    fn pieces(&self) -> Vec<(usize, usize, Line<f64>, f64)> {
        let line = |from, to| {
            let ((a, b), (c, d)) = (mm(from), mm(to));
            Line::new(Coord { x: a, y: b }, Coord { x: c, y: d })
        };
        let mut pieces = Vec::new();
        for (at, land) in self.lands.iter().enumerate() {
            pieces.push((at, if land.bottom { 3 } else { 0 }, line(land.at, land.at), LAND / 2.0));
        }
        let first = self.lands.len();
        for (at, track) in self.tracks.iter().enumerate() {
            pieces.push((first + at, track.layer, line(track.from, track.to), f64::from(track.width) / 20.0));
        }
        let first = first + self.tracks.len();
        for (at, via) in self.vias.iter().enumerate() {
            for layer in via.top..=via.bottom {
                pieces.push((first + at, layer, line(via.at, via.at), VIA / 2.0));
            }
        }
        pieces
    }

    /// For each object the least object it hangs together with, by flood fill over all pairs.
    fn flood(&self) -> Vec<usize> {
        let pieces = self.pieces();
        let count = self.lands.len() + self.tracks.len() + self.vias.len();
        let touch = |one: &(usize, usize, Line<f64>, f64), other: &(usize, usize, Line<f64>, f64)| {
            one.1 == other.1 && Euclidean.distance(&one.2, &other.2) <= one.3 + other.3 + to_f64(TOUCH) / 1e6 + 1e-9
        };
        let mut least: Vec<Option<usize>> = vec![None; count];
        for start in 0..count {
            if least[start].is_some() {
                continue;
            }
            let mut todo = vec![start];
            least[start] = Some(start);
            while let Some(here) = todo.pop() {
                for one in pieces.iter().filter(|piece| piece.0 == here) {
                    for other in pieces.iter().filter(|other| touch(one, other)) {
                        if least[other.0].is_none() {
                            least[other.0] = Some(start);
                            todo.push(other.0);
                        }
                    }
                }
            }
        }
        least.into_iter().map(Option::unwrap).collect()
    }
}

fn spot() -> impl Strategy<Value = Spot> {
    (0..40i32, 0..40i32)
}

fn scene() -> impl Strategy<Value = Scene> {
    let track = (0..4usize, 0..4usize, spot(), (-9..10i32, -9..10i32), 1..5i32).prop_map(
        |(net, layer, from, (dx, dy), width)| Track { net, layer, from, to: (from.0 + dx, from.1 + dy), width },
    );
    let via = (0..4usize, spot(), 0..3usize, 1..4usize).prop_map(|(net, at, top, depth)| Via {
        net,
        at,
        top,
        bottom: (top + depth).min(3),
    });
    let land = (1..4usize, spot(), any::<bool>()).prop_map(|(net, at, bottom)| Land { net, at, bottom, name: 0 });
    (
        proptest::collection::vec(track, 0..40),
        proptest::collection::vec(via, 0..8),
        proptest::collection::vec(land, 2..8),
    )
        .prop_map(|(tracks, vias, mut lands)| {
            for (name, land) in lands.iter_mut().enumerate() {
                land.name = name;
            }
            Scene { tracks, vias, lands }
        })
}

/// The islands that the crate finds, in the form of [`Scene::flood`].
fn found(board: &Board) -> Vec<usize> {
    let copper = Copper::new(board);
    let objects = board
        .pads
        .ids()
        .map(ItemRef::Pad)
        .chain(board.tracks.ids().map(ItemRef::Track))
        .chain(board.vias.ids().map(ItemRef::Via));
    let islands: Vec<_> = objects
        .map(|object| {
            let mut own: Vec<_> =
                copper.items().of(object).map(|(item, _)| copper.islands().of(item).unwrap()).collect();
            own.dedup();
            assert_eq!(own.len(), 1, "an object is on one island");
            own[0]
        })
        .collect();
    islands.iter().map(|island| islands.iter().position(|other| other == island).unwrap()).collect()
}

/// Parts of each net by pad names, and pairs of nets that are shorted.
type Said = (BTreeSet<(String, Vec<Vec<String>>)>, BTreeSet<(String, String)>);

/// What a person would say of a board: parts of each net by pad names, and nets that are shorted.
fn said(board: &Board) -> Said {
    let copper = Copper::new(board);
    let parts = copper
        .connections()
        .iter()
        .map(|connection| {
            let mut parts: Vec<Vec<String>> = connection
                .parts
                .iter()
                .map(|part| {
                    let mut pads: Vec<String> = part.pads.iter().map(|&pad| pad_name(board, pad)).collect();
                    pads.sort();
                    pads
                })
                .collect();
            parts.sort();
            (board.nets.name(connection.net).to_owned(), parts)
        })
        .collect();
    let shorts = copper
        .shorts()
        .iter()
        .map(|short| {
            let mut names = [short.nets.0, short.nets.1].map(|net| board.nets.name(net).to_owned());
            names.sort();
            let [one, other] = names;
            (one, other)
        })
        .collect();
    (parts, shorts)
}

fn all_near(items: &Items<'_>) -> usize {
    items.iter().map(|(id, _)| items.touching(id).len()).sum()
}

proptest! {
    #[test]
    fn islands_are_what_a_flood_fill_finds(scene in scene()) {
        let board = scene.draw();
        prop_assert_eq!(found(&board), scene.flood());
    }

    /// The index finds every pair that touches.
    #[test]
    fn index_agrees_with_all_pairs(scene in scene()) {
        let board = scene.draw();
        let copper = Copper::new(&board);
        let items = copper.items();
        let mut touching = 0;
        for (one, first) in items.iter() {
            for (other, second) in items.iter() {
                let touch = one != other
                    && first.layer == second.layer
                    && first.shape.gap(second.shape).distance <= to_f64(TOUCH);
                touching += usize::from(touch);
            }
        }
        prop_assert_eq!(all_near(items), touching);
    }

    #[test]
    fn order_in_the_file_does_not_matter(scene in scene()) {
        let mut turned = scene.clone();
        turned.tracks.reverse();
        turned.vias.reverse();
        turned.lands.reverse();
        prop_assert_eq!(said(&scene.draw()), said(&turned.draw()));
    }

    #[test]
    fn a_moved_turned_or_mirrored_board_says_the_same(scene in scene(), dx in -900..900i32, dy in -900..900i32) {
        let map = |change: &dyn Fn(Spot) -> Spot, swap: bool| {
            let mut scene = scene.clone();
            let layer = |layer: usize| if swap { 3 - layer } else { layer };
            for track in &mut scene.tracks {
                (track.from, track.to) = (change(track.from), change(track.to));
                track.layer = layer(track.layer);
            }
            for via in &mut scene.vias {
                via.at = change(via.at);
                if swap {
                    (via.top, via.bottom) = (layer(via.bottom), layer(via.top));
                }
            }
            for land in &mut scene.lands {
                land.at = change(land.at);
                land.bottom ^= swap;
            }
            said(&scene.draw())
        };
        let plain = said(&scene.draw());
        prop_assert_eq!(&map(&|(x, y)| (x + dx, y + dy), false), &plain);
        prop_assert_eq!(&map(&|(x, y)| (-y, x), false), &plain);
        prop_assert_eq!(&map(&|(x, y)| (-x, y), true), &plain);
    }

    #[test]
    fn a_split_track_says_the_same(scene in scene(), which in any::<prop::sample::Index>()) {
        let mut scene = scene;
        if scene.tracks.is_empty() {
            return Ok(());
        }
        let at = which.index(scene.tracks.len());
        // The middle must lie on the grid of the drawing; a cut elsewhere would bend the track.
        let track = &mut scene.tracks[at];
        track.to.0 -= (track.from.0 + track.to.0) % 2;
        track.to.1 -= (track.from.1 + track.to.1) % 2;
        let track = track.clone();
        let middle = ((track.from.0 + track.to.0) / 2, (track.from.1 + track.to.1) / 2);
        let mut split = scene.clone();
        split.tracks[at].to = middle;
        split.tracks.push(Track { from: middle, ..track });
        prop_assert_eq!(said(&scene.draw()), said(&split.draw()));
    }
}
