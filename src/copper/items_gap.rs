//! Gaps between shapes of which some have an index over their ring.

use crate::geometry::{Curve, Envelope, Gap, RingIndex, ShapeRef, Vector, from_f64, ring, to_f64};

/// A shape with its ring's index, if it has one.
#[derive(Clone, Copy)]
pub(super) struct Side<'s> {
    pub(super) shape: ShapeRef<'s>,
    pub(super) ring: Option<&'s RingIndex>,
}

impl<'s> Side<'s> {
    /// A shape without an index.
    pub(super) fn plain(shape: ShapeRef<'s>) -> Self {
        Self { shape, ring: None }
    }

    /// A gap of at most `tolerance`, any such; `None` if there is none.
    pub(super) fn touch(self, other: Side<'_>, tolerance: f64) -> Option<Gap> {
        self.search(other, tolerance, true)
    }

    /// The narrowest gap, if it is at most `reach`.
    pub(super) fn nearest_within(self, other: Side<'_>, reach: f64) -> Option<Gap> {
        self.search(other, reach, false)
    }

    fn search(self, other: Side<'_>, reach: f64, any: bool) -> Option<Gap> {
        if self.ring.is_none() && other.ring.is_none() {
            return Some(self.shape.gap(other.shape)).filter(|gap| gap.distance <= reach);
        }
        if let Some(at) = self.swallows(other).or_else(|| other.swallows(self)) {
            return Some(Gap { distance: 0.0, from: at, to: at });
        }
        let pens = to_f64(self.shape.radius()) + to_f64(other.shape.radius());
        let core = match (self.ring, other.ring) {
            (Some(ring), None) => over_curves(ring, other.shape.core(), reach + pens, any).map(Gap::swapped),
            (None, Some(ring)) => over_curves(ring, self.shape.core(), reach + pens, any),
            (Some(one), Some(two)) => over_rings(one, two, reach + pens, any),
            (None, None) => None,
        }?;
        Some(core.grown(self.shape.radius(), other.shape.radius()))
    }

    /// A point of the other shape's core that lies inside this ring.
    fn swallows(self, other: Side<'_>) -> Option<Vector> {
        let ShapeRef::Area { ring: corners, .. } = self.shape else { return None };
        let anchor = other.shape.anchor()?;
        let inside = match self.ring {
            Some(index) => index.contains(anchor),
            None => ring::contains(corners, anchor),
        };
        inside.then(|| anchor.into())
    }
}

/// The gap from curves to a ring's edges, if it is at most `reach`: the narrowest, or with `any` the first found.
fn over_curves(ring: &RingIndex, curves: impl Iterator<Item = Curve>, reach: f64, any: bool) -> Option<Gap> {
    let mut best: Option<Gap> = None;
    for curve in curves {
        let limit = best.map_or(reach, |gap| gap.distance);
        ring.visit_near(grown(curve.envelope(), limit), |from, to| {
            let gap = curve.gap(&Curve::Segment(from.into(), to.into()));
            if gap.distance <= reach && best.is_none_or(|best| gap.distance < best.distance) {
                best = Some(gap);
            }
            !(any && best.is_some())
        });
        if any && best.is_some() {
            break;
        }
    }
    best
}

fn over_rings(one: &RingIndex, two: &RingIndex, reach: f64, any: bool) -> Option<Gap> {
    let (small, large, swap) =
        if one.edges().len() <= two.edges().len() { (one, two, false) } else { (two, one, true) };
    let mut best: Option<Gap> = None;
    small.visit_near(grown(large.bounds()?, reach), |from, to| {
        let edge = Curve::Segment(from.into(), to.into());
        let limit = best.map_or(reach, |gap| gap.distance);
        if let Some(gap) = over_curves(large, std::iter::once(edge), limit, any)
            && best.is_none_or(|best| gap.distance < best.distance)
        {
            best = Some(gap);
        }
        !(any && best.is_some())
    });
    best.map(|gap| if swap { gap.swapped() } else { gap })
}

fn grown(envelope: Envelope, by: f64) -> Envelope {
    envelope.grown(from_f64(by.ceil()))
}
