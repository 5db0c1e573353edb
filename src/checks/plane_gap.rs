//! `plane-gap`: stretches of a route without the plane that should accompany it.

use super::plane_doubt::{doubtful, out_of_date};
use super::route_subject::{ends, layers, pad_place, span_at, unrouted};
use super::{Facts, Message, Outcome, Place, Sense, Subject, Verdict, judge};
use crate::board::{LayerId, LayerSet, NetId, PadId};
use crate::copper::pair::walked;
use crate::copper::reference::{LayerReference, Uncovered};
use crate::copper::{Copper, PlaneDoubt, Route};
use crate::rules::{Level, Parameter, ParameterKind, Rule, Setting};
use crate::units::{Dimension, Length, Quantity};
use rayon::prelude::*;
use std::collections::BTreeSet;

crate::declare_check! {
    /// # What is measured
    /// For every route of a net, and for both legs of a pair, the stretches over (or under) which the plane is missing.
    /// A plane is poured copper of a net that the route does not belong to, as it is filled in the file: not the zone's
    /// outline, not a layer's name. Tracks, teardrops and unconnected islands are no planes.
    ///
    /// On each side of the route the plane is the nearest layer whose poured copper accompanies the route: at least half
    /// of the length on that layer, or any part of it if the layer is poured over a third of the board. Of two sides the
    /// nearer plane counts, and the other too unless it is more than twice as far away (then under a third of the
    /// return current is there). Without a stackup layers count as equally far apart. With `reference` stated only planes
    /// of those nets count.
    ///
    /// The corridor is the track's own width, widened by `margin` on each side (0 if not stated). The value of a stretch
    /// is its uncovered area divided by the corridor's width: for a gap right across the track that is its length along
    /// the route; a track that a round opening merely grazes has less. The longest stretch of the pair or net counts.
    ///
    /// Not counted: antipads of the route's own vias and pins (of both legs, and the strip between antipads that have
    /// merged), up to the plane's clearance or 0.4 mm beyond the pad; openings within 0.15 mm of its own pads; thermal
    /// reliefs; and the first and last `breakout` of each route (1.27 mm if not stated).
    ///
    /// # Why it matters
    /// The return current of a fast signal flows in the plane right under it. Where the plane is missing it must go
    /// around: the impedance rises, the legs of all signals that cross couple to each other, and the board radiates.
    ///
    /// # How to read a finding
    /// The finding names the gap's length, the layer on which the plane is missing and, if the plane's net is another one
    /// behind the gap, both nets: a track that passes from one plane to another fails whatever the length of the gap.
    /// A track that the plane's edge runs under is told with the length over the edge and what that counts as. Further
    /// gaps of the same pair or net are related places. `unchecked` means that a zone there is not filled, that its fill
    /// is out of date, that the plane is a mesh, or that the net has no route.
    ///
    /// # How to correct it
    /// Move the track or close the gap. Where a gap must stay, stitch around its ends, with capacitors if the nets differ.
    /// An opening on purpose (under a capacitor, a connector) is best waived with its reason.
    ///
    /// # Sources
    /// No crossing of gaps: application note SLAAE45 (2021). At most 50 mil without reference inside a breakout: a public
    /// layout note on serial interconnect (document 259816540). 0.15 mm around the fingers of an edge connector, no
    /// routing over antipads: module design guides DG-10931-001 and DG-09502-001. Share of the return current by height:
    /// textbook (image currents). Half the length, a third of the board, 0.4 mm: common practice, no source.
    pub PlaneGap {
        name: "plane-gap",
        summary: "stretches of a route without the plane that should accompany it",
        limit: &[Dimension::Length],
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "margin",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "how far the plane must reach beyond the track on each side; 0 if not stated",
            },
            Parameter {
                key: "reference",
                kind: ParameterKind::Nets,
                about: "nets whose planes count, such as ground; any net if not stated",
            },
            Parameter {
                key: "breakout",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length at each end of a route that may lack its plane; 1.27 mm if not stated",
            },
        ],
    }
    run = run;
}

const NAME: &str = "plane-gap";
/// 50 mil, from the layout note named above.
const BREAKOUT: Length = Length::mm(1.27);
/// Related places that a finding lists.
const LISTED: usize = 8;
/// A stretch that takes less of the corridor than this lies over the plane's edge rather than over a gap.
const MOSTLY: f64 = 0.6;
/// What is said of a stretch: where it is the only one, and where it is the worst of several.
const CHANGES: [&str; 2] = [
    "{net} passes from {before} to {after} across a gap of {value} in {plane}",
    "{net} passes from {before} to {after} across a gap of {value} in {plane}, the worst of {count} places",
];
const BARE: [&str; 2] = [
    "{net} has no plane on {plane} for {value}",
    "{net} has no plane on {plane} for {value}, the worst of {count} places",
];
const EDGE: [&str; 2] = [
    "{net} runs over the edge of {plane} for {extent}, which counts as {value} without it",
    "{net} runs over the edge of {plane} for {extent}, which counts as {value} without it, the worst of {count} places",
];

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let mut seen = BTreeSet::new();
    let mut looks = Vec::new();
    for group in facts.selection(rule) {
        for pair in &group.pairs {
            if seen.insert((pair.p, Some(pair.n))) {
                looks.push(Look { facts, rule, name: &pair.name, kind: "pair", own: vec![pair.p, pair.n] });
            }
        }
        for &net in &group.nets {
            if seen.insert((net, None)) {
                looks.push(Look { facts, rule, name: facts.board.nets.name(net), kind: "net", own: vec![net] });
            }
        }
    }
    looks.par_iter().map(Look::verdict).collect()
}

/// A pair or a net being looked at.
struct Look<'f, 'a> {
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    name: &'f str,
    kind: &'static str,
    own: Vec<NetId>,
}

/// One stretch that counts.
struct Gap {
    net: NetId,
    ends: [PadId; 2],
    /// What is left of it outside the breakouts, as a full gap of this length.
    value: Length,
    place: Place,
    what: What,
    doubt: Option<PlaneDoubt>,
}

enum What {
    Uncovered(Box<Uncovered>),
    NoPlane(LayerId),
}

impl Gap {
    fn changes_net(&self) -> bool {
        matches!(&self.what, What::Uncovered(found) if found.changes_net())
    }
}

impl Look<'_, '_> {
    fn setting(&self, key: &str, default: Length) -> Length {
        match self.rule.settings.get(key).map(|at| &at.value) {
            Some(Setting::Quantity(Quantity::Length(length))) => *length,
            _ => default,
        }
    }

    fn verdict(&self) -> Verdict {
        if let Some(missing) = self.own.iter().find_map(|&net| unrouted(self.facts, net)) {
            return self.unchecked(missing);
        }
        let margin = self.setting("margin", Length::ZERO);
        let only = match self.rule.settings.get("reference").map(|at| &at.value) {
            Some(Setting::Nets(patterns)) => {
                Some(self.facts.nets_matching(patterns.iter().map(|pattern| &pattern.value)))
            }
            _ => None,
        };
        let search = self.facts.copper.plane_search(&self.own, only.as_deref(), margin);
        // Other checks ask for the planes of the tracks' own width too.
        let shared = (only.is_none() && margin == Length::ZERO).then(|| self.facts.copper.planes_along(&self.own));
        let mut gaps: Vec<Gap> = Vec::new();
        let mut on = LayerSet::EMPTY;
        let mut planes: Vec<(LayerId, NetId)> = Vec::new();
        for (at, &net) in self.own.iter().enumerate() {
            for (number, route) in self.facts.copper.routes(net).routes.iter().enumerate() {
                let known = shared.as_ref().and_then(|shared| shared.get(at)?.get(number)).cloned();
                let references = known.unwrap_or_else(|| search.of(route));
                on = on.or(layers(route)).or(Copper::plane_layers(&references));
                for reference in &references {
                    // A nearer plane that is only missing from the file must not be passed over.
                    if let Some(doubt) = reference.doubt {
                        return self.unchecked(doubtful(self.facts, self.name, doubt));
                    }
                    gaps.extend(self.gaps(route, reference));
                    for side in reference.near_sides() {
                        planes.extend(side.nets.iter().map(|(net, _)| (side.plane, *net)));
                    }
                }
            }
        }
        if let Some(missing) = out_of_date(self.facts, self.name, &planes) {
            return self.unchecked(missing);
        }
        // Worst first: a change of nets, then by length in nanometres, then by place on the board: where both legs cross
        // one slot, neither noise nor the order of the file's items may say which is told. Routes of a net share
        // stretches, which count once.
        let length = |gap: &Gap| gap.value.to_nm().round();
        gaps.sort_by(|a, b| {
            b.changes_net()
                .cmp(&a.changes_net())
                .then(length(b).total_cmp(&length(a)))
                .then((a.place.at, a.place.layer, a.place.span).cmp(&(b.place.at, b.place.layer, b.place.span)))
        });
        let mut known = BTreeSet::new();
        gaps.retain(|gap| known.insert((gap.place.at, gap.place.layer)));
        let Some(worst) = gaps.first() else { return self.pass(on) };
        let (outcome, limit) = self.judged(worst);
        if let (Outcome::Fail(_), Some(doubt)) = (&outcome, gaps.iter().find_map(|gap| gap.doubt)) {
            return self.unchecked(doubtful(self.facts, self.name, doubt));
        }
        let failed = matches!(outcome, Outcome::Fail(_));
        let fails = |gap: &&Gap| matches!(self.judged(gap).0, Outcome::Fail(_));
        let others = gaps.iter().skip(1).filter(fails).take(LISTED);
        Verdict {
            check: NAME,
            subject: self.subject(&worst.ends),
            value: Some(Quantity::Length(worst.value)),
            limit,
            message: self.sentence(worst, gaps.iter().filter(fails).count()),
            help: failed.then(|| self.help(worst)),
            place: Some(worst.place.clone()),
            related: if failed { others.map(|gap| gap.place.clone()).collect() } else { Vec::new() },
            layers: on,
            outcome,
        }
    }

    /// A change of the plane's net fails whatever the length.
    fn judged(&self, gap: &Gap) -> (Outcome, Option<crate::rules::At<Quantity>>) {
        let (outcome, limit) = judge(self.rule, Quantity::Length(gap.value), Sense::AtMost);
        match outcome {
            Outcome::Unchecked { .. } => (outcome, limit),
            Outcome::Fail(level) if level == self.rule.level => (outcome, limit),
            // Within the limit there is no limit to name: it fails by its kind.
            _ if gap.changes_net() => (Outcome::Fail(self.rule.level), None),
            _ => (outcome, limit),
        }
    }

    /// Stretches of a route's part on one layer, the breakouts taken off.
    fn gaps(&self, route: &Route, reference: &LayerReference) -> Vec<Gap> {
        let breakout = self.setting("breakout", BREAKOUT);
        let (first, last) = (breakout, walked(route) - breakout);
        let inside = |from: Length, to: Length| {
            let (from, to) = (from.to_nm().max(first.to_nm()), to.to_nm().min(last.to_nm()));
            Length::nm((to - from).max(0.0))
        };
        let gap =
            |value, place, what, doubt| Gap { net: route.net, ends: [route.from, route.to], value, place, what, doubt };
        if reference.above.is_none() && reference.below.is_none() {
            let steps =
                route.steps.iter().filter(|step| step.layer == reference.layer && step.to_layer == reference.layer);
            let value = steps.map(|step| inside(step.start, step.start + step.length)).sum::<Length>();
            if value.to_nm() <= 0.0 {
                return Vec::new();
            }
            let place = Place {
                span: route
                    .steps
                    .get(reference.step)
                    .map_or_else(Default::default, |step| step.kind.item().span(self.facts.board)),
                at: Some(reference.at),
                layer: Some(reference.layer),
                label: Message::new("no plane on any layer above or below"),
            };
            return vec![gap(value, place, What::NoPlane(reference.layer), None)];
        }
        let mut gaps = Vec::new();
        for side in reference.near_sides() {
            for found in &side.uncovered {
                let value = inside(found.from, found.to) * found.lost;
                if value.to_nm() <= 0.0 {
                    continue;
                }
                let extent = value / found.lost;
                let label = if found.lost < MOSTLY {
                    Message::new("{net} runs over the edge of {plane} here, for {value}").with("value", extent)
                } else {
                    Message::new("{net} has no plane on {plane} here, for {value}").with("value", value)
                };
                let label =
                    label.with("net", self.facts.board.nets.name(route.net)).with("plane", self.layer(found.plane));
                let place = Place {
                    span: span_at(self.facts, route, found.from),
                    at: Some(found.at),
                    layer: Some(found.layer),
                    label,
                };
                gaps.push(gap(value, place, What::Uncovered(Box::new(found.clone())), side.doubt));
            }
        }
        gaps
    }

    fn layer(&self, layer: LayerId) -> &str {
        self.facts.board.layers.name(layer)
    }

    fn subject(&self, pads: &[PadId]) -> Subject {
        Subject { kind: self.kind, name: self.name.to_owned(), ends: ends(self.facts, pads) }
    }

    fn sentence(&self, gap: &Gap, count: usize) -> Message {
        let net = |net: Option<NetId>| net.map_or("", |net| self.facts.board.nets.name(net)).to_owned();
        let message = match &gap.what {
            What::NoPlane(layer) => Message::new("no plane lies above or below {net} for {value} on {layer}")
                .with("layer", self.layer(*layer)),
            What::Uncovered(found) => {
                let [alone, among] = if found.changes_net() {
                    CHANGES
                } else if found.lost < MOSTLY {
                    EDGE
                } else {
                    BARE
                };
                Message::new(if count > 1 { among } else { alone })
                    .with("extent", gap.value / found.lost)
                    .with("before", net(found.between[0]))
                    .with("after", net(found.between[1]))
                    .with("plane", self.layer(found.plane))
                    .with("count", Quantity::Count(u64::try_from(count).unwrap_or(u64::MAX)))
            }
        };
        message.with("net", net(Some(gap.net))).with("value", gap.value)
    }

    fn help(&self, gap: &Gap) -> Message {
        match &gap.what {
            What::NoPlane(_) => Message::new("give the route a plane on a neighbouring layer"),
            What::Uncovered(found) => match found.instead {
                Some((layer, net)) => {
                    Message::new("close the gap or move the track; the nearest plane there is {net} on {layer}")
                        .with("net", self.facts.board.nets.name(net))
                        .with("layer", self.layer(layer))
                }
                None => Message::new("close the gap or move the track; no other plane is there on that side"),
            },
        }
    }

    fn pass(&self, on: LayerSet) -> Verdict {
        let (outcome, limit) = judge(self.rule, Quantity::Length(Length::ZERO), Sense::AtMost);
        let pads: Vec<PadId> =
            self.own.iter().flat_map(|&net| self.facts.copper.routes(net).pads.first()).copied().collect();
        Verdict {
            check: NAME,
            subject: self.subject(&[]),
            outcome,
            value: Some(Quantity::Length(Length::ZERO)),
            limit,
            message: Message::new("planes accompany {name} all the way").with("name", self.name),
            help: None,
            place: pads.first().map(|&pad| pad_place(self.facts, pad, Message::new("its first pad"))),
            related: Vec::new(),
            layers: on,
        }
    }

    fn unchecked(&self, missing: Message) -> Verdict {
        let pads = self.own.iter().flat_map(|&net| self.facts.copper.routes(net).pads.first());
        Verdict {
            check: NAME,
            subject: self.subject(&[]),
            message: missing.clone(),
            outcome: Outcome::Unchecked { missing },
            value: None,
            limit: None,
            help: None,
            place: pads.copied().next().map(|pad| pad_place(self.facts, pad, Message::new("its first pad"))),
            related: Vec::new(),
            layers: LayerSet::EMPTY,
        }
    }
}
