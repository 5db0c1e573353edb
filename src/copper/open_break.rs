//! Where a part of a net comes nearest to the rest of it.

use super::{Break, IslandId, Islands, Item, ItemId, ItemRef, Items};
use crate::board::{LayerId, NetId};
use crate::geometry::{Envelope, from_f64, to_f64};
use std::cmp::Ordering;

/// Searches begin this far out (nanometres) and go four times farther until something is found.
const FIRST_REACH: f64 = 500_000.0;
/// Pairs looked at for one part of one net. A huge part of a huge net is given up on: it is open all the same.
const BUDGET: usize = 5_000_000;

/// The nearest pair of an item of these islands and other copper of the net: of one layer, or tracks, vias and pads
/// across layers (0 there means that a via is missing); else whatever there is.
pub(super) fn nearest(items: &Items<'_>, islands: &Islands, net: NetId, own: &[IslandId]) -> Option<Break> {
    let mut search = Search { items, islands, net, own, mine: Vec::new(), layers: Vec::new(), budget: BUDGET };
    let all = own.iter().filter_map(|&island| islands.get(island)).flat_map(|island| &island.items);
    search.mine = all.copied().filter(|&item| items.get(item).is_some_and(|item| item.net == net)).collect();
    let mut bounds: Option<Envelope> = None;
    for item in islands.of_net(net).iter().filter_map(|&island| islands.get(island)).flat_map(|island| &island.items) {
        let Some(item) = items.get(*item).filter(|item| item.net == net) else { continue };
        bounds = Some(bounds.map_or(item.envelope, |bounds| bounds.union(item.envelope)));
        if !search.layers.contains(&item.layer) {
            search.layers.push(item.layer);
        }
    }
    search.layers.sort_unstable();
    let bounds = bounds?;
    let limit = to_f64(bounds.width()).hypot(to_f64(bounds.height())) + 1.0;
    let fill = |item: &Item<'_>| matches!(item.source, ItemRef::Fill(_));
    search
        .run(limit, |one, other| one.layer == other.layer || !(fill(one) || fill(other)))
        .or_else(|| search.run(limit, |_, _| true))
}

struct Search<'s, 'b> {
    items: &'s Items<'b>,
    islands: &'s Islands,
    net: NetId,
    own: &'s [IslandId],
    mine: Vec<ItemId>,
    /// Layers on which the net has copper.
    layers: Vec<LayerId>,
    budget: usize,
}

impl Search<'_, '_> {
    fn run(&mut self, limit: f64, may_pair: impl Fn(&Item<'_>, &Item<'_>) -> bool) -> Option<Break> {
        let mut reach = FIRST_REACH;
        loop {
            // Everything nearer than the reach is seen, so the nearest of it is the nearest of all.
            if let Some(found) = self.within(reach, &may_pair) {
                return Some(found);
            }
            if reach > limit || self.budget == 0 {
                return None;
            }
            reach *= 4.0;
        }
    }

    fn within(&mut self, reach: f64, may_pair: &impl Fn(&Item<'_>, &Item<'_>) -> bool) -> Option<Break> {
        let mut best: Option<Break> = None;
        let mut near = Vec::new();
        for &one in &self.mine {
            let Some(first) = self.items.get(one) else { continue };
            let bound = best.map_or(reach, |best| best.gap.distance);
            near.clear();
            for &layer in &self.layers {
                self.items.visit_near(layer, first.envelope.grown(from_f64(bound.ceil())), |other, second| {
                    if second.net == self.net && may_pair(first, second) {
                        near.push(other);
                    }
                });
            }
            self.budget = self.budget.saturating_sub(near.len() + 1);
            if self.budget == 0 {
                return None;
            }
            near.retain(|&other| self.islands.of(other).is_some_and(|island| !self.own.contains(&island)));
            near.sort_unstable();
            for &other in &near {
                let bound = best.map_or(reach, |best| best.gap.distance);
                let Some(second) = self.items.get(other) else { continue };
                if first.envelope.distance(second.envelope) > bound {
                    continue;
                }
                let Some(gap) = self.items.gap(one, other).filter(|gap| gap.distance <= bound) else { continue };
                let found = Break { one, other, gap, layers: (first.layer, second.layer) };
                if best.is_none_or(|best| order(&found, &best).is_lt()) {
                    best = Some(found);
                }
            }
        }
        best
    }
}

/// By distance, then items of one layer before others, then by place.
fn order(one: &Break, other: &Break) -> Ordering {
    let key = |at: &Break| (at.layers.0 != at.layers.1, at.gap.from.to_point(), at.layers, at.one, at.other);
    one.gap.distance.total_cmp(&other.gap.distance).then_with(|| key(one).cmp(&key(other)))
}
