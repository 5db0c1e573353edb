//! `net-short`: copper that joins two nets.

use super::copper_place::{net_name, place};
use super::{Facts, Message, Outcome, Place, Subject, Verdict};
use crate::board::{LayerSet, NetId};
use crate::copper::{Contact, Short, Tie};
use crate::declare_check;
use crate::rules::{Level, Rule};
use crate::units::Quantity;
use std::collections::{BTreeMap, BTreeSet};

/// At most this many further places go with a finding; the number of contacts is always true.
const RELATED: usize = 8;

declare_check! {
    /// # What is measured
    /// Whether copper of two nets touches (to 1 µm), on any layer: pads, tracks, vias, barrels, graphic copper.
    /// Islands are worked out from geometry alone, and nets are compared only afterwards. Copper without net that joins
    /// two nets is a short as well. Letters are left out, since their outline is a guess.
    ///
    /// Every net with copper is a subject; two nets that touch are one subject together.
    ///
    /// Not a short: copper of a footprint between pads of one of its declared net ties. Copper of a footprint that joins
    /// two of its own pads without declaring a tie is a warning: board files before 2022 can't declare one.
    ///
    /// # Why it matters
    /// A short takes both nets out, and a short between a rail and a signal may take the host out.
    ///
    /// # How to read a finding
    /// The place is where the copper of both nets touches; the items are listed with their lines in the board file.
    /// "Not checked" means that a fill lies on copper of another net. If the board were made from this file, they would
    /// be joined; most likely the zone was filled before the copper moved, and filling it again separates them.
    ///
    /// # How to correct it
    /// Move one of the two. If they are meant to meet, declare a net tie in the footprint that joins them. For outdated
    /// fills see `stale-fill`.
    ///
    /// # Sources
    /// Common practice; the definition of a short is in the word.
    pub NetShort {
        name: "net-short",
        summary: "copper that joins two nets",
        limit: &[],
        level: Level::Error,
        groups: false,
        parameters: &[],
    }
    run = run;
}

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let mut verdicts = Vec::new();
    let mut judged: BTreeSet<NetId> = BTreeSet::new();
    for short in facts.copper.shorts() {
        judged.extend([short.nets.0, short.nets.1]);
        verdicts.push(shorted(facts, rule, short));
    }
    for tie in facts.copper.islands().ties.iter().filter(|tie| !tie.declared) {
        verdicts.push(tied(facts, rule, tie));
    }
    let overlaps = overlaps(facts);
    for (net, _) in facts.board.nets.iter().filter(|(net, _)| net.is_some() && !judged.contains(net)) {
        let islands = facts.copper.islands();
        let mut layers = LayerSet::EMPTY;
        for island in islands.of_net(net).iter().filter_map(|&island| islands.get(island)) {
            layers = layers.or(crate::copper::island_layers(island, facts.copper.items()));
        }
        if layers.is_empty() {
            continue; // no copper, nothing to touch
        }
        let mut verdict = verdict(facts, &[net]);
        verdict.layers = layers;
        if let Some(contact) = overlaps.get(&net) {
            overlapped(facts, contact, &mut verdict);
        }
        verdicts.push(verdict);
    }
    verdicts
}

/// A pass about one net or two nets together, to be changed.
fn verdict(facts: &Facts<'_>, nets: &[NetId]) -> Verdict {
    let mut names: Vec<String> = nets.iter().map(|&net| net_name(facts.board, net)).collect();
    names.sort();
    Verdict {
        check: "net-short",
        subject: Subject {
            kind: if names.len() > 1 { "nets" } else { "net" },
            name: names.join(", "),
            ends: Vec::new(),
        },
        outcome: Outcome::Pass,
        value: None,
        limit: None,
        message: Message::new("{net} touches no copper of another net")
            .with("net", names.first().cloned().unwrap_or_default()),
        help: None,
        place: None,
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

fn shorted(facts: &Facts<'_>, rule: &Rule, short: &Short) -> Verdict {
    let (one, other) = sorted_names(facts, short.nets);
    let mut verdict = verdict(facts, &[short.nets.0, short.nets.1]);
    let count = u64::try_from(short.contacts.len()).unwrap_or(u64::MAX);
    verdict.outcome = Outcome::Fail(rule.level);
    verdict.message = match short.through {
        Some(_) => Message::new("copper without net joins {one} and {other}"),
        None if count == 1 => Message::new("copper of {one} and {other} touches"),
        None => {
            Message::new("copper of {one} and {other} touches in {count} places").with("count", Quantity::Count(count))
        }
    }
    .with("one", one)
    .with("other", other);
    verdict.help = Some(Message::new("move one of the two, or declare a net tie if they are meant to meet"));
    let mut places = short.contacts.iter().take(RELATED).flat_map(|contact| places(facts, contact));
    verdict.place = places.next();
    verdict.related = places.collect();
    verdict.related.dedup();
    verdict.layers = verdict.place.iter().filter_map(|place| place.layer).collect();
    verdict
}

/// Both items of a contact, there.
fn places(facts: &Facts<'_>, contact: &Contact) -> Vec<Place> {
    [contact.one, contact.other].into_iter().filter_map(|item| place(facts.copper, item, contact.at)).collect()
}

fn sorted_names(facts: &Facts<'_>, nets: (NetId, NetId)) -> (String, String) {
    let (one, other) = (net_name(facts.board, nets.0), net_name(facts.board, nets.1));
    if one <= other { (one, other) } else { (other, one) }
}

fn tied(facts: &Facts<'_>, rule: &Rule, tie: &Tie) -> Verdict {
    let mut verdict = verdict(facts, &tie.nets);
    let names: Vec<NetId> = tie.nets.clone();
    let ends = (names.first().copied().unwrap_or_else(NetId::none), names.last().copied().unwrap_or_else(NetId::none));
    let (one, other) = sorted_names(facts, ends);
    let footprint = facts.board.footprints.get(tie.footprint);
    verdict.outcome = Outcome::Fail(rule.level.min(Level::Warning));
    verdict.message = Message::new("{part} joins {one} and {other} with its own copper and declares no net tie")
        .with("part", footprint.map_or("", |footprint| footprint.reference.as_str()))
        .with("one", one)
        .with("other", other);
    verdict.help = Some(Message::new("declare the net tie in the footprint, or remove the copper between its pads"));
    verdict.place = footprint.map(|footprint| Place {
        span: footprint.span,
        at: Some(footprint.at),
        layer: None,
        label: Message::new("the footprint"),
    });
    verdict
}

/// A contact of a fill with foreign copper for each net that has one.
fn overlaps(facts: &Facts<'_>) -> BTreeMap<NetId, Contact> {
    let mut found = BTreeMap::new();
    let mut contacts: Vec<Contact> = facts.copper.islands().overlaps.clone();
    contacts.sort_unstable_by_key(|contact| (contact.at, contact.one, contact.other));
    for contact in contacts {
        for item in [contact.one, contact.other].into_iter().filter_map(|item| facts.copper.items().get(item)) {
            found.entry(item.net).or_insert(contact);
        }
    }
    found
}

fn overlapped(facts: &Facts<'_>, contact: &Contact, verdict: &mut Verdict) {
    verdict.outcome =
        Outcome::Unchecked { missing: Message::new("an up-to-date fill: a fill lies on copper of another net") };
    verdict.message = Message::new("as the file stands, a fill joins {net} to other copper; the fill is outdated")
        .with("net", verdict.subject.name.as_str());
    verdict.help = Some(Message::new("fill all zones, save the board and check it again"));
    let mut places = places(facts, contact).into_iter();
    verdict.place = places.next();
    verdict.related = places.collect();
}
