//! What the checks on routes share: which nets a rule looks at, why a net has no route, and places along one.

use super::{Facts, Message, Outcome, Place, Selection, Subject, Verdict};
use crate::board::{LayerId, LayerSet, NetId, PadId};
use crate::copper::{Route, Step, StepKind, pad_name};
use crate::geometry::Point;
use crate::rules::Rule;
use crate::source::Span;
use crate::units::{Length, Quantity};
use std::collections::BTreeSet;

/// The nets of all groups that a rule names, each once: a group's nets, then the legs of its pairs.
pub(super) fn nets(facts: &Facts<'_>, rule: &Rule) -> Vec<NetId> {
    let mut seen = BTreeSet::new();
    let groups = facts.selection(rule).into_iter();
    groups.flat_map(Selection::all_nets).filter(|&net| seen.insert(net)).collect()
}

/// Why nothing can be said of a net's routes; `None` if all of its pads are joined.
pub(super) fn unrouted(facts: &Facts<'_>, net: NetId) -> Option<Message> {
    let routes = facts.copper.routes(net);
    let name = || facts.board.nets.name(net);
    match routes.pads.as_slice() {
        [] => Some(Message::new("{net} has no pad, so no route").with("net", name())),
        [only] => Some(
            Message::new("{net} has only one pad, {pad}, so no route")
                .with("net", name())
                .with("pad", pad_name(facts.board, *only)),
        ),
        [first, ..] => routes.open.first().map(|open| {
            Message::new("no copper of {net} joins {one} to {other}")
                .with("net", name())
                .with("one", pad_name(facts.board, *first))
                .with("other", pad_name(facts.board, *open))
        }),
    }
}

/// Why not every way of a net can be looked at: it has more pads than routes are worked out for.
pub(super) fn too_many(facts: &Facts<'_>, net: NetId) -> Option<Message> {
    let routes = facts.copper.routes(net);
    routes.routes.is_empty().then(|| {
        Message::new("{net} has {count} pads: too many to look at every route")
            .with("net", facts.board.nets.name(net))
            .with("count", Quantity::Count(routes.pads.len().try_into().unwrap_or(u64::MAX)))
    })
}

/// A verdict on a net that can't be judged.
pub(super) fn unchecked(facts: &Facts<'_>, check: &'static str, net: NetId, missing: Message) -> Verdict {
    let first = facts.copper.routes(net).pads.first();
    Verdict {
        check,
        subject: net_subject(facts, net, &[]),
        message: missing.clone(),
        outcome: Outcome::Unchecked { missing },
        value: None,
        limit: None,
        help: None,
        place: first.map(|&pad| pad_place(facts, pad, Message::new("its first pad"))),
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

/// A net as a subject, with the names of the pads in question.
pub(super) fn net_subject(facts: &Facts<'_>, net: NetId, pads: &[PadId]) -> Subject {
    Subject { kind: "net", name: facts.board.nets.name(net).to_owned(), ends: ends(facts, pads) }
}

/// Names of pads, sorted.
pub(super) fn ends(facts: &Facts<'_>, pads: &[PadId]) -> Vec<String> {
    let mut ends: Vec<String> = pads.iter().map(|&pad| pad_name(facts.board, pad)).collect();
    ends.sort();
    ends
}

/// The place of a pad.
pub(super) fn pad_place(facts: &Facts<'_>, pad: PadId, label: Message) -> Place {
    let drawn = facts.board.pads.get(pad);
    Place {
        span: drawn.map_or(Span::default(), |pad| pad.span),
        at: drawn.map(|pad| pad.at),
        layer: drawn.and_then(|pad| pad.layers.iter().next()),
        label,
    }
}

/// The layers a route runs on, those its barrels pass included.
pub(super) fn layers(route: &Route) -> LayerSet {
    route.steps.iter().fold(LayerSet::EMPTY, |set, step| set.or(LayerSet::span(step.layer, step.to_layer)))
}

/// Whether part of a route runs through copper without a centre line, where it has no length or width of its own.
pub(super) fn through_area(route: &Route) -> Option<&Step> {
    route.steps.iter().find(|step| matches!(step.kind, StepKind::Fill(_) | StepKind::Graphic(_)))
}

/// A layer's name as people know it.
pub(super) fn layer_name<'a>(facts: &Facts<'a>, layer: LayerId) -> &'a str {
    facts.board.layers.name(layer)
}

/// The step of a route at a position, barrels left out.
pub(super) fn step_at(route: &Route, position: Length) -> Option<&Step> {
    let at = route.steps.iter().rfind(|step| step.start.to_nm() <= position.to_nm() && step.length.to_nm() > 0.0);
    at.or(route.steps.first())
}

/// The head token of the copper at a position of a route.
pub(super) fn span_at(facts: &Facts<'_>, route: &Route, position: Length) -> Span {
    step_at(route, position).map_or(Span::default(), |step| step.kind.item().span(facts.board))
}

/// The point of a route at a position.
pub(super) fn point_at(route: &Route, position: Length) -> Point {
    step_at(route, position).map_or_else(Point::default, |step| {
        step.path.point_at((position - step.start).to_nm().clamp(0.0, step.length.to_nm())).to_point()
    })
}

/// The place of a position of a route.
pub(super) fn place_at(facts: &Facts<'_>, route: &Route, position: Length, label: Message) -> Place {
    let layer = step_at(route, position).map(|step| step.layer);
    Place { span: span_at(facts, route, position), at: Some(point_at(route, position)), layer, label }
}
