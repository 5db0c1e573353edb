//! Joining fills and graphics: copper without a centre line is a hub that joins whatever touches it.

use super::graph::{Hub, NodeId, Sets, TOUCH};
use super::graph_draft::{Draft, Part, kind_of};
use super::graph_touch::islands;
use super::{ItemId, ItemRef};
use crate::geometry::{ShapeRef, Vector, to_f64};
use rustc_hash::FxHashMap;

/// The hubs of a net. Teardrops count only where nothing else joins what they touch.
pub(super) fn hubs(draft: &mut Draft<'_, '_>) -> Vec<Hub> {
    let mut hubs: Vec<Hub> = Vec::with_capacity(draft.areas.len());
    for row in 0..draft.areas.len() {
        let contacts = contacts(draft, row);
        let kind = draft.areas.get(row).map(|area| kind_of(area.item));
        hubs.extend(kind.map(|kind| Hub { kind, contacts }));
    }
    for (one, other, at) in touching(draft) {
        let Some(layer) = draft.areas.get(one).map(|area| area.layer) else { continue };
        let node = draft.add_node(at.to_point(), layer);
        for row in [one, other] {
            if let Some(hub) = hubs.get_mut(row) {
                hub.contacts.push(node);
            }
        }
    }
    for hub in &mut hubs {
        for node in &mut hub.contacts {
            *node = draft.same.find(*node);
        }
        hub.contacts.sort_unstable();
        hub.contacts.dedup();
    }
    let mut copper = islands(draft);
    let teardrop: Vec<bool> = draft.areas.iter().map(|area| area.teardrop).collect();
    for (hub, _) in hubs.iter().zip(&teardrop).filter(|(_, teardrop)| !**teardrop) {
        merge(&mut copper, &hub.contacts);
    }
    let mut kept = Vec::with_capacity(hubs.len());
    for (mut hub, teardrop) in hubs.into_iter().zip(teardrop) {
        if teardrop {
            let mut seen = Vec::new();
            hub.contacts.retain(|&node| {
                let island = copper.find(node);
                let new = !seen.contains(&island);
                seen.push(island);
                new
            });
            if hub.contacts.len() < 2 {
                continue;
            }
            merge(&mut copper, &hub.contacts);
        }
        kept.push(hub);
    }
    kept
}

fn merge(copper: &mut Sets, nodes: &[NodeId]) {
    for pair in nodes.windows(2) {
        if let [one, other] = pair {
            copper.join(*one, *other);
        }
    }
}

/// The nodes that touch an area: anchors of lumps, ends of lines, and a point of a line that only runs through.
fn contacts(draft: &mut Draft<'_, '_>, row: usize) -> Vec<NodeId> {
    let Some((layer, envelope)) = draft.areas.get(row).map(|area| (area.layer, area.envelope)) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for part in draft.near(layer, envelope) {
        match part {
            Part::Lump(lump) => {
                let Some(lump) = draft.lumps.get(lump) else { continue };
                if lump.shapes.iter().any(|&shape| meets(draft, row, shape).is_some()) {
                    found.push(lump.node);
                }
            }
            Part::Line(id) => {
                let Some(line) = draft.lines.get(id) else { continue };
                let reach = to_f64(line.radius) + TOUCH;
                let ends = [line.cuts.first(), line.cuts.last()].into_iter().flatten();
                let before = found.len();
                found.extend(
                    ends.filter(|(along, _)| holds(draft, row, line.path.point_at(*along), reach))
                        .map(|&(_, node)| node),
                );
                if found.len() == before
                    && let Some(at) = meets(draft, row, line.shape())
                {
                    let along = line.path.nearest(at).along;
                    found.extend(draft.node_on(id, along));
                }
            }
        }
    }
    found
}

/// Areas of one layer that touch, each pair once, and where.
fn touching(draft: &Draft<'_, '_>) -> Vec<(usize, usize, Vector)> {
    let row_of: FxHashMap<ItemRef, usize> =
        draft.areas.iter().enumerate().filter(|(_, area)| !area.teardrop).map(|(row, area)| (area.item, row)).collect();
    let mut found: Vec<(usize, usize, Vector)> = Vec::new();
    for (row, area) in draft.areas.iter().enumerate().filter(|(_, area)| !area.teardrop) {
        for &id in &area.ids {
            let Some(item) = draft.base.items.get(id) else { continue };
            let mut near = Vec::new();
            draft.base.items.visit_near(area.layer, item.envelope.grown(super::TOUCH), |other, item| {
                near.extend(row_of.get(&item.source).filter(|&&next| next > row).map(|&next| (next, other)));
            });
            near.sort_unstable();
            for (next, other) in near {
                if !found.iter().rev().take_while(|(one, ..)| *one == row).any(|&(_, known, _)| known == next)
                    && let Some(gap) = draft.base.items.touch(id, other)
                {
                    found.push((row, next, gap.from));
                }
            }
        }
    }
    found
}

/// Whether a position lies within `slack` nanometres of an area's copper.
fn holds(draft: &Draft<'_, '_>, area: usize, position: Vector, slack: f64) -> bool {
    let dot = ShapeRef::disc(position.to_point(), 0);
    ids(draft, area).iter().any(|&id| draft.base.items.gap_to(id, dot, slack).is_some())
}

/// A point of a shape where it touches an area.
fn meets(draft: &Draft<'_, '_>, area: usize, shape: ShapeRef<'_>) -> Option<Vector> {
    ids(draft, area).iter().find_map(|&id| draft.base.items.gap_to(id, shape, TOUCH)).map(|gap| gap.to)
}

fn ids<'d>(draft: &'d Draft<'_, '_>, area: usize) -> &'d [ItemId] {
    draft.areas.get(area).map_or(&[], |area| &area.ids)
}
