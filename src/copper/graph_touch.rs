//! Joining copper that touches although no centre line meets: ends that miss, lands that overlap, grazing tracks.

use super::graph::{NodeId, Sets, TOUCH};
use super::graph_draft::{Draft, Part};
use super::graph_join::part_kind;
use crate::geometry::{Vector, to_f64};
use rustc_hash::FxHashMap;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Two parts whose copper touches, and the straight link that would join them.
struct Contact {
    one: Part,
    other: Part,
    /// Where the link ends on each part: distance along a line, nothing for an anchor.
    ends: [f64; 2],
    /// Length of the link.
    length: f64,
    /// Half widths of both parts together: the reach of their copper.
    reach: f64,
}

/// How many times the reach of two touching parts a way between them may be long and still be the same copper. A
/// longer way is bypassed by the touch, which is then a way of its own.
const LOCAL: f64 = 8.0;

/// Links touching parts of separate copper, nearest first, then touching parts whose way by centre lines is long.
pub(super) fn join_touching(draft: &mut Draft<'_, '_>) {
    let mut contacts = contacts(draft);
    contacts.sort_by(|one, other| {
        one.length.total_cmp(&other.length).then((one.one, one.other).cmp(&(other.one, other.other)))
    });
    let mut copper = islands(draft);
    let mut rest = Vec::new();
    for contact in contacts {
        let (Some(from), Some(to)) = (part_node(draft, contact.one), part_node(draft, contact.other)) else { continue };
        if copper.join(from, to) {
            link(draft, &contact);
        } else {
            rest.push(contact);
        }
    }
    let ways = Ways::new(draft);
    let bypasses: Vec<Contact> = rest.into_iter().filter(|contact| !ways.near(draft, contact)).collect();
    for contact in &bypasses {
        link(draft, contact);
    }
}

fn link(draft: &mut Draft<'_, '_>, contact: &Contact) {
    let nodes = [(contact.one, contact.ends[0]), (contact.other, contact.ends[1])].map(|(part, along)| match part {
        Part::Line(row) => draft.node_on(row, along),
        Part::Lump(row) => draft.lumps.get(row).map(|lump| lump.node),
    });
    if let ([Some(from), Some(to)], Some(kind)) = (nodes, part_kind(draft, contact.other)) {
        let width = match contact.one {
            Part::Line(row) => draft.lines.get(row).map_or(0, |line| line.radius * 2),
            Part::Lump(_) => 0,
        };
        draft.link(from, to, kind, width);
    }
}

/// Any node of a part.
fn part_node(draft: &Draft<'_, '_>, part: Part) -> Option<NodeId> {
    match part {
        Part::Line(row) => draft.lines.get(row)?.cuts.first().map(|&(_, node)| node),
        Part::Lump(row) => draft.lumps.get(row).map(|lump| lump.node),
    }
}

/// Nodes joined by anything so far.
pub(super) fn islands(draft: &mut Draft<'_, '_>) -> Sets {
    let mut copper = draft.same.clone();
    for line in &draft.lines {
        if let Some(&(_, first)) = line.cuts.first() {
            for &(_, node) in &line.cuts {
                copper.join(first, node);
            }
        }
    }
    for link in &draft.links {
        copper.join(link.from, link.to);
    }
    copper
}

fn contacts(draft: &mut Draft<'_, '_>) -> Vec<Contact> {
    let mut found = Vec::new();
    for row in 0..draft.lines.len() {
        let Some(line) = draft.lines.get(row) else { continue };
        let near = draft.near(line.layer, line.envelope());
        for other in near {
            let contact = match other {
                Part::Line(other) if other > row => lines_touch(draft, row, other),
                Part::Lump(lump) if !draft.settled.contains(&(row, lump)) => line_touches_lump(draft, row, lump),
                _ => None,
            };
            found.extend(contact);
        }
    }
    for row in 0..draft.lumps.len() {
        let Some(lump) = draft.lumps.get(row) else { continue };
        let near = draft.near(lump.layer, lump.envelope());
        for other in near {
            if let Part::Lump(other) = other
                && other > row
            {
                found.extend(lumps_touch(draft, row, other));
            }
        }
    }
    found
}

fn lines_touch(draft: &mut Draft<'_, '_>, one: usize, other: usize) -> Option<Contact> {
    let nodes = |draft: &Draft<'_, '_>, row: usize| -> Vec<NodeId> {
        draft.lines.get(row).map_or(Vec::new(), |line| line.cuts.iter().map(|&(_, node)| node).collect())
    };
    let (first, second) = (nodes(draft, one), nodes(draft, other));
    let first: Vec<NodeId> = first.into_iter().map(|node| draft.same.find(node)).collect();
    if second.into_iter().any(|node| first.contains(&draft.same.find(node))) {
        return None;
    }
    let (line, through) = (draft.lines.get(one)?, draft.lines.get(other)?);
    let reach = to_f64(line.radius + through.radius);
    let gap = line.path.gap(&through.path);
    (gap.distance <= reach + TOUCH).then(|| Contact {
        one: Part::Line(one),
        other: Part::Line(other),
        ends: [line.path.nearest(gap.from).along, through.path.nearest(gap.to).along],
        length: gap.distance,
        reach,
    })
}

fn line_touches_lump(draft: &Draft<'_, '_>, row: usize, lump: usize) -> Option<Contact> {
    let (line, round) = (draft.lines.get(row)?, draft.lumps.get(lump)?);
    let shape = line.shape();
    let touches = round.shapes.iter().any(|land| land.touches(shape, TOUCH));
    let foot = line.path.nearest(Vector::from(round.at));
    touches.then(|| Contact {
        one: Part::Line(row),
        other: Part::Lump(lump),
        ends: [foot.along, 0.0],
        length: foot.off,
        reach: to_f64(line.radius) + foot.off,
    })
}

fn lumps_touch(draft: &mut Draft<'_, '_>, one: usize, other: usize) -> Option<Contact> {
    let (first, second) = (draft.lumps.get(one)?.node, draft.lumps.get(other)?.node);
    if draft.same.find(first) == draft.same.find(second) {
        return None;
    }
    let (land, next) = (draft.lumps.get(one)?, draft.lumps.get(other)?);
    let touches = land.shapes.iter().any(|shape| next.shapes.iter().any(|other| shape.touches(*other, TOUCH)));
    let length = land.at.distance(next.at);
    touches.then_some(Contact { one: Part::Lump(one), other: Part::Lump(other), ends: [0.0; 2], length, reach: length })
}

/// Ways by centre lines and links, for a look at the neighbourhood of a contact.
struct Ways {
    steps: FxHashMap<NodeId, Vec<(NodeId, f64)>>,
    same: Vec<NodeId>,
}

impl Ways {
    fn new(draft: &mut Draft<'_, '_>) -> Self {
        let mut same = Vec::with_capacity(draft.nodes.len());
        for node in 0..u32::try_from(draft.nodes.len()).unwrap_or(u32::MAX) {
            same.push(draft.same.find(node));
        }
        let mut ways = Self { steps: FxHashMap::default(), same };
        for line in &draft.lines {
            for pair in line.cuts.windows(2) {
                if let [(start, from), (end, to)] = pair {
                    ways.add(*from, *to, end - start);
                }
            }
        }
        for link in &draft.links {
            let length = draft.place(link.from).distance(draft.place(link.to));
            ways.add(link.from, link.to, length.max(link.height));
        }
        ways
    }

    fn find(&self, node: NodeId) -> NodeId {
        self.same.get(node as usize).copied().unwrap_or(node)
    }

    fn add(&mut self, from: NodeId, to: NodeId, length: f64) {
        let (from, to) = (self.find(from), self.find(to));
        self.steps.entry(from).or_default().push((to, length));
        self.steps.entry(to).or_default().push((from, length));
    }

    /// The nodes around a place on a part with their distances from it.
    fn around(&self, draft: &Draft<'_, '_>, part: Part, along: f64) -> Vec<(NodeId, f64)> {
        match part {
            Part::Lump(row) => draft.lumps.get(row).map(|lump| (self.find(lump.node), 0.0)).into_iter().collect(),
            Part::Line(row) => draft.lines.get(row).map_or(Vec::new(), |line| {
                line.cuts.iter().map(|&(at, node)| (self.find(node), (at - along).abs())).collect()
            }),
        }
    }

    /// Whether the two ends of a contact are joined by a way about as short as the contact's own copper.
    fn near(&self, draft: &Draft<'_, '_>, contact: &Contact) -> bool {
        let limit = contact.length + LOCAL * contact.reach;
        let goals = self.around(draft, contact.other, contact.ends[1]);
        let mut best: FxHashMap<NodeId, f64> = FxHashMap::default();
        let mut queue = BinaryHeap::new();
        for (node, length) in self.around(draft, contact.one, contact.ends[0]) {
            queue.push(Reach { length, node });
        }
        while let Some(Reach { length, node }) = queue.pop() {
            if length > limit || best.get(&node).is_some_and(|&known| known <= length) {
                continue;
            }
            best.insert(node, length);
            if goals.iter().any(|&(goal, rest)| goal == node && length + rest <= limit) {
                return true;
            }
            for &(next, step) in self.steps.get(&node).map_or(&[][..], Vec::as_slice) {
                queue.push(Reach { length: length + step, node: next });
            }
        }
        false
    }
}

/// A node with its distance, nearest first in a heap.
struct Reach {
    length: f64,
    node: NodeId,
}

impl Ord for Reach {
    fn cmp(&self, other: &Self) -> Ordering {
        other.length.total_cmp(&self.length).then(other.node.cmp(&self.node))
    }
}
impl PartialOrd for Reach {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Reach {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Reach {}
