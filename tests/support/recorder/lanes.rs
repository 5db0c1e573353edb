//! The lanes and the sidebands.

use super::connector::{ROWS, contact_y, sideband_via};
use super::{GAP, HEIGHT, INNER_WIDTH, MIDDLE, Plan, VIA, WIDTH, ball_at, ends};
use crate::support::pair::PairWay;
use crate::support::{Board, Point};

/// One pair of the demo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lane {
    /// Name without the leg.
    pub name: &'static str,
    /// How it runs.
    pub kind: Kind,
    /// Index of the contact of its upper leg.
    pub contact: usize,
}

/// How a lane runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// From column 14 on the connector's side; rank from the top.
    Tx(usize),
    /// From column 14 on the inner layer.
    Clock,
    /// From an outermost row on the balls' side; left column, upper edge.
    Rx(usize, bool),
}

/// All lanes.
pub const LANES: [Lane; 9] = [
    Lane { name: "MEM_TX0", kind: Kind::Tx(0), contact: 8 },
    Lane { name: "MEM_TX1", kind: Kind::Tx(1), contact: 11 },
    Lane { name: "GEO_CLK", kind: Kind::Clock, contact: 14 },
    Lane { name: "MEM_TX2", kind: Kind::Tx(3), contact: 17 },
    Lane { name: "MEM_TX3", kind: Kind::Tx(4), contact: 20 },
    Lane { name: "MEM_RX0", kind: Kind::Rx(12, true), contact: 4 },
    Lane { name: "MEM_RX1", kind: Kind::Rx(9, true), contact: 1 },
    Lane { name: "MEM_RX2", kind: Kind::Rx(9, false), contact: 27 },
    Lane { name: "MEM_RX3", kind: Kind::Rx(12, false), contact: 24 },
];

/// Half the distance between a pair's vias; their ground vias keep the same distance again.
const VIA_HALF: f64 = 0.25;
/// x of the vias beside column 14.
const ESCAPE: f64 = 14.75;

/// Half the distance between the legs' centre lines of the outer pairs.
const HALF: f64 = (WIDTH + GAP) / 2.0;

/// Slopes of the lanes where they change sides, degrees: gentle, so that the running mismatch of a bend stays below
/// 0.15 mm (pitch times angle) and the weave of the glass is crossed at an angle.
const TX_SLOPE: f64 = 20.0;
/// The same for the RX lanes.
const RX_SLOPE: f64 = 25.0;

/// Draws everything that carries a signal.
pub fn draw(board: &mut Board, plan: &Plan) {
    for lane in LANES {
        match lane.kind {
            Kind::Tx(rank) => tx(board, plan, lane, rank),
            Kind::Clock => clock(board, plan, lane),
            Kind::Rx(column, upper) => rx(board, plan, lane, column, upper),
        }
    }
    escape_grounds(board, plan);
    sidebands(board, plan);
}

fn legs(name: &str) -> [String; 2] {
    [format!("{name}_P"), format!("{name}_N")]
}

/// Ball to via on the balls' side, one leg above the other.
fn escape(board: &mut Board, plan: &Plan, name: &str, rank: usize) -> f64 {
    let (_, upper) = ball_at(14, 3 * rank + 1);
    let (x, lower) = ball_at(14, 3 * rank + 2);
    let middle = (upper + lower) / 2.0;
    for (net, y, side) in [(&legs(name)[0], upper, -1.0), (&legs(name)[1], lower, 1.0)] {
        let via = (ESCAPE, middle + side * VIA_HALF);
        // Straight out of the land, then across to the narrower via pair.
        let shift = (y - via.1).abs();
        board.track(net, plan.ball(), WIDTH, &[(x, y), (ESCAPE - 0.1 - shift, y), (ESCAPE - 0.1, via.1), via]);
        board.via(net, via).sized(VIA.0, VIA.1);
    }
    middle
}

/// Points of the legs between vias or pads and the pair: upper leg, lower leg; from far to near.
fn converge(x: f64, middle: f64, wide: f64, narrow: f64, towards: f64) -> [Vec<Point>; 2] {
    let reach = wide - narrow;
    [-1.0, 1.0].map(|side| vec![(x, middle + side * wide), (x + towards * (0.25 + reach), middle + side * narrow)])
}

fn reversed(legs: [Vec<Point>; 2]) -> [Vec<Point>; 2] {
    legs.map(|leg| leg.into_iter().rev().collect())
}

fn tx(board: &mut Board, plan: &Plan, lane: Lane, rank: usize) {
    let from = escape(board, plan, lane.name, rank);
    let to = contact_y(lane.contact) + 0.25;
    let start = ESCAPE + 0.45;
    let end = plan.row_a - 1.2;
    let span = (to - from).abs() / TX_SLOPE.to_radians().tan();
    let first = start + 1.5 + 0.8 * (rank as f64 - 2.0).abs();
    let way = PairWay {
        centre: vec![(start, from), (first, from), (first + span, to), (end, to)],
        radius: 2.0 * plan.radius,
        pitch: 2.0 * HALF,
        lead_in: converge(ESCAPE, from, VIA_HALF, HALF, 1.0),
        lead_out: fan_out(plan.row_a, end, to, HALF),
        bumps: Vec::new(),
    };
    let drawn = way.legs();
    let [p, n] = legs(lane.name);
    board.paths(&p, plan.mate(), WIDTH, &drawn.left);
    board.paths(&n, plan.mate(), WIDTH, &drawn.right);
}

/// From the pair's end to contacts half a millimetre apart.
fn fan_out(row: f64, end: f64, middle: f64, half: f64) -> [Vec<Point>; 2] {
    [-1.0, 1.0].map(|side| vec![(end + 0.25 - half, middle + side * 0.25), (row, middle + side * 0.25)])
}

fn clock(board: &mut Board, plan: &Plan, lane: Lane) {
    let half = (INNER_WIDTH + GAP) / 2.0;
    let from = escape(board, plan, lane.name, 2);
    let to = contact_y(lane.contact) + 0.25;
    let end = plan.row_a - 1.1;
    let way = PairWay {
        centre: vec![(ESCAPE + 0.45, from), (end - 0.45, to)],
        radius: 0.0,
        pitch: 2.0 * half,
        lead_in: converge(ESCAPE, from, VIA_HALF, half, 1.0),
        lead_out: reversed(converge(end, to, VIA_HALF, half, -1.0)),
        bumps: Vec::new(),
    };
    let drawn = way.legs();
    let (top, bottom) = ends(plan.mate(), plan.inner());
    for (net, paths, side) in [(&legs(lane.name)[0], &drawn.left, -1.0), (&legs(lane.name)[1], &drawn.right, 1.0)] {
        board.paths(net, plan.inner(), INNER_WIDTH, paths);
        let via = (end, to + side * VIA_HALF);
        let pad = (plan.row_a, via.1);
        board.via(net, via).sized(VIA.0, VIA.1).span(top, bottom);
        board.track(net, plan.mate(), WIDTH, &[via, pad]);
    }
}

fn rx(board: &mut Board, plan: &Plan, lane: Lane, column: usize, upper: bool) {
    // Drawn for the upper edge and mirrored for the lower one.
    let flip = |(x, y): Point| if upper { (x, y) } else { (x, HEIGHT - y) };
    let outer = column == 9;
    let (left, y) = ball_at(column, 0);
    let (right, _) = ball_at(column + 1, 0);
    let middle = (left + right) / 2.0;
    let contact = if upper { lane.contact } else { 28 - lane.contact };
    let to = contact_y(contact) + 0.25;
    let run = if outer { 1.7 } else { 3.2 };
    let via = plan.row_a + ROWS - 1.8;
    // Up from the balls, around in two halves, along the edge, down to the contacts.
    let start = y - 0.65;
    let diagonal = 1.9;
    let corner = (middle, run + diagonal);
    let turn = (middle + diagonal, run);
    let slope = (to - run) / RX_SLOPE.to_radians().tan();
    let down = plan.row_a - slope - if outer { 0.4 } else { 1.9 };
    let centre = [(middle, start), corner, turn, (down, run), (down + slope, to), (via - 0.45, to)];
    let [west, east] = [(left, 1.0), (right, -1.0)].map(|(x, inward)| {
        let near = middle - inward * HALF;
        vec![(x, y), (x, y - 0.3), (near, y - 0.3 - (near - x).abs())]
    });
    let out = reversed(converge(via, to, VIA_HALF, HALF, -1.0));
    let way = PairWay {
        centre: centre.to_vec(),
        radius: plan.radius,
        pitch: 2.0 * HALF,
        lead_in: [west, east],
        lead_out: out,
        bumps: Vec::new(),
    };
    // The inner leg of the corner is the shorter one: bumps before, between and after its halves.
    let tangent = plan.radius * 22.5_f64.to_radians().tan();
    let first = corner.1 - start;
    let between = diagonal * std::f64::consts::SQRT_2 - 2.0 * tangent;
    let way = PairWay {
        bumps: vec![
            (0, first.abs() - tangent.max(0.1) - 0.62),
            (1, between / 2.0 - 0.7),
            (1, between / 2.0 + 0.1),
            (2, 0.15),
        ],
        ..way
    };
    let drawn = way.legs();
    // P is the left leg above the middle of the board; below, the mirror swaps left and right.
    let (p, n) = (&legs(lane.name)[0], &legs(lane.name)[1]);
    let (left_net, right_net) = if upper { (p, n) } else { (n, p) };
    for (net, paths, side) in [(left_net, &drawn.left, -1.0), (right_net, &drawn.right, 1.0)] {
        for path in paths {
            board.path(net, plan.ball(), WIDTH, mirrored(path, &flip));
        }
        let at = flip((via, to + side * VIA_HALF));
        let pad = flip((plan.row_a + ROWS, to + side * VIA_HALF));
        board.via(net, at).sized(VIA.0, VIA.1);
        board.track(net, plan.mate(), WIDTH, &[at, pad]);
    }
}

fn mirrored(path: &crate::support::Path, flip: &impl Fn(Point) -> Point) -> crate::support::Path {
    use crate::support::Path::{Arc, Line};
    match *path {
        Line(a, b) => Line(flip(a), flip(b)),
        Arc(a, m, b) => Arc(flip(a), flip(m), flip(b)),
    }
}

/// Ground balls of column 14 and a ground via on either side of every pair's vias.
fn escape_grounds(board: &mut Board, plan: &Plan) {
    for rank in 0..=5 {
        let (x, y) = ball_at(14, 3 * rank);
        for (side, there) in [(-1.0, rank > 0), (1.0, rank < 5)] {
            if there {
                let via = (ESCAPE, y + side * (3.0 * super::BALL_PITCH / 2.0 - 3.0 * VIA_HALF));
                board.track("GND", plan.ball(), 0.2, &[(x, y), via]);
                board.via("GND", via).sized(VIA.0, VIA.1);
            }
        }
    }
}

/// The sidebands on the inner layer: between the escape vias, then to their contacts.
fn sidebands(board: &mut Board, plan: &Plan) {
    const TRACK: f64 = 0.12;
    for (column, row, upper_contact, channel, bend) in
        [(11, 1, 2, 7.0, 18.5), (13, 1, 3, 6.4, 17.0), (13, 3, 4, 3.6, 17.0), (13, 6, 5, 1.2, 18.0)]
    {
        let channel = MIDDLE - channel;
        for upper in [true, false] {
            let flip = |(x, y): Point| if upper { (x, y) } else { (x, HEIGHT - y) };
            // Below the middle the vias sit beyond the ball, so they are reached from the mirrored place.
            let (row, contact) = if upper { (row, upper_contact) } else { (15 - row, 29 - upper_contact) };
            let (ball_x, ball_y) = ball_at(column, row);
            let via = flip((ball_x + 0.4, ball_y + 0.4));
            let net = super::net_of(column, row).expect("a sideband's ball has a net");
            let end = flip(sideband_via(board, plan, &net, contact));
            let mut points = vec![via];
            if row.min(15 - row) == 1 {
                // Out of the grid beside the outermost balls' vias.
                points.extend([(via.0, channel + 0.6), (via.0 + 0.6, channel)]);
            } else {
                points.push((via.0 + (via.1 - channel).abs(), channel));
            }
            points.extend([(bend, channel), (bend + (end.1 - channel).abs(), end.1), end]);
            let points: Vec<Point> = points.into_iter().map(flip).collect();
            board.track(&net, plan.inner(), TRACK, &points);
        }
    }
}
