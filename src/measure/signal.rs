//! What a signal meets: impedance, delay and loss of a route, and the skew of a pair.

use super::unknown::Unknown;
use crate::board::{LayerId, NetId};
use crate::checks::{Facts, Pair, Selection};
use crate::copper::pair::Legs;
use crate::copper::{Route, Stubs};
use crate::field::{Chain, Frequency, Impedance, Time};
use crate::geometry::Point;
use crate::rules::At;
use crate::signal::{BarrelPiece, Basis, Delay, Doubt, Leg, Piece, Role, SkewSample, Travel};
use crate::units::{Length, Quantity, Target};

/// What a signal meets on a single route.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteSignal {
    /// Impedance of its tracks.
    pub impedance: Result<ImpedanceRow, Unknown>,
    /// Delay from end to end.
    pub delay: Result<Time, Unknown>,
    /// Loss at half the group's rate.
    pub loss: Result<LossRow, Unknown>,
}

/// What a differential signal meets on the routes of a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct PairSignal {
    /// Differential impedance of its tracks; where a leg runs alone, twice its own.
    pub impedance: Result<ImpedanceRow, Unknown>,
    /// Delay of leg P from end to end.
    pub p: Result<Time, Unknown>,
    /// Delay of leg N.
    pub n: Result<Time, Unknown>,
    /// P minus N.
    pub skew: Result<Time, Unknown>,
    /// The greatest running skew, and where.
    pub peak: Result<(Time, Point, LayerId), Unknown>,
    /// Loss at half the group's rate.
    pub loss: Result<LossRow, Unknown>,
}

/// The impedance of tracks along a way, by length.
#[derive(Debug, Clone, PartialEq)]
pub struct ImpedanceRow {
    /// The least.
    pub least: Impedance,
    /// The one with half of the length below it.
    pub typical: Impedance,
    /// The greatest.
    pub most: Impedance,
    /// The one farthest from the group's target, or from the typical one where no group states a target, with its middle
    /// and layer.
    pub worst: (Impedance, Point, LayerId),
    /// Length of the tracks of which it is known.
    pub known: Length,
    /// Length of those of which it is not, and why for the longest such piece.
    pub doubtful: Option<(Length, Doubt)>,
}

/// What is lost on a way at a frequency, in decibels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossRow {
    /// The frequency: half the rate.
    pub frequency: Frequency,
    /// Heat in copper.
    pub metal: Quantity,
    /// Heat in dielectrics.
    pub dielectric: Quantity,
    /// What each barrel alone, with its lands and its unused ends, reflects between lines of the typical impedance.
    pub barrels: Quantity,
}

impl LossRow {
    /// All of it. Reflections that meet each other can make more or less of it.
    #[must_use]
    pub fn total(&self) -> Quantity {
        Quantity::Decibel(self.metal.base() + self.dielectric.base() + self.barrels.base())
    }
}

/// What the rule set says of a pair or a net. The first group that says it counts; for a pair those that declare it come
/// before those that take it as proposed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Aim {
    /// Symbol rate.
    pub rate: Option<At<Quantity>>,
    /// Target impedance: differential for a pair.
    pub impedance: Option<At<Target>>,
}

impl Aim {
    /// Of a pair.
    #[must_use]
    pub fn of_pair(facts: &Facts<'_>, pair: &Pair) -> Self {
        let same = |known: &Pair| (known.p, known.n) == (pair.p, pair.n);
        // A group that names the pair says more of it than one that takes whatever the board proposes.
        let declared = Self::of(facts, |group| group.pairs.iter().any(|known| same(known) && !known.proposed));
        let any = Self::of(facts, |group| group.pairs.iter().any(same));
        Self { rate: declared.rate.or(any.rate), impedance: declared.impedance.or(any.impedance) }
    }

    /// Of a net that is named as a net, not as a leg.
    #[must_use]
    pub fn of_net(facts: &Facts<'_>, net: NetId) -> Self {
        Self::of(facts, |group| group.nets.contains(&net))
    }

    fn of(facts: &Facts<'_>, holds: impl Fn(&Selection) -> bool) -> Self {
        let groups = || facts.selections.iter().filter(|group| holds(group));
        Self {
            rate: groups().find_map(|group| group.rate.clone()),
            impedance: groups().find_map(|group| group.impedance.clone()),
        }
    }

    /// Half the rate: where a signal of two levels that change as fast as they can has its power.
    #[must_use]
    pub fn nyquist(&self) -> Option<Frequency> {
        self.rate.as_ref().map(|rate| Frequency::hertz(rate.value.base() / 2.0))
    }

    /// The impedance to aim at.
    #[must_use]
    pub fn target(&self) -> Option<Impedance> {
        self.impedance.as_ref().map(|target| Impedance::ohms(target.value.value.base()))
    }
}

impl RouteSignal {
    /// A route of which nothing is known for one reason.
    pub(super) fn unknown(why: &Unknown) -> Self {
        Self { impedance: Err(why.clone()), delay: Err(why.clone()), loss: Err(why.clone()) }
    }

    pub(super) fn of(facts: &Facts<'_>, route: &Route, aim: &Aim) -> Self {
        let (basis, line) = match facts.signals.basis().and_then(|basis| Ok((basis, facts.signals.line(route)?))) {
            Ok(known) => known,
            Err(missing) => return Self::unknown(&missing.into()),
        };
        let impedance = spread(&line.pieces, Piece::single, aim.target());
        let stubs = facts.copper.stubs(route.net);
        let barrels: Vec<_> = line.barrels.iter().map(|barrel| (barrel, stubs)).collect();
        let way = Way { pieces: &line.pieces, barrels: &barrels, legs: 1.0 };
        let loss = way.loss(basis, aim.nyquist(), impedance.as_ref().ok().map(|found| found.typical));
        Self { impedance, delay: delay(&line.delay), loss }
    }
}

impl PairSignal {
    fn unknown(why: &Unknown) -> Self {
        Self {
            impedance: Err(why.clone()),
            p: Err(why.clone()),
            n: Err(why.clone()),
            skew: Err(why.clone()),
            peak: Err(why.clone()),
            loss: Err(why.clone()),
        }
    }

    pub(super) fn of(facts: &Facts<'_>, legs: &Legs, aim: &Aim) -> Self {
        let (basis, line) = match facts.signals.basis().and_then(|basis| Ok((basis, facts.signals.pair(legs)?))) {
            Ok(known) => known,
            Err(missing) => return Self::unknown(&missing.into()),
        };
        let impedance = spread(&line.pieces, Piece::differential, aim.target());
        let barrels: Vec<_> = [(&line.p, &legs.p), (&line.n, &legs.n)]
            .into_iter()
            .flat_map(|(leg, route)| leg.barrels.iter().map(|barrel| (barrel, facts.copper.stubs(route.net))))
            .collect();
        let way = Way { pieces: &line.pieces, barrels: &barrels, legs: 2.0 };
        let loss = way.loss(basis, aim.nyquist(), impedance.as_ref().ok().map(|found| found.typical * 0.5));
        Self {
            impedance,
            p: delay(&line.p.delay),
            n: delay(&line.n.delay),
            skew: line.skew.whole().map_err(Unknown::from),
            peak: peak(&line.running, line.p.delay.doubt.or(line.n.delay.doubt)),
            loss,
        }
    }
}

fn delay(delay: &Delay) -> Result<Time, Unknown> {
    delay.whole().map_err(|doubt| Unknown::Doubt { doubt, share: Some(delay.share_in_doubt()) })
}

/// The greatest running skew. Where a part is not known there might be a greater one.
fn peak(running: &[SkewSample], doubt: Option<Doubt>) -> Result<(Time, Point, LayerId), Unknown> {
    let mut peak: Option<(Time, Point, LayerId)> = None;
    for sample in running {
        let value = sample.value.ok_or_else(|| doubt.map_or(Unknown::NeverBeside, Unknown::from))?;
        if peak.is_none_or(|(most, ..)| value.to_ps().abs() > most.to_ps().abs() + SAME_PS) {
            peak = Some((value, sample.at, sample.layer));
        }
    }
    peak.ok_or(Unknown::NeverBeside)
}

/// Skews nearer than this are one, so that noise of the arithmetic doesn't choose the place.
const SAME_PS: f64 = 1e-6;

/// How the impedance of a way's tracks spreads.
fn spread(
    pieces: &[Piece],
    of: fn(&Piece) -> Option<Impedance>,
    target: Option<Impedance>,
) -> Result<ImpedanceRow, Unknown> {
    let mut found: Vec<(Impedance, &Piece)> = Vec::new();
    let mut doubtful: Option<(Length, Doubt)> = None;
    let mut longest = Length::ZERO;
    for piece in pieces.iter().filter(|piece| piece.role != Role::Land && piece.length().to_nm() > 0.0) {
        match (of(piece), &piece.wave) {
            (Some(impedance), _) => found.push((impedance, piece)),
            (None, wave) => {
                let doubt = wave.as_ref().err().copied().unwrap_or(Doubt::NoCentreLine);
                let (sum, why) = doubtful.get_or_insert((Length::ZERO, doubt));
                *sum += piece.length();
                if piece.length() > longest {
                    (*why, longest) = (doubt, piece.length());
                }
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let known: Length = found.iter().map(|(_, piece)| piece.length()).sum();
    let (Some((least, _)), Some((most, _)), Some(typical)) = (found.first(), found.last(), median(&found, known))
    else {
        return Err(doubtful.map_or(Unknown::NoTrack, |(_, doubt)| Unknown::Doubt { doubt, share: Some(1.0) }));
    };
    let aim = target.unwrap_or(typical).to_ohms();
    let off = |impedance: Impedance| (impedance.to_ohms() / aim).ln().abs();
    // Of equally bad ones the first on the way, for what is equal by its numbers differs in noise.
    let worst = pieces
        .iter()
        .filter(|piece| piece.role != Role::Land && piece.length().to_nm() > 0.0)
        .filter_map(|piece| Some((of(piece)?, piece)))
        .reduce(|worst, next| if off(next.0) > off(worst.0) + 1e-9 { next } else { worst });
    let (worst, at) = worst.ok_or(Unknown::NoTrack)?;
    let middle = middle(at.at);
    Ok(ImpedanceRow { least: *least, typical, most: *most, worst: (worst, middle, at.layer), known, doubtful })
}

fn middle([one, other]: [Point; 2]) -> Point {
    Point { x: one.x.midpoint(other.x), y: one.y.midpoint(other.y) }
}

/// The impedance with half of the length below it.
fn median(sorted: &[(Impedance, &Piece)], whole: Length) -> Option<Impedance> {
    let mut passed = Length::ZERO;
    let past = sorted.iter().find(|(_, piece)| {
        passed += piece.length();
        passed * 2.0 >= whole
    });
    past.or(sorted.last()).map(|(impedance, _)| *impedance)
}

/// What a signal passes, for its loss.
struct Way<'s> {
    pieces: &'s [Piece],
    barrels: &'s [(&'s BarrelPiece, &'s Stubs)],
    /// Legs that the signal is shared among.
    legs: f64,
}

impl Way<'_> {
    fn loss(&self, basis: &Basis, frequency: Option<Frequency>, line: Option<Impedance>) -> Result<LossRow, Unknown> {
        let frequency = frequency.ok_or(Unknown::NoRate)?;
        let line = line.ok_or(Unknown::NoTrack)?;
        let (mut metal, mut dielectric, mut barrels) = (0.0, 0.0, 0.0);
        for piece in self.pieces.iter().filter(|piece| piece.length().to_nm() > 0.0) {
            let wave = piece.wave.as_ref().map_err(|doubt| Unknown::from(*doubt))?;
            let travel = if wave.is_pair() { Travel::Differential } else { Travel::Single(Leg::P) };
            let constants = wave.constants(basis, travel, frequency)?;
            // A leg alone carries its share of the signal.
            let length = match piece.mate {
                Some([from, to]) => (piece.length() + (to - from)) / 2.0,
                None => piece.length() / self.legs,
            };
            metal += constants.conductor_loss().to_db_per_metre() * length.to_metres();
            dielectric += constants.dielectric_loss().to_db_per_metre() * length.to_metres();
        }
        for (barrel, stubs) in self.barrels {
            let chain: Chain = barrel.chain(basis, stubs)?;
            barrels += chain.scattering(frequency, line)?.insertion_loss() / self.legs;
        }
        // A value below nothing is noise of the arithmetic.
        let [metal, dielectric, barrels] =
            [metal, dielectric, barrels].map(|loss: f64| Quantity::Decibel(loss.max(0.0)));
        Ok(LossRow { frequency, metal, dielectric, barrels })
    }
}
