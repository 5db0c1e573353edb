//! Straight and circular curves between any positions: nearest points, distances and crossings, all by closed formula.

use super::{ArcFrame, Envelope, Vector, to_f64};

/// A curve without width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// Straight.
    Segment(Vector, Vector),
    /// Circular.
    Arc(ArcFrame),
}

/// The point of a curve that is nearest to a position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// Distance along the curve from its first end, nanometres.
    pub along: f64,
    /// Distance from the position to the curve, nanometres, not negative.
    pub off: f64,
    /// The point of the curve.
    pub at: Vector,
}

/// The two nearest points of two things.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Distance in nanometres, not negative.
    pub distance: f64,
    /// On the first thing.
    pub from: Vector,
    /// On the second thing.
    pub to: Vector,
}

impl Gap {
    /// The gap between two positions.
    #[must_use]
    pub fn between(from: Vector, to: Vector) -> Self {
        Self { distance: from.distance(to), from, to }
    }

    /// The narrower of two gaps, the first of equals.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        if other.distance < self.distance { other } else { self }
    }

    /// The gap that is left when the things at both ends grow by a pen each. Where they come to overlap, both places
    /// are one point that both pens reach.
    #[must_use]
    pub fn grown(self, first: i64, second: i64) -> Self {
        let (first, second) = (to_f64(first), to_f64(second));
        let direction = (self.to - self.from).unit();
        let distance = self.distance - first - second;
        if distance <= 0.0 {
            let reach = (self.distance - second).max(0.0).midpoint(first.min(self.distance));
            return Self::between(self.from + direction * reach, self.from + direction * reach);
        }
        Self { distance, from: self.from + direction * first, to: self.to - direction * second }
    }

    /// Seen from the other side.
    #[must_use]
    pub fn swapped(self) -> Self {
        Self { from: self.to, to: self.from, ..self }
    }
}

/// Crossings this near (nanometres) beyond an end of a curve still count: rounding must not lose one.
const SLACK: f64 = 1e-3;

impl Curve {
    /// First end.
    #[must_use]
    pub fn from(&self) -> Vector {
        match self {
            Self::Segment(from, _) => *from,
            Self::Arc(arc) => arc.from,
        }
    }

    /// Second end.
    #[must_use]
    pub fn to(&self) -> Vector {
        match self {
            Self::Segment(_, to) => *to,
            Self::Arc(arc) => arc.to,
        }
    }

    /// Length in nanometres.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Segment(from, to) => from.distance(*to),
            Self::Arc(arc) => arc.length(),
        }
    }

    /// The position at a distance along the curve; clamped to its ends.
    #[must_use]
    pub fn point_at(&self, along: f64) -> Vector {
        match self {
            Self::Segment(from, to) => {
                let length = from.distance(*to);
                if along <= 0.0 {
                    *from
                } else if along >= length {
                    *to
                } else {
                    *from + (*to - *from) * (along / length)
                }
            }
            Self::Arc(arc) => arc.at_turn(along / arc.radius),
        }
    }

    /// Unit vector in walking direction at a distance along the curve; zero for a dot.
    #[must_use]
    pub fn tangent_at(&self, along: f64) -> Vector {
        match self {
            Self::Segment(from, to) => (*to - *from).unit(),
            Self::Arc(arc) => arc.tangent((along / arc.radius).clamp(0.0, arc.sweep.abs())),
        }
    }

    /// The point of the curve nearest to a position.
    #[must_use]
    pub fn nearest(&self, position: Vector) -> Foot {
        match self {
            Self::Segment(from, to) => {
                let direction = *to - *from;
                let squared = direction.dot(direction);
                let share = if squared > 0.0 { (position - *from).dot(direction) / squared } else { 0.0 };
                let share = share.clamp(0.0, 1.0);
                let at = if share >= 1.0 { *to } else { *from + direction * share };
                Foot { along: share * squared.sqrt(), off: position.distance(at), at }
            }
            Self::Arc(arc) => {
                let ends = [(0.0, arc.from), (arc.length(), arc.to)];
                let facing = arc.turn_to(position, 0.0).map(|turn| (turn * arc.radius, arc.at_turn(turn)));
                ends.into_iter()
                    .chain(facing)
                    .map(|(along, at)| Foot { along, off: position.distance(at), at })
                    .min_by(|one, other| one.off.total_cmp(&other.off))
                    .unwrap_or(Foot { along: 0.0, off: position.distance(arc.from), at: arc.from })
            }
        }
    }

    /// The nearest points of two curves; distance 0 where they cross.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Gap {
        let mut best = self.end_gap(other).min(other.end_gap(self).swapped());
        if let (Self::Segment(a, b), Self::Segment(c, d)) = (self, other) {
            // Straight lines that don't cross are nearest at an end.
            if best.distance > 0.0
                && let Some(at) = segments_cross(*a, *b, *c, *d)
            {
                best = Gap { distance: 0.0, from: at, to: at };
            }
            return best;
        }
        self.visit_crossings(other, |along| {
            let at = self.point_at(along);
            best = best.min(Gap { distance: 0.0, from: at, to: at });
        });
        match (self, other) {
            (Self::Segment(..), Self::Arc(arc)) => best.min(facing_segment(self, arc)),
            (Self::Arc(arc), Self::Segment(..)) => best.min(facing_segment(other, arc).swapped()),
            (Self::Arc(one), Self::Arc(two)) => facing_arcs(one, two).fold(best, Gap::min),
            (Self::Segment(..), Self::Segment(..)) => best,
        }
    }

    /// The narrowest gap from an end of this curve to any point of the other.
    fn end_gap(&self, other: &Self) -> Gap {
        let gap = |end: Vector| {
            let foot = other.nearest(end);
            Gap { distance: foot.off, from: end, to: foot.at }
        };
        gap(self.from()).min(gap(self.to()))
    }

    /// Calls `found` with every distance along this curve at which it meets the other. Curves that run on top of each
    /// other have no single crossing; none is given for the shared stretch.
    pub fn visit_crossings(&self, other: &Self, mut found: impl FnMut(f64)) {
        match (self, other) {
            (Self::Segment(a, b), Self::Segment(c, d)) => {
                let (u, v) = (*b - *a, *d - *c);
                let turn = u.cross(v);
                if turn.abs() > 0.0 {
                    let share = (*c - *a).cross(v) / turn;
                    let mate = (*c - *a).cross(u) / turn;
                    let (length, mate_length) = (u.length(), v.length());
                    if within(share * length, length) && within(mate * mate_length, mate_length) {
                        found((share * length).clamp(0.0, length));
                    }
                }
            }
            (Self::Segment(a, b), Self::Arc(arc)) => {
                let length = a.distance(*b);
                for along in line_meets_circle(*a, (*b - *a).unit(), arc).into_iter().flatten() {
                    let at = *a + (*b - *a).unit() * along;
                    if within(along, length) && arc.turn_to(at, SLACK / arc.radius).is_some() {
                        found(along.clamp(0.0, length));
                    }
                }
            }
            (Self::Arc(arc), Self::Segment(c, d)) => {
                let length = c.distance(*d);
                for along in line_meets_circle(*c, (*d - *c).unit(), arc).into_iter().flatten() {
                    let at = *c + (*d - *c).unit() * along;
                    if within(along, length)
                        && let Some(turn) = arc.turn_to(at, SLACK / arc.radius)
                    {
                        found(turn * arc.radius);
                    }
                }
            }
            (Self::Arc(one), Self::Arc(two)) => {
                for at in circles_meet(one, two).into_iter().flatten() {
                    if let (Some(turn), Some(_)) =
                        (one.turn_to(at, SLACK / one.radius), two.turn_to(at, SLACK / two.radius))
                    {
                        found(turn * one.radius);
                    }
                }
            }
        }
    }

    /// The curves at `offset` nanometres on both sides; a circle that shrinks to nothing is left out.
    pub(super) fn sides(&self, offset: f64) -> [Option<Self>; 2] {
        [offset, -offset].map(|offset| match self {
            Self::Segment(from, to) => {
                let shift = (*to - *from).unit().turned() * offset;
                Some(Self::Segment(*from + shift, *to + shift))
            }
            Self::Arc(arc) => {
                let radius = arc.radius + offset;
                let place = |at: Vector| arc.centre + (at - arc.centre) * (radius / arc.radius);
                (radius > 0.0).then(|| Self::Arc(ArcFrame { radius, from: place(arc.from), to: place(arc.to), ..*arc }))
            }
        })
    }

    /// A full circle.
    pub(super) fn circle(centre: Vector, radius: f64) -> Self {
        let from = centre + Vector::new(radius, 0.0);
        Self::Arc(ArcFrame { from, to: from, centre, radius, start: 0.0, sweep: std::f64::consts::TAU })
    }

    /// The least grid box that holds the curve.
    #[must_use]
    pub fn envelope(&self) -> Envelope {
        match self {
            Self::Segment(from, to) => Envelope::of([*from, *to]).unwrap_or(Envelope::of_point(from.to_point())),
            Self::Arc(arc) => arc.envelope(),
        }
    }
}

fn within(along: f64, length: f64) -> bool {
    (-SLACK..=length + SLACK).contains(&along)
}

/// Where two straight lines properly cross.
fn segments_cross(a: Vector, b: Vector, c: Vector, d: Vector) -> Option<Vector> {
    let (u, v) = (b - a, d - c);
    let turn = u.cross(v);
    if turn.abs() <= 0.0 {
        return None;
    }
    let share = (c - a).cross(v) / turn;
    let mate = (c - a).cross(u) / turn;
    ((0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&mate)).then(|| a + u * share)
}

/// Distances along a line (from `start`, unit direction) at which it meets the circle of an arc.
fn line_meets_circle(start: Vector, direction: Vector, arc: &ArcFrame) -> [Option<f64>; 2] {
    let to_centre = arc.centre - start;
    let foot = to_centre.dot(direction);
    let height = to_centre.cross(direction).abs();
    if height > arc.radius {
        return [None, None];
    }
    // (r − h)(r + h) instead of r² − h²: no cancellation where the line is nearly a tangent.
    let half = ((arc.radius - height) * (arc.radius + height)).sqrt();
    [Some(foot - half), Some(foot + half)]
}

/// Where two circles meet; none for circles about one centre.
fn circles_meet(one: &ArcFrame, two: &ArcFrame) -> [Option<Vector>; 2] {
    let axis = two.centre - one.centre;
    let distance = axis.length();
    if distance <= 0.0 {
        return [None, None];
    }
    let foot = (distance + (one.radius - two.radius) * (one.radius + two.radius) / distance) / 2.0;
    let squared = (one.radius - foot) * (one.radius + foot);
    if squared < 0.0 {
        return [None, None];
    }
    let (along, across) = (axis.unit() * foot, axis.unit().turned() * squared.sqrt());
    [Some(one.centre + along + across), Some(one.centre + along - across)]
}

/// The gap between a segment and an arc that face each other: on the perpendicular from the centre.
fn facing_segment(segment: &Curve, arc: &ArcFrame) -> Gap {
    let foot = segment.nearest(arc.centre);
    arc.turn_to(foot.at, 0.0).map_or(Gap { distance: f64::INFINITY, from: foot.at, to: arc.from }, |turn| {
        Gap::between(foot.at, arc.at_turn(turn))
    })
}

/// The gaps between two arcs that face each other: on the line through both centres.
fn facing_arcs(one: &ArcFrame, two: &ArcFrame) -> impl Iterator<Item = Gap> {
    let axis = (two.centre - one.centre).unit();
    [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)].into_iter().filter_map(move |(first, second)| {
        let from = one.centre + axis * (first * one.radius);
        let to = two.centre + axis * (second * two.radius);
        (one.turn_to(from, 0.0).is_some() && two.turn_to(to, 0.0).is_some()).then(|| Gap::between(from, to))
    })
}
