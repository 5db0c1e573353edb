//! The two legs of a pair: routes of its nets that run between the same parts, walked the same way.

use super::{Route, Step, StepKind};
use crate::board::{Board, PadId};
use crate::geometry::to_f64;
use crate::units::Length;
use std::cmp::Ordering;

/// Two routes that belong together, walked the same way.
#[derive(Debug, Clone, PartialEq)]
pub struct Legs {
    /// Leg P.
    pub p: Route,
    /// Leg N.
    pub n: Route,
}

/// The routes of two nets, sorted into legs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matched {
    /// Legs, in order of P's routes.
    pub legs: Vec<Legs>,
    /// Routes of either net without a counterpart.
    pub lone: Vec<Route>,
}

/// Ends at different parts may still be counterparts (two series resistors side by side) if they are this near.
const PART_APART: f64 = 5_000_000.0;

/// Sorts the routes of a pair's nets into legs: first those that end at the same parts, then those that end at parts
/// side by side. Nets with one route each always match.
#[must_use]
pub fn match_legs(board: &Board, p: &[Route], n: &[Route]) -> Matched {
    let mut fits: Vec<(Fit, usize, usize, bool)> = Vec::new();
    for (p_at, p_route) in p.iter().enumerate() {
        for (n_at, n_route) in n.iter().enumerate() {
            let straight = fit(board, p_route, (n_route.from, n_route.to));
            let turned = fit(board, p_route, (n_route.to, n_route.from));
            let turn = turned.compare(straight) == Ordering::Less;
            fits.push((if turn { turned } else { straight }, p_at, n_at, turn));
        }
    }
    fits.sort_by(|a, b| a.0.compare(b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let only = p.len() == 1 && n.len() == 1;
    let mut p_taken = vec![false; p.len()];
    let mut n_taken = vec![false; n.len()];
    let mut legs: Vec<(usize, Legs)> = Vec::new();
    for (fit, p_at, n_at, turn) in fits {
        let (Some(p_flag), Some(n_flag)) = (p_taken.get_mut(p_at), n_taken.get_mut(n_at)) else { continue };
        if *p_flag || *n_flag || !(only || fit.apart <= PART_APART || fit.strange == 0) {
            continue;
        }
        if let (Some(p_route), Some(n_route)) = (p.get(p_at), n.get(n_at)) {
            (*p_flag, *n_flag) = (true, true);
            let n_route = if turn { reversed(n_route) } else { n_route.clone() };
            legs.push((p_at, Legs { p: p_route.clone(), n: n_route }));
        }
    }
    legs.sort_by_key(|(at, _)| *at);
    let free = |routes: &[Route], taken: &[bool]| -> Vec<Route> {
        routes.iter().zip(taken).filter(|(_, taken)| !**taken).map(|(route, _)| route.clone()).collect()
    };
    let mut lone = free(p, &p_taken);
    lone.extend(free(n, &n_taken));
    Matched { legs: legs.into_iter().map(|(_, legs)| legs).collect(), lone }
}

/// How well two routes belong together: ends at different parts, then distance.
#[derive(Clone, Copy)]
struct Fit {
    /// Number of ends (0 to 2) at different parts.
    strange: u8,
    /// Distance of the pads at the ends that differ, the greater.
    apart: f64,
    /// Distance of the pads at both ends.
    distance: f64,
}

impl Fit {
    fn compare(self, other: Self) -> Ordering {
        self.strange.cmp(&other.strange).then(self.distance.total_cmp(&other.distance))
    }
}

fn fit(board: &Board, p: &Route, n: (PadId, PadId)) -> Fit {
    let mut fit = Fit { strange: 0, apart: 0.0, distance: 0.0 };
    for (one, other) in [(p.from, n.0), (p.to, n.1)] {
        let (Some(one), Some(other)) = (board.pads.get(one), board.pads.get(other)) else { continue };
        let distance = one.at.distance(other.at);
        fit.distance += distance;
        if one.footprint != other.footprint {
            fit.strange += 1;
            fit.apart = fit.apart.max(distance);
        }
    }
    fit
}

/// A route walked from its other end.
#[must_use]
pub fn reversed(route: &Route) -> Route {
    let mut start = Length::ZERO;
    let steps = route
        .steps
        .iter()
        .rev()
        .map(|step| {
            let turned =
                Step { layer: step.to_layer, to_layer: step.layer, path: step.path.reversed(), start, ..*step };
            start += step.length;
            turned
        })
        .collect();
    Route { from: route.to, to: route.from, steps, ..route.clone() }
}

/// The length of a route's centre lines, barrels left out.
#[must_use]
pub fn walked(route: &Route) -> Length {
    route.steps.iter().map(|step| step.length).sum()
}

/// The tracks of a route as strands for the coupling kernel.
#[must_use]
pub fn strands(route: &Route) -> Vec<super::coupling::Strand> {
    let tracks = route.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_)));
    tracks
        .map(|step| super::coupling::Strand {
            layer: step.layer,
            path: step.path,
            width: step.width,
            start: step.start.to_nm(),
        })
        .collect()
}

/// Mean track width of a route in nanometres, by length; zero without tracks.
#[must_use]
pub fn mean_width(route: &Route) -> f64 {
    let mut sums = (0.0, 0.0);
    for step in route.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_))) {
        sums.0 += step.length.to_nm() * to_f64(step.width);
        sums.1 += step.length.to_nm();
    }
    if sums.1 > 0.0 { sums.0 / sums.1 } else { 0.0 }
}
