//! The routes of a net, worked out once and shared.

use super::graph::{End, NetGraph};
use super::graph_blocks::Blocks;
use super::graph_parts::{Base, ByNet};
use super::height;
use super::route::Route;
use super::route_search::{Back, Ways};
use super::route_walk;
use super::stub::{self, Stubs};
use super::{Copper, ItemRef};
use crate::board::{Board, LayerId, NetId, PadId};
use crate::table::Id;
use crate::units::Length;
use std::sync::OnceLock;

/// Nets with up to this many pads get a route for every two of them.
pub const ALL_PAIRS: usize = 8;
/// Nets with up to this many pads get a route from the first pad to each other one; nets with more get none unless
/// asked for two pads.
pub const FROM_FIRST: usize = 64;

/// The routes of one net.
///
/// Pads are ordered by part, pad name and place. A net with at most [`ALL_PAIRS`] pads has a route for every two of
/// them, first pad first; one with at most [`FROM_FIRST`] has a route from its first pad to each other; a larger one
/// (a plane) has none here: [`Copper::route`] finds any single one.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NetRoutes {
    /// The net's pads, in order.
    pub pads: Vec<PadId>,
    /// Routes, in the order of their pads.
    pub routes: Vec<Route>,
    /// Pads that no copper joins to the first pad of the net.
    pub open: Vec<PadId>,
}

/// What is known of the copper of each net; each part is worked out on first use.
#[derive(Debug)]
pub(super) struct Wiring {
    by_net: OnceLock<ByNet>,
    nets: Vec<NetWiring>,
}

#[derive(Debug, Default)]
struct NetWiring {
    graph: OnceLock<(NetGraph, Blocks)>,
    routes: OnceLock<NetRoutes>,
    stubs: OnceLock<Stubs>,
}

impl Wiring {
    pub fn new(board: &Board) -> Self {
        Self { by_net: OnceLock::new(), nets: (0..board.nets.len()).map(|_| NetWiring::default()).collect() }
    }
}

/// The pads that are not in one piece with the first.
fn open_ends(graph: &NetGraph) -> Vec<PadId> {
    let mut pieces = graph.pieces();
    let mut own = |end: &End| end.nodes.iter().map(|&node| pieces.find(node)).collect::<Vec<_>>();
    let Some(first) = graph.ends.first().map(&mut own) else { return Vec::new() };
    let apart = |end: &&End| !own(end).iter().any(|piece| first.contains(piece));
    graph.ends.iter().skip(1).filter(apart).map(|end| end.pad).collect()
}

impl<'b> Copper<'b> {
    pub(super) fn base(&self) -> Base<'_, 'b> {
        Base { board: self.board, stackup: self.stackup(), items: self.items() }
    }

    fn net_graph(&self, net: NetId) -> Option<&(NetGraph, Blocks)> {
        let own = self.wiring.nets.get(net.index())?;
        Some(own.graph.get_or_init(|| {
            let by_net = self.wiring.by_net.get_or_init(|| ByNet::new(self.board, self.items()));
            let graph = NetGraph::of(self.base(), by_net, net);
            let blocks = Blocks::of(self.base(), &graph);
            (graph, blocks)
        }))
    }

    /// Height between the middles of two copper layers, from the stackup in force; `None` if it does not state it.
    #[must_use]
    pub fn height(&self, one: LayerId, other: LayerId) -> Option<Length> {
        height::between(self.stackup(), one, other).map(Length::nm)
    }

    /// The routes of a net; see [`NetRoutes`] for which.
    #[must_use]
    pub fn routes(&self, net: NetId) -> &NetRoutes {
        static NONE: NetRoutes = NetRoutes { pads: Vec::new(), routes: Vec::new(), open: Vec::new() };
        let (Some(own), Some((graph, blocks))) = (self.wiring.nets.get(net.index()), self.net_graph(net)) else {
            return &NONE;
        };
        own.routes.get_or_init(|| {
            let mut found = NetRoutes { pads: graph.ends.iter().map(|end| end.pad).collect(), ..NetRoutes::default() };
            let count = graph.ends.len();
            let starts = match count {
                0..=ALL_PAIRS => count,
                _ if count <= FROM_FIRST => 1,
                _ => 0,
            };
            for (at, from) in graph.ends.iter().enumerate().take(starts) {
                let ways = Ways::from(graph, from);
                for to in graph.ends.iter().skip(at + 1) {
                    if let Some(moves) = ways.to(to) {
                        found.routes.push(self.walk(graph, blocks, (from.pad, to.pad), &moves));
                    }
                }
            }
            found.open = open_ends(graph);
            found
        })
    }

    /// The route between two pads of one net; `None` if no copper joins them or they are the same pad.
    #[must_use]
    pub fn route(&self, from: PadId, to: PadId) -> Option<Route> {
        let net = self.board.pads.get(from)?.net;
        if from == to || self.board.pads.get(to)?.net != net {
            return None;
        }
        let (graph, blocks) = self.net_graph(net)?;
        let moves = Ways::from(graph, graph.end(from)?).to(graph.end(to)?)?;
        Some(self.walk(graph, blocks, (from, to), &moves))
    }

    fn walk(&self, graph: &NetGraph, blocks: &Blocks, ends: (PadId, PadId), moves: &[(Back, u32)]) -> Route {
        let mut route = route_walk::route(self.base(), graph, ends, moves);
        route.looped = moves.iter().any(|(back, _)| match back {
            Back::Edge(edge, _) => blocks.is_round(*edge),
            Back::Hub(hub, _) => blocks.hub_is_round(*hub),
            Back::Start | Back::Nothing => false,
        });
        route
    }

    /// Copper of a net that lies on no way between two of its pads.
    #[must_use]
    pub fn stubs(&self, net: NetId) -> &Stubs {
        static NONE: Stubs = Stubs::NONE;
        let (Some(own), Some((graph, blocks))) = (self.wiring.nets.get(net.index()), self.net_graph(net)) else {
            return &NONE;
        };
        own.stubs.get_or_init(|| stub::find(self.base(), graph, blocks))
    }

    /// The copper that a route goes through, each item once, in walking order.
    #[must_use]
    pub fn items_of(route: &Route) -> Vec<ItemRef> {
        let mut items = Vec::with_capacity(route.steps.len());
        for step in &route.steps {
            let item = step.kind.item();
            if items.last() != Some(&item) {
                items.push(item);
            }
        }
        items
    }
}
