//! Islands: copper that hangs together, worked out from geometry alone.
//!
//! Items of one layer join where they touch ([`TOUCH`]); barrels join layers; holes without plating join nothing, nor
//! does a back-drilled stretch of a barrel. Copper that states no net joins whatever it touches. Nets are compared only
//! afterwards, with three exceptions that keep one fault from hiding others: a net tie joins nothing; a fill that lies
//! on foreign copper is out of date and does not join it (it is kept as a [`Islands::overlaps`] entry); and a contact
//! that is a mere graze joins only where nothing better does (kept in [`Islands::grazes`]).

use super::{Connection, Contact, Copper, ItemId, ItemRef, Items, Short, Tie, ZoneFill, island_build, open, short};
use crate::board::{LayerSet, NetId, PadId};
use crate::table::{Id, Table};
use rustc_hash::FxHashSet;
use std::sync::OnceLock;

crate::id! {
    /// An island of one board.
    IslandId
}

/// Copper that hangs together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Island {
    /// Its items, in id order.
    pub items: Vec<ItemId>,
    /// Its pads, in file order, each once.
    pub pads: Vec<PadId>,
    /// The nets its items state, sorted.
    pub nets: Vec<NetId>,
}

/// Copper without net that joins several nets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bridge {
    /// The nets, each once; of a net tie that it touches, one net alone.
    pub nets: Vec<NetId>,
    /// One contact with each net, in the same order.
    pub contacts: Vec<Contact>,
}

/// All islands of a board.
#[derive(Debug)]
pub struct Islands {
    pub(super) table: Table<IslandId, Island>,
    pub(super) of_item: Vec<IslandId>,
    pub(super) of_net: Vec<Vec<IslandId>>,
    /// Contacts between items of different nets that no tie explains and no fill takes part in.
    pub shorts: Vec<Contact>,
    /// Copper without net that joins several nets, no tie explaining it.
    pub bridges: Vec<Bridge>,
    /// Fills that lie on copper of another net or on a pad without net, and fills without net that lie on anything.
    pub overlaps: Vec<Contact>,
    /// Grazes without which pads would fall apart.
    pub grazes: Vec<Contact>,
    /// Ties that really join copper of two nets.
    pub ties: Vec<Tie>,
}

/// What follows from the islands, each part worked out on first use.
#[derive(Debug, Default)]
pub(super) struct Joining {
    islands: OnceLock<Islands>,
    connections: OnceLock<Vec<Connection>>,
    shorts: OnceLock<Vec<Short>>,
    sure_connections: OnceLock<Vec<Connection>>,
    pub(super) zone_fills: OnceLock<Vec<ZoneFill>>,
}

impl Copper<'_> {
    /// Its copper islands.
    pub fn islands(&self) -> &Islands {
        self.joining.islands.get_or_init(|| island_build::build(self.board, self.items(), &FxHashSet::default()))
    }

    /// How each net with at least two pads hangs together, in net order.
    pub fn connections(&self) -> &[Connection] {
        self.joining.connections.get_or_init(|| open::connections(self.board, self.items(), self.islands()))
    }

    /// The same without the fills of zones that are outdated: what surely hangs together.
    pub fn sure_connections(&self) -> &[Connection] {
        let outdated: FxHashSet<ItemId> = self
            .zone_fills()
            .iter()
            .filter(|fill| fill.is_stale())
            .flat_map(|fill| self.board.fills.iter().filter(|(_, row)| row.zone == fill.zone))
            .flat_map(|(id, _)| self.items().of(ItemRef::Fill(id)).map(|(item, _)| item))
            .collect();
        if outdated.is_empty() {
            return self.connections();
        }
        self.joining.sure_connections.get_or_init(|| {
            let islands = island_build::build(self.board, self.items(), &outdated);
            open::connections(self.board, self.items(), &islands)
        })
    }

    /// Pairs of nets that copper joins, in net order.
    pub fn shorts(&self) -> &[Short] {
        self.joining.shorts.get_or_init(|| short::shorts(self.board, self.items(), self.islands()))
    }
}

impl Islands {
    /// Number of islands.
    #[must_use]
    pub fn len(&self) -> usize {
        self.table.len()
    }

    /// Whether the board has no copper.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.table.is_empty()
    }

    /// All islands, in order of their first item.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (IslandId, &Island)> + ExactSizeIterator {
        self.table.iter()
    }

    /// An island; `None` for an id of another board.
    #[must_use]
    pub fn get(&self, id: IslandId) -> Option<&Island> {
        self.table.get(id)
    }

    /// The island of an item.
    #[must_use]
    pub fn of(&self, item: ItemId) -> Option<IslandId> {
        self.of_item.get(item.index()).copied()
    }

    /// The islands on which a net has copper, in order.
    #[must_use]
    pub fn of_net(&self, net: NetId) -> &[IslandId] {
        self.of_net.get(net.index()).map_or(&[], Vec::as_slice)
    }
}

/// The layers an island has copper on.
#[must_use]
pub fn island_layers(island: &Island, items: &Items<'_>) -> LayerSet {
    island.items.iter().filter_map(|&id| items.get(id)).map(|item| item.layer).collect()
}
