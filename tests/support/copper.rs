//! The drawn copper as grown polygons, for fills and pictures. Curves become polygons that contain them.

use super::board::{Board, Path};
use super::part::{Anchor, Pad, PadKind, PadShape, Part, Primitive};
use super::{Point, rotate};
use geo::{Coord, LineString, Polygon};

/// Corners of a full circle.
const ROUND: usize = 32;

/// What a piece of copper is made of, before it grows.
#[derive(Debug, Clone, PartialEq)]
pub enum Core {
    /// The convex hull of discs of one radius.
    Hull(Vec<Point>, f64),
    /// A polygon of any form with a round pen.
    Area(Vec<Point>, f64),
}

/// A piece of copper of one net.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Net; empty for none.
    pub net: String,
    /// Layers, by position from the top.
    pub layers: Vec<usize>,
    /// Its parts.
    pub cores: Vec<Core>,
}

/// Convex hull, by the monotone chain.
fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup();
    let turn = |a: Point, b: Point, c: Point| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
    let mut ring: Vec<Point> = Vec::new();
    for pass in 0..2 {
        let floor = ring.len();
        for index in 0..points.len() {
            let point = points[if pass == 0 { index } else { points.len() - 1 - index }];
            while ring.len() >= floor + 2 && turn(ring[ring.len() - 2], ring[ring.len() - 1], point) <= 0.0 {
                ring.pop();
            }
            ring.push(point);
        }
        ring.pop();
    }
    ring
}

/// The hull of discs about points: every disc is inside it.
fn grown_hull(points: &[Point], radius: f64) -> Vec<Point> {
    if radius <= 0.0 {
        return hull(points.to_vec());
    }
    let reach = radius / (std::f64::consts::PI / ROUND as f64).cos();
    let around = |&(x, y): &Point| {
        (0..ROUND).map(move |step| {
            // Half a step off the axes, so that the sides touch the disc on the axes.
            let angle = (step as f64 + 0.5) * std::f64::consts::TAU / ROUND as f64;
            (x + reach * angle.cos(), y + reach * angle.sin())
        })
    };
    hull(points.iter().flat_map(around).collect())
}

/// A polygon of `geo`.
pub fn polygon(ring: &[Point]) -> Polygon<f64> {
    Polygon::new(LineString::new(ring.iter().map(|&(x, y)| Coord { x, y }).collect()), Vec::new())
}

impl Core {
    /// Polygons that together cover this, grown by a distance.
    pub fn grown(&self, by: f64) -> Vec<Polygon<f64>> {
        match self {
            Self::Hull(points, radius) => vec![polygon(&grown_hull(points, radius + by))],
            Self::Area(ring, radius) => {
                let edges = (0..ring.len()).map(|at| [ring[at], ring[(at + 1) % ring.len()]]);
                let mut all = vec![polygon(ring)];
                if radius + by > 0.0 {
                    all.extend(edges.map(|edge| polygon(&grown_hull(&edge, radius + by))));
                }
                all
            }
        }
    }
}

/// Centre and radius of the circle through three points.
pub fn circle(start: Point, mid: Point, end: Point) -> Option<(Point, f64)> {
    let (mx, my) = (mid.0 - start.0, mid.1 - start.1);
    let (ex, ey) = (end.0 - start.0, end.1 - start.1);
    let d = 2.0 * (mx * ey - ex * my);
    if d.abs() < 1e-12 {
        return None;
    }
    let (m2, e2) = (mx * mx + my * my, ex * ex + ey * ey);
    let (cx, cy) = ((m2 * ey - e2 * my) / d, (e2 * mx - m2 * ex) / d);
    Some(((start.0 + cx, start.1 + cy), cx.hypot(cy)))
}

/// A path as points; chords of arcs stay within `error` of it.
pub fn chords(path: &Path, error: f64) -> Vec<Point> {
    let (start, mid, end) = match *path {
        Path::Line(start, end) => return vec![start, end],
        Path::Arc(start, mid, end) => (start, mid, end),
    };
    let Some((centre, radius)) = circle(start, mid, end) else {
        return vec![start, end];
    };
    let angle = |p: Point| (p.1 - centre.1).atan2(p.0 - centre.0);
    let tau = std::f64::consts::TAU;
    let (a0, past_mid, past_end) =
        (angle(start), (angle(mid) - angle(start)).rem_euclid(tau), (angle(end) - angle(start)).rem_euclid(tau));
    let sweep = if past_mid <= past_end { past_end } else { past_end - tau };
    let step = 2.0 * (1.0 - error / radius).clamp(-1.0, 1.0).acos();
    let count = (sweep.abs() / step).ceil().max(1.0) as usize;
    let between = (1..count).map(|index| {
        let at = a0 + sweep * index as f64 / count as f64;
        (centre.0 + radius * at.cos(), centre.1 + radius * at.sin())
    });
    std::iter::once(start).chain(between).chain(std::iter::once(end)).collect()
}

/// Length of a path's centre line.
pub fn length(path: &Path) -> f64 {
    match *path {
        Path::Line(a, b) => (b.0 - a.0).hypot(b.1 - a.1),
        Path::Arc(a, m, b) => {
            let Some((centre, radius)) = circle(a, m, b) else {
                return (b.0 - a.0).hypot(b.1 - a.1);
            };
            let angle = |p: Point| (p.1 - centre.1).atan2(p.0 - centre.0);
            let tau = std::f64::consts::TAU;
            let (mid, end) = ((angle(m) - angle(a)).rem_euclid(tau), (angle(b) - angle(a)).rem_euclid(tau));
            radius * if mid <= end { end } else { tau - end }
        }
    }
}

/// A pad's copper in its own frame, before rotation; bottom parts come mirrored.
fn pad_cores(part: &Part, pad: &Pad) -> Vec<Core> {
    let (w, h) = pad.size;
    let short = w.min(h);
    let corners = |x: f64, y: f64| vec![(-x, -y), (x, -y), (x, y), (-x, y)];
    let flip = |points: &[Point]| points.iter().map(|&point| part.stored(point)).collect::<Vec<_>>();
    match &pad.shape {
        PadShape::Circle => vec![Core::Hull(vec![(0.0, 0.0)], w / 2.0)],
        PadShape::Rect => vec![Core::Hull(corners(w / 2.0, h / 2.0), 0.0)],
        PadShape::Oval => {
            let end = ((w - short) / 2.0, (h - short) / 2.0);
            vec![Core::Hull(vec![(-end.0, -end.1), end], short / 2.0)]
        }
        PadShape::RoundRect(share) => {
            let r = share * short;
            vec![Core::Hull(corners(w / 2.0 - r, h / 2.0 - r), r)]
        }
        PadShape::Chamfer { round, cut, corners: names } => {
            let (r, c) = (round * short, cut * short);
            let mut points = Vec::new();
            for (name, sx, sy) in [
                ("top_left", -1.0, -1.0),
                ("top_right", 1.0, -1.0),
                ("bottom_right", 1.0, 1.0),
                ("bottom_left", -1.0, 1.0),
            ] {
                let (x, y) = (sx * w / 2.0, sy * h / 2.0);
                if names.contains(&name) {
                    points.extend([(x, y - sy * c), (x - sx * c, y)]);
                } else {
                    points.extend((0..=8).map(|step| {
                        let angle = f64::from(step) * std::f64::consts::FRAC_PI_2 / 8.0;
                        (x - sx * r * (1.0 - angle.cos()), y - sy * r * (1.0 - angle.sin()))
                    }));
                }
            }
            vec![Core::Hull(flip(&points), 0.0)]
        }
        PadShape::Trapezoid(p, q) => {
            let points = [
                (-w / 2.0 + q / 2.0, -h / 2.0 - p / 2.0),
                (w / 2.0 - q / 2.0, -h / 2.0 + p / 2.0),
                (w / 2.0 + q / 2.0, h / 2.0 - p / 2.0),
                (-w / 2.0 - q / 2.0, h / 2.0 + p / 2.0),
            ];
            vec![Core::Hull(flip(&points), 0.0)]
        }
        PadShape::Custom(anchor, primitives) => {
            let mut cores = vec![match anchor {
                Anchor::Circle => Core::Hull(vec![(0.0, 0.0)], w / 2.0),
                Anchor::Rect => Core::Hull(corners(w / 2.0, h / 2.0), 0.0),
            }];
            cores.extend(primitives.iter().map(|primitive| match primitive {
                Primitive::Polygon { points, width } => Core::Area(flip(points), width / 2.0),
                Primitive::Line { from, to, width } => Core::Hull(flip(&[*from, *to]), width / 2.0),
                Primitive::Disc { centre, radius } => Core::Hull(flip(&[*centre]), *radius),
            }));
            cores
        }
    }
}

/// A pad's copper on the board.
pub fn pad_copper(part: &Part, pad: &Pad) -> Vec<Core> {
    let (angle, anchor) = (part.pad_angle(pad), part.place(pad.at));
    let shift = rotate(part.stored(pad.offset), angle);
    let place = |point: &Point| {
        let (x, y) = rotate(*point, angle);
        (anchor.0 + shift.0 + x, anchor.1 + shift.1 + y)
    };
    pad_cores(part, pad)
        .into_iter()
        .map(|core| match core {
            Core::Hull(points, radius) => Core::Hull(points.iter().map(place).collect(), radius),
            Core::Area(points, radius) => Core::Area(points.iter().map(place).collect(), radius),
        })
        .collect()
}

/// Layers on which a pad has copper, by position from the top.
pub fn pad_layers(board: &Board, part: &Part, pad: &Pad) -> Vec<usize> {
    let last = board.stack.layers.len() - 1;
    let flip = |index: usize| match (part.bottom, index) {
        (true, 0) => last,
        (true, at) if at == last => 0,
        (_, at) => at,
    };
    match &pad.layers {
        Some(names) => names.iter().map(|name| flip(board.stack.index(name))).collect(),
        None if matches!(pad.kind, PadKind::Hole | PadKind::Bare) => (0..=last).collect(),
        None => vec![flip(0)],
    }
}

/// All copper but fills, in drawing order. Holes without copper come as pieces of no net.
pub fn pieces(board: &Board) -> Vec<Piece> {
    let mut all = Vec::new();
    for part in &board.parts {
        for pad in &part.pads {
            let cores = pad_copper(part, pad);
            all.push(Piece { net: pad.net.clone(), layers: pad_layers(board, part, pad), cores });
        }
        for (layer, from, to, width) in &part.strokes {
            let cores = vec![Core::Hull(vec![part.place(*from), part.place(*to)], width / 2.0)];
            all.push(Piece { net: String::new(), layers: vec![board.stack.index(layer)], cores });
        }
    }
    for track in &board.tracks {
        all.push(Piece {
            net: track.net.clone(),
            layers: vec![board.stack.index(&track.layer)],
            cores: stroke(&track.path, track.width),
        });
    }
    for (layer, path, width) in &board.graphics {
        let layers = vec![board.stack.index(layer)];
        all.push(Piece { net: String::new(), layers, cores: stroke(path, *width) });
    }
    for via in &board.vias {
        let (top, bottom) = (board.stack.index(&via.top), board.stack.index(&via.bottom));
        let disc = |radius: f64| vec![Core::Hull(vec![via.at], radius)];
        let (ends, inner): (Vec<usize>, Vec<usize>) = (top..=bottom).partition(|&at| at == top || at == bottom);
        let hole = via.drill.unwrap_or(via.size / 2.0) / 2.0;
        all.push(Piece { net: via.net.clone(), layers: ends, cores: disc(via.size / 2.0) });
        let inner_radius = if via.remove_unused { hole } else { via.size / 2.0 };
        all.push(Piece { net: via.net.clone(), layers: inner, cores: disc(inner_radius) });
        if let Some((diameter, from, to)) = &via.back_drill {
            let (from, to) = (board.stack.index(from), board.stack.index(to));
            let layers = (from.min(to)..=from.max(to)).filter(|&at| at != to).collect();
            all.push(Piece { net: String::new(), layers, cores: disc(diameter / 2.0) });
        }
    }
    all
}

/// A stroked path.
fn stroke(path: &Path, width: f64) -> Vec<Core> {
    const ERROR: f64 = 0.0005;
    let grow = if matches!(path, Path::Arc(..)) { ERROR } else { 0.0 };
    chords(path, ERROR).windows(2).map(|leg| Core::Hull(leg.to_vec(), width / 2.0 + grow)).collect()
}
