//! What the copper does, from geometry alone: islands, routes, lengths, stubs, pairs, reference planes.

mod corridor;
mod corridor_relief;
pub mod coupling;
mod crew;
mod graph;
mod graph_area;
mod graph_blocks;
mod graph_build;
mod graph_draft;
mod graph_join;
mod graph_parts;
mod graph_patch;
mod graph_touch;
mod height;
mod index;
mod island;
mod island_build;
mod island_contact;
mod island_tie;
mod island_union;
mod item;
mod items;
mod items_collect;
mod items_gap;
pub mod layer_change;
mod length;
pub mod mismatch;
mod neck;
mod open;
mod open_break;
pub mod pair;
pub mod pair_coupling;
pub mod pair_evidence;
pub mod pair_match;
pub mod pair_name;
pub mod pairing;
mod planes_along;
pub mod reference;
mod reference_void;
pub mod return_path;
mod route;
mod route_search;
mod route_set;
mod route_walk;
mod short;
mod stale;
mod stale_refill;
mod stub;
mod stub_branch;
mod stub_cover;
mod terminal;

pub use corridor::PlaneDoubt;
pub use island::{Bridge, Island, IslandId, Islands, island_layers};
pub use island_contact::Contact;
pub use island_tie::Tie;
pub use item::{Item, ItemId, ItemRef};
pub use items::{Items, TOUCH};
pub use length::{Contributions, LENGTH_RULE};
pub use neck::{Entry, Neck, Necks};
pub use open::{Break, Connection, Part};
pub use planes_along::PlanesAlong;
pub use route::{Route, Step, StepKind};
pub use route_set::{ALL_PAIRS, FROM_FIRST, NetRoutes};
pub use short::Short;
pub use stale::ZoneFill;
pub use stale_refill::Refill;
pub use stub::{BarrelOf, BarrelStub, BarrelUse, Branch, Stubs};
pub use terminal::{pad_name, pad_side};

use crate::board::{Board, LayerId, Stackup};
use std::sync::OnceLock;

/// Where heights come from.
#[derive(Debug)]
enum Heights {
    OfBoard,
    Given(Option<Stackup>),
}

/// A board's copper. Each part is worked out once, on first use, and shared by threads.
#[derive(Debug)]
pub struct Copper<'b> {
    board: &'b Board,
    stackup: Heights,
    items: OnceLock<Items<'b>>,
    wiring: route_set::Wiring,
    planes: OnceLock<corridor::Planes>,
    pairs: OnceLock<pairing::Proposals>,
    joining: island::Joining,
    planes_along: planes_along::Known,
    links: OnceLock<Vec<return_path::Link>>,
}

impl<'b> Copper<'b> {
    /// The copper of a board, with the heights of the board's own stackup; nothing is computed yet.
    #[must_use]
    pub fn new(board: &'b Board) -> Self {
        Self::build(board, Heights::OfBoard)
    }

    /// The same with the heights of another stackup, whatever the board states; with `None` no height is known.
    #[must_use]
    pub fn with_stackup(board: &'b Board, stackup: Option<Stackup>) -> Self {
        Self::build(board, Heights::Given(stackup))
    }

    fn build(board: &'b Board, stackup: Heights) -> Self {
        Self {
            board,
            stackup,
            items: OnceLock::new(),
            wiring: route_set::Wiring::new(board),
            planes: OnceLock::new(),
            pairs: OnceLock::new(),
            joining: island::Joining::default(),
            planes_along: planes_along::Known::default(),
            links: OnceLock::new(),
        }
    }

    /// Works out what everything else rests on, with all threads of the pool. To be called before threads share the
    /// copper; without it the same is worked out on first use, by one thread.
    pub fn prepare(&self) {
        self.items();
        self.islands();
    }

    /// The board.
    #[must_use]
    pub fn board(&self) -> &'b Board {
        self.board
    }

    /// The stackup in force: all heights come from it.
    #[must_use]
    pub fn stackup(&self) -> Option<&Stackup> {
        match &self.stackup {
            Heights::OfBoard => self.board.stackup.as_ref(),
            Heights::Given(stackup) => stackup.as_ref(),
        }
    }

    /// Its copper items by layer and place.
    pub fn items(&self) -> &Items<'b> {
        self.items.get_or_init(|| Items::new(self.board))
    }

    /// The pairs that net names and copper suggest.
    pub fn pairs(&self) -> &pairing::Proposals {
        self.pairs.get_or_init(|| pairing::propose(self.board))
    }

    /// How much of a layer is poured: its fills and large drawn areas as a share of the board's box, roughly.
    #[must_use]
    pub fn poured(&self, layer: LayerId) -> f64 {
        self.planes().share(layer)
    }

    fn planes(&self) -> &corridor::Planes {
        self.planes.get_or_init(|| corridor::Planes::new(self.board))
    }
}
