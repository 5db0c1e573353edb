//! Differential pairs: two legs at a constant distance from one centre line, with round or sharp corners, and bumps on
//! the shorter leg that make both equally long.

use super::Point;
use super::board::{Board, Path};
use super::copper::length;

/// A pair's way: its centre line from start to end.
#[derive(Debug, Clone)]
pub struct PairWay {
    /// Corners of the centre line, ends included.
    pub centre: Vec<Point>,
    /// Radius of the centre line's corners; 0 for sharp ones.
    pub radius: f64,
    /// Distance between the legs' centre lines.
    pub pitch: f64,
    /// Points of the left and right leg before the centre line starts (in walking direction): pad or via first.
    pub lead_in: [Vec<Point>; 2],
    /// Points of the legs after it ends.
    pub lead_out: [Vec<Point>; 2],
    /// Where the shorter leg may swing out: straight of the centre line (0 is the first) and distance from its start.
    pub bumps: Vec<(usize, f64)>,
}

/// Length of a bump's outer straight.
const FLAT: f64 = 0.3;

/// Both legs of a pair, drawn.
#[derive(Debug, Clone)]
pub struct PairLegs {
    /// Left leg in walking direction.
    pub left: Vec<Path>,
    /// Right leg.
    pub right: Vec<Path>,
    /// How far the bumps swing out; 0 without bumps.
    pub swing: f64,
}

fn unit(from: Point, to: Point) -> Point {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy);
    (dx / length, dy / length)
}

fn along(point: Point, direction: Point, by: f64) -> Point {
    (point.0 + direction.0 * by, point.1 + direction.1 * by)
}

/// To the left of a direction, seen on screen (y down).
fn left_of((x, y): Point) -> Point {
    (y, -x)
}

/// One straight of a leg and the arc after it, if any.
struct Stretch {
    from: Point,
    to: Point,
    arc: Option<(Point, Point)>,
}

/// A leg at a signed distance from the centre line (positive is left).
fn offset(way: &PairWay, by: f64) -> Vec<Stretch> {
    let corners = &way.centre;
    let directions: Vec<Point> = corners.windows(2).map(|leg| unit(leg[0], leg[1])).collect();
    let mut stretches = Vec::new();
    let mut from = along(corners[0], left_of(directions[0]), by);
    for (index, &direction) in directions.iter().enumerate() {
        let corner = corners[index + 1];
        let Some(&next) = directions.get(index + 1) else {
            stretches.push(Stretch { from, to: along(corner, left_of(direction), by), arc: None });
            break;
        };
        let turn = (direction.0 * next.1 - direction.1 * next.0).atan2(direction.0 * next.0 + direction.1 * next.1);
        let half = (turn / 2.0).tan();
        if way.radius == 0.0 {
            // A sharp corner: the offset lines meet on the bisector.
            let to = along(along(corner, left_of(direction), by), direction, half * by);
            stretches.push(Stretch { from, to, arc: None });
            from = to;
            continue;
        }
        let cut = way.radius * half.abs();
        let to = along(along(corner, direction, -cut), left_of(direction), by);
        let end = along(along(corner, next, cut), left_of(next), by);
        // The centre lies on the inner side; the arc's middle is on the line from it to the corner.
        let inner = left_of(direction);
        let side = if turn > 0.0 { -1.0 } else { 1.0 };
        let hub = along(along(corner, direction, -cut), inner, side * way.radius);
        let reach = (to.0 - hub.0).hypot(to.1 - hub.1);
        let mid = along(hub, unit(hub, corner), reach);
        stretches.push(Stretch { from, to, arc: Some((mid, end)) });
        from = end;
    }
    stretches
}

/// The paths of a leg, with bumps that swing out to one side (positive is left).
fn leg(way: &PairWay, by: f64, lead: (&[Point], &[Point]), swing: f64) -> Vec<Path> {
    let mut points: Vec<Point> = lead.0.to_vec();
    let mut paths: Vec<Path> = Vec::new();
    for (index, stretch) in offset(way, by).into_iter().enumerate() {
        points.push(stretch.from);
        let direction = unit(stretch.from, stretch.to);
        let side = left_of(direction);
        let mut bumps: Vec<f64> = way.bumps.iter().filter(|(on, _)| *on == index).map(|(_, at)| *at).collect();
        bumps.sort_by(f64::total_cmp);
        for at in bumps.into_iter().filter(|_| swing != 0.0) {
            let run = swing.abs();
            for (forth, out) in [(0.0, 0.0), (run, swing), (run + FLAT, swing), (2.0 * run + FLAT, 0.0)] {
                points.push(along(along(stretch.from, direction, at + forth), side, out));
            }
        }
        points.push(stretch.to);
        if let Some((mid, end)) = stretch.arc {
            paths.extend(lines(&points));
            points.clear();
            paths.push(Path::Arc(stretch.to, mid, end));
        }
    }
    points.extend(lead.1);
    paths.extend(lines(&points));
    paths
}

fn lines(points: &[Point]) -> impl Iterator<Item = Path> {
    points.windows(2).filter(|ends| ends[0] != ends[1]).map(|ends| Path::Line(ends[0], ends[1]))
}

/// Length of a leg.
pub fn total(paths: &[Path]) -> f64 {
    paths.iter().map(length).sum()
}

impl PairWay {
    /// Draws both legs; bumps make the shorter one as long as the other.
    pub fn legs(&self) -> PairLegs {
        let half = self.pitch / 2.0;
        let leads = |side: usize| (self.lead_in[side].as_slice(), self.lead_out[side].as_slice());
        let plain = [leg(self, half, leads(0), 0.0), leg(self, -half, leads(1), 0.0)];
        let longer = total(&plain[0]) - total(&plain[1]);
        if self.bumps.is_empty() {
            let [left, right] = plain;
            return PairLegs { left, right, swing: 0.0 };
        }
        // Each bump has two 45° flanks: it adds 2 (√2 − 1) times its swing.
        let swing = longer.abs() / (self.bumps.len() as f64 * 2.0 * (std::f64::consts::SQRT_2 - 1.0));
        let (left, right) = if longer > 0.0 {
            (leg(self, half, leads(0), 0.0), leg(self, -half, leads(1), -swing))
        } else {
            (leg(self, half, leads(0), swing), leg(self, -half, leads(1), 0.0))
        };
        PairLegs { left, right, swing }
    }
}

impl Board {
    /// Adds paths as tracks.
    pub fn paths(&mut self, net: &str, layer: &str, width: f64, paths: &[Path]) {
        for &path in paths {
            self.path(net, layer, width, path);
        }
    }
}
