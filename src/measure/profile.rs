//! One channel from end to end: what a signal meets along a route, or along both legs of a pair.

use super::profile_marks::{self, Mark};
use super::reflection::{Probe, Reflection};
use super::signal::Aim;
use super::{PairSignal, RouteSignal, Unknown};
use crate::board::{LayerId, NetId};
use crate::checks::Facts;
use crate::copper::pair::{Legs, walked};
use crate::copper::{Route, pad_name};
use crate::field::{FourPort, Frequency, Impedance, Scattering, Time};
use crate::geometry::Point;
use crate::signal::{
    Basis, Channel, Doubt, Knot, Leg, Line, NoBasis, PairChannel, PairLine, Piece, Plane, Role, SkewSample,
};
use crate::units::Length;

/// The ways of a channel.
#[derive(Debug, Clone)]
pub enum Ways {
    /// A single route.
    Net(Route),
    /// Both routes of a pair.
    Pair(Box<Legs>),
}

/// A channel from end to end.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Name of the net or the pair.
    pub name: String,
    /// Nets: one, or those of P and N.
    pub nets: Vec<String>,
    /// Pads at the first end: one, or those of P and N.
    pub from: Vec<String>,
    /// Pads at the last end.
    pub to: Vec<String>,
    /// What the rule set says of it.
    pub aim: Aim,
    /// What the numbers rest on.
    pub basis: Basis,
    /// Length of the route, or of leg P: positions run from nought to it, barrels counted as zero.
    pub length: Length,
    /// Pieces in order.
    pub pieces: Vec<ProfilePiece>,
    /// The running skew of a pair, in order; none for a net.
    pub running: Vec<SkewPoint>,
    /// Impedance, delay, loss and skew of the whole.
    pub whole: Whole,
    /// Pads, barrels and necks on the way, in order.
    pub marks: Vec<Mark>,
    /// What a reflectometer would show.
    pub reflection: Reflection,
    /// Copper that hangs off the way and is not in the reflection: branches, and routes to further pads.
    pub aside: usize,
}

/// The channel as a whole.
#[derive(Debug, Clone, PartialEq)]
pub enum Whole {
    /// Of a net.
    Net(RouteSignal),
    /// Of a pair.
    Pair(PairSignal),
}

/// A piece of a channel.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfilePiece {
    /// The leg, where it runs alone; P for a piece of both and of a single route.
    pub leg: Leg,
    /// From and to along its leg.
    pub along: [Length; 2],
    /// From and to along N, for a piece of both.
    pub mate: Option<[Length; 2]>,
    /// From and to on the axis of the profile: along the route or along P. What N has alone is laid over what P has
    /// meanwhile.
    pub axis: [Length; 2],
    /// Layer.
    pub layer: LayerId,
    /// Its ends.
    pub at: [Point; 2],
    /// Width of the copper.
    pub width: Length,
    /// Width of N, for a piece of both.
    pub mate_width: Option<Length>,
    /// Gap at both ends, for a piece of both.
    pub gap: Option<[Length; 2]>,
    /// The nearest plane above.
    pub above: Option<Plane>,
    /// The nearest plane below.
    pub below: Option<Plane>,
    /// What it is of.
    pub role: Role,
    /// Its impedance: differential for a pair (twice the single one where a leg runs alone). `None` inside lands, which
    /// only lend their delay from a track.
    pub impedance: Result<Option<Impedance>, Doubt>,
}

/// The running skew at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkewPoint {
    /// The sample.
    pub sample: SkewSample,
    /// The legs run side by side from the sample before to this one.
    pub follows: bool,
}

/// How a channel is asked to be looked at.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wanted {
    /// Rise time of the edge, 10 % to 90 %.
    pub rise: Option<Time>,
    /// Impedance of source and load.
    pub source: Option<Impedance>,
}

impl Profile {
    /// The profile of a channel called `name`.
    ///
    /// # Errors
    /// Why nothing electrical is known of the board.
    pub fn of(facts: &Facts<'_>, name: &str, ways: &Ways, aim: Aim, wanted: Wanted) -> Result<Self, NoBasis> {
        let channel = Channels::of(facts, ways)?;
        let probe = Probe::new(&aim, wanted, matches!(ways, Ways::Pair(_)));
        let reflection = match &channel {
            Channels::Net(_, channel) => Reflection::of_net(channel, probe),
            Channels::Pair(_, channel) => Reflection::of_pair(channel, probe),
        };
        let routes: Vec<&Route> = match ways {
            Ways::Net(route) => vec![route],
            Ways::Pair(legs) => vec![&legs.p, &legs.n],
        };
        let length = routes.first().map(|route| walked(route)).unwrap_or_default();
        let (pieces, running, whole, axis) = match (&channel, ways) {
            (Channels::Net(line, _), Ways::Net(route)) => {
                let pieces = line.pieces.iter().map(|piece| shown(piece, piece.along, Piece::single)).collect();
                (pieces, Vec::new(), Whole::Net(RouteSignal::of(facts, route, &aim)), Axis::default())
            }
            (Channels::Pair(line, _), Ways::Pair(legs)) => {
                let axis = Axis::of(line, length, walked(&legs.n));
                let pieces =
                    line.pieces.iter().map(|piece| shown(piece, axis.span(piece), Piece::differential)).collect();
                (pieces, running(line), Whole::Pair(PairSignal::of(facts, legs, &aim)), axis)
            }
            // `Channels::of` gives what `ways` are.
            _ => return Err(NoBasis::Missing),
        };
        let (lines, knots): (Vec<_>, Vec<&[Knot]>) = match &channel {
            Channels::Net(line, channel) => (vec![line.barrels.as_slice()], vec![&channel.knots]),
            Channels::Pair(line, channel) => {
                (vec![line.p.barrels.as_slice(), &line.n.barrels], channel.knots.iter().map(Vec::as_slice).collect())
            }
        };
        let marks = profile_marks::of(facts, &routes, &lines, &knots, &axis);
        Ok(Self {
            name: name.to_owned(),
            nets: routes.iter().map(|route| facts.board.nets.name(route.net).to_owned()).collect(),
            from: routes.iter().map(|route| pad_name(facts.board, route.from)).collect(),
            to: routes.iter().map(|route| pad_name(facts.board, route.to)).collect(),
            aim,
            basis: facts.signals.basis()?.clone(),
            length,
            pieces,
            running,
            whole,
            marks,
            reflection,
            aside: routes.iter().map(|route| aside(facts, route.net)).sum(),
        })
    }

    /// Whether it is of a pair.
    #[must_use]
    pub const fn is_pair(&self) -> bool {
        matches!(self.whole, Whole::Pair(_))
    }
}

/// What hangs off the ways of a net: branches, and routes other than the one looked at.
fn aside(facts: &Facts<'_>, net: NetId) -> usize {
    facts.copper.stubs(net).branches.len() + facts.copper.routes(net).routes.len().saturating_sub(1)
}

/// Scattering of a channel at some frequencies.
#[derive(Debug, Clone, PartialEq)]
pub enum Ports {
    /// Of a net, from its first pad to its last.
    Two(Vec<(Frequency, Scattering)>),
    /// Of a pair: ports 1 and 2 are the first pads of P and N, 3 and 4 the last ones.
    Four(Vec<(Frequency, FourPort)>),
}

impl Ports {
    /// The scattering of a channel at `frequencies`, every port against `reference`.
    ///
    /// # Errors
    /// Why a part of it is not known: a file that leaves it out would lie.
    pub fn of(
        facts: &Facts<'_>,
        ways: &Ways,
        frequencies: &[Frequency],
        reference: Impedance,
    ) -> Result<Self, Unknown> {
        let channel = Channels::of(facts, ways)?;
        let (broken, lossless) = match &channel {
            Channels::Net(_, channel) => (channel.broken, channel.lossless),
            Channels::Pair(_, channel) => (channel.broken, channel.lossless),
        };
        if let Some(broken) = broken {
            return Err(broken.doubt.into());
        }
        if lossless {
            return Err(Doubt::NoLossTangent.into());
        }
        Ok(match channel {
            Channels::Net(_, channel) => {
                let point = |&at: &Frequency| Ok((at, channel.chain.scattering(at, reference)?));
                Self::Two(frequencies.iter().map(point).collect::<Result<_, Unknown>>()?)
            }
            Channels::Pair(_, channel) => {
                let point = |&at: &Frequency| Ok((at, channel.chain.scattering(at, reference)?));
                Self::Four(frequencies.iter().map(point).collect::<Result<_, Unknown>>()?)
            }
        })
    }
}

/// What is known of the ways, and their chain.
enum Channels {
    Net(std::sync::Arc<Line>, Channel),
    Pair(std::sync::Arc<PairLine>, PairChannel),
}

impl Channels {
    fn of(facts: &Facts<'_>, ways: &Ways) -> Result<Self, NoBasis> {
        let basis = facts.signals.basis()?;
        let stubs = |route: &Route| facts.copper.stubs(route.net);
        Ok(match ways {
            Ways::Net(route) => {
                let line = facts.signals.line(route)?;
                let channel = Channel::new(&line, basis, stubs(route));
                Self::Net(line, channel)
            }
            Ways::Pair(legs) => {
                let line = facts.signals.pair(legs)?;
                let channel = PairChannel::new(&line, basis, [stubs(&legs.p), stubs(&legs.n)]);
                Self::Pair(line, channel)
            }
        })
    }
}

fn shown(piece: &Piece, axis: [Length; 2], of: fn(&Piece) -> Option<Impedance>) -> ProfilePiece {
    ProfilePiece {
        leg: piece.leg,
        along: piece.along,
        mate: piece.mate,
        axis,
        layer: piece.layer,
        at: piece.at,
        width: piece.width,
        mate_width: piece.mate_width,
        gap: piece.gap,
        above: piece.above,
        below: piece.below,
        role: piece.role,
        impedance: match (&piece.wave, piece.role) {
            (Err(doubt), _) => Err(*doubt),
            (Ok(_), Role::Land) => Ok(None),
            (Ok(_), Role::Area) => Err(Doubt::NoCentreLine),
            (Ok(_), Role::Track) => Ok(of(piece)),
        },
    }
}

/// Where positions along N lie on P.
#[derive(Debug, Clone, Default)]
pub(super) struct Axis(Vec<(Length, Length)>);

impl Axis {
    fn of(line: &PairLine, p: Length, n: Length) -> Self {
        let mut knots = vec![(Length::ZERO, Length::ZERO)];
        for piece in &line.pieces {
            if let Some(mate) = piece.mate {
                knots.extend(mate.into_iter().zip(piece.along));
            }
        }
        knots.push((n, p));
        Self(knots)
    }

    /// The place of N's position `n`, on P: as between the nearest places where the legs are matched.
    pub fn at(&self, n: Length) -> Length {
        let ends = self.0.windows(2).find_map(|two| match two {
            [from, to] if n >= from.0 && n <= to.0 => Some((*from, *to)),
            _ => None,
        });
        let Some((from, to)) = ends else { return self.0.last().map_or(n, |last| last.1) };
        let whole = (to.0 - from.0).to_nm();
        let share = if whole > 0.0 { (n - from.0).to_nm() / whole } else { 0.0 };
        from.1 + (to.1 - from.1) * share
    }

    fn span(&self, piece: &Piece) -> [Length; 2] {
        if piece.leg == Leg::P { piece.along } else { piece.along.map(|n| self.at(n)) }
    }
}

/// The running skew, and where the legs run side by side between its samples.
fn running(line: &PairLine) -> Vec<SkewPoint> {
    let mut coupled: Vec<[Length; 2]> = Vec::new();
    for piece in line.pieces.iter().filter(|piece| piece.is_coupled()) {
        match coupled.last_mut() {
            Some(last) if piece.along[0] <= last[1] + NEAR => last[1] = piece.along[1],
            _ => coupled.push(piece.along),
        }
    }
    let mut before: Option<Length> = None;
    let mut points = Vec::with_capacity(line.running.len());
    for sample in &line.running {
        let inside = |from: Length| {
            coupled.iter().any(|[start, end]| from >= *start - NEAR && sample.p <= *end + NEAR && sample.p > from)
        };
        points.push(SkewPoint { sample: *sample, follows: before.is_some_and(inside) });
        before = Some(sample.p);
    }
    points
}

/// Positions nearer than this are one.
const NEAR: Length = Length::nm(10.0);
