//! Faults planted on a board that is right otherwise. Each function changes one thing at one place and says what a
//! check must find there, and that nothing else may be found.

use super::board::{Board, Path, Track, Via};
use super::pair::total;
use super::recorder::VIA;
use super::{Point, nm, rectangle};

/// What must be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Planted {
    /// Name of the check.
    pub check: &'static str,
    /// Net, pair or zone that the finding must name.
    pub subject: String,
    /// Where.
    pub at: Point,
    /// Layer, if the finding has one.
    pub layer: Option<&'static str>,
    /// How far from `at` the finding's own point may lie, mm.
    pub within: f64,
    /// What can't be judged any more because of it: checks and subjects that must become unchecked.
    pub unchecked: Vec<(&'static str, String)>,
    /// What else the same fault breaks: checks and subjects that must fail too. A bump that makes a leg longer opens the
    /// gap, and a pair with another gap has another impedance.
    pub also: Vec<(&'static str, String)>,
}

impl Planted {
    /// The same with something else that it breaks.
    pub fn also(mut self, check: &'static str, subject: &str) -> Self {
        self.also.push((check, subject.into()));
        self
    }
}

impl Planted {
    /// Whether a point is where the finding must be.
    pub fn is_near(&self, (x, y): Point) -> bool {
        (x - self.at.0).hypot(y - self.at.1) <= self.within
    }
}

fn found(check: &'static str, subject: &str, at: Point, layer: Option<&'static str>, within: f64) -> Planted {
    Planted { check, subject: subject.into(), at, layer, within, unchecked: Vec::new(), also: Vec::new() }
}

fn along(from: Point, to: Point, by: f64) -> Point {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    (from.0 + (to.0 - from.0) * by / length, from.1 + (to.1 - from.1) * by / length)
}

/// Distance of a point from a straight.
fn away(point: Point, (a, b): (Point, Point)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let share = (((point.0 - a.0) * dx + (point.1 - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
    (point.0 - a.0 - share * dx).hypot(point.1 - a.1 - share * dy)
}

/// The straight track of a net on a layer that is nearest to a point.
pub fn straight(board: &Board, net: &str, layer: &str, near: Point) -> usize {
    let of_net = board.tracks.iter().enumerate().filter(|(_, track)| track.net == net && track.layer == layer);
    let straight = of_net.filter_map(|(index, track)| match track.path {
        Path::Line(a, b) => Some((index, away(near, (a, b)))),
        Path::Arc(..) => None,
    });
    let nearest = straight.min_by(|(_, one), (_, other)| one.total_cmp(other));
    nearest.unwrap_or_else(|| panic!("no straight track of {net} on {layer}")).0
}

/// Replaces a track by straight tracks through points.
fn reroute(board: &mut Board, index: usize, points: &[Point]) {
    let old = board.tracks[index].clone();
    let legs = points.windows(2).filter(|leg| leg[0] != leg[1]);
    let new: Vec<Track> = legs.map(|leg| Track { path: Path::Line(leg[0], leg[1]), ..old.clone() }).collect();
    board.tracks.splice(index..=index, new);
}

/// Lets a straight track swing out (to the left of its direction if positive) so that it grows by a length.
/// Returns the middle of the bump.
pub fn bump(board: &mut Board, net: &str, layer: &str, near: Point, longer: f64, left: bool) -> Point {
    swung(board, net, layer, near, (longer, 0.4), left)
}

/// The same with a flat of any length.
fn swung(board: &mut Board, net: &str, layer: &str, near: Point, (longer, flat): (f64, f64), left: bool) -> Point {
    let index = straight(board, net, layer, near);
    let Path::Line(from, to) = board.tracks[index].path else { panic!("a straight track is a line") };
    let length = total(&[board.tracks[index].path]);
    let direction = along((0.0, 0.0), (to.0 - from.0, to.1 - from.1), 1.0);
    let side = if left { (direction.1, -direction.0) } else { (-direction.1, direction.0) };
    // Two 45° flanks add 2 (√2 − 1) times the swing.
    let swing = longer / (2.0 * (std::f64::consts::SQRT_2 - 1.0));
    let foot = (near.0 - from.0) * direction.0 + (near.1 - from.1) * direction.1;
    let start = (foot - swing - flat / 2.0).clamp(0.05, length - 2.0 * swing - flat - 0.05);
    let at = |run: f64, out: f64| {
        let on = along(from, to, start + run);
        (on.0 + side.0 * out, on.1 + side.1 * out)
    };
    let points = [from, at(0.0, 0.0), at(swing, swing), at(swing + flat, swing), at(2.0 * swing + flat, 0.0), to];
    reroute(board, index, &points);
    at(swing + flat / 2.0, swing)
}

/// One leg is longer than its mate: `pair-skew`.
pub fn longer_leg(board: &mut Board, pair: &str, layer: &'static str, near: Point, longer: f64, left: bool) -> Planted {
    let at = bump(board, &format!("{pair}_N"), layer, near, longer, left);
    changed(found("pair-skew", pair, at, Some(layer), 2.0), pair)
}

/// A stretch of another impedance: it is off its target and a step.
fn changed(planted: Planted, pair: &str) -> Planted {
    planted.also("pair-impedance", pair).also("impedance-step", pair)
}

/// Both legs are equally long, but N runs ahead from `early` to `late`: `pair-skew` by its running peak.
pub fn late_compensation(
    board: &mut Board,
    pair: &str,
    layer: &'static str,
    (early, late): (Point, Point),
    longer: f64,
) -> Planted {
    // Seen along the tracks, P runs on the left and N on the right: each swings away from the other.
    bump(board, &format!("{pair}_N"), layer, early, longer, false);
    bump(board, &format!("{pair}_P"), layer, late, longer, true);
    let middle = ((early.0 + late.0) / 2.0, (early.1 + late.1) / 2.0);
    let reach = (early.0 - late.0).hypot(early.1 - late.1) / 2.0 + 1.0;
    changed(found("pair-skew", pair, middle, Some(layer), reach), pair)
}

/// A leg has another width for a stretch around a point: `pair-gap`.
pub fn widen(board: &mut Board, pair: &str, layer: &'static str, near: Point, (length, width): (f64, f64)) -> Planted {
    let index = straight(board, &format!("{pair}_P"), layer, near);
    let old = board.tracks[index].clone();
    let Path::Line(from, to) = old.path else { panic!("a straight track is a line") };
    let run = total(&[old.path]);
    let (x, y) = along((0.0, 0.0), (to.0 - from.0, to.1 - from.1), 1.0);
    let foot = ((near.0 - from.0) * x + (near.1 - from.1) * y).clamp(length / 2.0 + 0.05, run - length / 2.0 - 0.05);
    let (start, end) = (along(from, to, foot - length / 2.0), along(from, to, foot + length / 2.0));
    let part = |from, to, width| Track { path: Path::Line(from, to), width, ..old.clone() };
    let parts = [part(from, start, old.width), part(start, end, width), part(end, to, old.width)];
    board.tracks.splice(index..=index, parts);
    found("pair-gap", pair, along(from, to, foot), Some(layer), length / 2.0 + 0.5).also("pair-impedance", pair)
}

/// The legs swing apart for a stretch and come back: `uncoupled-run`. P runs on the left of N.
pub fn part_legs(
    board: &mut Board,
    pair: &str,
    layer: &'static str,
    near: Point,
    (swing, flat): (f64, f64),
) -> Planted {
    let longer = swing * 2.0 * (std::f64::consts::SQRT_2 - 1.0);
    let mut at = near;
    for (leg, left) in [("P", true), ("N", false)] {
        at = swung(board, &format!("{pair}_{leg}"), layer, near, (longer, flat), left);
    }
    changed(found("uncoupled-run", pair, at, Some(layer), flat / 2.0 + swing + 1.0), pair)
}

/// A slot in the plane under a net: `plane-gap`.
pub fn slot(
    board: &mut Board,
    subject: &str,
    plane: &'static str,
    (min, max): (Point, Point),
    on: &'static str,
) -> Planted {
    let zone = board.zones.iter_mut().find(|zone| zone.layers.iter().any(|layer| layer == plane));
    zone.unwrap_or_else(|| panic!("no zone on {plane}")).cutouts.push((plane.into(), rectangle(min, max)));
    let (across, along) = (max.0 - min.0, max.1 - min.1);
    let reach = across.hypot(along) / 2.0 + 0.5;
    changed(found("plane-gap", subject, ((min.0 + max.0) / 2.0, (min.1 + max.1) / 2.0), Some(on), reach), subject)
}

/// A via of a net goes deeper than it is used: `via-stub`.
pub fn deeper_via(board: &mut Board, net: &str, near: Point, (top, bottom): (&str, &str)) -> Planted {
    let of_net = board.vias.iter_mut().filter(|via| via.net == net);
    let distance = |via: &Via| (via.at.0 - near.0).hypot(via.at.1 - near.1);
    let via = of_net.min_by(|a, b| distance(a).total_cmp(&distance(b))).unwrap_or_else(|| panic!("no via of {net}"));
    (via.top, via.bottom) = (top.into(), bottom.into());
    found("via-stub", net, via.at, None, 0.01)
}

/// The only via of a net.
fn via_of(board: &Board, net: &str) -> Point {
    let mut vias = board.vias.iter().filter(|via| via.net == net);
    let via = vias.next().unwrap_or_else(|| panic!("no via of {net}"));
    assert!(vias.next().is_none(), "{net} has more than one via");
    via.at
}

/// The ground via nearest to a net's via ends at the first plane it meets: `return-via`.
pub fn blind_return_via(board: &mut Board, net: &str, (top, bottom): (&str, &str)) -> Planted {
    let at = via_of(board, net);
    let distance = |via: &Via| (via.at.0 - at.0).hypot(via.at.1 - at.1);
    let grounds = board.vias.iter_mut().filter(|via| via.net == "GND");
    let nearest = grounds.min_by(|a, b| distance(a).total_cmp(&distance(b))).expect("there is a ground via");
    nearest.span(top, bottom);
    found("return-via", net, at, None, 0.01)
}

/// A patch of a rail takes the place of the ground plane over a net's way from its ball to its via: `reference-change`.
pub fn supply_patch(board: &mut Board, net: &str, rail: &str, plane: &'static str) -> Planted {
    let at = via_of(board, net);
    let zone = board.zone(rail, &[plane], &rectangle((at.0 - 1.25, at.1 - 0.35), (at.0 + 0.55, at.1 + 0.25)));
    zone.priority = 1;
    zone.clearance = 0.15;
    found("reference-change", net, at, None, 0.01)
}

/// The track at a pad is narrow for a length: `pad-neck`.
pub fn neck(board: &mut Board, net: &str, layer: &'static str, pad: Point, (length, width): (f64, f64)) -> Planted {
    let mut from = pad;
    let mut left = length;
    let mut done: Vec<usize> = Vec::new();
    while left > 0.0 {
        let meets = |point: Point| (nm(point.0), nm(point.1)) == (nm(from.0), nm(from.1));
        let next = board.tracks.iter().enumerate().find(|(index, track)| {
            let ends = meets(track.path.start()) || meets(track.path.end());
            track.net == net && track.layer == layer && !done.contains(index) && ends
        });
        let (index, track) = next.unwrap_or_else(|| panic!("{net} ends before the neck does"));
        let track = track.clone();
        let (near, far) = if meets(track.path.start()) {
            (track.path.start(), track.path.end())
        } else {
            (track.path.end(), track.path.start())
        };
        let run = total(&[track.path]);
        board.tracks[index].width = width;
        if run > left {
            let Path::Line(..) = track.path else { panic!("a neck ends on a straight") };
            let stop = along(near, far, left);
            board.tracks[index].path = Path::Line(near, stop);
            board.tracks.push(Track { path: Path::Line(stop, far), ..track });
        }
        done.push(index);
        left -= run;
        from = far;
    }
    found("pad-neck", net, pad, Some(layer), length + 0.5)
}

/// A piece of a track is missing: `net-open`.
pub fn open(board: &mut Board, net: &str, layer: &'static str, near: Point) -> Planted {
    let index = straight(board, net, layer, near);
    let Path::Line(from, to) = board.tracks[index].path else { panic!("a straight track is a line") };
    let length = total(&[board.tracks[index].path]);
    assert!(length > 1.0, "the track near the place is too short to be cut");
    let old = board.tracks[index].clone();
    let middle = along(from, to, length / 2.0);
    board.tracks[index].path = Path::Line(from, along(from, to, length / 2.0 - 0.3));
    board.tracks.insert(index + 1, Track { path: Path::Line(along(from, to, length / 2.0 + 0.3), to), ..old });
    found("net-open", net, middle, Some(layer), 0.8)
}

/// A ball has lost the track to its via: `net-open`.
pub fn lost_ball(board: &mut Board, ball: &str) -> Planted {
    let at = board.pad_at(ball);
    let meets = |point: Point| (nm(point.0), nm(point.1)) == (nm(at.0), nm(at.1));
    let index = board.tracks.iter().position(|track| meets(track.path.start()) || meets(track.path.end()));
    let track = board.tracks.remove(index.unwrap_or_else(|| panic!("no track at {ball}")));
    found("net-open", &track.net, at, None, 1.0)
}

/// A stray track joins two nets: `net-short`.
pub fn short(
    board: &mut Board,
    (net, other): (&str, &str),
    layer: &'static str,
    (from, to): (Point, Point),
) -> Planted {
    board.track(net, layer, 0.12, &[from, to]);
    found("net-short", &format!("{net} {other}"), to, Some(layer), 1.0)
}

/// A via of another net is put into a pour that is not filled anew: `stale-fill`. Plant it after the fills.
pub fn stale_fill(board: &mut Board, net: &str, zone: &str, layer: &'static str, at: Point) -> Planted {
    assert!(board.zones.iter().all(|zone| zone.fills.is_some()), "plant a stale fill after filling");
    board.via(net, at).sized(VIA.0, VIA.1);
    // Whether the two are shorted, and whether the pour's net hangs together, depends on the fill.
    let unchecked = [("net-short", net), ("net-short", zone), ("net-open", zone)];
    let unchecked = unchecked.map(|(check, net)| (check, format!("net {net}"))).to_vec();
    Planted { unchecked, ..found("stale-fill", zone, at, Some(layer), 0.5) }
}

/// A net makes a square detour on a layer: `length-match` of its group.
pub fn detour(board: &mut Board, net: &str, layer: &'static str, near: Point, (out, flat): (f64, f64)) -> Planted {
    let index = straight(board, net, layer, near);
    let Path::Line(from, to) = board.tracks[index].path else { panic!("a straight track is a line") };
    let (x, y) = along((0.0, 0.0), (to.0 - from.0, to.1 - from.1), 1.0);
    let foot = (near.0 - from.0) * x + (near.1 - from.1) * y - flat / 2.0;
    let at = |run: f64, out: f64| (from.0 + x * run + y * out, from.1 + y * run - x * out);
    let points = [from, at(foot, 0.0), at(foot, out), at(foot + flat, out), at(foot + flat, 0.0), to];
    reroute(board, index, &points);
    // The finding stands at an end of the net.
    found("length-match", net, near, None, 30.0)
}

/// The stackup is not stated: `stackup-missing`.
pub fn no_stackup(board: &mut Board) -> Planted {
    board.stack.sheets.clear();
    found("stackup-missing", &board.name.clone(), (0.0, 0.0), None, f64::INFINITY)
}
