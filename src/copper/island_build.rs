//! Builds the islands: joins what touches, sorts what must not be joined.

use super::crew;
use super::island::{Bridge, Island, IslandId, Islands};
use super::island_contact::{self, Contact, Contacts};
use super::island_tie::{Tie, Ties};
use super::island_union::Union;
use super::{ItemId, ItemRef, Items};
use crate::board::{Board, FootprintId, LayerId, NetId, PadKind};
use crate::table::{Id, Table};
use rustc_hash::{FxHashMap, FxHashSet};

/// Works out the islands of a board, as if the items to skip touched nothing.
pub(super) fn build(board: &Board, items: &Items<'_>, skip: &FxHashSet<ItemId>) -> Islands {
    let by_layer: Vec<Contacts> = crew::map(&layer_ranges(board, items), |&(layer, first, count)| {
        island_contact::contacts(items, layer, first..first + count, skip)
    });
    let mut builder = Builder {
        board,
        items,
        ties: Ties::declared(board),
        union: Union::new(items.len()),
        used_ties: Vec::new(),
        shorts: Vec::new(),
        bridges: Vec::new(),
        overlaps: Vec::new(),
        grazes: Vec::new(),
    };
    for (one, other) in by_layer.iter().flat_map(|contacts| &contacts.joins) {
        builder.union.join(one.row(), other.row());
    }
    builder.barrels();
    builder.foreign(by_layer.iter().flat_map(|contacts| &contacts.foreign));
    let loose: Vec<Contact> = by_layer.iter().flat_map(|contacts| &contacts.loose).copied().collect();
    builder.loose(&loose);
    builder.grazes(by_layer.into_iter().flat_map(|contacts| contacts.grazes).collect());
    builder.finish()
}

/// Each layer with the ids of its items: first and count.
fn layer_ranges(board: &Board, items: &Items<'_>) -> Vec<(LayerId, u32, u32)> {
    let mut ranges: Vec<(LayerId, u32, u32)> = board.layers.ids().map(|layer| (layer, 0, 0)).collect();
    for (id, item) in items.iter() {
        if let Some((_, first, count)) = ranges.get_mut(usize::from(item.layer.0)) {
            if *count == 0 {
                *first = id.row();
            }
            *count += 1;
        }
    }
    ranges
}

/// A contact of copper without net, seen from the side that has one.
struct Touched {
    /// The set of the copper without net.
    piece: u32,
    /// The footprint that draws it.
    drawing: Option<FootprintId>,
    net: NetId,
    at: crate::geometry::Point,
    mate: ItemId,
    source: ItemRef,
    contact: Contact,
}

struct Builder<'a, 'b> {
    board: &'b Board,
    items: &'a Items<'b>,
    ties: Ties,
    union: Union,
    used_ties: Vec<Tie>,
    shorts: Vec<Contact>,
    bridges: Vec<Bridge>,
    overlaps: Vec<Contact>,
    grazes: Vec<Contact>,
}

impl Builder<'_, '_> {
    /// Joins the layers of vias and plated pads, and the shapes of one pad on one layer.
    fn barrels(&mut self) {
        for (id, via) in self.board.vias.iter() {
            self.chain(ItemRef::Via(id), |layer| !via.removes_barrel_on(layer));
        }
        for (id, pad) in self.board.pads.iter() {
            let plated = pad.kind == PadKind::Plated;
            self.chain(ItemRef::Pad(id), |layer| plated && !pad.removes_barrel_on(layer));
        }
    }

    /// Joins an object's items along its barrel, and those of each single layer.
    fn chain(&mut self, source: ItemRef, has_barrel: impl Fn(LayerId) -> bool) {
        let mut barrel: Option<u32> = None;
        let mut last: Option<(LayerId, u32)> = None;
        for (item, row) in self.items.of(source) {
            if let Some((_, other)) = last.filter(|(layer, _)| *layer == row.layer) {
                self.union.join(item.row(), other);
            }
            last = Some((row.layer, item.row()));
            if has_barrel(row.layer) {
                if let Some(other) = barrel {
                    self.union.join(item.row(), other);
                }
                barrel = Some(item.row());
            }
        }
    }

    fn source(&self, item: ItemId) -> (ItemRef, NetId) {
        self.items
            .get(item)
            .map_or((ItemRef::Graphic(Id::from_row(u32::MAX)), NetId::none()), |item| (item.source, item.net))
    }

    /// Sorts the contacts between different nets.
    fn foreign<'c>(&mut self, contacts: impl Iterator<Item = &'c Contact>) {
        for contact in contacts {
            let (one, other) = (self.source(contact.one), self.source(contact.other));
            if self.ties.allows(one, other) {
                self.use_tie(one, other);
            } else if matches!(one.0, ItemRef::Fill(_)) || matches!(other.0, ItemRef::Fill(_)) {
                self.overlaps.push(*contact);
            } else {
                self.shorts.push(*contact);
                self.union.join(contact.one.row(), contact.other.row());
            }
        }
    }

    fn use_tie(&mut self, one: (ItemRef, NetId), other: (ItemRef, NetId)) {
        let footprint = [one.0, other.0].into_iter().find_map(|source| self.footprint(source));
        if let Some(footprint) = footprint {
            self.note_tie(footprint, &[one.1, other.1], true);
        }
    }

    fn note_tie(&mut self, footprint: FootprintId, nets: &[NetId], declared: bool) {
        let mut nets = nets.to_vec();
        nets.sort_unstable();
        nets.dedup();
        let tie = Tie { footprint, nets, declared };
        if !self.used_ties.contains(&tie) {
            self.used_ties.push(tie);
        }
    }

    /// The footprint whose pad or drawing an object is.
    fn footprint(&self, source: ItemRef) -> Option<FootprintId> {
        match source {
            ItemRef::Pad(id) => self.board.pads.get(id).map(|pad| pad.footprint),
            ItemRef::Graphic(id) => self.board.graphics.get(id).and_then(|graphic| graphic.footprint),
            _ => None,
        }
    }

    /// Joins copper without net to what it touches. Drawings of a footprint that join its own pads of different nets
    /// are a tie: there each net is joined to itself alone.
    fn loose(&mut self, contacts: &[Contact]) {
        let mut touched: Vec<Touched> = Vec::with_capacity(contacts.len());
        for contact in contacts {
            let (one, other) = (self.source(contact.one), self.source(contact.other));
            let (loose, source, mate, mate_source) = if one.1.is_some() {
                (contact.other, other.0, contact.one, one)
            } else {
                (contact.one, one.0, contact.other, other)
            };
            let fill_on_pad = matches!((source, mate_source.0), (ItemRef::Pad(_), ItemRef::Fill(_)));
            if fill_on_pad || matches!(source, ItemRef::Fill(_)) {
                self.overlaps.push(*contact);
                continue;
            }
            let drawing = match source {
                ItemRef::Graphic(_) => self.footprint(source),
                _ => None,
            };
            touched.push(Touched {
                piece: self.union.find(loose.row()),
                drawing,
                net: mate_source.1,
                at: contact.at,
                mate,
                source: mate_source.0,
                contact: *contact,
            });
        }
        touched.sort_unstable_by_key(|touched| (touched.piece, touched.net, touched.at, touched.mate));
        for group in touched.chunk_by(|one, other| one.piece == other.piece) {
            self.piece(group);
        }
    }

    /// Joins one piece of copper without net to what it touches.
    fn piece(&mut self, group: &[Touched]) {
        let Some(&Touched { piece, .. }) = group.first() else { return };
        let tied = self.tied(group);
        let untied: Vec<&Touched> = group.iter().filter(|touched| !tied.contains(&touched.net)).collect();
        if !tied.is_empty() {
            // Each net of the tie hangs together by itself, unless another net touches the tie: then all are one.
            let slots: FxHashMap<NetId, u32> = tied.iter().map(|&net| (net, self.union.push())).collect();
            for touched in group {
                if let Some(&slot) = slots.get(&touched.net) {
                    self.union.join(slot, touched.mate.row());
                }
            }
            if untied.is_empty() {
                return;
            }
        }
        for touched in group {
            self.union.join(piece, touched.mate.row());
        }
        // A tie counts as one net here: by its first name.
        let kept = tied.iter().copied().min_by_key(|&net| self.board.nets.name(net));
        let mut ends: Vec<&Touched> = untied;
        ends.extend(group.iter().filter(|touched| Some(touched.net) == kept));
        ends.dedup_by_key(|touched| touched.net);
        if ends.len() > 1 {
            let (nets, contacts) = ends.iter().map(|touched| (touched.net, touched.contact)).unzip();
            self.bridges.push(Bridge { nets, contacts });
        }
    }

    /// The nets that a piece ties, sorted: those of a footprint's own pads, if the piece is that footprint's drawing.
    fn tied(&mut self, group: &[Touched]) -> Vec<NetId> {
        let mut drawings: Vec<FootprintId> = group.iter().filter_map(|touched| touched.drawing).collect();
        drawings.sort_unstable();
        drawings.dedup();
        let [footprint] = drawings[..] else { return Vec::new() };
        let is_own = |source: ItemRef| matches!(source, ItemRef::Pad(_)) && self.footprint(source) == Some(footprint);
        let mut tied: Vec<NetId> =
            group.iter().filter(|touched| is_own(touched.source)).map(|touched| touched.net).collect();
        tied.dedup();
        if tied.len() < 2 {
            return Vec::new();
        }
        let declared = self.ties.declares(footprint, &tied);
        self.note_tie(footprint, &tied, declared);
        tied
    }

    /// Lets grazes join what is still apart, in an order that only places decide. Those that join pads are kept.
    fn grazes(&mut self, mut grazes: Vec<Contact>) {
        if grazes.is_empty() {
            return;
        }
        grazes.sort_unstable_by_key(|graze| (graze.at, graze.one, graze.other));
        let mut with_pad: FxHashSet<u32> = FxHashSet::default();
        for (id, _) in self.items.iter().filter(|(_, item)| matches!(item.source, ItemRef::Pad(_))) {
            with_pad.insert(self.union.find(id.row()));
        }
        for graze in grazes {
            let sides = [graze.one, graze.other].map(|side| with_pad.contains(&self.union.find(side.row())));
            if self.union.join(graze.one.row(), graze.other.row()) {
                if sides == [true, true] {
                    self.grazes.push(graze);
                }
                if sides.contains(&true) {
                    with_pad.insert(self.union.find(graze.one.row()));
                }
            }
        }
    }

    fn finish(mut self) -> Islands {
        let mut table: Table<IslandId, Island> = Table::new();
        let mut of_root: FxHashMap<u32, IslandId> = FxHashMap::default();
        let mut of_item = Vec::with_capacity(self.items.len());
        for (id, item) in self.items.iter() {
            let root = self.union.find(id.row());
            let island = *of_root.entry(root).or_insert_with(|| table.push(Island::default()));
            of_item.push(island);
            if let Some(island) = table.get_mut(island) {
                island.items.push(id);
                if let ItemRef::Pad(pad) = item.source {
                    island.pads.push(pad);
                }
                if item.net.is_some() && island.nets.last() != Some(&item.net) {
                    island.nets.push(item.net);
                }
            }
        }
        let mut of_net = vec![Vec::new(); self.board.nets.len()];
        for (id, island) in (0u32..).map(IslandId::from_row).zip(table.values_mut()) {
            island.pads.sort_unstable();
            island.pads.dedup();
            island.nets.sort_unstable();
            island.nets.dedup();
            for net in &island.nets {
                if let Some(islands) = of_net.get_mut(net.index()) {
                    islands.push(id);
                }
            }
        }
        Islands {
            table,
            of_item,
            of_net,
            shorts: self.shorts,
            bridges: self.bridges,
            overlaps: self.overlaps,
            grazes: self.grazes,
            ties: self.used_ties,
        }
    }
}
