//! Routes as chains of the field room: pieces as stretches of line, barrels as short lines with their lands as
//! capacitors and their unused ends as stubs. A chain ends where the first doubt begins; what lies behind is not
//! invented.
//!
//! Left out: pads of the terminals count as lines of the neighbouring track, barrels of the two legs don't couple, and
//! copper that branches off the way is not there.

use super::barrel::{BarrelLine, BarrelPiece};
use super::{Basis, Doubt, Leg, Line, PairLine, Piece, Travel, Wave};
use crate::copper::{BarrelOf, BarrelStub, StepKind, Stubs};
use crate::field::{Chain, CoupledChain, CoupledElement, Element, Frequency, Medium, MediumId, Slowness, Time};
use crate::units::Length;
use std::sync::Arc;

/// When a signal is where: a place on a leg and the delay up to it. A barrel makes two of them at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// Position along the leg, barrels counted as zero.
    pub along: Length,
    /// Delay from the start.
    pub delay: Time,
}

/// Where a chain ends before its way does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// On which leg.
    pub leg: Leg,
    /// Position along that leg.
    pub along: Length,
    /// Delay up to there.
    pub delay: Time,
    /// Why.
    pub doubt: Doubt,
}

/// A single route as a chain.
#[derive(Debug, Clone, Default)]
pub struct Channel {
    /// Up to the first doubt.
    pub chain: Chain,
    /// Delays along it, in order.
    pub knots: Vec<Knot>,
    /// The first doubt; `None` if the chain is whole.
    pub broken: Option<Break>,
    /// A sheet without loss tangent was taken as lossless.
    pub lossless: bool,
}

/// The two routes of a pair as a chain.
#[derive(Debug, Clone, Default)]
pub struct PairChannel {
    /// Up to the first doubt on either leg. P is the first leg.
    pub chain: CoupledChain,
    /// Delays along P and along N, in order.
    pub knots: [Vec<Knot>; 2],
    /// The first doubt; `None` if the chain is whole.
    pub broken: Option<Break>,
    /// A sheet without loss tangent was taken as lossless.
    pub lossless: bool,
}

impl Channel {
    /// The route as a chain; `stubs` are those of its net.
    #[must_use]
    pub fn new(line: &Line, basis: &Basis, stubs: &Stubs) -> Self {
        let mut channel = Self { knots: vec![START], ..Self::default() };
        let mut media = Media::default();
        let mut barrels = line.barrels.iter().peekable();
        let mut build = || -> Result<(), Broken> {
            for piece in &line.pieces {
                while let Some(barrel) = barrels.next_if(|barrel| barrel.step < piece.step) {
                    channel.barrel(&mut media, barrel, basis, stubs)?;
                }
                channel.piece(&mut media, piece, basis)?;
            }
            barrels.try_for_each(|barrel| channel.barrel(&mut media, barrel, basis, stubs))
        };
        if let Err((along, doubt)) = build() {
            channel.broken = Some(Break { leg: Leg::P, along, delay: now(&channel.knots), doubt });
        }
        channel
    }

    fn piece(&mut self, media: &mut Media, piece: &Piece, basis: &Basis) -> Result<(), Broken> {
        let broken = |doubt| (piece.along[0], doubt);
        let wave = piece.wave.as_ref().map_err(|doubt| broken(*doubt))?;
        self.lossless |= is_lossless(wave, basis);
        let medium = wave.medium(basis, Travel::Single(Leg::P)).map_err(broken)?;
        let medium = media.id(medium, |medium| self.chain.medium(medium));
        self.chain.push(Element::Line { medium, length: piece.length() });
        step(&mut self.knots, piece.along[1], took(wave.delay(Leg::P), piece.length()));
        Ok(())
    }

    fn barrel(&mut self, media: &mut Media, barrel: &BarrelPiece, basis: &Basis, stubs: &Stubs) -> Result<(), Broken> {
        let line = barrel.line.as_ref().map_err(|doubt| (barrel.along, *doubt))?;
        let medium = media.id(line.medium(), |medium| self.chain.medium(medium));
        for element in elements(barrel, line, medium, basis, stubs) {
            self.chain.push(element);
        }
        step(&mut self.knots, barrel.along, line.delay);
        Ok(())
    }
}

impl PairChannel {
    /// The pair as a chain; `stubs` are those of the nets of P and N.
    #[must_use]
    pub fn new(line: &PairLine, basis: &Basis, stubs: [&Stubs; 2]) -> Self {
        let mut channel = Self { knots: [vec![START], vec![START]], ..Self::default() };
        let mut media = Media::default();
        let [p, n] = [Leg::P, Leg::N].map(|leg| line.leg(leg).barrels.iter().peekable());
        let mut barrels = [(Leg::P, p), (Leg::N, n)];
        // The leg that a doubt is on.
        let mut build = || -> Result<(), (Leg, Broken)> {
            for piece in &line.pieces {
                for ((leg, barrels), stubs) in barrels.iter_mut().zip(stubs) {
                    let start = match (piece.leg == *leg, &piece.mate) {
                        (true, _) => piece.along[0],
                        (false, Some(mate)) => mate[0],
                        (false, None) => continue,
                    };
                    let before = |barrel: &&BarrelPiece| barrel.along <= start + NEAR;
                    while let Some(barrel) = barrels.next_if(before) {
                        channel.barrel(&mut media, *leg, barrel, basis, stubs).map_err(|broken| (*leg, broken))?;
                    }
                }
                channel.piece(&mut media, piece, basis).map_err(|broken| (piece.leg, broken))?;
            }
            for ((leg, barrels), stubs) in barrels.iter_mut().zip(stubs) {
                for barrel in barrels {
                    channel.barrel(&mut media, *leg, barrel, basis, stubs).map_err(|broken| (*leg, broken))?;
                }
            }
            Ok(())
        };
        if let Err((leg, (along, doubt))) = build() {
            // The chain is true up to where its shorter leg ends.
            let delay = channel.knots.iter().map(|knots| now(knots)).min_by(Time::total_cmp).unwrap_or_default();
            channel.broken = Some(Break { leg, along, delay, doubt });
        }
        channel
    }

    fn piece(&mut self, media: &mut Media, piece: &Piece, basis: &Basis) -> Result<(), Broken> {
        let broken = |doubt| (piece.along[0], doubt);
        let wave = piece.wave.as_ref().map_err(|doubt| broken(*doubt))?;
        self.lossless |= is_lossless(wave, basis);
        let Some(mate) = piece.mate else {
            let medium = self.lone(media, piece, wave, basis).map_err(broken)?;
            self.push(piece.leg, Element::Line { medium, length: piece.length() });
            step(self.leg(piece.leg), piece.along[1], took(wave.delay(piece.leg), piece.length()));
            return Ok(());
        };
        let [differential, common] = [Travel::Differential, Travel::Common].map(|travel| wave.medium(basis, travel));
        let [differential, common] = [differential.map_err(broken)?, common.map_err(broken)?];
        let [differential, common] =
            [differential, common].map(|medium| media.id(medium, |medium| self.chain.medium(medium)));
        let times = [(Leg::P, piece.length()), (Leg::N, mate[1] - mate[0])]
            .map(|(leg, length)| (leg, took(wave.delay(leg), length)));
        // Side by side as long as the earlier leg; what the other has more goes alone.
        let [(_, p), (_, n)] = times;
        let both = if p.total_cmp(&n).is_lt() { p } else { n };
        let slowness = f64::midpoint(per_metre(wave.delay(Leg::P)), per_metre(wave.delay(Leg::N)));
        if slowness > 0.0 {
            let length = Length::nm(both.to_seconds() / slowness * 1e9);
            self.chain.push(CoupledElement::Coupled { differential, common, length });
        }
        if let Some(odd) = wave.odd() {
            for (leg, time) in times.into_iter().filter(|(_, time)| *time > both) {
                let medium = Medium::Ideal { impedance: odd, slowness: Slowness::seconds_per_metre(slowness) };
                let medium = self.chain.medium(medium);
                let length = Length::nm((time - both).to_seconds() / slowness * 1e9);
                self.push(leg, Element::Line { medium, length });
            }
        }
        let ends = [piece.along[1], mate[1]];
        for ((knots, end), (_, time)) in self.knots.iter_mut().zip(ends).zip(times) {
            step(knots, end, time);
        }
        Ok(())
    }

    /// A leg alone. In a land it goes on as it does beside its mate.
    fn lone(&mut self, media: &mut Media, piece: &Piece, wave: &Wave, basis: &Basis) -> Result<MediumId, Doubt> {
        let medium = match wave.odd() {
            Some(impedance) => Medium::Ideal { impedance, slowness: wave.delay(piece.leg) },
            None => wave.medium(basis, Travel::Single(Leg::P))?,
        };
        Ok(media.id(medium, |medium| self.chain.medium(medium)))
    }

    fn barrel(
        &mut self,
        media: &mut Media,
        leg: Leg,
        barrel: &BarrelPiece,
        basis: &Basis,
        stubs: &Stubs,
    ) -> Result<(), Broken> {
        let line = barrel.line.as_ref().map_err(|doubt| (barrel.along, *doubt))?;
        let medium = media.id(line.medium(), |medium| self.chain.medium(medium));
        for element in elements(barrel, line, medium, basis, stubs) {
            self.push(leg, element);
        }
        step(self.leg(leg), barrel.along, line.delay);
        Ok(())
    }

    fn push(&mut self, leg: Leg, element: Element) {
        self.chain.push(match leg {
            Leg::P => CoupledElement::First(element),
            Leg::N => CoupledElement::Second(element),
        });
    }

    const fn leg(&mut self, leg: Leg) -> &mut Vec<Knot> {
        let [p, n] = &mut self.knots;
        match leg {
            Leg::P => p,
            Leg::N => n,
        }
    }
}

impl BarrelPiece {
    /// The barrel alone, with its lands and its unused ends; `stubs` are those of its net.
    ///
    /// # Errors
    /// Why it is not known.
    pub fn chain(&self, basis: &Basis, stubs: &Stubs) -> Result<Chain, Doubt> {
        let line = self.line.as_ref().map_err(|doubt| *doubt)?;
        let mut chain = Chain::new();
        let medium = chain.medium(line.medium());
        for element in elements(self, line, medium, basis, stubs) {
            chain.push(element);
        }
        Ok(chain)
    }
}

/// Where along its leg, and why.
type Broken = (Length, Doubt);

const START: Knot = Knot { along: Length::ZERO, delay: Time::ps(0.0) };
/// Positions nearer than this are one.
const NEAR: Length = Length::nm(10.0);

fn now(knots: &[Knot]) -> Time {
    knots.last().map_or(START.delay, |knot| knot.delay)
}

fn step(knots: &mut Vec<Knot>, along: Length, took: Time) {
    let delay = now(knots) + took;
    knots.push(Knot { along, delay });
}

fn took(slowness: Slowness, length: Length) -> Time {
    Time::seconds(per_metre(slowness) * length.to_metres())
}

const fn per_metre(slowness: Slowness) -> f64 {
    slowness.to_seconds_per_metre()
}

fn is_lossless(wave: &Wave, basis: &Basis) -> bool {
    matches!(wave.constants(basis, Travel::Single(Leg::P), Frequency::ghz(1.0)), Err(Doubt::NoLossTangent))
}

/// A barrel's links in walking order. The capacitance of its lands is shared by the ends of the used part and those of the
/// unused parts, which hang off the layers where the use ends.
fn elements(barrel: &BarrelPiece, line: &BarrelLine, medium: MediumId, basis: &Basis, stubs: &Stubs) -> Vec<Element> {
    let of = match barrel.kind {
        StepKind::Via(via) => Some(BarrelOf::Via(via)),
        StepKind::Hole(pad) => Some(BarrelOf::Pad(pad)),
        _ => None,
    };
    let used = stubs.barrels.iter().find(|used| Some(used.of) == of);
    let unused = |layer| {
        let ends = used.into_iter().flat_map(|used| [used.upper, used.lower]).flatten();
        ends.filter(move |stub| stub.from == layer)
    };
    let ends = unused(barrel.from).chain(unused(barrel.to)).fold(2.0, |ends, _| ends + 1.0);
    let land = line.pads * (1.0 / ends);
    let end = |layer| {
        let stub = |stub: BarrelStub| Element::Stub { medium, length: basis.height(stub.from, stub.to), end: land };
        unused(layer).map(stub).chain([Element::Shunt(land)]).collect::<Vec<_>>()
    };
    let mut links = end(barrel.from);
    links.push(Element::Line { medium, length: barrel.height });
    links.extend(end(barrel.to));
    links
}

/// The media that a chain knows already: most pieces of a route have one of a few sections.
#[derive(Default)]
struct Media(Vec<(Medium, MediumId)>);

impl Media {
    fn id(&mut self, medium: Medium, add: impl FnOnce(Medium) -> MediumId) -> MediumId {
        if let Some((_, id)) = self.0.iter().find(|(known, _)| is_same(known, &medium)) {
            return *id;
        }
        let id = add(medium.clone());
        self.0.push((medium, id));
        id
    }
}

/// Solutions are compared by where they are: equal ones are shared.
fn is_same(one: &Medium, other: &Medium) -> bool {
    match (one, other) {
        (Medium::Solved { solution: a, mode: m, .. }, Medium::Solved { solution: b, mode: n, .. }) => {
            Arc::ptr_eq(a, b) && m == n
        }
        (Medium::Ideal { .. }, Medium::Ideal { .. }) => one == other,
        _ => false,
    }
}
