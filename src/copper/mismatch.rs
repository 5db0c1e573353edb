//! The running mismatch of a pair: how much longer P is than N, up to each pair of matched positions.
//!
//! It has values only where the legs run side by side; between such stretches nothing is matched and nothing is said.
//! Barrels count with their height; equal barrels cancel even where heights are not known.

use super::coupling::Beside;
use super::pair::{Legs, walked};
use super::{Route, StepKind};
use crate::board::{Board, LayerId};
use crate::geometry::{Point, Vector, from_f64};
use crate::units::{LENGTH_TOLERANCE, Length};
use std::collections::BTreeMap;

/// Upper and lower layer of a barrel's used part.
type Span = (LayerId, LayerId);

/// Height between two copper layers, if the stackup states it.
pub type HeightBetween<'a> = &'a dyn Fn(LayerId, LayerId) -> Option<Length>;

/// The running mismatch at one matched pair of positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Position along P, barrels left out.
    pub p: Length,
    /// Matched position along N.
    pub n: Length,
    /// P minus N up to here; `None` if barrels differ and their heights are not known.
    pub value: Option<Length>,
    /// Point on P.
    pub at: Point,
    /// Layer.
    pub layer: LayerId,
    /// Whether the legs run side by side from the sample before up to here.
    pub follows: bool,
}

/// A stretch of the way in which the mismatch is beyond a limit, with one sign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasting {
    /// Where it is greatest, the first place of equals.
    pub top: Sample,
    /// Where it goes beyond the limit.
    pub from: Sample,
    /// Where it is back within the limit, or where the legs are last matched.
    pub to: Sample,
    /// How far it is from the one to the other, along the middle of both legs.
    pub span: Length,
}

/// What is left before a discontinuity of P.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// The via, hole or pad.
    pub before: StepKind,
    /// Layer on which it is reached.
    pub layer: LayerId,
    /// Place of it.
    pub at: Point,
    /// Mismatch where the legs were last matched; `None` if that is not known.
    pub value: Option<Length>,
}

/// The running mismatch of two legs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mismatch {
    /// P minus N from end to end, in-pad lengths and declared package lengths included; `None` if barrels differ and
    /// heights are not known.
    pub end: Option<Length>,
    /// Values along the pair, in order; linear between neighbours of one stretch.
    pub samples: Vec<Sample>,
    /// What is left before each via, hole and the last pad, in order along P.
    pub left: Vec<Left>,
}

impl Mismatch {
    /// Whether a value is missing for want of heights.
    #[must_use]
    pub fn has_unknown(&self) -> bool {
        self.end.is_none() || self.samples.iter().any(|sample| sample.value.is_none())
    }

    /// Where the mismatch is greatest, the first place of equals; `None` if there is none anywhere.
    #[must_use]
    pub fn peak(&self) -> Option<Sample> {
        let known = self.samples.iter().filter(|sample| size(sample) > LENGTH_TOLERANCE.to_nm());
        known
            .copied()
            .reduce(|most, next| if size(&next) > size(&most) + LENGTH_TOLERANCE.to_nm() { next } else { most })
    }

    /// The stretch with the greatest mismatch among those in which it stays beyond `limit`, with one sign, for at least
    /// `persist` along the pair: a bend that the next bend undoes is over sooner. Legs matched over less than that are
    /// judged over what they have.
    #[must_use]
    pub fn lasting(&self, limit: Length, persist: Length) -> Option<Lasting> {
        let known: Vec<Sample> = self.samples.iter().filter(|sample| sample.value.is_some()).copied().collect();
        let matched = middle(known.last()?) - middle(known.first()?);
        let persist = persist.to_nm().min(matched) - LENGTH_TOLERANCE.to_nm();
        let limit = (limit + LENGTH_TOLERANCE).to_nm();
        let stretches = [1.0, -1.0].into_iter().flat_map(|sign| beyond(&known, sign, limit));
        // In whole nanometres, so that noise of the arithmetic doesn't choose among equals; of those the first.
        let rank = |found: &Lasting| [size(&found.top), found.span.to_nm(), -middle(&found.from)].map(from_f64);
        stretches.filter(|found| found.span.to_nm() >= persist).max_by_key(rank)
    }
}

/// The mismatch in nanometres, without sign; 0 if it is not known.
fn size(sample: &Sample) -> f64 {
    sample.value.map_or(0.0, |value| value.to_nm().abs())
}

/// The middle of both legs' positions in nanometres, so that swapping the legs changes nothing.
fn middle(sample: &Sample) -> f64 {
    (sample.p + sample.n).to_nm() / 2.0
}

/// The stretches in which the mismatch, times `sign`, is beyond a limit, in order along the pair.
fn beyond(samples: &[Sample], sign: f64, limit: f64) -> Vec<Lasting> {
    let excess = |sample: &Sample| sample.value.unwrap_or_default().to_nm() * sign - limit;
    let mut found: Vec<Lasting> = Vec::new();
    let mut open: Option<(Sample, Sample)> = None; // where it begins, where it is greatest so far
    let mut before: Option<&Sample> = None;
    for sample in samples {
        let crossing = || before.map_or(*sample, |before| between(before, sample, excess(before), excess(sample)));
        if excess(sample) > 0.0 {
            let (from, top) = open.unwrap_or_else(|| (crossing(), *sample));
            open = Some((from, if excess(sample) > excess(&top) + LENGTH_TOLERANCE.to_nm() { *sample } else { top }));
        } else if let Some((from, top)) = open.take() {
            found.push(Lasting { top, from, to: crossing(), span: Length::ZERO });
        }
        before = Some(sample);
    }
    if let (Some((from, top)), Some(last)) = (open, samples.last()) {
        found.push(Lasting { top, from, to: *last, span: Length::ZERO });
    }
    for stretch in &mut found {
        stretch.span = Length::nm(middle(&stretch.to) - middle(&stretch.from));
    }
    found
}

/// The place between two neighbouring samples where a value that is linear between them crosses zero. Where the legs
/// don't run side by side nothing is known between: there it is the place of the sample beyond.
fn between(one: &Sample, two: &Sample, at_one: f64, at_two: f64) -> Sample {
    if !two.follows {
        return if at_one > 0.0 { *one } else { *two };
    }
    let share = at_one / (at_one - at_two);
    let mix = |one: Length, two: Length| one + (two - one) * share;
    Sample {
        p: mix(one.p, two.p),
        n: mix(one.n, two.n),
        value: one.value.zip(two.value).map(|(one, two)| mix(one, two)),
        at: (Vector::from(one.at) + (Vector::from(two.at) - Vector::from(one.at)) * share).to_point(),
        layer: one.layer,
        follows: true,
    }
}

/// The running mismatch of two legs along their coupled stretches.
#[must_use]
pub fn mismatch(board: &Board, legs: &Legs, stretches: &[Beside], height: HeightBetween<'_>) -> Mismatch {
    let (p_barrels, n_barrels) = (barrels(&legs.p), barrels(&legs.n));
    let package = package(board, &legs.p) - package(board, &legs.n);
    let up_to = |barrels: &[(f64, Span)], position: f64| {
        barrels.iter().take_while(|(at, _)| *at <= position).map(|(_, span)| *span).collect::<Vec<_>>()
    };
    let value = |p: f64, n: f64| {
        let extra = difference(&up_to(&p_barrels, p), &up_to(&n_barrels, n), height)?;
        Some(Length::nm(p - n) + package.0 + extra)
    };
    let mut samples: Vec<Sample> = Vec::with_capacity(stretches.len() + 1);
    for stretch in stretches {
        for end in 0..2 {
            let get = |ends: [f64; 2]| if end == 0 { ends[0] } else { ends[1] };
            let (p, n) = (get(stretch.leg), get(stretch.mate));
            let at = if end == 0 { stretch.at[0] } else { stretch.at[1] };
            // A barrel that starts exactly where a stretch ends or begins lies on the outer side of it.
            let middle =
                [f64::midpoint(stretch.leg[0], stretch.leg[1]), f64::midpoint(stretch.mate[0], stretch.mate[1])];
            let extra = difference(&up_to(&p_barrels, middle[0]), &up_to(&n_barrels, middle[1]), height);
            let value = extra.map(|extra| Length::nm(p - n) + package.0 + extra);
            let (p, n, at) = (Length::nm(p), Length::nm(n), at.to_point());
            let sample = Sample { p, n, value, at, layer: stretch.layer, follows: end == 1 };
            if samples.last().is_none_or(|last| Sample { follows: false, ..*last } != sample) {
                samples.push(sample);
            }
        }
    }
    let end = value(walked(&legs.p).to_nm(), walked(&legs.n).to_nm()).map(|end| end + package.1);
    let left = left(&legs.p, &samples);
    Mismatch { end, samples, left }
}

/// Declared package lengths at the first and the last pad.
fn package(board: &Board, route: &Route) -> Both {
    let of = |pad| board.pads.get(pad).and_then(|pad| pad.package_length).unwrap_or(Length::ZERO);
    Both(of(route.from), of(route.to))
}

struct Both(Length, Length);

impl std::ops::Sub for Both {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0, self.1 - other.1)
    }
}

/// Barrels of a route with the positions at which they stand.
fn barrels(route: &Route) -> Vec<(f64, Span)> {
    let through = route.steps.iter().filter(|step| step.layer != step.to_layer);
    through.map(|step| (step.start.to_nm(), (step.layer.min(step.to_layer), step.layer.max(step.to_layer)))).collect()
}

/// Height of P's barrels minus N's, counted by the gaps between neighbouring layers: gaps that both pass equally often
/// cancel, known or not.
fn difference(p: &[Span], n: &[Span], height: HeightBetween<'_>) -> Option<Length> {
    let mut surplus: BTreeMap<LayerId, i32> = BTreeMap::new();
    for (spans, sign) in [(p, 1), (n, -1)] {
        for upper in spans.iter().flat_map(|(top, bottom)| top.0..bottom.0) {
            *surplus.entry(LayerId(upper)).or_default() += sign;
        }
    }
    let mut sum = Length::ZERO;
    for (upper, count) in surplus.into_iter().filter(|(_, count)| *count != 0) {
        sum += height(upper, LayerId(upper.0.saturating_add(1)))? * f64::from(count);
    }
    Some(sum)
}

/// The mismatch where the legs were last matched before each barrel of P and before its last pad.
fn left(p: &Route, samples: &[Sample]) -> Vec<Left> {
    let last_before =
        |position: Length| samples.iter().take_while(|sample| sample.p.to_nm() <= position.to_nm() + 1.0).last();
    let mut out = Vec::new();
    for step in p.steps.iter().filter(|step| step.layer != step.to_layer) {
        if let Some(sample) = last_before(step.start) {
            out.push(Left { before: step.kind, layer: step.layer, at: step.path.start(), value: sample.value });
        }
    }
    if let (Some(step), Some(sample)) = (p.steps.last(), samples.last()) {
        out.push(Left { before: StepKind::Pad(p.to), layer: step.to_layer, at: step.path.end(), value: sample.value });
    }
    out
}
