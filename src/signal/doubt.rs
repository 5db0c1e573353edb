//! Why a stretch of copper, or a whole board, has no electrical numbers.

use crate::board::ZoneId;
use crate::copper::PlaneDoubt;
use crate::field::Undetermined;
use crate::source::Span;
use std::fmt;

/// Why nothing electrical can be said of a board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoBasis {
    /// Neither the file nor the rule set has a stackup that is of use.
    Missing,
    /// The stackup lacks a value.
    Incomplete {
        /// Which.
        what: Lacking,
        /// The entry, in the file that the stackup is from.
        span: Span,
    },
}

/// A value that a stackup must state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lacking {
    /// A foil's thickness.
    FoilThickness,
    /// A dielectric's thickness.
    SheetThickness,
    /// A dielectric's permittivity.
    Permittivity,
    /// A dielectric between two neighbouring foils.
    Sheet,
    /// A copper layer of the board, in the board's order.
    Foil,
    /// A value that can be true: thicker than nothing, of a permittivity of 1 or more.
    Sense,
}

impl fmt::Display for NoBasis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Missing => "there is no stackup",
            Self::Incomplete { what, .. } => match what {
                Lacking::FoilThickness => "the stackup does not state the thickness of a foil",
                Lacking::SheetThickness => "the stackup does not state the thickness of a dielectric",
                Lacking::Permittivity => "the stackup does not state the permittivity of a dielectric",
                Lacking::Sheet => "the stackup has no dielectric between two foils",
                Lacking::Foil => "the stackup's copper layers are not those of the board",
                Lacking::Sense => "a value of the stackup can't be true",
            },
        })
    }
}

/// Why a stretch has no number. Its text names no layer or place: the piece that carries it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// The solver's refusal. Without any plane or ground beside it a single line has no return.
    Unsolved(Undetermined),
    /// Through filled or drawn copper without a centre line of its own.
    NoCentreLine,
    /// A plane that should be there is a zone without fill.
    Unfilled(ZoneId),
    /// The plane is a mesh.
    Meshed,
    /// The legs run above each other on different layers, which is not cut into sections.
    Broadside,
    /// A barrel whose antipads are not known: no plane has an opening of its own around it.
    NoAntipad,
    /// A barrel without a return via near it.
    NoReturnVia,
    /// A barrel whose hole has no size.
    NoHole,
    /// A sheet without loss tangent: impedance and delay are known, loss is not.
    NoLossTangent,
    /// Nothing near lends its speed to the straight line inside a pad.
    NothingNear,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unsolved(Undetermined::NoReturn) => f.write_str("no plane and no ground is near"),
            Self::Unsolved(reason) => write!(f, "{reason}"),
            Self::NoCentreLine => f.write_str("it runs through copper without a centre line"),
            Self::Unfilled(_) => f.write_str("a zone that should be its plane has no fill"),
            Self::Meshed => f.write_str("its plane is a mesh"),
            Self::Broadside => f.write_str("the legs run above each other"),
            Self::NoAntipad => f.write_str("no plane has an opening around a barrel"),
            Self::NoReturnVia => f.write_str("no return via is near a barrel"),
            Self::NoHole => f.write_str("the size of a hole is not known"),
            Self::NoLossTangent => f.write_str("the stackup does not state a loss tangent"),
            Self::NothingNear => f.write_str("nothing on its layer lends its speed"),
        }
    }
}

impl std::error::Error for NoBasis {}
impl std::error::Error for Doubt {}

impl From<Undetermined> for Doubt {
    fn from(reason: Undetermined) -> Self {
        Self::Unsolved(reason)
    }
}

impl From<PlaneDoubt> for Doubt {
    fn from(doubt: PlaneDoubt) -> Self {
        match doubt {
            PlaneDoubt::Unfilled(zone) => Self::Unfilled(zone),
            PlaneDoubt::Meshed => Self::Meshed,
        }
    }
}
