//! The barrels of a route as lines: openings in the planes around them, return vias near them.

use super::ground::{Grounds, Part};
use super::{BarrelLine, BarrelPiece, Basis, Bore, Doubt};
use crate::board::{LayerId, NetId};
use crate::copper::{Item, ItemRef, Route, Step, StepKind};
use crate::field::{Barrel, Capacitance, MU0, Returns, Slowness};
use crate::geometry::{Envelope, Point, ShapeRef, to_f64};
use crate::units::Length;
use std::f64::consts::PI;

/// Plating on the wall of a hole: files state the finished hole. Common practice, no source.
const PLATING: f64 = 25_000.0;
/// Return vias farther than this from a barrel don't count, in nanometres.
const RETURN_REACH: i64 = 1_500_000;
/// Nor do more than this many.
const MOST_RETURNS: usize = 4;
/// A plane whose copper is farther than this from a barrel, in nanometres, has no opening of its own around it.
const OPENING_REACH: f64 = 1_500_000.0;

/// What barrels are seen with.
#[derive(Clone, Copy)]
pub struct Holes<'h, 'a> {
    /// The board's reference copper.
    pub grounds: &'h Grounds<'a>,
    /// The stackup.
    pub basis: &'h Basis,
    /// The route's net, then the mate's.
    pub nets: &'h [NetId],
}

/// The barrels of a route, each on its own: its current comes back through return vias near it.
pub fn of_route(holes: Holes<'_, '_>, route: &Route) -> Vec<BarrelPiece> {
    barrels(holes, route).map(|barrel| barrel.finished(holes, None)).collect()
}

/// The barrels of two legs. Those that stand side by side between the same layers are each other's return.
pub fn of_pair(holes: Holes<'_, '_>, p: &Route, n: &Route) -> [Vec<BarrelPiece>; 2] {
    let p: Vec<Hole> = barrels(holes, p).collect();
    let n: Vec<Hole> = barrels(Holes { nets: &swapped(holes.nets), ..holes }, n).collect();
    let paired = |own: &[Hole], other: &[Hole]| -> Vec<BarrelPiece> {
        let alike = own.len() == other.len();
        let finish = |(at, hole): (usize, &Hole)| {
            let mate = other.get(at).filter(|mate| alike && hole.is_beside(mate));
            hole.clone().finished(holes, mate)
        };
        own.iter().enumerate().map(finish).collect()
    };
    [paired(&p, &n), paired(&n, &p)]
}

fn swapped(nets: &[NetId]) -> Vec<NetId> {
    nets.iter().rev().copied().collect()
}

/// A barrel as it stands.
#[derive(Debug, Clone)]
struct Hole {
    piece: BarrelPiece,
    /// Outer radius of the wall, nanometres, if the hole's size is known.
    radius: Option<f64>,
    planes: Planes,
}

/// The planes that a barrel passes.
#[derive(Debug, Clone, Default)]
struct Planes {
    /// Radii of their openings, nanometres.
    openings: Vec<f64>,
    /// Radii of the barrel's lands on those layers.
    lands: Vec<f64>,
    /// Mean thickness of those foils, nanometres.
    thickness: f64,
    /// Dielectric between one plane and the next, nanometres.
    gap: f64,
    /// Mean permittivity along the used part.
    permittivity: f64,
}

fn barrels<'r>(holes: Holes<'r, '_>, route: &'r Route) -> impl Iterator<Item = Hole> + use<'r> {
    let through = route.steps.iter().enumerate().filter(|(_, step)| step.layer != step.to_layer);
    let made: Vec<Hole> = through.map(|(index, step)| hole(holes, index, step)).collect();
    made.into_iter()
}

/// A stretch of a barrel that need not lie on a route, such as a stub. A mate's that stands beside it is its return.
pub fn of_bore(holes: Holes<'_, '_>, bore: Bore, mate: Option<Bore>) -> BarrelPiece {
    let own = drilled(holes, bore, 0, Length::ZERO);
    let mate = mate.map(|mate| drilled(Holes { nets: &swapped(holes.nets), ..holes }, mate, 0, Length::ZERO));
    let beside = mate.filter(|mate| own.is_beside(mate));
    own.finished(holes, beside.as_ref())
}

fn hole(holes: Holes<'_, '_>, index: usize, step: &Step) -> Hole {
    let bore = Bore { kind: step.kind, at: step.path.start(), from: step.layer, to: step.to_layer };
    drilled(holes, bore, index, step.start)
}

fn drilled(holes: Holes<'_, '_>, bore: Bore, step: usize, along: Length) -> Hole {
    let board = holes.grounds.copper().board();
    let drill = match bore.kind {
        StepKind::Via(via) => board.vias.get(via).and_then(|via| via.drill),
        StepKind::Hole(pad) => board.pads.get(pad).and_then(|pad| pad.drill).map(|drill| drill.width.min(drill.height)),
        _ => None,
    };
    let piece = BarrelPiece {
        step,
        kind: bore.kind,
        at: bore.at,
        along,
        from: bore.from,
        to: bore.to,
        height: holes.basis.height(bore.from, bore.to),
        line: Err(Doubt::NoAntipad),
    };
    let radius = drill.filter(|drill| *drill > 0).map(|drill| to_f64(drill) / 2.0 + PLATING);
    Hole { planes: planes(holes, &piece), piece, radius }
}

/// The planes between the used layers, those layers included.
fn planes(holes: Holes<'_, '_>, piece: &BarrelPiece) -> Planes {
    let (upper, lower) = (piece.from.min(piece.to), piece.from.max(piece.to));
    let mut planes = Planes::default();
    for layer in (upper.0..=lower.0).map(LayerId) {
        let Some(opening) = opening(holes, layer, piece.at) else { continue };
        planes.openings.push(opening);
        planes.lands.extend(land(holes, layer, piece));
        planes.thickness += holes.basis.foil(layer).map_or(0.0, |foil| foil.thickness.to_nm());
    }
    let count = to_f64(i64::try_from(planes.openings.len()).unwrap_or(0));
    planes.thickness /= count.max(1.0);
    let (mut dielectric, mut weighted) = (0.0, 0.0);
    for sheet in (upper.0..lower.0).flat_map(|layer| holes.basis.below(LayerId(layer))) {
        dielectric += sheet.thickness.to_nm();
        weighted += sheet.thickness.to_nm() * sheet.dielectric.permittivity;
    }
    planes.permittivity = if dielectric > 0.0 { weighted / dielectric } else { 1.0 };
    planes.gap = dielectric / (count - 1.0).max(1.0);
    planes
}

/// The radius of a plane layer's opening around a place: to the nearest poured copper.
fn opening(holes: Holes<'_, '_>, layer: LayerId, at: Point) -> Option<f64> {
    let reach = crate::geometry::from_f64(OPENING_REACH);
    let items = holes.grounds.copper().items();
    let dot = ShapeRef::disc(at, 0);
    let near = holes.grounds.near(layer, Envelope::of_point(at).grown(reach));
    let poured = |item: &Item<'_>| {
        matches!(item.source, ItemRef::Fill(_) | ItemRef::Graphic(_))
            && matches!(holes.grounds.part(item, holes.nets), Part::Ground { .. })
    };
    let gaps = near.iter().filter(|(_, item)| poured(item));
    let gaps = gaps.filter_map(|(id, _)| items.gap_to(*id, dot, OPENING_REACH));
    gaps.map(|gap| gap.distance).reduce(f64::min).filter(|distance| *distance > 0.0)
}

/// The radius of a barrel's land on a layer, if it has one there.
fn land(holes: Holes<'_, '_>, layer: LayerId, piece: &BarrelPiece) -> Option<f64> {
    let items = holes.grounds.copper().items();
    let own = items.of(piece.kind.item()).filter(|(_, item)| item.layer == layer && !item.barrel);
    own.map(|(_, item)| to_f64(item.envelope.width().min(item.envelope.height())) / 2.0).reduce(f64::max)
}

impl Hole {
    /// Whether another leg's barrel runs between the same layers near enough to be this one's return.
    fn is_beside(&self, mate: &Self) -> bool {
        let span = |hole: &Self| (hole.piece.from.min(hole.piece.to), hole.piece.from.max(hole.piece.to));
        span(self) == span(mate) && self.piece.at.distance(mate.piece.at) <= to_f64(RETURN_REACH)
    }

    fn finished(self, holes: Holes<'_, '_>, mate: Option<&Self>) -> BarrelPiece {
        let line = self.line(holes, mate);
        BarrelPiece { line, ..self.piece }
    }

    fn line(&self, holes: Holes<'_, '_>, mate: Option<&Self>) -> Result<BarrelLine, Doubt> {
        // Two legs side by side are told alike, by the mean of both: what differs is less than the method's error.
        let both: Vec<&Self> = std::iter::once(self).chain(mate).collect();
        let mean = |values: &mut dyn Iterator<Item = f64>| {
            let (mut sum, mut count) = (0.0, 0.0);
            values.for_each(|value| {
                sum += value;
                count += 1.0;
            });
            (count > 0.0).then_some(sum / count)
        };
        let radius = mean(&mut both.iter().filter_map(|hole| hole.radius)).ok_or(Doubt::NoHole)?;
        let antipad = mean(&mut both.iter().flat_map(|hole| hole.planes.openings.iter().copied()));
        let barrel = Barrel {
            radius: Length::nm(radius),
            antipad: Length::nm(antipad.ok_or(Doubt::NoAntipad)?),
            permittivity: self.planes.permittivity,
            gap: Length::nm(self.planes.gap),
            plane: Length::nm(self.planes.thickness),
        };
        let (inductance, returns) = match mate {
            Some(mate) => {
                // Half of the loop of two round wires.
                let apart = self.piece.at.distance(mate.piece.at);
                if apart <= 2.0 * radius {
                    return Err(Doubt::NoReturnVia);
                }
                (MU0 / (2.0 * PI) * (apart / radius).ln(), 1)
            }
            None => self.caged(holes, &barrel)?,
        };
        let capacitance = barrel.capacitance()?;
        let slowness = Slowness::seconds_per_metre((inductance * capacitance).sqrt());
        let lands = self.planes.lands.iter();
        // A land that reaches the opening's edge is a short of the plane, which other checks find.
        let pads: Capacitance = lands.filter_map(|land| barrel.pad_capacitance(Length::nm(*land)).ok()).sum();
        Ok(BarrelLine {
            impedance: crate::field::Impedance::ohms((inductance / capacitance).sqrt()),
            slowness,
            delay: slowness.over(self.piece.height),
            pads,
            antipad: barrel.antipad * 2.0,
            permittivity: barrel.permittivity,
            returns,
        })
    }

    /// Inductance per metre with the nearest return vias, and how many those are.
    fn caged(&self, holes: Holes<'_, '_>, barrel: &Barrel) -> Result<(f64, u32), Doubt> {
        let mut near = returns(holes, &self.piece);
        near.retain(|(distance, radius)| *distance > barrel.radius.to_nm() + radius);
        near.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
        near.truncate(MOST_RETURNS);
        let count = u32::try_from(near.len()).unwrap_or(0);
        if count == 0 {
            return Err(Doubt::NoReturnVia);
        }
        let mean = |pick: &dyn Fn(&(f64, f64)) -> f64| near.iter().map(pick).sum::<f64>() / f64::from(count);
        let cage =
            Returns { count, circle: Length::nm(mean(&|near| near.0)), radius: Length::nm(mean(&|near| near.1)) };
        Ok((barrel.inductance(&cage)?, count))
    }
}

/// Vias and plated holes of nets with pours that reach over a barrel's used layers: distance and outer radius.
fn returns(holes: Holes<'_, '_>, piece: &BarrelPiece) -> Vec<(f64, f64)> {
    let board = holes.grounds.copper().board();
    let (upper, lower) = (piece.from.min(piece.to), piece.from.max(piece.to));
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut seen = Vec::new();
    for (_, item) in holes.grounds.near(upper, Envelope::of_point(piece.at).grown(RETURN_REACH)) {
        let (at, layers, drill) = match item.source {
            ItemRef::Via(via) => {
                let Some(via) = board.vias.get(via) else { continue };
                (via.at, via.layers(), via.drill)
            }
            ItemRef::Pad(pad) => {
                let Some(pad) = board.pads.get(pad).filter(|pad| pad.is_plated()) else { continue };
                (pad.at, pad.layers, pad.drill.map(|drill| drill.width.min(drill.height)))
            }
            _ => continue,
        };
        let grounded = holes.grounds.is_poured(item.net) && !holes.nets.contains(&item.net);
        let reaches = layers.contains(upper) && layers.contains(lower);
        if grounded && reaches && !seen.contains(&item.source) {
            seen.push(item.source);
            let distance = at.distance(piece.at);
            if let Some(drill) = drill.filter(|_| distance <= to_f64(RETURN_REACH)) {
                found.push((distance, to_f64(drill) / 2.0 + PLATING));
            }
        }
    }
    found
}
