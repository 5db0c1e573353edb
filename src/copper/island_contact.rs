//! Which items of one layer touch, and how well.

use super::island_union::Union;
use super::{Item, ItemId, ItemRef, Items, TOUCH};
use crate::board::LayerId;
use crate::geometry::{Path, Point, ShapeRef, to_f64};
use crate::table::Id;
use rustc_hash::FxHashSet;
use std::ops::Range;

/// Two items of one layer that touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contact {
    /// The item with the lower id.
    pub one: ItemId,
    /// The other item.
    pub other: ItemId,
    /// Where they touch.
    pub at: Point,
}

/// The contacts of one layer, sorted by what they mean.
#[derive(Debug, Default)]
pub(super) struct Contacts {
    /// Of one net, or without net on both sides: enough of them to span everything that touches.
    pub(super) joins: Vec<(ItemId, ItemId)>,
    /// Of one net, but the centre line of no track reaches into the other.
    pub(super) grazes: Vec<Contact>,
    /// One side states no net.
    pub(super) loose: Vec<Contact>,
    /// Of two nets.
    pub(super) foreign: Vec<Contact>,
}

/// Finds the contacts of a layer, whose items have the ids `rows`; items to skip touch nothing.
pub(super) fn contacts(items: &Items<'_>, layer: LayerId, rows: Range<u32>, skip: &FxHashSet<ItemId>) -> Contacts {
    let first = rows.start;
    let mut found = Contacts::default();
    let mut joined = Union::new(rows.len());
    let mut near = Vec::new();
    for row in rows {
        let id = ItemId::from_row(row);
        let Some(item) = items.get(id).filter(|_| !skip.contains(&id)) else { continue };
        near.clear();
        items.visit_near(layer, item.envelope.grown(TOUCH), |other, _| {
            if other > id && !skip.contains(&other) {
                near.push(other);
            }
        });
        for &other_id in &near {
            let Some(other) = items.get(other_id) else { continue };
            let same = item.net == other.net;
            let (here, there) = (row - first, other_id.row().saturating_sub(first));
            if same && joined.find(here) == joined.find(there) {
                continue;
            }
            let Some(at) = touch_at(items, (id, item), (other_id, other)) else { continue };
            let contact = Contact { one: id, other: other_id, at };
            if !same {
                let loose = !item.net.is_some() || !other.net.is_some();
                if loose { &mut found.loose } else { &mut found.foreign }.push(contact);
            } else if is_firm(items, (id, item), (other_id, other)) {
                joined.join(here, there);
                found.joins.push((id, other_id));
            } else {
                found.grazes.push(contact);
            }
        }
    }
    found
}

/// Where two items touch.
fn touch_at(items: &Items<'_>, one: (ItemId, &Item<'_>), other: (ItemId, &Item<'_>)) -> Option<Point> {
    if let (Some(path), Some(mate)) = (track_path(one.1), track_path(other.1))
        && let Some(at) = shared_end(path, mate)
    {
        return Some(at);
    }
    items.touch(one.0, other.0).map(|gap| ((gap.from + gap.to) * 0.5).to_point())
}

/// A track that reaches this deep (nanometres) into other copper is joined to it, however wide it is.
const DEEP: i64 = 100_000;

/// Whether the contact is more than a graze: where a track takes part, one of the two reaches half its width or
/// [`DEEP`] into the other. That half a width of overlap makes a joint is common practice; the depth is our own choice.
fn is_firm(items: &Items<'_>, one: (ItemId, &Item<'_>), other: (ItemId, &Item<'_>)) -> bool {
    let (path, mate) = (track_path(one.1), track_path(other.1));
    if path.is_none() && mate.is_none() {
        return true;
    }
    if let (Some(path), Some(mate)) = (path, mate)
        && shared_end(path, mate).is_some()
    {
        return true;
    }
    let reaches = |item: &Item<'_>, id: ItemId| {
        centre_line(item).is_some_and(|path| {
            let thinned = ShapeRef::Stroke { path, radius: (item.shape.radius() - DEEP).max(0) };
            items.gap_to(id, thinned, to_f64(TOUCH)).is_some()
        })
    };
    reaches(one.1, other.0) || reaches(other.1, one.0)
}

fn track_path(item: &Item<'_>) -> Option<Path> {
    if matches!(item.source, ItemRef::Track(_)) { centre_line(item) } else { None }
}

fn centre_line(item: &Item<'_>) -> Option<Path> {
    match item.shape {
        ShapeRef::Stroke { path, .. } => Some(path),
        ShapeRef::Area { .. } => None,
    }
}

fn shared_end(one: Path, other: Path) -> Option<Point> {
    [one.start(), one.end()].into_iter().find(|&end| end == other.start() || end == other.end())
}
