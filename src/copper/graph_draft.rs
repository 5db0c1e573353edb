//! A net's graph while it is being put together: parts, nodes that merge, and straight links.

use super::graph::{End, NodeId, Sets, TOUCH};
use super::graph_parts::{Area, Base, ByNet, Line, Lump, is_teardrop};
use super::{ItemRef, StepKind, height};
use crate::board::{LayerId, NetId, PadId, TrackId, ViaId};
use crate::geometry::{Envelope, Path, Point, ShapeRef, to_f64};
use rstar::{AABB, RTree, RTreeObject};
use rustc_hash::FxHashMap;

/// A straight way between two nodes that is no track: inside the copper of a part, or along a barrel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub from: NodeId,
    pub to: NodeId,
    pub kind: StepKind,
    pub width: i64,
    /// Height of a barrel where it is known, else 0.
    pub height: f64,
}

/// One of the parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Part {
    Line(usize),
    Lump(usize),
}

/// The parts of one net with their nodes.
pub(super) struct Draft<'a, 'b> {
    pub base: Base<'a, 'b>,
    pub nodes: Vec<(Point, LayerId)>,
    pub same: Sets,
    pub lines: Vec<Line>,
    pub lumps: Vec<Lump<'b>>,
    pub areas: Vec<Area>,
    pub links: Vec<Link>,
    pub ends: Vec<End>,
    /// Lines (by row) that reach a lump (by row) through copper inside it.
    pub settled: rustc_hash::FxHashSet<(usize, usize)>,
    exact: FxHashMap<(LayerId, Point), NodeId>,
    index: FxHashMap<LayerId, RTree<Boxed>>,
}

struct Boxed {
    envelope: AABB<[f64; 2]>,
    part: Part,
}

impl RTreeObject for Boxed {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.envelope
    }
}

fn aabb(envelope: Envelope) -> AABB<[f64; 2]> {
    let corner = |point: Point| [to_f64(point.x), to_f64(point.y)];
    AABB::from_corners(corner(envelope.min), corner(envelope.max))
}

impl<'a, 'b> Draft<'a, 'b> {
    /// Gathers the parts of a net. Ends of tracks that share a point share a node from the start.
    pub fn gather(base: Base<'a, 'b>, by_net: &ByNet, net: NetId) -> Self {
        let mut draft = Self {
            base,
            nodes: Vec::new(),
            same: Sets::default(),
            lines: Vec::new(),
            lumps: Vec::new(),
            areas: Vec::new(),
            links: Vec::new(),
            ends: Vec::new(),
            settled: rustc_hash::FxHashSet::default(),
            exact: FxHashMap::default(),
            index: FxHashMap::default(),
        };
        if !net.is_some() {
            return draft;
        }
        for pad in by_net.pads(net) {
            draft.add_pad(pad);
        }
        for via in by_net.vias(net) {
            draft.add_via(via);
        }
        for track in by_net.tracks(net) {
            draft.add_track(track);
        }
        for fill in by_net.fills(net) {
            draft.add_area(ItemRef::Fill(fill), is_teardrop(base.board, fill));
        }
        for graphic in by_net.graphics(net) {
            draft.add_area(ItemRef::Graphic(graphic), false);
        }
        for &stray in by_net.strays(net) {
            match stray {
                ItemRef::Track(track) => draft.add_track(track),
                ItemRef::Via(via) => draft.add_via(via),
                ItemRef::Fill(_) | ItemRef::Graphic(_) => draft.add_area(stray, false),
                ItemRef::Pad(_) => {}
            }
        }
        draft.build_index();
        draft
    }

    /// A new node, never shared by its place alone.
    pub fn add_node(&mut self, at: Point, layer: LayerId) -> NodeId {
        self.nodes.push((at, layer));
        self.same.add()
    }

    fn add_pad(&mut self, id: PadId) {
        let Some(pad) = self.base.board.pads.get(id) else { return };
        let kind = pad.is_plated().then_some(StepKind::Hole(id));
        let nodes = self.add_lumps(ItemRef::Pad(id), pad.at, kind);
        if !nodes.is_empty() {
            self.ends.push(End { pad: id, nodes });
        }
    }

    fn add_via(&mut self, id: ViaId) {
        if let Some(via) = self.base.board.vias.get(id) {
            self.add_lumps(ItemRef::Via(id), via.at, Some(StepKind::Via(id)));
        }
    }

    /// A lump on each layer of an item, neighbouring layers joined by its barrel if it has one.
    fn add_lumps(&mut self, item: ItemRef, at: Point, barrel: Option<StepKind>) -> Vec<NodeId> {
        let mut nodes: Vec<NodeId> = Vec::new();
        let mut above: Option<LayerId> = None;
        for layer in self.base.barrel(item).iter() {
            let shapes = self.base.copper(item, layer);
            if shapes.is_empty() {
                continue;
            }
            let node = self.add_node(at, layer);
            self.lumps.push(Lump { item, layer, at, shapes, node });
            if let (Some(kind), Some(upper), Some(&from)) = (barrel, above, nodes.last())
                && upper.0 + 1 == layer.0
            {
                let height = height::between(self.base.stackup, upper, layer).unwrap_or(0.0);
                self.links.push(Link { from, to: node, kind, width: 0, height });
            }
            nodes.push(node);
            above = Some(layer);
        }
        nodes
    }

    fn add_area(&mut self, item: ItemRef, teardrop: bool) {
        let own: Vec<_> = self.base.items.of(item).map(|(id, item)| (id, item.layer, item.envelope)).collect();
        let Some(&(_, layer, first)) = own.first() else { return };
        let envelope = own.iter().fold(first, |whole, (_, _, envelope)| whole.union(*envelope));
        let ids = own.into_iter().map(|(id, ..)| id).collect();
        self.areas.push(Area { item, layer, ids, envelope, teardrop });
    }

    fn add_track(&mut self, id: TrackId) {
        let Some(track) = self.base.board.tracks.get(id) else { return };
        let length = track.path.length();
        let start = self.exact_node(track.path.start(), track.layer);
        if length <= 0.0 {
            let shapes = vec![ShapeRef::disc(track.path.start(), track.width / 2)];
            let at = track.path.start();
            self.lumps.push(Lump { item: ItemRef::Track(id), layer: track.layer, at, shapes, node: start });
            return;
        }
        let end = self.exact_node(track.path.end(), track.layer);
        self.lines.push(Line {
            track: id,
            path: track.path,
            length,
            radius: track.width / 2,
            layer: track.layer,
            cuts: vec![(0.0, start), (length, end)],
        });
    }

    fn exact_node(&mut self, at: Point, layer: LayerId) -> NodeId {
        if let Some(&node) = self.exact.get(&(layer, at)) {
            return node;
        }
        let node = self.add_node(at, layer);
        self.exact.insert((layer, at), node);
        node
    }

    fn build_index(&mut self) {
        let mut boxes: FxHashMap<LayerId, Vec<Boxed>> = FxHashMap::default();
        for (row, line) in self.lines.iter().enumerate() {
            boxes.entry(line.layer).or_default().push(Boxed { envelope: aabb(line.envelope()), part: Part::Line(row) });
        }
        for (row, lump) in self.lumps.iter().enumerate() {
            boxes.entry(lump.layer).or_default().push(Boxed { envelope: aabb(lump.envelope()), part: Part::Lump(row) });
        }
        for layer in self.base.board.layers.ids() {
            if let Some(boxes) = boxes.remove(&layer) {
                self.index.insert(layer, RTree::bulk_load(boxes));
            }
        }
    }

    /// The lines and lumps on a layer whose boxes come near an envelope, lines first, in order.
    pub fn near(&self, layer: LayerId, envelope: Envelope) -> Vec<Part> {
        let Some(index) = self.index.get(&layer) else { return Vec::new() };
        let mut found: Vec<Part> =
            index.locate_in_envelope_intersecting(aabb(envelope.grown(1001))).map(|boxed| boxed.part).collect();
        found.sort_unstable();
        found
    }

    /// The lines among [`Draft::near`].
    pub fn lines_near(&self, layer: LayerId, envelope: Envelope) -> Vec<usize> {
        let lines = |part| if let Part::Line(row) = part { Some(row) } else { None };
        self.near(layer, envelope).into_iter().filter_map(lines).collect()
    }

    /// Lets a line pass through a node at a distance from its start. Near an end it is the end.
    pub fn cut(&mut self, line: usize, along: f64, node: NodeId) {
        let Some(line) = self.lines.get_mut(line) else { return };
        let near = line.cuts.iter().find(|(at, _)| (at - along).abs() <= TOUCH).copied();
        if let Some((_, there)) = near {
            self.same.join(there, node);
            return;
        }
        let at = line.cuts.partition_point(|(at, _)| *at < along);
        line.cuts.insert(at, (along, node));
    }

    /// The node of a line at a distance from its start, made if there is none.
    pub fn node_on(&mut self, row: usize, along: f64) -> Option<NodeId> {
        let line = self.lines.get(row)?;
        if let Some(&(_, node)) = line.cuts.iter().find(|(at, _)| (at - along).abs() <= TOUCH) {
            return Some(node);
        }
        let (at, layer) = (line.path.point_at(along).to_point(), line.layer);
        let node = self.add_node(at, layer);
        self.cut(row, along, node);
        Some(node)
    }

    /// Where a node lies.
    pub fn place(&self, node: NodeId) -> Point {
        self.nodes.get(node as usize).map_or(Point::default(), |&(at, _)| at)
    }

    /// Joins two nodes straight; nodes in one place merge.
    pub fn link(&mut self, from: NodeId, to: NodeId, kind: StepKind, width: i64) {
        if self.same.find(from) == self.same.find(to) {
            return;
        }
        if self.place(from).distance(self.place(to)) <= TOUCH {
            self.same.join(from, to);
            return;
        }
        self.links.push(Link { from, to, kind, width, height: 0.0 });
    }

    /// The path of a link.
    pub fn link_path(&self, link: &Link) -> Path {
        Path::Line(self.place(link.from), self.place(link.to))
    }
}

/// The step kind of an item's own copper.
pub(super) const fn kind_of(item: ItemRef) -> StepKind {
    match item {
        ItemRef::Pad(pad) => StepKind::Pad(pad),
        ItemRef::Track(track) => StepKind::Track(track),
        ItemRef::Via(via) => StepKind::Via(via),
        ItemRef::Fill(fill) => StepKind::Fill(fill),
        ItemRef::Graphic(graphic) => StepKind::Graphic(graphic),
    }
}
