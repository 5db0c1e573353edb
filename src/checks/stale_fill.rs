//! `stale-fill`: zones that are not filled, or were filled before the copper moved.

use super::copper_place::{net_name, own_place, place};
use super::{Facts, Message, Outcome, Place, Subject, Verdict};
use crate::board::{LayerId, LayerSet, Zone, ZoneKind};
use crate::copper::ZoneFill;
use crate::declare_check;
use crate::rules::{Level, Rule};
use crate::units::Quantity;

/// At most this many further places go with a finding; the counts are always true.
const RELATED: usize = 8;

declare_check! {
    /// # What is measured
    /// The board file holds a zone's filled copper ready-made; nothing in it says when that was computed. Three signs
    /// show that it is missing or outdated:
    ///
    /// - a zone has a net and no fill, on one of its layers or on all;
    /// - a fill lies on copper of another net, or on a pad without net;
    /// - a via of the zone's net, or a plated pad that the zone meets all round, lies in its outline and is not touched
    ///   by any fill, although nothing is near that could have kept a fill off: no foreign copper, no spokes, no hole,
    ///   no edge, no other outline, within twice the clearance, the least width and 0.7 mm.
    ///
    /// Every zone with copper layers is a subject, teardrops included; rule areas are not.
    ///
    /// # Why it matters
    /// Planes carry return currents and rails. Checks that rest on a missing or outdated fill can say nothing of the
    /// board that will be made; they answer "not checked" until the zone is filled.
    ///
    /// # How to read a finding
    /// The place is the zone, or the first item that its fill covers or leaves bare; others are related places. A zone
    /// that has no fill on some of its layers is a warning: another zone may have taken its room.
    ///
    /// # How to correct it
    /// Fill all zones and save the board. If a zone stays empty, its outline, priority, clearance or least width leaves
    /// no room for copper.
    ///
    /// # Sources
    /// Common practice. That fills can't be dated from the file, and that overlaps give them away, was seen on public
    /// boards. The distance of 0.7 mm is our own choice: the default gap of spokes (0.5 mm) and a reserve.
    pub StaleFill {
        name: "stale-fill",
        summary: "zones that are not filled, or were filled before the copper moved",
        limit: &[],
        level: Level::Error,
        groups: false,
        parameters: &[],
    }
    run = run;
}

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    facts
        .copper
        .zone_fills()
        .iter()
        .filter_map(|fill| facts.board.zones.get(fill.zone).map(|zone| judged(facts, rule, fill, zone)))
        .collect()
}

fn judged(facts: &Facts<'_>, rule: &Rule, fill: &ZoneFill, zone: &Zone) -> Verdict {
    let board = facts.board;
    let net = net_name(board, zone.net);
    let at = |layer: Option<LayerId>| Some(Place { span: zone.span, at: None, layer, label: Message::new("the zone") });
    let mut verdict = Verdict {
        check: "stale-fill",
        subject: Subject { kind: "zone", name: name(facts, zone), ends: Vec::new() },
        outcome: Outcome::Pass,
        value: None,
        limit: None,
        message: Message::new("the fill keeps off foreign copper and reaches its own"),
        help: None,
        place: None,
        related: Vec::new(),
        layers: zone.layers,
    };
    let count = |count: usize| Quantity::Count(u64::try_from(count).unwrap_or(u64::MAX));
    let refill = Message::new("fill all zones, save the board and check it again");
    if zone.net.is_some() && fill.is_unfilled() {
        verdict.outcome = Outcome::Fail(rule.level);
        verdict.message = Message::new("the zone of {net} is not filled").with("net", net);
        verdict.help = Some(refill);
        verdict.place = at(zone.layers.iter().next());
    } else if let Some(first) = fill.overlaps.first() {
        verdict.outcome = Outcome::Fail(rule.level);
        verdict.message = match fill.overlaps.len() {
            1 => Message::new("the fill of {net} lies on foreign copper"),
            places => {
                Message::new("the fill of {net} lies on foreign copper in {count} places").with("count", count(places))
            }
        }
        .with("net", net);
        verdict.help = Some(refill);
        let foreign = [first.one, first.other]
            .into_iter()
            .find(|&item| facts.copper.items().get(item).is_some_and(|item| item.net != zone.net))
            .unwrap_or(first.one);
        verdict.place = place(facts.copper, foreign, first.at).or_else(|| at(None));
        verdict.related = at(verdict.place.as_ref().and_then(|place| place.layer)).into_iter().collect();
        verdict.related.extend(fill.overlaps.iter().skip(1).take(RELATED).filter_map(|contact| {
            let item = facts.copper.items().get(contact.one)?;
            let item = if item.net == zone.net { contact.other } else { contact.one };
            place(facts.copper, item, contact.at)
        }));
    } else if !fill.bare.is_empty() {
        verdict.outcome = Outcome::Fail(rule.level);
        verdict.message = match fill.bare.len() {
            1 => Message::new("the fill of {net} leaves a via or pad of its own net bare"),
            joints => Message::new("the fill of {net} leaves {count} vias or pads of its own net bare")
                .with("count", count(joints)),
        }
        .with("net", net);
        verdict.help = Some(refill);
        let mut places = fill.bare.iter().take(RELATED).filter_map(|&item| own_place(facts.copper, item));
        verdict.place = places.next();
        verdict.related = places.chain(at(None)).collect();
    } else if !fill.missing.is_empty() && zone.kind == ZoneKind::Pour {
        verdict.outcome = Outcome::Fail(rule.level.min(Level::Warning));
        verdict.message = Message::new("the zone of {net} has no fill on {layer}")
            .with("net", net)
            .with("layer", layer_names(facts, fill.missing));
        verdict.help = Some(Message::new("fill all zones; take the layer off the zone if it has no room there"));
        verdict.place = at(fill.missing.iter().next());
    }
    verdict
}

/// What a zone is called: its own name, else its net, with its layers.
fn name(facts: &Facts<'_>, zone: &Zone) -> String {
    let own = if zone.name.is_empty() { facts.board.nets.name(zone.net) } else { &zone.name };
    let own = if own.is_empty() { "no net" } else { own };
    [own, " on ", &layer_names(facts, zone.layers)].concat()
}

fn layer_names(facts: &Facts<'_>, layers: LayerSet) -> String {
    let names: Vec<&str> = layers.iter().map(|layer| facts.board.layers.name(layer)).collect();
    names.join(", ")
}
