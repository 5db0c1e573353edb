//! A route, or the two routes of a pair, as stretches: each on one step, coupled or not, in order.

use super::{Basis, Leg, Role};
use crate::board::LayerId;
use crate::copper::coupling::{Beside, Reach, advancing, around_bends, beside};
use crate::copper::pair::{Legs, mean_width, strands};
use crate::copper::{Route, Step, StepKind};
use crate::geometry::{from_f64, to_f64};

/// A stretch along one step of a leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Whose positions `along` holds.
    pub leg: Leg,
    /// Positions along that leg's route, nanometres.
    pub along: [f64; 2],
    /// What it is of.
    pub role: Role,
    /// The step of that leg's route.
    pub step: usize,
    /// Layer.
    pub layer: LayerId,
    /// Where the mate is, for a coupled stretch.
    pub mate: Option<Mate>,
}

/// The mate's side of a coupled stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mate {
    /// Positions along leg N.
    pub along: [f64; 2],
    /// The step of leg N's route.
    pub step: usize,
    /// Gap edge to edge at both ends, nanometres.
    pub gap: [f64; 2],
    /// Around a bend, where nothing is parallel.
    pub bend: bool,
    /// The gap changes along the stretch.
    pub tapers: bool,
}

/// Parts of a leg shorter than this, in nanometres, are rounding.
const SPECK: f64 = 0.5;
/// Gaps are alike within this many nanometres.
const ALIKE: f64 = 200.0;
/// A taper of the gap is cut so that the gap changes by at most this share or this many nanometres in a part, but no part
/// is shorter than this.
const TAPER: f64 = 0.1;
const LEAST_TAPER: f64 = 10_000.0;
const LEAST_PART: f64 = 100_000.0;

/// A single route, step by step.
pub fn of_route(route: &Route) -> Vec<Stretch> {
    let mut out = Vec::new();
    alone(route, Leg::P, [0.0, length(route)], &mut out);
    out
}

/// Both legs: coupled stretches, and before each what is left of either leg. Legs are coupled here wherever they run side
/// by side near enough to share a field, which is farther than what a designer calls coupled.
pub fn of_pair(basis: &Basis, legs: &Legs) -> Vec<Stretch> {
    let (p, n) = (&legs.p, &legs.n);
    let width = f64::midpoint(mean_width(p), mean_width(n));
    let reach = Reach { gap: reach(basis, legs), either_way: false };
    let coupled = around_bends(advancing(beside(&strands(p), &strands(n), reach)), width);
    let mut out = Vec::new();
    let mut reached = [0.0, 0.0];
    for together in &joined(p, n, &coupled) {
        alone(p, Leg::P, [reached[0], together.leg[0]], &mut out);
        alone(n, Leg::N, [reached[1], together.mate[0]], &mut out);
        side_by_side(p, n, together, &mut out);
        reached = [together.leg[1], f64::max(reached[1], together.mate[1])];
    }
    alone(p, Leg::P, [reached[0], length(p)], &mut out);
    alone(n, Leg::N, [reached[1], length(n)], &mut out);
    out
}

/// Legs share a field up to this many heights: at four the gap still takes 1 % off the differential impedance.
const SHARED: f64 = 4.0;
/// Never nearer than this, nor farther, in nanometres.
const SHARED_LEAST: f64 = 200_000.0;
const SHARED_MOST: f64 = 1_500_000.0;

/// How far apart legs share a field: by the highest place over the nearest layer that they have tracks on.
fn reach(basis: &Basis, legs: &Legs) -> f64 {
    let tracks = legs.p.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_)));
    let height = |layer: LayerId| {
        let next = [layer.0.checked_sub(1), layer.0.checked_add(1)].into_iter().flatten().map(LayerId);
        let heights = next.filter(|next| basis.foil(*next).is_some()).map(|next| basis.clear(layer, next).to_nm());
        heights.reduce(f64::min).unwrap_or(0.0)
    };
    let highest = tracks.map(|step| height(step.layer)).fold(0.0, f64::max);
    (SHARED * highest).clamp(SHARED_LEAST, SHARED_MOST)
}

/// Chords of one arc, and other stretches that go on alike on the same two steps, as one.
fn joined(p: &Route, n: &Route, coupled: &[Beside]) -> Vec<Beside> {
    let middle = |ends: [f64; 2]| f64::midpoint(ends[0], ends[1]);
    let steps = |beside: &Beside| (step_at(p, middle(beside.leg)), step_at(n, middle(beside.mate)));
    let mut out: Vec<(Beside, _)> = Vec::with_capacity(coupled.len());
    for next in coupled {
        let on = steps(next);
        if let Some((last, last_on)) = out.last_mut()
            && *last_on == on
            && !(last.bend || next.bend)
            && (next.leg[0] - last.leg[1]).abs().max((next.mate[0] - last.mate[1]).abs()) < SPECK
            && next.gap.iter().chain(&last.gap).all(|gap| (gap - last.gap[0]).abs() < ALIKE)
        {
            last.leg[1] = next.leg[1];
            last.mate[1] = next.mate[1];
            last.at[1] = next.at[1];
        } else {
            out.push((*next, on));
        }
    }
    out.into_iter().map(|(beside, _)| beside).collect()
}

fn length(route: &Route) -> f64 {
    route.steps.last().map_or(0.0, |step| (step.start + step.length).to_nm())
}

/// The parts of a leg's steps between two positions.
fn alone(route: &Route, leg: Leg, [from, to]: [f64; 2], out: &mut Vec<Stretch>) {
    for (index, step) in route.steps.iter().enumerate() {
        let (start, end) = (step.start.to_nm().max(from), (step.start + step.length).to_nm().min(to));
        if end - start <= SPECK || step.layer != step.to_layer {
            continue;
        }
        let role = match step.kind {
            StepKind::Track(_) => Role::Track,
            StepKind::Pad(_) | StepKind::Via(_) | StepKind::Hole(_) => Role::Land,
            StepKind::Fill(_) | StepKind::Graphic(_) => Role::Area,
        };
        out.push(Stretch { leg, along: [start, end], role, step: index, layer: step.layer, mate: None });
    }
}

/// A coupled stretch, cut where its gap tapers. A bend whose gap stays goes on as one; one that leaves the matched gap on
/// its way is none, and its legs are on their own.
fn side_by_side(p: &Route, n: &Route, beside: &Beside, out: &mut Vec<Stretch>) {
    let (least, most) = (beside.gap[0].min(beside.gap[1]), beside.gap[0].max(beside.gap[1]));
    let fold = (most / least.max(1.0)).ln() / TAPER.ln_1p();
    let parts = fold.min((most - least) / LEAST_TAPER).min(beside.length() / LEAST_PART);
    let tapers = most - least > (TAPER * least).max(LEAST_TAPER);
    let count = if tapers { from_f64(parts.floor()).clamp(1, 100) } else { 1 };
    let mix = |ends: [f64; 2], share: f64| if share >= 1.0 { ends[1] } else { ends[0] + (ends[1] - ends[0]) * share };
    // Where one leg stands still, there is nothing to cut across.
    if beside.length() <= SPECK || (beside.bend && strays(p, n, beside)) {
        alone(p, Leg::P, beside.leg, out);
        return alone(n, Leg::N, beside.mate, out);
    }
    for index in 0..count {
        let shares = [index, index + 1].map(|at| to_f64(at) / to_f64(count));
        let part = |ends: [f64; 2]| shares.map(|share| mix(ends, share));
        let (along, mate) = (part(beside.leg), part(beside.mate));
        let middle = |ends: [f64; 2]| f64::midpoint(ends[0], ends[1]);
        let (Some(step), Some(mate_step)) = (step_at(p, middle(along)), step_at(n, middle(mate))) else {
            alone(p, Leg::P, along, out);
            alone(n, Leg::N, mate, out);
            continue;
        };
        out.push(Stretch {
            leg: Leg::P,
            along,
            role: Role::Track,
            step,
            layer: beside.layer,
            mate: Some(Mate {
                along: mate,
                step: mate_step,
                gap: part(beside.gap),
                bend: beside.bend && !tapers,
                tapers,
            }),
        });
    }
}

/// Whether the legs are farther apart half way around a bend than at its ends.
fn strays(p: &Route, n: &Route, bend: &Beside) -> bool {
    let point = |route: &Route, ends: [f64; 2]| {
        let position = f64::midpoint(ends[0], ends[1]);
        let step = route.steps.get(step_at(route, position)?)?;
        Some((step.path.point_at(position - step.start.to_nm()), to_f64(step.width) / 2.0))
    };
    let (Some((one, half)), Some((two, other_half))) = (point(p, bend.leg), point(n, bend.mate)) else { return true };
    let gap = one.distance(two) - half - other_half;
    gap > STRAY * bend.gap[0].max(bend.gap[1]).max(half)
}

/// How much farther the corner of a bend may be than its ends: a right angle makes 1.41 of the gap and widths.
const STRAY: f64 = 2.0;

/// The step that holds a position; of two that meet there, the first with any length.
fn step_at(route: &Route, position: f64) -> Option<usize> {
    let holds = |step: &Step| {
        step.length.to_nm() > 0.0
            && step.start.to_nm() <= position + SPECK
            && position <= (step.start + step.length).to_nm() + SPECK
    };
    route.steps.iter().position(holds)
}
