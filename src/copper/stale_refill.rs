//! What filling zones again could do for a net in pieces.

use super::island_union::Union;
use super::stale::inside;
use super::{Connection, Copper, IslandId, Item};
use crate::board::{Zone, ZoneId};
use crate::geometry::{Envelope, Path, ShapeRef, ring};
use std::collections::BTreeMap;

/// What filling the zones of a net again could do for it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refill {
    /// Zones of the net that have no fill on a layer, or a stale one, and in which copper of the net lies.
    pub zones: Vec<ZoneId>,
    /// Parts that would still be apart if each of these zones joined all that lies in it: positions in
    /// [`Connection::parts`], one for each piece but the one with most pads.
    pub apart: Vec<usize>,
}

impl Copper<'_> {
    /// What filling the zones of a net again could join. Optimistic: each zone is taken to fill its whole outline, so
    /// what stays apart here is surely open.
    #[must_use]
    pub fn refill(&self, connection: &Connection) -> Refill {
        let zones: Vec<(ZoneId, Outline<'_>)> = self
            .zone_fills()
            .iter()
            .filter(|fill| fill.is_stale() || !fill.missing.is_empty())
            .filter_map(|fill| Some((fill.zone, Outline::new(self.board().zones.get(fill.zone)?)?)))
            .filter(|(_, outline)| outline.zone.net == connection.net)
            .collect();
        // Pieces of copper: parts, then strays, which may carry a connection from one zone to the next; then the zones.
        let strays = connection.strays.iter().map(std::slice::from_ref);
        let pieces: Vec<&[IslandId]> =
            connection.parts.iter().map(|part| part.islands.as_slice()).chain(strays).collect();
        let mut union = Union::new(pieces.len() + zones.len());
        let number = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let mut used = Vec::new();
        for (at, (id, outline)) in zones.iter().enumerate() {
            let own = number(pieces.len() + at);
            let mut holds = false;
            for (piece, islands) in pieces.iter().enumerate() {
                if self.lies_in(outline, islands) {
                    union.join(own, number(piece));
                    holds = true;
                }
            }
            if holds {
                used.push(*id);
            }
            for (other, (_, neighbour)) in zones.iter().enumerate().take(at) {
                if outline.meets(neighbour) {
                    union.join(own, number(pieces.len() + other));
                }
            }
        }
        // What is left, with its pads; each piece is known by its first part.
        let mut left: BTreeMap<u32, (usize, usize)> = BTreeMap::new();
        for (at, part) in connection.parts.iter().enumerate() {
            left.entry(union.find(number(at))).or_insert((at, 0)).1 += part.pads.len();
        }
        let mut left: Vec<(usize, usize)> = left.into_values().collect();
        left.sort_unstable_by_key(|&(first, pads)| (std::cmp::Reverse(pads), first));
        Refill { zones: used, apart: left.into_iter().skip(1).map(|(first, _)| first).collect() }
    }

    /// Whether copper of one of the islands reaches into a zone on one of its layers.
    fn lies_in(&self, outline: &Outline<'_>, islands: &[IslandId]) -> bool {
        let islands = islands.iter().filter_map(|&island| self.islands().get(island));
        islands
            .flat_map(|island| &island.items)
            .filter_map(|&item| self.items().get(item))
            .any(|item| item.net == outline.zone.net && outline.holds(item))
    }
}

/// A zone's outline with its box.
struct Outline<'b> {
    zone: &'b Zone,
    bounds: Envelope,
}

impl<'b> Outline<'b> {
    fn new(zone: &'b Zone) -> Option<Self> {
        let rings = zone.outline.iter().filter_map(|corners| Envelope::of_points(corners));
        rings.reduce(Envelope::union).map(|bounds| Self { zone, bounds })
    }

    fn edges(&self) -> impl Iterator<Item = Path> {
        self.zone.outline.iter().flat_map(|corners| ring::edges(corners)).map(|(from, to)| Path::Line(from, to))
    }

    fn holds(&self, item: &Item<'_>) -> bool {
        self.zone.layers.contains(item.layer)
            && self.bounds.meets(item.envelope)
            && (item.shape.anchor().is_some_and(|at| inside(&self.zone.outline, at))
                || self.edges().any(|edge| {
                    edge.envelope().meets(item.envelope)
                        && item.shape.gap(ShapeRef::Stroke { path: edge, radius: 0 }).distance <= 0.0
                }))
    }

    /// Whether two zones of one net overlap on a layer.
    fn meets(&self, other: &Self) -> bool {
        let corner = |of: &Self| of.zone.outline.first().and_then(|corners| corners.first()).copied();
        let swallows = |one: &Self, two: &Self| corner(two).is_some_and(|at| inside(&one.zone.outline, at));
        !self.zone.layers.and(other.zone.layers).is_empty()
            && self.bounds.meets(other.bounds)
            && (swallows(self, other)
                || swallows(other, self)
                || self.edges().any(|edge| {
                    let own = edge.curve();
                    other.edges().any(|edge| own.gap(&edge.curve()).distance <= 0.0)
                }))
    }
}
