//! What a signal meets along its route: the bridge from copper to fields.
//!
//! [`Signals`] takes a board's copper and the stackup that counts ([`Basis`]). It cuts routes into [`Piece`]s, stretches in
//! which layer, width and surroundings don't change, and has their cross-sections solved; equal sections are solved once.
//! A [`Line`] is a route with its pieces and barrels, a [`PairLine`] the two routes of a pair. What can't be solved is a
//! [`Doubt`] with a reason, never a number.

mod across;
mod around;
mod barrel;
mod basis;
mod cache;
mod change;
mod channel;
mod doubt;
mod ground;
mod line;
mod lump;
mod piece;
mod plan;
mod section;
mod stretch;
mod tell;
mod wave;

pub use barrel::{BarrelLine, BarrelPiece, Bore};
pub use basis::{Assumptions, Basis, BasisOrigin, Coat, CoatOrigin, ETCH, Foil, MASK, ROUGHNESS, Sheet};
pub use channel::{Break, Channel, Knot, PairChannel};
pub use doubt::{Doubt, Lacking, NoBasis};
pub use line::{Delay, LegLine, Line, PairLine, Skew, SkewSample};
pub use piece::{Leg, Piece, Plane, Role};
pub use wave::{Travel, Wave};

pub use cache::Tally;

use self::cache::Cache;
use self::ground::Grounds;
use self::plan::{Draft, Planner};
use crate::board::{NetId, PadId};
use crate::copper::pair::{Legs, walked};
use crate::copper::pair_coupling::coupling;
use crate::copper::{Copper, Route};
use crate::geometry::from_f64;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Everything electrical of one board. Worked out on first use, shared by threads.
#[derive(Debug)]
pub struct Signals<'a> {
    copper: &'a Copper<'a>,
    assumptions: Assumptions,
    basis: OnceLock<Result<Basis, NoBasis>>,
    grounds: OnceLock<Grounds<'a>>,
    cache: Cache,
    lines: Known<RouteKey, Line>,
    pairs: Known<(RouteKey, RouteKey), PairLine>,
}

/// What is known already, by route.
type Known<K, T> = Mutex<FxHashMap<K, Arc<OnceLock<Arc<T>>>>>;

/// A route's net, ends and length in nanometres: no two routes of a board share them.
type RouteKey = (NetId, PadId, PadId, usize, i64);

fn key(route: &Route) -> RouteKey {
    (route.net, route.from, route.to, route.steps.len(), from_f64(walked(route).to_nm()))
}

fn cell<K: std::hash::Hash + Eq, T>(known: &Known<K, T>, key: K) -> Arc<OnceLock<Arc<T>>> {
    Arc::clone(known.lock().unwrap_or_else(PoisonError::into_inner).entry(key).or_default())
}

/// A route or pair whose sections are drawn but not solved.
enum Planned<'r> {
    Line(&'r Route, Vec<Draft>),
    Pair(&'r Legs, Vec<Draft>),
}

impl Planned<'_> {
    fn drafts(&self) -> &[Draft] {
        match self {
            Self::Line(_, drafts) | Self::Pair(_, drafts) => drafts,
        }
    }
}

impl<'a> Signals<'a> {
    /// The signals of a board; nothing is computed yet.
    #[must_use]
    pub fn new(copper: &'a Copper<'a>, assumptions: Assumptions) -> Self {
        Self {
            copper,
            assumptions,
            basis: OnceLock::new(),
            grounds: OnceLock::new(),
            cache: Cache::default(),
            lines: Mutex::default(),
            pairs: Mutex::default(),
        }
    }

    /// The stackup that counts.
    ///
    /// # Errors
    /// Why there is none: then nothing electrical can be said of the board.
    pub fn basis(&self) -> Result<&Basis, NoBasis> {
        let basis = self.basis.get_or_init(|| Basis::new(self.copper.board(), &self.assumptions));
        basis.as_ref().map_err(|missing| *missing)
    }

    fn grounds(&self) -> &Grounds<'a> {
        self.grounds.get_or_init(|| Grounds::new(self.copper))
    }

    /// How many sections were asked for and solved so far.
    #[must_use]
    pub fn tally(&self) -> Tally {
        self.cache.tally()
    }

    // What follows is worked out by one thread each: see `copper`'s crew. Threads are shared in `prepare` alone, which
    // no part waits for.

    /// A single route.
    ///
    /// # Errors
    /// Why nothing electrical can be said of the board.
    pub fn line(&self, route: &Route) -> Result<Arc<Line>, NoBasis> {
        let basis = self.basis()?;
        let cell = cell(&self.lines, key(route));
        let line = cell.get_or_init(|| Arc::new(self.told_line(basis, route, &self.plan_line(basis, route))));
        Ok(Arc::clone(line))
    }

    /// The routes of a pair.
    ///
    /// # Errors
    /// Why nothing electrical can be said of the board.
    pub fn pair(&self, legs: &Legs) -> Result<Arc<PairLine>, NoBasis> {
        let basis = self.basis()?;
        let cell = cell(&self.pairs, (key(&legs.p), key(&legs.n)));
        let line = cell.get_or_init(|| Arc::new(self.told_pair(basis, legs, &self.plan_pair(basis, legs))));
        Ok(Arc::clone(line))
    }

    /// A stretch of a barrel of the first of these nets, on its route or not; the barrel of a mate, the second net, that
    /// stands beside it is its return.
    ///
    /// # Errors
    /// Why nothing electrical can be said of the board.
    pub fn barrel(&self, nets: &[NetId], bore: Bore, mate: Option<Bore>) -> Result<BarrelPiece, NoBasis> {
        let holes = lump::Holes { grounds: self.grounds(), basis: self.basis()?, nets };
        Ok(lump::of_bore(holes, bore, mate))
    }

    /// The routes of a pair if they are worked out already, by [`Signals::prepare`] or because someone asked.
    #[must_use]
    pub fn known_pair(&self, legs: &Legs) -> Option<Arc<PairLine>> {
        cell(&self.pairs, (key(&legs.p), key(&legs.n))).get().map(Arc::clone)
    }

    fn plan_line(&self, basis: &Basis, route: &Route) -> Vec<Draft> {
        let planner = Planner { grounds: self.grounds(), basis, cache: &self.cache, p: route, n: None };
        planner.drafts(&stretch::of_route(route))
    }

    fn plan_pair(&self, basis: &Basis, legs: &Legs) -> Vec<Draft> {
        let planner = Planner { grounds: self.grounds(), basis, cache: &self.cache, p: &legs.p, n: Some(&legs.n) };
        planner.drafts(&stretch::of_pair(basis, legs))
    }

    fn told_line(&self, basis: &Basis, route: &Route, drafts: &[Draft]) -> Line {
        let holes = lump::Holes { grounds: self.grounds(), basis, nets: &[route.net] };
        tell::line(basis, drafts, lump::of_route(holes, route))
    }

    fn told_pair(&self, basis: &Basis, legs: &Legs, drafts: &[Draft]) -> PairLine {
        let holes = lump::Holes { grounds: self.grounds(), basis, nets: &[legs.p.net, legs.n.net] };
        tell::pair(basis, drafts, lump::of_pair(holes, &legs.p, &legs.n), &coupling(legs).stretches)
    }

    /// Works out many routes and pairs, with all threads of the pool. Without it each is worked out when it is asked for,
    /// by the thread that asks. The numbers are the same.
    pub fn prepare(&self, routes: &[&Route], pairs: &[&Legs]) {
        let Ok(basis) = self.basis() else { return };
        let new_lines = routes.iter().filter(|route| cell(&self.lines, key(route)).get().is_none());
        let new_pairs = pairs.iter().filter(|legs| cell(&self.pairs, (key(&legs.p), key(&legs.n))).get().is_none());
        let mut plans: Vec<Planned<'_>> = new_lines.map(|route| Planned::Line(route, Vec::new())).collect();
        plans.extend(new_pairs.map(|legs| Planned::Pair(legs, Vec::new())));
        plans.par_iter_mut().for_each(|plan| match plan {
            Planned::Line(route, drafts) => *drafts = self.plan_line(basis, route),
            Planned::Pair(legs, drafts) => *drafts = self.plan_pair(basis, legs),
        });
        let mut seen = FxHashSet::default();
        let asked = plans.iter().flat_map(Planned::drafts).filter_map(|draft| draft.asks.as_ref());
        let slots: Vec<_> = asked.filter(|asked| seen.insert(Arc::as_ptr(&asked.slot))).collect();
        slots.par_iter().for_each(|asked| {
            asked.slot.plain();
        });
        plans.par_iter().for_each(|plan| match plan {
            Planned::Line(route, drafts) => {
                let cell = cell(&self.lines, key(route));
                cell.get_or_init(|| Arc::new(self.told_line(basis, route, drafts)));
            }
            Planned::Pair(legs, drafts) => {
                let cell = cell(&self.pairs, (key(&legs.p), key(&legs.n)));
                cell.get_or_init(|| Arc::new(self.told_pair(basis, legs, drafts)));
            }
        });
    }
}
