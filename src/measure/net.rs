//! The measurements of one net.

use super::reference::{self, ReferenceRow};
use super::signal::{Aim, RouteSignal};
use super::unknown::Unknown;
use crate::board::zone::ZoneKind;
use crate::board::{Board, LayerSet, NetId};
use crate::checks::Facts;
use crate::copper::{BarrelStub, Contributions, Route, StepKind, pad_name};
use crate::table::Id;
use crate::units::Length;
use std::cmp::Ordering;

/// One net.
#[derive(Debug, Clone, PartialEq)]
pub struct NetRow {
    /// Name.
    pub name: String,
    /// Number of pads.
    pub pads: usize,
    /// Number of vias.
    pub vias: usize,
    /// Number of filled areas.
    pub fills: usize,
    /// Layers with tracks of the net.
    pub layers: LayerSet,
    /// Routes between its pads. A net of many pads (a plane) has none.
    pub routes: Vec<RouteRow>,
    /// Pads that no copper joins, two by two.
    pub open: usize,
    /// Copper that leads nowhere.
    pub stubs: StubRow,
}

/// One route of a net.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteRow {
    /// First pad: `U1.A3`.
    pub from: String,
    /// Last pad.
    pub to: String,
    /// Length by contribution.
    pub length: Contributions,
    /// Barrels on the way.
    pub vias: usize,
    /// Layers of its tracks.
    pub layers: LayerSet,
    /// Another way of copper joins the same pads.
    pub looped: bool,
    /// What a signal meets.
    pub signal: RouteSignal,
    /// The planes that accompany it; none are looked for beside a net that is poured itself.
    pub reference: Vec<ReferenceRow>,
}

/// Copper of a net that leads nowhere.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StubRow {
    /// Branches that end without a pad.
    pub branches: usize,
    /// Length of the longest of them, centre line, barrels not counted.
    pub longest: Option<Length>,
    /// Barrels that reach beyond the layers in use.
    pub barrels: usize,
    /// The longest of these; its own length is `None` without a stackup.
    pub barrel: Option<BarrelStub>,
}

/// What a net has, counted in one pass over the board.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Count {
    pads: usize,
    vias: usize,
    fills: usize,
    /// Fills that are no teardrops.
    poured: usize,
    tracks: usize,
    layers: LayerSet,
}

impl Count {
    pub fn is_empty(self) -> bool {
        self.pads + self.vias + self.fills + self.tracks == 0
    }

    /// Whether it is poured: a rail or a plane, with no single way between its pads.
    pub fn is_poured(self) -> bool {
        self.poured > 0
    }
}

/// The counts of all nets.
pub(super) struct Counts(Vec<Count>);

impl Counts {
    pub fn of(board: &Board) -> Self {
        let mut counts = Self(vec![Count::default(); board.nets.len()]);
        for pad in board.pads.values() {
            counts.change(pad.net, |count| count.pads += 1);
        }
        for via in board.vias.values() {
            counts.change(via.net, |count| count.vias += 1);
        }
        for fill in board.fills.values() {
            let teardrop = board.zones.get(fill.zone).is_some_and(|zone| zone.kind == ZoneKind::Teardrop);
            counts.change(fill.net, |count| {
                count.fills += 1;
                count.poured += usize::from(!teardrop);
            });
        }
        for track in board.tracks.values() {
            counts.change(track.net, |count| {
                count.tracks += 1;
                count.layers.insert(track.layer);
            });
        }
        counts
    }

    fn change(&mut self, net: NetId, change: impl FnOnce(&mut Count)) {
        if let Some(count) = self.0.get_mut(net.index()) {
            change(count);
        }
    }

    pub fn get(&self, net: NetId) -> Count {
        self.0.get(net.index()).copied().unwrap_or_default()
    }
}

impl NetRow {
    /// `leg_of` is the pair that the net is a leg of.
    pub(super) fn of(facts: &Facts<'_>, net: NetId, count: Count, leg_of: Option<&str>) -> Self {
        let found = facts.copper.routes(net);
        let aim = Aim::of_net(facts, net);
        let single = match leg_of {
            _ if count.is_poured() => Err(Unknown::Poured),
            Some(pair) => Err(Unknown::LegOf(pair.to_owned())),
            None => Ok(()),
        };
        let row = |route| {
            let signal = match &single {
                Ok(()) => RouteSignal::of(facts, route, &aim),
                Err(why) => RouteSignal::unknown(why),
            };
            RouteRow::of(facts, route, signal, count.is_poured())
        };
        Self {
            name: facts.board.nets.name(net).to_owned(),
            pads: count.pads,
            vias: count.vias,
            fills: count.fills,
            layers: count.layers,
            routes: found.routes.iter().map(row).collect(),
            open: found.open.len(),
            stubs: StubRow::of(facts, net),
        }
    }

    /// The longest of its routes; where barrels are of unknown height, by what is known.
    #[must_use]
    pub fn longest(&self) -> Option<&RouteRow> {
        self.routes.iter().max_by(|a, b| a.length.planar().total_cmp(&b.length.planar()))
    }
}

impl RouteRow {
    fn of(facts: &Facts<'_>, route: &Route, signal: RouteSignal, poured: bool) -> Self {
        let board = facts.board;
        let tracks = route.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_)));
        Self {
            from: pad_name(board, route.from),
            to: pad_name(board, route.to),
            length: route.length.clone(),
            vias: route.length.barrels.len(),
            layers: tracks.map(|step| step.layer).collect(),
            looped: route.looped,
            signal,
            reference: if poured { Vec::new() } else { reference::rows(facts, &[route], &[route.net]) },
        }
    }
}

impl StubRow {
    fn of(facts: &Facts<'_>, net: NetId) -> Self {
        let stubs = facts.copper.stubs(net);
        let barrels = stubs.barrels.iter().filter_map(|barrel| barrel.worst());
        Self {
            branches: stubs.branches.len(),
            longest: stubs.branches.iter().map(|branch| branch.length).max_by(Length::total_cmp),
            barrels: barrels.clone().count(),
            barrel: barrels.max_by(longer),
        }
    }
}

/// By length; one of unknown length by the layers that it spans, before any of known length.
fn longer(one: &BarrelStub, two: &BarrelStub) -> Ordering {
    let layers = |stub: &BarrelStub| stub.from.0.abs_diff(stub.to.0);
    match (one.length, two.length) {
        (Some(a), Some(b)) => a.total_cmp(&b),
        (None, Some(_)) => Ordering::Greater,
        (Some(_), None) => Ordering::Less,
        (None, None) => layers(one).cmp(&layers(two)),
    }
}
