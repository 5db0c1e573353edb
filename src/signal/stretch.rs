//! A route, or the two routes of a pair, as stretches: each on one step, coupled or not, in order.

use super::{Leg, Role};
use crate::board::LayerId;
use crate::copper::coupling::Beside;
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
}

/// Parts of a leg shorter than this, in nanometres, are rounding.
const SPECK: f64 = 0.5;
/// A taper of the gap is cut so that the gap changes by at most this share, or this many nanometres if that is more.
const TAPER: f64 = 0.1;
const LEAST_TAPER: f64 = 10_000.0;

/// A single route, step by step.
pub fn of_route(route: &Route) -> Vec<Stretch> {
    let mut out = Vec::new();
    alone(route, Leg::P, [0.0, length(route)], &mut out);
    out
}

/// Both legs: coupled stretches, and before each what is left of either leg.
pub fn of_pair(p: &Route, n: &Route, coupled: &[Beside]) -> Vec<Stretch> {
    let mut out = Vec::new();
    let mut reached = [0.0, 0.0];
    for beside in coupled {
        alone(p, Leg::P, [reached[0], beside.leg[0]], &mut out);
        alone(n, Leg::N, [reached[1], beside.mate[0]], &mut out);
        side_by_side(p, n, beside, &mut out);
        reached = [beside.leg[1], f64::max(reached[1], beside.mate[1])];
    }
    alone(p, Leg::P, [reached[0], length(p)], &mut out);
    alone(n, Leg::N, [reached[1], length(n)], &mut out);
    out
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

fn side_by_side(p: &Route, n: &Route, beside: &Beside, out: &mut Vec<Stretch>) {
    let middle = |ends: [f64; 2]| f64::midpoint(ends[0], ends[1]);
    let (Some(step), Some(mate_step)) = (step_at(p, middle(beside.leg)), step_at(n, middle(beside.mate))) else {
        alone(p, Leg::P, beside.leg, out);
        return alone(n, Leg::N, beside.mate, out);
    };
    let (least, most) = (beside.gap[0].min(beside.gap[1]), beside.gap[0].max(beside.gap[1]));
    let steps = from_f64(((most - least) / (TAPER * least).max(LEAST_TAPER)).ceil()).clamp(1, 100);
    let steps = if beside.bend { 1 } else { steps };
    let at = |share: i64| beside.leg[0] + beside.length() * to_f64(share) / to_f64(steps);
    for index in 0..steps {
        let part = if steps == 1 { *beside } else { beside.part(at(index), at(index + 1)) };
        out.push(Stretch {
            leg: Leg::P,
            along: part.leg,
            role: Role::Track,
            step,
            layer: beside.layer,
            mate: Some(Mate { along: part.mate, step: mate_step, gap: part.gap, bend: beside.bend }),
        });
    }
}

/// The step that holds a position; of two that meet there, the first with any length.
fn step_at(route: &Route, position: f64) -> Option<usize> {
    let holds = |step: &Step| {
        step.length.to_nm() > 0.0
            && step.start.to_nm() <= position + SPECK
            && position <= (step.start + step.length).to_nm() + SPECK
    };
    route.steps.iter().position(holds)
}
