//! The members of a group with the routes that count for them, in sets that are matched with each other.

use super::route_subject::{ends, layers, pad_place, through_area, unrouted};
use super::{Facts, Message, Pair, Place, Selection, Subject};
use crate::board::{FootprintId, LayerId, LayerSet, NetId, PadId};
use crate::copper::{Contributions, Route};
use crate::units::Quantity;
use std::collections::{BTreeMap, BTreeSet};

/// A length whose barrels may have no known height. Weights are halves where a pair counts with its mean.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Measure {
    /// All but the barrels, nanometres.
    pub planar: f64,
    /// Barrels by the layers they join, and how much each counts.
    barrels: BTreeMap<(LayerId, LayerId), f64>,
    /// Height of all barrels, if known.
    vias: Option<f64>,
}

impl Measure {
    fn of(parts: &[&Contributions]) -> Self {
        let share = 1.0 / crate::geometry::to_f64(i64::try_from(parts.len().max(1)).unwrap_or(1));
        let mut measure = Self { planar: 0.0, barrels: BTreeMap::new(), vias: Some(0.0) };
        for part in parts {
            measure.planar += part.planar().to_nm() * share;
            measure.vias = measure.vias.zip(part.vias).map(|(sum, vias)| sum + vias.to_nm() * share);
            for &span in &part.barrels {
                *measure.barrels.entry(span).or_default() += share;
            }
        }
        measure
    }

    /// The whole length in nanometres; `None` if a barrel's height is unknown.
    pub fn total(&self) -> Option<f64> {
        self.vias.map(|vias| self.planar + vias)
    }

    /// How much longer this is, in nanometres; known without heights if the barrels are the same.
    pub fn longer_than(&self, other: &Self) -> Option<f64> {
        if let (Some(one), Some(two)) = (self.total(), other.total()) {
            return Some(one - two);
        }
        (self.barrels == other.barrels).then_some(self.planar - other.planar)
    }

    /// The least and the most that this can be longer, in nanometres, if no barrel is higher than the board is thick.
    pub fn bounds(&self, other: &Self, thickness: f64) -> (f64, f64) {
        if let Some(known) = self.longer_than(other) {
            return (known, known);
        }
        let count = |measure: &Self, span| measure.barrels.get(&span).copied().unwrap_or(0.0);
        let spans: BTreeSet<_> = self.barrels.keys().chain(other.barrels.keys()).copied().collect();
        let planar = self.planar - other.planar;
        spans.into_iter().fold((planar, planar), |(least, most), span| {
            let more = (count(self, span) - count(other, span)) * thickness;
            (least + more.min(0.0), most + more.max(0.0))
        })
    }
}

/// One member with the routes that count.
#[derive(Debug, Clone)]
pub(super) struct Member {
    pub subject: Subject,
    /// First and last pad of its (first leg's) route.
    pub pads: (PadId, PadId),
    pub measure: Measure,
    /// The routes that count: one, or one of each leg.
    pub routes: Vec<Route>,
    pub layers: LayerSet,
    /// Where a second way exists.
    pub loops: Vec<Place>,
    /// The set has no other member.
    pub alone: bool,
}

/// The members of a group.
#[derive(Debug, Default)]
pub(super) struct Members {
    /// Sets to match.
    pub sets: Vec<Vec<Member>>,
    /// Members that could not be measured, with the reason.
    pub missing: Vec<(Subject, Message, Option<Place>)>,
}

/// What a member is made of: a net, or the legs of a pair.
enum Source<'s> {
    Net(NetId),
    Pair(&'s Pair),
}

impl Source<'_> {
    fn nets(&self) -> Vec<NetId> {
        match self {
            Self::Net(net) => vec![*net],
            Self::Pair(pair) => vec![pair.p, pair.n],
        }
    }

    fn subject(&self, facts: &Facts<'_>, routes: &[Route]) -> Subject {
        let pads: Vec<PadId> = routes.iter().flat_map(|route| [route.from, route.to]).collect();
        let (kind, name) = match self {
            Self::Net(net) => ("net", facts.board.nets.name(*net).to_owned()),
            Self::Pair(pair) => ("pair", pair.name.clone()),
        };
        Subject { kind, name, ends: ends(facts, &pads) }
    }
}

/// The members of a group with their lengths. With `by_link` only members that join the same parts are in one set.
pub(super) fn members(facts: &Facts<'_>, group: &Selection, by_link: bool) -> Members {
    let nets = group.nets.iter().map(|&net| Source::Net(net));
    let sources: Vec<Source<'_>> = nets.chain(group.pairs.iter().map(Source::Pair)).collect();
    let mut found = Members::default();
    let mut joined: Vec<&Source<'_>> = Vec::new();
    for source in &sources {
        match source.nets().into_iter().find_map(|net| Some((net, unrouted(facts, net)?))) {
            None => joined.push(source),
            Some((net, missing)) => {
                let pad = facts.copper.routes(net).pads.first();
                let place = pad.map(|&pad| pad_place(facts, pad, Message::new("its first pad")));
                found.missing.push((source.subject(facts, &[]), missing, place));
            }
        }
    }
    if by_link {
        for (ends, sources) in links(facts, &joined) {
            match ends {
                Ends::Parts(one, other) => found.add_set(facts, &sources, |net| between(facts, net, one, other)),
                Ends::Own => found.add_set(facts, &sources, |net| {
                    Err(Message::new("{net} ends on a part of its own, so the link that it belongs to is not known")
                        .with("net", facts.board.nets.name(net)))
                }),
            }
        }
        return found;
    }
    let targets = common_parts(facts, &joined);
    match targets.split_first() {
        Some((&root, others)) if !others.is_empty() => {
            for &part in others {
                found.add_set(facts, &joined, |net| between(facts, net, root, part));
            }
        }
        _ => found.add_set(facts, &joined, |net| only(facts, net)),
    }
    found
}

/// What the members of a link have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Ends {
    /// They run between these two parts.
    Parts(FootprintId, FootprintId),
    /// The legs of each end on parts of their own, such as capacitors.
    Own,
}

/// Sources by what they join, in order of the parts' references. A net with several parts is in several links.
fn links<'s, 'f>(facts: &Facts<'_>, sources: &[&'f Source<'s>]) -> Vec<(Ends, Vec<&'f Source<'s>>)> {
    let mut links: BTreeMap<Ends, Vec<&Source<'_>>> = BTreeMap::new();
    for source in sources {
        let common = common_parts(facts, std::slice::from_ref(source));
        if common.len() < 2 {
            links.entry(Ends::Own).or_default().push(source);
        }
        for (at, &one) in common.iter().enumerate() {
            for &other in common.iter().skip(at + 1) {
                links.entry(Ends::Parts(one, other)).or_default().push(source);
            }
        }
    }
    let name = |part: &FootprintId| {
        facts.board.footprints.get(*part).map_or(String::new(), |footprint| footprint.reference.clone())
    };
    let mut links: Vec<_> = links.into_iter().collect();
    links.sort_by_cached_key(|(ends, _)| match ends {
        Ends::Parts(one, other) => (vec![name(one), name(other)], ends.clone()),
        Ends::Own => (Vec::new(), Ends::Own),
    });
    links
}

/// The parts that have a pad on a net.
fn parts_of(facts: &Facts<'_>, net: NetId) -> BTreeSet<FootprintId> {
    let pads = facts.copper.routes(net).pads.iter();
    pads.filter_map(|&pad| facts.board.pads.get(pad)).map(|pad| pad.footprint).collect()
}

impl Members {
    fn add_set(&mut self, facts: &Facts<'_>, sources: &[&Source<'_>], route: impl Fn(NetId) -> Result<Route, Message>) {
        let mut set = Vec::new();
        for source in sources {
            let routes: Result<Vec<Route>, Message> = source.nets().into_iter().map(&route).collect();
            match routes.and_then(|routes| measured(facts, source, &routes)) {
                Ok(member) => set.push(member),
                Err(missing) => self.missing.push((source.subject(facts, &[]), missing, None)),
            }
        }
        let alone = set.len() == 1;
        for member in &mut set {
            member.alone = alone;
        }
        self.sets.push(set);
    }
}

fn measured(facts: &Facts<'_>, source: &Source<'_>, routes: &[Route]) -> Result<Member, Message> {
    let name = |net| facts.board.nets.name(net);
    if let Some(route) = routes.iter().find(|route| through_area(route).is_some()) {
        return Err(Message::new("the way of {net} leads through filled or graphic copper, where it has no length")
            .with("net", name(route.net)));
    }
    let lengths: Vec<&Contributions> = routes.iter().map(|route| &route.length).collect();
    let loops = routes.iter().filter(|route| route.looped).map(|route| {
        let label = Message::new("{net} has a second way; the shorter one counts").with("net", name(route.net));
        pad_place(facts, route.from, label)
    });
    let first = routes.first().ok_or_else(|| Message::new("it has no route"))?;
    Ok(Member {
        subject: source.subject(facts, routes),
        pads: (first.from, first.to),
        measure: Measure::of(&lengths),
        routes: routes.to_vec(),
        layers: routes.iter().fold(LayerSet::EMPTY, |set, route| set.or(layers(route))),
        loops: loops.collect(),
        alone: false,
    })
}

/// The parts that every member reaches, the one with the most pads first, then by reference.
fn common_parts(facts: &Facts<'_>, sources: &[&Source<'_>]) -> Vec<FootprintId> {
    let nets = sources.iter().flat_map(|source| source.nets());
    let parts = nets.map(|net| parts_of(facts, net));
    let common = parts.reduce(|one, other| one.intersection(&other).copied().collect());
    let mut size: BTreeMap<FootprintId, usize> = BTreeMap::new();
    for pad in facts.board.pads.values() {
        *size.entry(pad.footprint).or_default() += 1;
    }
    let mut parts: Vec<FootprintId> = common.unwrap_or_default().into_iter().collect();
    let reference = |part: &FootprintId| facts.board.footprints.get(*part).map_or("", |part| part.reference.as_str());
    parts.sort_by_key(|part| (std::cmp::Reverse(size.get(part).copied().unwrap_or(0)), reference(part), *part));
    parts
}

/// The shortest route of a net between two parts.
fn between(facts: &Facts<'_>, net: NetId, one: FootprintId, other: FootprintId) -> Result<Route, Message> {
    let routes = facts.copper.routes(net);
    let on = |part: FootprintId| {
        let pads = routes.pads.iter().copied();
        pads.filter(move |&pad| facts.board.pads.get(pad).is_some_and(|pad| pad.footprint == part))
    };
    on(one)
        .flat_map(|from| on(other).map(move |to| (from, to)))
        .filter_map(|(from, to)| facts.copper.route(from, to))
        .min_by(|one, other| one.length.planar().total_cmp(&other.length.planar()))
        .ok_or_else(|| Message::new("{net} has no route between the parts").with("net", facts.board.nets.name(net)))
}

/// The route of a net with two pads.
fn only(facts: &Facts<'_>, net: NetId) -> Result<Route, Message> {
    let routes = facts.copper.routes(net);
    match (routes.pads.as_slice(), routes.routes.as_slice()) {
        ([_, _], [route]) => Ok(route.clone()),
        (pads, _) => Err(Message::new(
            "{net} has {count} pads and the members of the group reach no two parts in common, so its route is not known",
        )
        .with("net", facts.board.nets.name(net))
        .with("count", Quantity::Count(pads.len().try_into().unwrap_or(u64::MAX)))),
    }
}
