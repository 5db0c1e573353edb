//! Where along a stretch of a route the copper around it changes: the ends of every edge that lies in its corridor.

use super::across::Span;
use crate::geometry::{Curve, Envelope, Path, Vector, from_f64, to_f64};

/// A straight or circular stretch of a route with its corridor.
#[derive(Debug, Clone, Copy)]
pub struct Corridor {
    curve: Curve,
    length: f64,
    /// Left and right end, nanometres to the right of the centre line.
    sides: Span,
    bounds: Envelope,
}

/// How finely changes are followed, in nanometres.
#[derive(Debug, Clone, Copy)]
pub struct Fineness {
    /// Sideways: an edge that comes nearer is cut in steps of this.
    pub taper: f64,
    /// Along the route.
    pub grain: f64,
}

/// A place at which something changes: a position along a path.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// The position.
    pub at: f64,
    /// Not to be told from another that is nearer than this.
    pub grain: f64,
}

/// Edges seen from an arc are followed in steps of this many nanometres.
const STRIDE: f64 = 50_000.0;

impl Corridor {
    /// Around a path.
    pub fn new(path: &Path, sides: Span) -> Self {
        let reach = sides.0.abs().max(sides.1.abs());
        let curve = path.curve();
        Self { curve, length: curve.length(), sides, bounds: path.envelope().grown(from_f64(reach) + 1) }
    }

    /// A box that holds it.
    pub const fn bounds(&self) -> Envelope {
        self.bounds
    }

    /// Half the width of the least corridor about the centre line that holds it, in whole nanometres.
    pub fn half_width(&self) -> i64 {
        from_f64(self.sides.0.abs().max(self.sides.1.abs()).ceil())
    }

    /// Adds the places at which an edge begins or ends in the corridor, and places between where it comes nearer or goes
    /// away by more than is fine.
    pub fn add(&self, from: Vector, to: Vector, fine: Fineness, places: &mut Vec<Place>) {
        let seen = match &self.curve {
            Curve::Segment(start, end) => self.straight(*start, (*end - *start).unit(), from, to),
            Curve::Arc(_) => self.around(from, to),
        };
        let Some([one, two]) = seen else { return };
        let steps = from_f64(((one.1 - two.1).abs() / fine.taper).ceil()).clamp(1, 1_000);
        for step in 0..=steps {
            places.push(Place { at: one.0 + (two.0 - one.0) * to_f64(step) / to_f64(steps), grain: fine.grain });
        }
    }

    /// The part of an edge in the corridor: position and offset of both ends.
    fn straight(&self, start: Vector, along: Vector, from: Vector, to: Vector) -> Option<[(f64, f64); 2]> {
        let right = along.turned();
        let local = |at: Vector| ((at - start).dot(along), (at - start).dot(right));
        let (one, two) = (local(from), local(to));
        let mut part = (0.0, 1.0);
        let limits = [(one.0, two.0, 0.0, self.length), (one.1, two.1, self.sides.0, self.sides.1)];
        for (from, to, low, high) in limits {
            let run = to - from;
            if run.abs() < 1e-9 {
                if from < low || from > high {
                    return None;
                }
                continue;
            }
            let (a, b) = ((low - from) / run, (high - from) / run);
            part = (f64::max(part.0, a.min(b)), f64::min(part.1, a.max(b)));
        }
        if part.0 > part.1 {
            return None;
        }
        let at = |share: f64| (one.0 + (two.0 - one.0) * share, one.1 + (two.1 - one.1) * share);
        Some([at(part.0), at(part.1)])
    }

    fn around(&self, from: Vector, to: Vector) -> Option<[(f64, f64); 2]> {
        let count = from_f64((from.distance(to) / STRIDE).ceil()).clamp(1, 2_000);
        let mut seen: Option<[(f64, f64); 2]> = None;
        for step in 0..=count {
            let position = from + (to - from) * (to_f64(step) / to_f64(count));
            let foot = self.curve.nearest(position);
            let right = self.curve.tangent_at(foot.along).turned();
            let offset = (position - foot.at).dot(right);
            let beside = foot.along > 0.0 && foot.along < self.length;
            if beside && offset >= self.sides.0 && offset <= self.sides.1 {
                let here = (foot.along, offset);
                seen = Some(seen.map_or([here, here], |[first, _]| [first, here]));
            }
        }
        seen
    }
}

/// Cuts a stretch at places, none nearer than its grain to the last one or to the end. Returns the cells from end to end.
pub fn cells(length: f64, mut places: Vec<Place>) -> Vec<Span> {
    places.sort_by(|one, other| one.at.total_cmp(&other.at).then(one.grain.total_cmp(&other.grain)));
    let mut cuts = vec![0.0];
    for place in places {
        if place.at - cuts.last().copied().unwrap_or(0.0) >= place.grain && length - place.at >= place.grain {
            cuts.push(place.at);
        }
    }
    cuts.push(length);
    cuts.iter().zip(cuts.iter().skip(1)).map(|(from, to)| (*from, *to)).collect()
}
