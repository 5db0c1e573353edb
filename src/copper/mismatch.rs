//! The running mismatch of a pair: how much longer P is than N, up to each pair of matched positions.
//!
//! It has values only where the legs run side by side; between such stretches nothing is matched and nothing is said.
//! Barrels count with their height; equal barrels cancel even where heights are not known.

use super::coupling::Beside;
use super::pair::{Legs, walked};
use super::{Route, StepKind};
use crate::board::{Board, LayerId};
use crate::geometry::Point;
use crate::units::Length;
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
}

/// A mismatch that lasts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Its size: P minus N.
    pub value: Length,
    /// Where it has arisen.
    pub from: Sample,
    /// Where it is gone again, or where the legs are last matched.
    pub to: Sample,
    /// Where it is greatest.
    pub top: Sample,
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

    /// The greatest mismatch that lasts, with one sign, for at least `persist` along the pair. A bend that the next bend
    /// undoes is over sooner. Legs matched over less than that are judged over what they have.
    #[must_use]
    pub fn peak(&self, persist: Length) -> Option<Peak> {
        let known: Vec<(f64, f64, usize)> = self
            .samples
            .iter()
            .enumerate()
            .filter_map(|(at, sample)| {
                // The middle of both legs' positions, so that swapping the legs changes nothing.
                Some(((sample.p + sample.n).to_nm() / 2.0, sample.value?.to_nm(), at))
            })
            .collect();
        let matched = known.last()?.0 - known.first()?.0;
        let persist = persist.to_nm().min(matched);
        let [up, down] = [1.0, -1.0].map(|sign| {
            let signed: Vec<(f64, f64)> = known.iter().map(|&(p, value, _)| (p, sign * value)).collect();
            lasting(&signed, persist).map(|(value, from, to)| (sign * value, from, to))
        });
        let best = [up, down].into_iter().flatten().max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))?;
        let sample = |at: usize| known.get(at).and_then(|known| self.samples.get(known.2)).copied();
        let tops = known.get(best.1..=best.2)?.iter();
        let top = tops.max_by(|a, b| (a.1 * best.0.signum()).total_cmp(&(b.1 * best.0.signum())))?.2;
        Some(Peak {
            value: Length::nm(best.0),
            from: sample(best.1)?,
            to: sample(best.2)?,
            top: self.samples.get(top).copied()?,
        })
    }
}

/// The greatest value that a piecewise linear curve holds or exceeds over a length, and the samples around that run.
fn lasting(curve: &[(f64, f64)], persist: f64) -> Option<(f64, usize, usize)> {
    let most = curve.iter().map(|&(_, value)| value).fold(0.0, f64::max);
    // The longest run at or above a value, as (length, first sample, last sample).
    let run = |value: f64| {
        let mut best: Option<(f64, usize, usize)> = None;
        let mut open: Option<(f64, usize)> = None;
        for (at, pair) in curve.windows(2).enumerate() {
            let &[(p0, v0), (p1, v1)] = pair else { continue };
            let cross = |from: f64, to: f64| p0 + (p1 - p0) * ((value - from) / (to - from)).clamp(0.0, 1.0);
            if v0 >= value {
                let begun = *open.get_or_insert((p0, at));
                let (end, last) = if v1 >= value { (p1, at + 1) } else { (cross(v0, v1), at) };
                if best.is_none_or(|best| end - begun.0 > best.0) {
                    best = Some((end - begun.0, begun.1, last));
                }
                if v1 < value {
                    open = None;
                }
            } else if v1 >= value {
                let begun = (cross(v0, v1), at + 1);
                open = Some(begun);
                if best.is_none_or(|best| p1 - begun.0 > best.0) {
                    best = Some((p1 - begun.0, begun.1, at + 1));
                }
            }
        }
        best
    };
    let lasts = |value: f64| run(value).is_some_and(|run| run.0 >= persist - 1e-6);
    if most <= 0.0 {
        return None;
    }
    let (mut low, mut high) = (0.0, most);
    if lasts(high) {
        low = high;
    } else {
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if lasts(middle) { low = middle } else { high = middle }
        }
    }
    let (_, first, last) = run(low)?;
    (low > 0.0).then_some((low, first, last))
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
            let sample = Sample { p: Length::nm(p), n: Length::nm(n), value, at: at.to_point(), layer: stretch.layer };
            if samples.last() != Some(&sample) {
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
