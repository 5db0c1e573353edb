//! From drafts to what is known: waves, delays, skew.

use super::across::Span;
use super::around::{Around, Cover};
use super::plan::{Asked, Draft};
use super::{BarrelPiece, Basis, Delay, Doubt, Leg, LegLine, Line, PairLine, Piece, Plane, Skew, SkewSample, Wave};
use crate::board::{LayerId, LayerSet};
use crate::copper::coupling::Beside;
use crate::field::Time;
use crate::units::Length;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Coupled pieces in doubt cancel if their legs' lengths differ by at most this.
const ALIKE: f64 = 1_000.0;

/// A single route.
pub fn line(basis: &Basis, drafts: &[Draft], barrels: Vec<BarrelPiece>) -> Line {
    let pieces = pieces(basis, drafts);
    let delay = delay(&pieces, &barrels, Leg::P);
    let layers = layers(drafts, &barrels);
    Line { pieces, barrels, delay, layers }
}

/// The routes of a pair.
pub fn pair(
    basis: &Basis,
    drafts: &[Draft],
    [p_barrels, n_barrels]: [Vec<BarrelPiece>; 2],
    coupled: &[Beside],
) -> PairLine {
    let pieces = pieces(basis, drafts);
    let rests = layers(drafts, &p_barrels).or(layers(drafts, &n_barrels));
    let leg = |barrels: Vec<BarrelPiece>, leg| LegLine { delay: delay(&pieces, &barrels, leg), barrels };
    let (p, n) = (leg(p_barrels, Leg::P), leg(n_barrels, Leg::N));
    let skew = skew(&pieces, &p.barrels, &n.barrels);
    let running = running(&pieces, &p.barrels, &n.barrels, coupled);
    PairLine { pieces, p, n, skew, running, layers: rests }
}

fn pieces(basis: &Basis, drafts: &[Draft]) -> Vec<Piece> {
    drafts.iter().map(|draft| piece(basis, draft)).collect()
}

fn piece(basis: &Basis, draft: &Draft) -> Piece {
    let stretch = &draft.stretch;
    let around = draft.around.as_ref();
    let width = |span: Span| Length::nm(span.1 - span.0);
    let plane = |covers: fn(&Around) -> &Vec<Cover>| {
        let nearest = covers(around?).first()?;
        let height = basis.clear(stretch.layer, nearest.layer);
        Some(Plane { layer: nearest.layer, height, partial: nearest.spans.is_some() })
    };
    Piece {
        role: stretch.role,
        leg: stretch.leg,
        along: stretch.along.map(Length::nm),
        mate: stretch.mate.map(|mate| mate.along.map(Length::nm)),
        layer: stretch.layer,
        step: stretch.step,
        at: draft.at,
        width: around.map_or(Length::ZERO, |around| width(around.own)),
        mate_width: around.and_then(|around| around.mate).map(width),
        gap: stretch.mate.map(|mate| mate.gap.map(Length::nm)),
        above: plane(|around| &around.above),
        below: plane(|around| &around.below),
        beside: around.map_or([None, None], beside),
        wave: wave(draft),
    }
}

/// Gaps to the nearest grounds on the left and on the right.
fn beside(around: &Around) -> [Option<Length>; 2] {
    let (left, right) = around.mate.map_or(around.own, |mate| (around.own.0.min(mate.0), around.own.1.max(mate.1)));
    let nearest = |gaps: &mut dyn Iterator<Item = f64>| gaps.filter(|gap| *gap >= 0.0).reduce(f64::min).map(Length::nm);
    [
        nearest(&mut around.beside.iter().map(|span| left - span.1)),
        nearest(&mut around.beside.iter().map(|span| span.0 - right)),
    ]
}

fn wave(draft: &Draft) -> Result<Wave, Doubt> {
    if let Some(doubt) = draft.doubt {
        return Err(doubt);
    }
    let Some(Asked { slot, own, mate, lossy }) = &draft.asks else { return Err(Doubt::NothingNear) };
    let solution = slot.plain().clone()?;
    match *mate {
        Some(mate) => drop(solution.pair(*own, mate)?),
        None => drop(solution.line(*own)?),
    }
    Ok(Wave { solution, slot: Arc::clone(slot), p: *own, n: *mate, lossy: *lossy })
}

/// The part of a piece that lies on a leg.
fn on_leg(piece: &Piece, leg: Leg) -> Option<Length> {
    match (&piece.mate, leg) {
        (Some(mate), Leg::N) => Some(mate[1] - mate[0]),
        (Some(_), Leg::P) => Some(piece.length()),
        (None, leg) => (piece.leg == leg).then(|| piece.length()),
    }
}

fn delay(pieces: &[Piece], barrels: &[BarrelPiece], leg: Leg) -> Delay {
    let mut sum = Delay::default();
    let mut doubts: Vec<(Length, Doubt)> = Vec::new();
    let ways = pieces.iter().filter_map(|piece| {
        let length = on_leg(piece, leg)?;
        let told = piece.wave.as_ref().map(|wave| (wave.delay(leg).over(length), wave.error()));
        Some((length, told.map_err(|doubt| *doubt)))
    });
    let holes = barrels.iter().map(|barrel| {
        let told = barrel.line.as_ref().map(|line| (line.delay, BARREL_ERROR));
        (barrel.height, told.map_err(|doubt| *doubt))
    });
    for (length, told) in ways.chain(holes) {
        sum.way += length;
        match told {
            Ok((delay, error)) => {
                sum.known = sum.known + delay;
                sum.error = sum.error + delay * error;
            }
            Err(doubt) => {
                sum.doubtful += length;
                doubts.push((length, doubt));
            }
        }
    }
    sum.doubt = longest(doubts);
    sum
}

/// A barrel's delay is told no better than this: the return current's way is a model that was not checked against full
/// waves.
const BARREL_ERROR: f64 = 0.2;

/// The doubt of the longest part, the first of equals.
fn longest(doubts: Vec<(Length, Doubt)>) -> Option<Doubt> {
    let mut worst: Option<(Length, Doubt)> = None;
    for doubt in doubts {
        if worst.is_none_or(|worst| doubt.0.to_nm() > worst.0.to_nm()) {
            worst = Some(doubt);
        }
    }
    worst.map(|worst| worst.1)
}

fn span(barrel: &BarrelPiece) -> (LayerId, LayerId) {
    (barrel.from.min(barrel.to), barrel.from.max(barrel.to))
}

fn skew(pieces: &[Piece], p: &[BarrelPiece], n: &[BarrelPiece]) -> Skew {
    let mut skew = Skew::default();
    let mut doubts: Vec<(Length, Doubt)> = Vec::new();
    for piece in pieces {
        let [p, n] = [Leg::P, Leg::N].map(|leg| on_leg(piece, leg).unwrap_or(Length::ZERO));
        match &piece.wave {
            Ok(wave) => {
                let difference = wave.delay(Leg::P).over(p) - wave.delay(Leg::N).over(n);
                skew.known = skew.known + difference;
                skew.error = skew.error + difference.abs() * wave.error();
            }
            Err(_) if (p - n).abs().to_nm() <= ALIKE => {}
            Err(doubt) => doubts.push((p.abs() + n.abs(), *doubt)),
        }
    }
    // Barrels in doubt between the same layers cancel one by one.
    let mut open: BTreeMap<(LayerId, LayerId), i32> = BTreeMap::new();
    for (barrels, sign) in [(p, 1), (n, -1)] {
        for barrel in barrels {
            match &barrel.line {
                Ok(line) => skew.known = skew.known + line.delay * f64::from(sign),
                Err(_) => *open.entry(span(barrel)).or_default() += sign,
            }
        }
    }
    for barrel in p.iter().chain(n) {
        if let Err(doubt) = &barrel.line
            && open.get(&span(barrel)).is_some_and(|count| *count != 0)
        {
            doubts.push((barrel.height, *doubt));
        }
    }
    let unequal = p.iter().map(span).ne(n.iter().map(span));
    if unequal {
        let through = |barrels: &[BarrelPiece]| -> Time {
            barrels.iter().filter_map(|barrel| barrel.line.as_ref().ok()).map(|line| line.delay).sum()
        };
        skew.error = skew.error + (through(p) - through(n)).abs() * BARREL_ERROR;
    }
    skew.doubt = longest(doubts);
    skew
}

/// One leg's delay by position: stretches in order, and barrels.
struct Course<'p> {
    stretches: Vec<([f64; 2], Option<f64>)>,
    barrels: &'p [BarrelPiece],
}

impl<'p> Course<'p> {
    fn new(pieces: &[Piece], barrels: &'p [BarrelPiece], leg: Leg) -> Self {
        let own = pieces.iter().filter_map(|piece| {
            let along = match (&piece.mate, leg) {
                (Some(mate), Leg::N) => *mate,
                (None, leg) if piece.leg != leg => return None,
                _ => piece.along,
            };
            let slowness = piece.wave.as_ref().ok().map(|wave| wave.delay(leg).to_seconds_per_metre() * 1e-9);
            Some((along.map(Length::to_nm), slowness))
        });
        Self { stretches: own.collect(), barrels }
    }

    /// Delay up to a position and barrels passed on the way; `inner` is a position just inside the stretch in question,
    /// which decides on which side a barrel at its end lies.
    fn up_to(&self, position: f64, inner: f64) -> Passed {
        let mut passed = Passed { delay: Some(0.0), barrels: BTreeMap::new() };
        for ([from, to], slowness) in &self.stretches {
            let length = to.min(position) - from;
            if length > 0.0 {
                passed.delay = passed.delay.zip(*slowness).map(|(sum, slowness)| sum + slowness * length);
            }
        }
        for barrel in self.barrels.iter().filter(|barrel| barrel.along.to_nm() <= inner) {
            let told = barrel.line.as_ref().ok().map(|line| line.delay.to_seconds());
            passed.barrels.entry(span(barrel)).or_default().push(told);
        }
        passed
    }
}

struct Passed {
    delay: Option<f64>,
    barrels: BTreeMap<(LayerId, LayerId), Vec<Option<f64>>>,
}

impl Passed {
    /// This minus the other; barrels in doubt cancel between the same layers.
    fn minus(&self, other: &Self) -> Option<Time> {
        let mut sum = self.delay? - other.delay?;
        let none = Vec::new();
        for key in self.barrels.keys().chain(other.barrels.keys().filter(|key| !self.barrels.contains_key(key))) {
            let (own, others) = (self.barrels.get(key).unwrap_or(&none), other.barrels.get(key).unwrap_or(&none));
            let unknown = |barrels: &[Option<f64>]| barrels.iter().filter(|told| told.is_none()).count();
            if unknown(own) != unknown(others) {
                return None;
            }
            sum += own.iter().flatten().sum::<f64>() - others.iter().flatten().sum::<f64>();
        }
        Some(Time::seconds(sum))
    }
}

/// The running skew where the legs run side by side: at both ends of each stretch.
fn running(pieces: &[Piece], p: &[BarrelPiece], n: &[BarrelPiece], coupled: &[Beside]) -> Vec<SkewSample> {
    let (p_course, n_course) = (Course::new(pieces, p, Leg::P), Course::new(pieces, n, Leg::N));
    let mut samples: Vec<SkewSample> = Vec::with_capacity(2 * coupled.len());
    for stretch in coupled {
        let inner = [stretch.leg, stretch.mate].map(|ends| f64::midpoint(ends[0], ends[1]));
        let ends = stretch.leg.into_iter().zip(stretch.mate).zip(stretch.at);
        for (end, ((p, n), at)) in ends.enumerate() {
            let value = p_course.up_to(p, inner[0]).minus(&n_course.up_to(n, inner[1]));
            let (p, n, at) = (Length::nm(p), Length::nm(n), at.to_point());
            let sample = SkewSample { p, n, value, at, layer: stretch.layer, follows: end == 1 };
            if samples.last().is_none_or(|last| SkewSample { follows: false, ..*last } != sample) {
                samples.push(sample);
            }
        }
    }
    samples
}

/// Layers that drafts and barrels rest on.
fn layers(drafts: &[Draft], barrels: &[BarrelPiece]) -> LayerSet {
    let mut set: LayerSet = drafts.iter().map(|draft| draft.stretch.layer).collect();
    for around in drafts.iter().filter_map(|draft| draft.around.as_ref()) {
        for cover in around.above.iter().chain(&around.below) {
            set.insert(cover.layer);
        }
    }
    barrels.iter().fold(set, |set, barrel| set.or(LayerSet::span(barrel.from, barrel.to)))
}
