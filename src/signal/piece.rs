//! Pieces: stretches of a route in which layer, width and surroundings don't change.

use super::{Doubt, Wave};
use crate::board::LayerId;
use crate::field::Impedance;
use crate::geometry::Point;
use crate::units::Length;

/// A leg of a pair. A single route counts as leg P.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Leg {
    /// The positive one.
    P,
    /// The negative one.
    N,
}

/// What a piece is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// A track, alone or coupled to its mate: its impedance counts.
    Track,
    /// Inside a pad or a via's land. Its delay is that of the next track on its layer; its impedance is not its own, so
    /// don't judge it.
    Land,
    /// Through filled or drawn copper without a centre line: always in doubt.
    Area,
}

/// A plane on one side of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// Its layer.
    pub layer: LayerId,
    /// Clear height of dielectric between the plane and the trace.
    pub height: Length,
    /// Whether it ends, or has an opening, within reach of the piece. What is there is in the section, over the next
    /// solid plane.
    pub partial: bool,
}

/// A stretch of one route, or of both legs of a pair where they run side by side.
#[derive(Debug, Clone)]
pub struct Piece {
    /// What it is of.
    pub role: Role,
    /// Whose positions `along` holds: P for a coupled piece.
    pub leg: Leg,
    /// From and to along that leg's route, barrels counted as zero.
    pub along: [Length; 2],
    /// From and to along leg N, for a coupled piece.
    pub mate: Option<[Length; 2]>,
    /// Layer.
    pub layer: LayerId,
    /// Step of that leg's route.
    pub step: usize,
    /// Its ends, on that leg's centre line.
    pub at: [Point; 2],
    /// Width of the copper (teardrops included), where it is a track.
    pub width: Length,
    /// Width of leg N, for a coupled piece.
    pub mate_width: Option<Length>,
    /// Gap edge to edge at both ends, for a coupled piece.
    pub gap: Option<[Length; 2]>,
    /// The nearest plane above, whole or in part.
    pub above: Option<Plane>,
    /// The nearest plane below, whole or in part.
    pub below: Option<Plane>,
    /// Gaps to grounded copper beside the piece on its own layer: to the left and right of the walking direction, as seen
    /// on the screen from above.
    pub beside: [Option<Length>; 2],
    /// Its waves, or why there are none.
    pub wave: Result<Wave, Doubt>,
}

impl Piece {
    /// Its length along its leg.
    #[must_use]
    pub fn length(&self) -> Length {
        self.along[1] - self.along[0]
    }

    /// Whether both legs are in it.
    #[must_use]
    pub const fn is_coupled(&self) -> bool {
        self.mate.is_some()
    }

    /// Impedance as a pair sees it: differential where the legs are coupled, twice the single line's where not. `None`
    /// in doubt and inside lands.
    #[must_use]
    pub fn differential(&self) -> Option<Impedance> {
        let wave = self.wave.as_ref().ok().filter(|_| self.role == Role::Track)?;
        wave.differential().or_else(|| Some(wave.single()? * 2.0))
    }

    /// Impedance of a single line; `None` in doubt and inside lands.
    #[must_use]
    pub fn single(&self) -> Option<Impedance> {
        self.wave.as_ref().ok().filter(|_| self.role == Role::Track)?.single()
    }
}
