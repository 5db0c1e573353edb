//! What is known of a route, and of the two routes of a pair, once their pieces are solved.

use super::{BarrelPiece, Doubt, Leg, Piece};
use crate::board::LayerSet;
use crate::field::Time;
use crate::geometry::Point;
use crate::units::Length;

/// A delay added up along a way, and what it lacks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Delay {
    /// The sum over what is known.
    pub known: Time,
    /// Length of the way: centre lines and barrels.
    pub way: Length,
    /// How much of it is in doubt and not in the sum.
    pub doubtful: Length,
    /// Why, for the longest such part.
    pub doubt: Option<Doubt>,
    /// The estimated error of the sum, from the solver.
    pub error: Time,
}

impl Delay {
    /// The delay, if all of it is known.
    ///
    /// # Errors
    /// Why a part is not known.
    pub fn whole(&self) -> Result<Time, Doubt> {
        self.doubt.map_or(Ok(self.known), Err)
    }

    /// Share of the way in doubt, 0 to 1.
    #[must_use]
    pub fn share_in_doubt(&self) -> f64 {
        if self.way.to_nm() > 0.0 { self.doubtful.to_nm() / self.way.to_nm() } else { 0.0 }
    }
}

/// A single route, electrically.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// Pieces in walking order. Together they are all of the route but its barrels.
    pub pieces: Vec<Piece>,
    /// Barrels in walking order.
    pub barrels: Vec<BarrelPiece>,
    /// From end to end. Lengths that pads declare inside their packages are not in it: their delay is not known.
    pub delay: Delay,
    /// Layers of the route and of its planes: what the numbers rest on.
    pub layers: LayerSet,
}

/// One leg of a pair, electrically.
#[derive(Debug, Clone, Default)]
pub struct LegLine {
    /// Its barrels in walking order.
    pub barrels: Vec<BarrelPiece>,
    /// From end to end, as `Line::delay`.
    pub delay: Delay,
}

/// The running skew at one pair of matched positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkewSample {
    /// Position along P, barrels left out.
    pub p: Length,
    /// Matched position along N.
    pub n: Length,
    /// Delay of P minus delay of N up to here; `None` if a part before is in doubt on one leg.
    pub value: Option<Time>,
    /// Point on P.
    pub at: Point,
    /// Layer.
    pub layer: crate::board::LayerId,
    /// Whether the legs run side by side from the sample before up to here.
    pub follows: bool,
}

/// The routes of a pair, electrically.
#[derive(Debug, Clone, Default)]
pub struct PairLine {
    /// Pieces of both legs: coupled ones (positions of P, with those of N as `mate`), and each leg's single ones. In
    /// order along P; single pieces of N stand where the coupled ones leave them out.
    pub pieces: Vec<Piece>,
    /// Leg P.
    pub p: LegLine,
    /// Leg N.
    pub n: LegLine,
    /// Delay of P minus delay of N from end to end.
    pub skew: Skew,
    /// The same on the way, where the legs run side by side.
    pub running: Vec<SkewSample>,
    /// Layers of the routes and of their planes: what the numbers rest on.
    pub layers: LayerSet,
}

/// A difference of delays. What both legs lack alike cancels: equal barrels that are not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Skew {
    /// P minus N over what is known.
    pub known: Time,
    /// Why a part is not known; `None` if all is.
    pub doubt: Option<Doubt>,
    /// The estimated error, from the solver.
    pub error: Time,
}

impl Skew {
    /// The skew, if all of it is known.
    ///
    /// # Errors
    /// Why a part is not known.
    pub fn whole(&self) -> Result<Time, Doubt> {
        self.doubt.map_or(Ok(self.known), Err)
    }
}

impl PairLine {
    /// The leg.
    #[must_use]
    pub const fn leg(&self, leg: Leg) -> &LegLine {
        match leg {
            Leg::P => &self.p,
            Leg::N => &self.n,
        }
    }
}
