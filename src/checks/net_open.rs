//! `net-open`: pads of one net that no copper joins.

use super::copper_place::{net_name, own_place, place};
use super::{Facts, Message, Outcome, Place, Subject, Verdict};
use crate::board::{Board, LayerSet, NetId, PadId, Zone};
use crate::copper::{Break, Connection, ItemRef, Part, pad_name};
use crate::declare_check;
use crate::rules::{Level, Rule};
use crate::units::{Length, Quantity};
use std::collections::{BTreeMap, BTreeSet};

/// At most this many further places go with a finding; the number of parts is always true.
const RELATED: usize = 8;

declare_check! {
    /// # What is measured
    /// Whether copper joins all pads of each net. Islands are worked out from geometry alone: pads, tracks, vias, fills
    /// and graphic copper of one layer hang together where they touch (to 1 µm, since old files miss by as much);
    /// barrels of vias and plated holes join layers, as far as no back-drill has taken them away. The layer that a
    /// back-drill reaches keeps its connection: an assumption, since the board file does not say. Copper without net
    /// belongs to whatever it touches; letters join nothing. Pads that the board file says a part joins inside itself
    /// (jumpers) count as joined.
    ///
    /// Every net with at least two pads that have copper is a subject. Nets that the schematic marks as unconnected
    /// (`unconnected-(…)`) pass. A track that overlaps other copper by less than half its width, and less than 0.1 mm,
    /// joins it only by a graze; a net that hangs on a graze is a warning.
    ///
    /// # Why it matters
    /// A pad that no copper reaches is a dead ball. Every other measure of a net supposes that it hangs together.
    ///
    /// # How to read a finding
    /// The place is where the smaller part comes nearest to other copper of its net; the gap is measured there. A gap
    /// of 0 between two layers means that a via is missing. Further parts are listed as related places.
    ///
    /// A note says that all pads are joined, but copper of the net is left over that reaches none of them.
    ///
    /// The finding is a warning where the copper may be left out on purpose: all parts but one belong to parts that are
    /// not fitted, or the pads carry one number, so that the part itself may join them (a tab, a shield).
    ///
    /// "Not checked" means that a zone of the net has no fill, or an outdated one, and that it alone joins the parts, or
    /// could; fill the zones and save the board.
    ///
    /// # How to correct it
    /// Finish the route, add the via, or move the end of the track onto the pad. If a zone should make the connection,
    /// look at its clearance, its least width and its spokes.
    ///
    /// # Sources
    /// Common practice; the definition of an open is in the word. The rule that an overlap of half a track's width makes
    /// a joint is common practice without a source, the depth of 0.1 mm is our own choice.
    pub NetOpen {
        name: "net-open",
        summary: "pads of one net that no copper joins",
        limit: &[],
        level: Level::Error,
        groups: false,
        parameters: &[],
    }
    run = run;
}

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let grazed = grazed_nets(facts);
    let sure: BTreeSet<NetId> = facts
        .copper
        .sure_connections()
        .iter()
        .filter(|connection| !connection.is_open())
        .map(|connection| connection.net)
        .collect();
    facts
        .copper
        .connections()
        .iter()
        .map(|connection| {
            let mut verdict = passed(facts, connection);
            let net = connection.net;
            if facts.board.nets.name(connection.net).starts_with("unconnected-(") {
                verdict.message = Message::new("the schematic marks {net} as unconnected")
                    .with("net", net_name(facts.board, connection.net));
            } else if connection.is_open() {
                open(facts, rule, connection, &mut verdict);
            } else if !sure.contains(&net) {
                unsure(facts, net, &mut verdict);
            } else if let Some(graze) = grazed.get(&connection.net) {
                verdict.outcome = Outcome::Fail(rule.level.min(Level::Warning));
                verdict.message = Message::new("{net} hangs together only by a graze")
                    .with("net", net_name(facts.board, connection.net));
                verdict.help = Some(Message::new("draw the track at least half its width into the other copper"));
                verdict.place.clone_from(&graze.0);
                verdict.related = graze.1.iter().cloned().collect();
            } else if !connection.strays.is_empty() {
                strays(facts, rule, connection, &mut verdict);
            }
            verdict
        })
        .collect()
}

fn passed(facts: &Facts<'_>, connection: &Connection) -> Verdict {
    let items = facts.copper.items();
    let mut layers = LayerSet::EMPTY;
    for &island in facts.copper.islands().of_net(connection.net) {
        if let Some(island) = facts.copper.islands().get(island) {
            layers = layers.or(crate::copper::island_layers(island, items));
        }
    }
    Verdict {
        check: "net-open",
        subject: Subject { kind: "net", name: net_name(facts.board, connection.net), ends: Vec::new() },
        outcome: Outcome::Pass,
        value: None,
        limit: None,
        message: Message::new("copper joins all pads of {net}").with("net", net_name(facts.board, connection.net)),
        help: None,
        place: None,
        related: Vec::new(),
        layers,
    }
}

/// Copper of the net that leads nowhere: worth a note.
fn strays(facts: &Facts<'_>, rule: &Rule, connection: &Connection, verdict: &mut Verdict) {
    let islands = connection.strays.iter().filter_map(|&island| facts.copper.islands().get(island));
    let mut places: Vec<Place> = islands
        .filter_map(|island| {
            island.items.iter().filter_map(|&item| own_place(facts.copper, item)).min_by_key(|place| place.at)
        })
        .collect();
    places.sort_by_key(|place| (place.at, place.layer));
    let count = u64::try_from(connection.strays.len()).unwrap_or(u64::MAX);
    verdict.outcome = Outcome::Fail(rule.level.min(Level::Note));
    verdict.message = match count {
        1 => Message::new("copper joins all pads of {net}, but a piece of it reaches none"),
        _ => Message::new("copper joins all pads of {net}, but {count} pieces of it reach none")
            .with("count", Quantity::Count(count)),
    }
    .with("net", net_name(facts.board, connection.net));
    verdict.help = Some(Message::new("remove the copper that is left over, or join it"));
    let mut places = places.into_iter();
    verdict.place = places.next();
    verdict.related = places.take(RELATED).collect();
}

/// A net that hangs together only through an outdated fill.
fn unsure(facts: &Facts<'_>, net: NetId, verdict: &mut Verdict) {
    let zones = facts.copper.zone_fills().iter().filter(|fill| fill.is_stale());
    let zone = zones.filter_map(|fill| facts.board.zones.get(fill.zone)).find(|zone| zone.net == net);
    verdict.outcome = Outcome::Unchecked {
        missing: Message::new("an up-to-date fill: the net hangs together only through an outdated one"),
    };
    verdict.message =
        Message::new("{net} hangs together only through an outdated fill").with("net", net_name(facts.board, net));
    verdict.help = Some(Message::new("fill all zones, save the board and check it again"));
    verdict.place = zone.map(|zone| zone_place(facts.board, zone));
}

fn zone_place(board: &Board, zone: &Zone) -> Place {
    Place {
        span: zone.span,
        at: None,
        layer: zone.layers.iter().next(),
        label: Message::new("zone of {net}").with("net", net_name(board, zone.net)),
    }
}

fn open(facts: &Facts<'_>, rule: &Rule, connection: &Connection, verdict: &mut Verdict) {
    let board = facts.board;
    let parts = u64::try_from(connection.parts.len()).unwrap_or(u64::MAX);
    let net = net_name(board, connection.net);
    let refill = facts.copper.refill(connection);
    let apart: Vec<&Part> = refill.apart.iter().filter_map(|&at| connection.parts.get(at)).collect();
    if apart.is_empty()
        && let Some(zone) = refill.zones.first().and_then(|&zone| board.zones.get(zone))
    {
        verdict.message =
            Message::new("{net} is in {parts} parts; a zone that could join them is not filled or outdated")
                .with("net", net)
                .with("parts", Quantity::Count(parts));
        verdict.outcome = Outcome::Unchecked {
            missing: Message::new("an up-to-date fill: a zone that could join the net is not filled, or is outdated"),
        };
        verdict.help = Some(Message::new("fill all zones, save the board and check it again"));
        verdict.place = Some(zone_place(board, zone));
        let first = connection.parts.get(1).and_then(|part| part_place(facts, part));
        verdict.related = first.map(|(place, other)| std::iter::once(place).chain(other).collect()).unwrap_or_default();
        return;
    }
    let mut places = apart.iter().filter_map(|part| part_place(facts, part));
    let (level, why) = weight(board, rule, connection);
    verdict.outcome = Outcome::Fail(level);
    let gap = apart.first().and_then(|part| part.nearest);
    verdict.message = match gap {
        _ if !refill.zones.is_empty() && apart.len() + 1 == connection.parts.len() => {
            Message::new("{net} is open: {parts} parts, and filling its zones anew would join none of them")
        }
        _ if !refill.zones.is_empty() => {
            Message::new("{net} is open: {parts} parts, and {left} would be left if its zones were filled anew")
                .with("left", Quantity::Count(u64::try_from(apart.len() + 1).unwrap_or(u64::MAX)))
        }
        Some(Break { gap, layers, .. }) if layers.0 == layers.1 => {
            Message::new("{net} is open: {parts} parts, apart by {gap} where they come nearest")
                .with("gap", Length::nm(gap.distance))
        }
        Some(Break { gap, .. }) if gap.distance <= 0.0 => {
            Message::new("{net} is open: {parts} parts that lie above each other without a via")
        }
        Some(_) => Message::new("{net} is open: {parts} parts on different layers"),
        None => Message::new("{net} is open: {parts} parts"),
    }
    .with("net", net)
    .with("parts", Quantity::Count(parts));
    verdict.help = Some(why);
    if let Some((place, other)) = places.next() {
        verdict.place = Some(place);
        verdict.related.extend(other);
    }
    verdict.related.extend(places.take(RELATED).map(|(place, _)| place));
}

/// Where a part ends, and what lies across the gap.
fn part_place(facts: &Facts<'_>, part: &Part) -> Option<(Place, Option<Place>)> {
    if let Some(found) = &part.nearest {
        let one = place(facts.copper, found.one, found.gap.from.to_point())?;
        return Some((one, place(facts.copper, found.other, found.gap.to.to_point())));
    }
    let items = facts.copper.items();
    let item = part.pads.iter().find_map(|&pad| items.of(ItemRef::Pad(pad)).next())?;
    Some((own_place(facts.copper, item.0)?, None))
}

/// How bad it is, and what to do.
fn weight(board: &Board, rule: &Rule, connection: &Connection) -> (Level, Message) {
    let mild = rule.level.min(Level::Warning);
    let fitted = |part: &Part| {
        part.pads.iter().any(|&pad| {
            let part = board.pads.get(pad).and_then(|pad| board.footprints.get(pad.footprint));
            part.is_none_or(|part| !part.unfitted)
        })
    };
    if siblings_join(board, connection) {
        let pad = connection.parts.get(1).and_then(|part| part.pads.first());
        let pad = pad.map_or_else(String::new, |&pad| pad_name(board, pad));
        return (
            mild,
            Message::new("make sure that the part joins its pads {pad} inside, or join them with copper")
                .with("pad", pad),
        );
    }
    if connection.parts.iter().filter(|part| fitted(part)).count() < 2 {
        return (mild, Message::new("finish the route before the parts that are not fitted now are fitted"));
    }
    (rule.level, Message::new("finish the route, add the missing via, or let a zone reach both parts"))
}

/// Whether the net would hang together if each part of the board joined its pads of one number.
fn siblings_join(board: &Board, connection: &Connection) -> bool {
    // Parts of the net by the (footprint, number) they carry; spread from the first part until nothing is added.
    let mut keys: Vec<BTreeSet<_>> = Vec::with_capacity(connection.parts.len());
    for part in &connection.parts {
        let key = |&pad: &PadId| {
            let pad = board.pads.get(pad)?;
            (!pad.number.is_empty()).then_some((pad.footprint, pad.number.as_str()))
        };
        keys.push(part.pads.iter().filter_map(key).collect());
    }
    let Some((mut reached, mut left)) = keys.split_first().map(|(first, rest)| (first.clone(), rest.to_vec())) else {
        return false;
    };
    loop {
        let before = left.len();
        left.retain(|own| {
            let touches = own.iter().any(|key| reached.contains(key));
            if touches {
                reached.extend(own.iter().copied());
            }
            !touches
        });
        if left.is_empty() {
            return true;
        }
        if left.len() == before {
            return false;
        }
    }
}

/// Nets whose pads are joined by a graze, with its place.
fn grazed_nets(facts: &Facts<'_>) -> BTreeMap<NetId, (Option<Place>, Option<Place>)> {
    let mut found = BTreeMap::new();
    for graze in &facts.copper.islands().grazes {
        let Some(item) = facts.copper.items().get(graze.one) else { continue };
        found
            .entry(item.net)
            .or_insert_with(|| (place(facts.copper, graze.one, graze.at), place(facts.copper, graze.other, graze.at)));
    }
    found
}
