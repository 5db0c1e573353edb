//! What the drawing code checks of its own boards, by brute force and without the crate under test: distances
//! between nets, and whether a net hangs together.

use super::board::Board;
use super::copper::{Piece, pieces, polygon};
use super::{Point, from_nm};
use geo::{BoundingRect, Distance, Euclidean, Polygon, Rect};

/// A grown outline with its box, layer and net.
struct Solid {
    net: String,
    layer: usize,
    shape: Polygon<f64>,
    frame: Rect<f64>,
    item: usize,
}

fn solids(board: &Board) -> (Vec<Solid>, usize) {
    let all: Vec<Piece> = pieces(board);
    let mut solids = Vec::new();
    for (item, piece) in all.iter().enumerate() {
        for &layer in &piece.layers {
            for core in &piece.cores {
                for shape in core.grown(0.0) {
                    let frame = shape.bounding_rect().expect("copper has an extent");
                    solids.push(Solid { net: piece.net.clone(), layer, shape, frame, item });
                }
            }
        }
    }
    let mut item = all.len();
    for zone in &board.zones {
        for (layer, ring) in zone.fills.iter().flatten() {
            let ring: Vec<Point> = ring.iter().map(|&(x, y)| (from_nm(x), from_nm(y))).collect();
            let shape = polygon(&ring);
            let frame = shape.bounding_rect().expect("a fill has an extent");
            solids.push(Solid { net: zone.net.clone(), layer: board.stack.index(layer), shape, frame, item });
            item += 1;
        }
    }
    // By left edge, so that a sweep meets neighbours only.
    solids.sort_by(|a, b| a.frame.min().x.total_cmp(&b.frame.min().x));
    (solids, item)
}

fn near(a: &Rect<f64>, b: &Rect<f64>, by: f64) -> bool {
    a.min().x <= b.max().x + by
        && b.min().x <= a.max().x + by
        && a.min().y <= b.max().y + by
        && b.min().y <= a.max().y + by
}

/// Whether a point lies in a ring, by counting crossings.
fn inside(ring: &geo::LineString<f64>, point: geo::Coord<f64>) -> bool {
    let crossed = |line: &geo::Line<f64>| {
        let (a, b) = (line.start, line.end);
        (a.y > point.y) != (b.y > point.y) && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    ring.lines().filter(crossed).count() % 2 == 1
}

/// Distance of two pieces of copper; infinite beyond a reach. Large rings are looked at only near the other piece.
fn distance(a: &Solid, b: &Solid, reach: f64) -> f64 {
    let (large, small) = if a.shape.exterior().0.len() > b.shape.exterior().0.len() { (a, b) } else { (b, a) };
    let ring = large.shape.exterior();
    if ring.0.len() < 200 {
        return Euclidean.distance(&a.shape, &b.shape);
    }
    if inside(ring, small.shape.exterior().0[0]) {
        return 0.0;
    }
    let close = ring.lines().filter(|line| near(&line.bounding_rect(), &small.frame, reach));
    close.map(|line| Euclidean.distance(&line, &small.shape)).fold(f64::INFINITY, f64::min)
}

impl Board {
    /// Places where copper of two nets is closer than a distance: layer, nets, gap, near where.
    pub fn too_close(&self, gap: f64) -> Vec<String> {
        let (solids, _) = solids(self);
        let mut found = Vec::new();
        for (index, a) in solids.iter().enumerate() {
            for b in solids[index + 1..].iter().take_while(|b| b.frame.min().x <= a.frame.max().x + gap) {
                let apart = a.layer != b.layer || (a.net == b.net && !a.net.is_empty()) || a.item == b.item;
                if apart || !near(&a.frame, &b.frame, gap) {
                    continue;
                }
                let distance = distance(a, b, gap);
                if distance < gap - 1e-4 {
                    let (layer, at) = (&self.stack.layers[a.layer], a.frame.center());
                    let nets = format!("{:?} and {:?}", a.net, b.net);
                    found.push(format!("{layer} {nets}: {distance:.3} near ({:.2}, {:.2})", at.x, at.y));
                }
            }
        }
        found
    }

    /// Nets whose copper does not hang together: name and number of parts.
    pub fn torn(&self) -> Vec<(String, usize)> {
        let (solids, items) = solids(self);
        let mut parent: Vec<usize> = (0..items).collect();
        fn root(parent: &mut [usize], mut at: usize) -> usize {
            while parent[at] != at {
                parent[at] = parent[parent[at]];
                at = parent[at];
            }
            at
        }
        let count = self.parts.iter().map(|part| part.pads.len() + part.strokes.len()).sum::<usize>();
        let vias = count + self.tracks.len() + self.graphics.len();
        // A via comes as two pieces, its ends and its inner layers, and a third if it is back-drilled.
        let mut at = vias;
        for via in &self.vias {
            parent[at + 1] = at;
            at += if via.back_drill.is_some() { 3 } else { 2 };
        }
        for (index, a) in solids.iter().enumerate() {
            for b in solids[index + 1..].iter().take_while(|b| b.frame.min().x <= a.frame.max().x) {
                if a.layer == b.layer && a.net == b.net && !a.net.is_empty() && near(&a.frame, &b.frame, 0.0) {
                    let (one, other) = (root(&mut parent, a.item), root(&mut parent, b.item));
                    if one != other && distance(a, b, 0.0) <= 0.0 {
                        parent[one] = other;
                    }
                }
            }
        }
        let mut parts: std::collections::BTreeMap<&str, std::collections::BTreeSet<usize>> = Default::default();
        for solid in solids.iter().filter(|solid| !solid.net.is_empty()) {
            parts.entry(&solid.net).or_default().insert(root(&mut parent, solid.item));
        }
        let torn = parts.into_iter().filter(|(_, roots)| roots.len() > 1);
        torn.map(|(net, roots)| (net.to_owned(), roots.len())).collect()
    }

    /// Ground vias wherever they keep `reach` from everything drawn so far and `pitch` from one another.
    pub fn stitch(&mut self, net: &str, (min, max): (Point, Point), pitch: f64, reach: f64) {
        let drawn: Vec<(Polygon<f64>, Rect<f64>)> = pieces(self)
            .iter()
            .flat_map(|piece| &piece.cores)
            .flat_map(|core| core.grown(0.0))
            .filter_map(|shape| shape.bounding_rect().map(|frame| (shape, frame)))
            .collect();
        let is_free = |(x, y): Point| {
            let point = geo::Point::new(x, y);
            drawn.iter().all(|(shape, frame)| {
                !near(frame, &point.bounding_rect(), reach) || Euclidean.distance(&point, shape) >= reach
            })
        };
        let step = pitch / 4.0;
        let count = |from: f64, to: f64| ((to - from) / step).floor() as usize + 1;
        let mut placed: Vec<Point> = Vec::new();
        for row in 0..count(min.1, max.1) {
            for column in 0..count(min.0, max.0) {
                let at = (min.0 + column as f64 * step, min.1 + row as f64 * step);
                let apart = |other: &Point| (other.0 - at.0).hypot(other.1 - at.1) >= pitch - 1e-9;
                if placed.iter().all(apart) && is_free(at) {
                    self.via(net, at).sized(0.4, 0.2);
                    placed.push(at);
                }
            }
        }
    }
}
