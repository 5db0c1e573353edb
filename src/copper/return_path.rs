//! What carries a return current from one plane to another: barrels between planes of one net, capacitors between nets.

use super::corridor::PlaneNets;
use super::layer_change::{LayerChange, Plane};
use super::{Copper, ItemRef, TOUCH};
use crate::board::{FootprintId, NetId};
use crate::geometry::{Envelope, Point};
use crate::table::Id;
use crate::units::Length;

/// A barrel that joins two planes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReturnBarrel {
    /// The via or plated pad.
    pub item: ItemRef,
    /// Its centre.
    pub at: Point,
    /// Distance of the centres.
    pub distance: Length,
}

/// A part with two pads on two nets that joins them for a fast edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// The part.
    pub part: FootprintId,
    /// Its nets, the lower id first.
    pub nets: (NetId, NetId),
    /// The middle between its pads.
    pub at: Point,
}

/// Barrels are looked for in rings of these radii, in nanometres; what is farther away than the last joins nothing for a
/// fast edge (20 mm are 130 ps).
const RINGS: [i64; 4] = [1_500_000, 5_000_000, 10_000_000, 20_000_000];
/// The greatest distance at which a barrel is found.
pub const FARTHEST: Length = Length::mm(20.0);

impl Copper<'_> {
    /// The nearest barrels that join a plane of one net before a layer change to one after it, nearest first, at most
    /// `count` of them and none beyond [`FARTHEST`].
    #[must_use]
    pub fn return_barrels(&self, change: &LayerChange, count: usize) -> Vec<ReturnBarrel> {
        let pairs: Vec<(Plane, Plane)> = change.of_one_net().collect();
        let mut found = Vec::new();
        for ring in RINGS {
            found = self.barrels_within(&pairs, change.at, ring, count);
            if found.len() >= count {
                break;
            }
        }
        found
    }

    fn barrels_within(&self, pairs: &[(Plane, Plane)], at: Point, ring: i64, count: usize) -> Vec<ReturnBarrel> {
        let bounds = Envelope::of_point(at).grown(ring);
        let mut near: Vec<(ItemRef, Point, (Plane, Plane))> = Vec::new();
        for &(one, other) in pairs {
            self.items().visit_near(one.layer, bounds, |_, item| {
                if item.net == one.net {
                    near.extend(self.barrel_centre(item.source).map(|centre| (item.source, centre, (one, other))));
                }
            });
        }
        let distance = |centre: &Point| centre.distance(at);
        near.retain(|(_, centre, _)| distance(centre) <= crate::geometry::to_f64(ring));
        near.sort_by(|a, b| distance(&a.1).total_cmp(&distance(&b.1)).then(a.0.cmp(&b.0)));
        let mut found: Vec<ReturnBarrel> = Vec::new();
        for (item, centre, (one, other)) in near {
            if found.len() >= count {
                break;
            }
            let known = found.iter().any(|barrel| barrel.item == item);
            if !known && self.meets_plane(item, one) && self.meets_plane(item, other) {
                found.push(ReturnBarrel { item, at: centre, distance: Length::nm(distance(&centre)) });
            }
        }
        found
    }

    /// The centre of a via or a plated pad.
    fn barrel_centre(&self, item: ItemRef) -> Option<Point> {
        match item {
            ItemRef::Via(via) => self.board().vias.get(via).map(|via| via.at),
            ItemRef::Pad(pad) => self.board().pads.get(pad).filter(|pad| pad.is_plated()).map(|pad| pad.at),
            _ => None,
        }
    }

    /// Whether a barrel's copper on a layer touches a plane there.
    fn meets_plane(&self, item: ItemRef, plane: Plane) -> bool {
        let nets = PlaneNets { own: &[], only: Some(&[plane.net]) };
        self.items().of(item).filter(|(_, row)| row.layer == plane.layer).any(|(id, row)| {
            let planes = self.planes_near(plane.layer, row.envelope.grown(TOUCH), nets);
            planes.iter().any(|plane| self.items().touch(id, plane.id).is_some())
        })
    }

    /// The nearest capacitor between a plane before a layer change and one after it, with its distance.
    #[must_use]
    pub fn return_capacitor(&self, change: &LayerChange) -> Option<(Link, Length)> {
        let nets = change.before.planes.iter().flat_map(|one| change.after.planes.iter().map(|two| (one.net, two.net)));
        let nets: Vec<(NetId, NetId)> = nets.map(|(one, two)| (one.min(two), one.max(two))).collect();
        let fitting = self.capacitors().iter().filter(|link| nets.contains(&link.nets));
        let nearest = fitting.min_by(|a, b| {
            let distance = |link: &Link| link.at.distance(change.at);
            distance(a).total_cmp(&distance(b)).then(a.at.cmp(&b.at))
        })?;
        Some((*nearest, Length::nm(nearest.at.distance(change.at))))
    }

    /// Capacitors that are fitted: parts with two pads on two nets whose reference begins with `C` and a number.
    pub fn capacitors(&self) -> &[Link] {
        self.links.get_or_init(|| {
            let board = self.board();
            let mut pads: Vec<Vec<(NetId, Point)>> = vec![Vec::new(); board.footprints.len()];
            for pad in board.pads.values().filter(|pad| pad.net.is_some()) {
                if let Some(own) = pads.get_mut(pad.footprint.index()) {
                    own.push((pad.net, pad.at));
                }
            }
            let parts = board.footprints.iter().zip(pads);
            parts
                .filter(|((_, part), _)| !part.unfitted && is_capacitor(&part.reference))
                .filter_map(|((id, _), pads)| match pads.as_slice() {
                    [(one, from), (two, to)] if one != two => Some(Link {
                        part: id,
                        nets: (*one.min(two), *one.max(two)),
                        at: Envelope::of_point(*from).with_point(*to).centre(),
                    }),
                    _ => None,
                })
                .collect()
        })
    }
}

fn is_capacitor(reference: &str) -> bool {
    reference.strip_prefix('C').is_some_and(|rest| rest.starts_with(|first: char| first.is_ascii_digit()))
}
