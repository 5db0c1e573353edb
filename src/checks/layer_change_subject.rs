//! What the checks of layer changes share: each change of the nets that a rule looks at, once.

use super::plane_doubt::{doubtful, out_of_date};
use super::route_subject::{self, layer_name, too_many, unrouted};
use super::{Facts, Message, Outcome, Place, Sense, Subject, Verdict, judge};
use crate::board::{LayerId, NetId};
use crate::copper::ItemRef;
use crate::copper::layer_change::{Beside, LayerChange, Plane};
use crate::geometry::from_f64;
use crate::rules::{Level, Rule};
use crate::units::{Length, Quantity};
use rayon::prelude::*;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// A check of the layer changes of one net.
#[derive(Clone, Copy)]
pub(super) struct Look<'f, 'a> {
    pub check: &'static str,
    pub facts: &'f Facts<'a>,
    pub rule: &'f Rule,
    pub net: NetId,
}

/// The verdicts on all layer changes; `judge` gives none for a change that does not concern the check, and `none` is said
/// of a net without any that does.
pub(super) fn verdicts<'f, 'a: 'f>(
    check: &'static str,
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    none: &'static str,
    judge: impl Fn(&Look<'f, 'a>, &LayerChange) -> Option<Verdict> + Sync,
) -> Vec<Verdict> {
    let mut seen = BTreeSet::new();
    let mut looks: Vec<(Vec<NetId>, Look<'f, 'a>)> = Vec::new();
    for group in facts.selection(rule) {
        let pairs = group.pairs.iter().map(|pair| vec![pair.p, pair.n]);
        for own in group.nets.iter().map(|&net| vec![net]).chain(pairs) {
            for &net in own.iter().filter(|net| seen.insert(**net)) {
                looks.push((own.clone(), Look { check, facts, rule, net }));
            }
        }
    }
    looks.par_iter().flat_map_iter(|(own, look)| look.verdicts(own, none, &judge)).collect()
}

/// Failures first, the worse level and value first; one without value is the worst. Then what could not be judged.
fn badness(verdict: &Verdict) -> (u8, Option<Level>, i64) {
    let value = verdict.value.map_or(i64::MAX, |value| from_f64(value.base()));
    match verdict.outcome {
        Outcome::Fail(level) => (2, Some(level), value),
        Outcome::Unchecked { .. } => (1, None, 0),
        Outcome::Pass => (0, None, verdict.value.map_or(0, |_| value)),
    }
}

impl<'f, 'a> Look<'f, 'a> {
    fn verdicts(
        &self,
        own: &[NetId],
        none: &'static str,
        judge: &impl Fn(&Self, &LayerChange) -> Option<Verdict>,
    ) -> Vec<Verdict> {
        let (facts, net) = (self.facts, self.net);
        if let Some(missing) = unrouted(facts, net).or_else(|| too_many(facts, net)) {
            return vec![route_subject::unchecked(facts, self.check, net, missing)];
        }
        // Routes of a net share vias: of each the verdict that says most.
        let mut verdicts: BTreeMap<ItemRef, Verdict> = BTreeMap::new();
        for change in self.changes(own) {
            let Some(verdict) = self.unknown(&change).or_else(|| judge(self, &change)) else { continue };
            match verdicts.entry(change.through.item()) {
                Entry::Vacant(slot) => {
                    slot.insert(verdict);
                }
                Entry::Occupied(mut known) if badness(&verdict) > badness(known.get()) => {
                    known.insert(verdict);
                }
                Entry::Occupied(_) => {}
            }
        }
        if verdicts.is_empty() { vec![self.nothing(none)] } else { verdicts.into_values().collect() }
    }

    fn changes(&self, own: &[NetId]) -> Vec<LayerChange> {
        let routes = &self.facts.copper.routes(self.net).routes;
        let through = |route: &crate::copper::Route| route.steps.iter().any(|step| step.layer != step.to_layer);
        if !routes.iter().any(through) {
            return Vec::new();
        }
        let along = self.facts.copper.planes_along(own);
        let references = own.iter().position(|net| *net == self.net).and_then(|at| along.get(at));
        let both = routes.iter().zip(references.into_iter().flatten());
        both.flat_map(|(route, references)| self.facts.copper.layer_changes(route, references, own)).collect()
    }

    /// A verdict if the planes before and after can't be told.
    fn unknown(&self, change: &LayerChange) -> Option<Verdict> {
        let facts = self.facts;
        let side = |beside: &Beside| {
            if !beside.planes.is_empty() {
                return None;
            }
            Some(beside.doubt.map_or_else(
                || {
                    Message::new("no plane accompanies {net} on {layer}, so its return current has no known way")
                        .with("net", self.name())
                        .with("layer", layer_name(facts, beside.layer))
                },
                |doubt| doubtful(facts, self.name(), doubt),
            ))
        };
        let planes: Vec<(LayerId, NetId)> =
            change.before.planes.iter().chain(&change.after.planes).map(|plane| (plane.layer, plane.net)).collect();
        let missing = side(&change.before)
            .or_else(|| side(&change.after))
            .or_else(|| out_of_date(facts, self.name(), &planes))?;
        Some(self.verdict(change, Outcome::Unchecked { missing: missing.clone() }, missing))
    }

    /// The net's name.
    pub fn name(&self) -> &'f str {
        self.facts.board.nets.name(self.net)
    }

    /// A verdict on a layer change, without value.
    pub fn verdict(&self, change: &LayerChange, outcome: Outcome, message: Message) -> Verdict {
        Verdict {
            check: self.check,
            subject: Subject { kind: "via", name: self.name().to_owned(), ends: Vec::new() },
            outcome,
            value: None,
            limit: None,
            message,
            help: None,
            place: Some(Place {
                span: change.through.item().span(self.facts.board),
                at: Some(change.at),
                layer: Some(change.before.layer.min(change.after.layer)),
                label: Message::new("from {one} to {other}")
                    .with("one", layer_name(self.facts, change.before.layer))
                    .with("other", layer_name(self.facts, change.after.layer)),
            }),
            related: Vec::new(),
            layers: change.layers(),
        }
    }

    /// A message with the names of a change's nearest planes: `{net}`, `{one}` on `{one_layer}`, `{other}` on
    /// `{other_layer}`.
    pub fn between(&self, template: &'static str, (one, other): (Plane, Plane)) -> Message {
        let net = |plane: Plane| self.facts.board.nets.name(plane.net);
        Message::new(template)
            .with("net", self.name())
            .with("one", net(one))
            .with("one_layer", layer_name(self.facts, one.layer))
            .with("other", net(other))
            .with("other_layer", layer_name(self.facts, other.layer))
    }

    fn nothing(&self, none: &'static str) -> Verdict {
        let (outcome, _) = judge(self.rule, Quantity::Length(Length::ZERO), Sense::AtMost);
        Verdict {
            check: self.check,
            subject: route_subject::net_subject(self.facts, self.net, &[]),
            outcome,
            value: None,
            limit: None,
            message: Message::new(none).with("net", self.name()),
            help: None,
            place: None,
            related: Vec::new(),
            layers: self.facts.board.layers.all(),
        }
    }
}
