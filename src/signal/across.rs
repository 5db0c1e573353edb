//! Copper on a line square to a route: where it is, from side to side.

use crate::geometry::{Curve, Envelope, RingIndex, ShapeRef, Vector, from_f64, ring, to_f64};

/// From and to, nanometres to the right of the route's centre line.
pub type Span = (f64, f64);

/// A line square to a route.
#[derive(Debug, Clone, Copy)]
pub struct Across {
    origin: Vector,
    /// Walking direction.
    along: Vector,
    /// To the right of it, on the screen.
    right: Vector,
    from: f64,
    to: f64,
}

/// An arc is cut as this many chords at most, each within a micrometre of it.
const CHORDS: i64 = 64;
const SAGITTA: f64 = 1_000.0;

impl Across {
    /// Through a place of a route, with its direction there, from one offset to the other.
    pub fn new(origin: Vector, along: Vector, (from, to): Span) -> Self {
        Self { origin, along, right: along.turned(), from, to }
    }

    /// The same line with other ends.
    pub const fn reaching(self, (from, to): Span) -> Self {
        Self { from, to, ..self }
    }

    /// The point at an offset.
    pub fn at(&self, offset: f64) -> Vector {
        self.origin + self.right * offset
    }

    /// How far to the right a position lies.
    pub fn offset(&self, position: Vector) -> f64 {
        (position - self.origin).dot(self.right)
    }

    /// The box of the line.
    pub fn envelope(&self) -> Envelope {
        let ends = [self.at(self.from), self.at(self.to)];
        Envelope::of(ends).unwrap_or(Envelope::of_point(self.origin.to_point())).grown(1)
    }

    /// Ahead and to the right.
    fn local(&self, position: Vector) -> (f64, f64) {
        let away = position - self.origin;
        (away.dot(self.along), away.dot(self.right))
    }

    /// Adds the parts of the line that lie in a shape, not yet merged.
    pub fn add(&self, shape: ShapeRef<'_>, index: Option<&RingIndex>, spans: &mut Vec<Span>) {
        match shape {
            ShapeRef::Stroke { path, radius } => self.add_stroke(&path.curve(), to_f64(radius), spans),
            ShapeRef::Area { ring: corners, radius } => self.add_area(corners, to_f64(radius), index, spans),
        }
    }

    fn add_stroke(&self, curve: &Curve, radius: f64, spans: &mut Vec<Span>) {
        match curve {
            Curve::Segment(from, to) => spans.extend(self.capsule(*from, *to, radius)),
            Curve::Arc(arc) => {
                let step = (8.0 * SAGITTA / arc.radius).sqrt().max(1e-3);
                let count = from_f64((arc.sweep.abs() / step).ceil()).clamp(1, CHORDS);
                let at = |index: i64| arc.at_turn(arc.sweep.abs() * to_f64(index) / to_f64(count));
                spans.extend((0..count).filter_map(|index| self.capsule(at(index), at(index + 1), radius)));
            }
        }
    }

    /// The line's part in a straight stroke with round ends, which is one piece for the stroke is convex.
    fn capsule(&self, from: Vector, to: Vector, radius: f64) -> Option<Span> {
        let mut span: Option<Span> = None;
        let mut add = |offset: f64| {
            span = Some(span.map_or((offset, offset), |(low, high)| (low.min(offset), high.max(offset))));
        };
        let ends = [self.local(from), self.local(to)];
        for (ahead, right) in ends {
            let rest = radius * radius - ahead * ahead;
            if rest >= 0.0 {
                add(right - rest.sqrt());
                add(right + rest.sqrt());
            }
        }
        let flank = (to - from).unit().turned() * radius;
        for side in [flank, flank * -1.0] {
            let (one, two) = (self.local(from + side), self.local(to + side));
            if (one.0 < 0.0) != (two.0 < 0.0) {
                add(one.1 + (two.1 - one.1) * (one.0 / (one.0 - two.0)));
            }
        }
        span.and_then(|span| self.clipped(span))
    }

    fn add_area(&self, corners: &[crate::geometry::Point], pen: f64, index: Option<&RingIndex>, spans: &mut Vec<Span>) {
        let reach = Self { from: self.from - pen, to: self.to + pen, ..*self };
        let start = reach.at(reach.from).to_point();
        let mut crossings: Vec<f64> = Vec::new();
        let mut visit = |from: Vector, to: Vector| {
            let (one, two) = (self.local(from), self.local(to));
            if (one.0 < 0.0) != (two.0 < 0.0) {
                let offset = one.1 + (two.1 - one.1) * (one.0 / (one.0 - two.0));
                if offset > reach.from && offset < reach.to {
                    crossings.push(offset);
                }
            }
        };
        let mut inside = match index {
            Some(index) => {
                index.visit_near(reach.envelope(), |from, to| {
                    visit(from.into(), to.into());
                    true
                });
                index.contains(start)
            }
            None => {
                ring::edges(corners).for_each(|(from, to)| visit(from.into(), to.into()));
                ring::contains(corners, start)
            }
        };
        crossings.sort_by(f64::total_cmp);
        let mut from = reach.from;
        for crossing in crossings.into_iter().chain(std::iter::once(reach.to)) {
            if inside && crossing > from {
                spans.extend(self.clipped((from - pen, crossing + pen)));
            }
            inside = !inside;
            from = crossing;
        }
    }

    fn clipped(&self, (from, to): Span) -> Option<Span> {
        let span = (from.max(self.from), to.min(self.to));
        (span.1 > span.0).then_some(span)
    }
}

/// Sorts spans and joins those that overlap or leave less than `slit` between them.
pub fn merged(mut spans: Vec<Span>, slit: f64) -> Vec<Span> {
    spans.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let mut out: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match out.last_mut() {
            Some(last) if span.0 - last.1 < slit => last.1 = last.1.max(span.1),
            _ => out.push(span),
        }
    }
    out
}

/// The parts of some spans that others leave bare. A nanometre is nothing.
pub fn without(spans: &[Span], others: &[Span]) -> Vec<Span> {
    let mut out = Vec::new();
    for &(from, to) in spans {
        let mut reached = from;
        for other in others.iter().filter(|other| other.1 > from && other.0 < to) {
            if other.0 - reached > 1.0 {
                out.push((reached, other.0));
            }
            reached = reached.max(other.1);
        }
        if to - reached > 1.0 {
            out.push((reached, to));
        }
    }
    out
}

/// How long some spans are together.
pub fn length(spans: &[Span]) -> f64 {
    spans.iter().map(|span| span.1 - span.0).sum()
}
