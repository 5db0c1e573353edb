//! What the checks of pairs share: each selected pair once, with its legs; the verdict on the legs that fare worst.

use super::pair_routes::PairRoute;
use super::route_subject::{ends, layers, pad_place, place_at, through_area, unrouted};
use super::{Facts, Message, Outcome, Pair, Place, Selection, Subject, Verdict};
use crate::board::LayerSet;
use crate::copper::Route;
use crate::copper::pair::Legs;
use crate::rules::{Level, Rule, Setting};
use crate::units::{Length, Quantity};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// The pairs of all groups that a rule names, each once, with the group that names it first.
pub(super) fn pairs<'f>(facts: &'f Facts<'_>, rule: &Rule) -> Vec<(&'f Selection, &'f Pair)> {
    let mut seen = BTreeSet::new();
    let all = facts.selection(rule).into_iter().flat_map(|group| group.pairs.iter().map(move |pair| (group, pair)));
    all.filter(|(_, pair)| seen.insert((pair.p, pair.n))).collect()
}

/// A check of one pair.
#[derive(Clone, Copy)]
pub(super) struct Look<'f, 'a> {
    pub check: &'static str,
    pub facts: &'f Facts<'a>,
    pub rule: &'f Rule,
    pub group: &'f Selection,
    pub pair: &'f Pair,
}

/// One verdict per pair: the one on the legs that fare worst. `judge` sees legs with a centre line all the way.
pub(super) fn verdicts<'f, 'a: 'f>(
    check: &'static str,
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    judge: impl Fn(&Look<'f, 'a>, &PairRoute) -> Verdict + Sync,
) -> Vec<Verdict> {
    let looks: Vec<_> =
        pairs(facts, rule).into_iter().map(|(group, pair)| Look { check, facts, rule, group, pair }).collect();
    looks.par_iter().map(|look| look.worst(&judge)).collect()
}

impl<'f, 'a> Look<'f, 'a> {
    fn worst(&self, judge: &impl Fn(&Self, &PairRoute) -> Verdict) -> Verdict {
        let pair = self.pair;
        if let Some(missing) = unrouted(self.facts, pair.p).or_else(|| unrouted(self.facts, pair.n)) {
            return self.unchecked(None, missing);
        }
        let routes = self.facts.pair_routes(pair);
        let verdicts = routes.iter().map(|route| match self.area(&route.legs) {
            Some(missing) => self.unchecked(Some(&route.legs), missing),
            None => judge(self, route),
        });
        verdicts.reduce(worse).unwrap_or_else(|| {
            let missing = Message::new("the legs of {pair} share no two parts that both run between")
                .with("pair", pair.name.as_str());
            self.unchecked(None, missing)
        })
    }

    fn area(&self, legs: &Legs) -> Option<Message> {
        let step = through_area(&legs.p).or_else(|| through_area(&legs.n))?;
        Some(
            Message::new("a leg of {pair} runs through copper without a centre line on {layer}")
                .with("pair", self.pair.name.as_str())
                .with("layer", self.facts.board.layers.name(step.layer)),
        )
    }

    /// The pair as a subject, with the pads at the ends of its legs.
    pub fn subject(&self, legs: Option<&Legs>) -> Subject {
        let pads = legs.map(|legs| vec![legs.p.from, legs.p.to, legs.n.from, legs.n.to]).unwrap_or_default();
        Subject { kind: "pair", name: self.pair.name.clone(), ends: ends(self.facts, &pads) }
    }

    /// A verdict that the pair can't be judged.
    pub fn unchecked(&self, legs: Option<&Legs>, missing: Message) -> Verdict {
        let first =
            legs.map(|legs| legs.p.from).or_else(|| self.facts.copper.routes(self.pair.p).pads.first().copied());
        Verdict {
            check: self.check,
            subject: self.subject(legs),
            message: missing.clone(),
            outcome: Outcome::Unchecked { missing },
            value: None,
            limit: None,
            help: None,
            place: first.map(|pad| pad_place(self.facts, pad, Message::new("one end of leg P"))),
            related: Vec::new(),
            layers: LayerSet::EMPTY,
        }
    }

    /// A verdict on legs, without value and places.
    pub fn verdict(&self, legs: &Legs, outcome: Outcome, message: Message) -> Verdict {
        Verdict {
            check: self.check,
            subject: self.subject(Some(legs)),
            outcome,
            value: None,
            limit: None,
            message,
            help: None,
            place: Some(pad_place(self.facts, legs.p.from, Message::new("one end of leg P"))),
            related: Vec::new(),
            layers: layers(&legs.p).or(layers(&legs.n)),
        }
    }

    /// A place on a route.
    pub fn place(&self, route: &Route, position: Length, label: Message) -> Place {
        place_at(self.facts, route, position, label)
    }

    /// A setting that is a length.
    pub fn length(&self, key: &str, default: Length) -> Length {
        length_of(self.rule, key, default)
    }

    /// A setting that is a quantity.
    pub fn setting(&self, key: &str) -> Option<Quantity> {
        match self.rule.settings.get(key).map(|at| &at.value) {
            Some(Setting::Quantity(quantity)) => Some(*quantity),
            _ => None,
        }
    }
}

/// A rule's setting that is a length.
pub(super) fn length_of(rule: &Rule, key: &str, default: Length) -> Length {
    match rule.settings.get(key).map(|at| &at.value) {
        Some(Setting::Quantity(Quantity::Length(length))) => *length,
        _ => default,
    }
}

/// The verdict that says more of two on one subject; the first of equals.
pub(super) fn worse(one: Verdict, other: Verdict) -> Verdict {
    let (first, second) = (badness(&one), badness(&other));
    let order = second.0.cmp(&first.0).then(second.1.cmp(&first.1)).then(second.2.total_cmp(&first.2));
    if order == Ordering::Greater { other } else { one }
}

/// Failures first, the worse level and value first; then what could not be judged; then passes by value.
fn badness(verdict: &Verdict) -> (u8, Option<Level>, f64) {
    let value = verdict.value.map_or(0.0, |value| value.base().abs());
    match verdict.outcome {
        Outcome::Fail(level) => (2, Some(level), value),
        Outcome::Unchecked { .. } => (1, None, value),
        Outcome::Pass => (0, None, value),
    }
}
