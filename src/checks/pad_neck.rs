//! `pad-neck`: how far a route stays narrow behind its pads.

use super::route_subject::{layers, net_subject, nets, pad_place, through_area, too_many, unchecked, unrouted};
use super::{Facts, Message, Outcome, Place, Sense, Verdict, judge};
use crate::board::{LayerSet, NetId, PadId};
use crate::copper::{Entry, ItemRef, Neck, Route, pad_name};
use crate::rules::{Level, Rule};
use crate::units::{Dimension, Length, Quantity};
use std::collections::BTreeMap;

crate::declare_check! {
    /// # What is measured
    /// For every pad of a net, how far the route that leaves it stays narrower than its main width. The main width is
    /// the width with the greatest length: on the layer, if at least a quarter of the route's tracks run there, else on
    /// the whole route. A track counts as narrow below 90 % of it: fabs make
    /// widths to ±10 % at best. The neck is the length of narrow track from the pad's
    /// outline to the first track of main width; vias on the way do not end it. It is counted for each end by itself,
    /// never added to the neck of the other end. Where a teardrop makes the copper at least as wide as the main width,
    /// the track inside it is not narrow. The step from pad to track width is shown and not judged.
    ///
    /// # Why it matters
    /// A narrow track has a higher impedance than the rest of the line. A short neck between the lands of a ball field
    /// can't be avoided and does little; one that goes on far outside is a reflection of its own.
    ///
    /// # How to read a finding
    /// The finding names the pad, the length of the neck, its least width and the main width. With more than one route
    /// from a pad the longest neck counts.
    ///
    /// # How to correct it
    /// Widen the track as soon as it has left the field of lands.
    ///
    /// # Sources
    /// Breakout of at most 42 ps, about 6.5 mm, at each end: module design guide DG-09502-001 v2.1 p. 24, stated for 5
    /// GT/s. At most 12.5 mm in general: DG-10931-001. The warning at 2.5 mm: common practice, no source. A fillet where
    /// the land is limited by the drill is welcome: IPC-6012 class 2, as quoted in a fabricator's article.
    pub PadNeck {
        name: "pad-neck",
        summary: "narrow track behind a pad",
        limit: &[Dimension::Length],
        level: Level::Warning,
        groups: true,
        parameters: &[],
    }
    run = run;
}

const NAME: &str = "pad-neck";

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    nets(facts, rule).into_iter().flat_map(|net| net_verdicts(facts, rule, net)).collect()
}

/// What was found at one pad.
#[derive(Default)]
struct Found {
    neck: Option<Neck>,
    entry: Option<Entry>,
    layers: LayerSet,
    /// A route from here runs through copper that has no width of its own.
    area: Option<Place>,
}

fn net_verdicts(facts: &Facts<'_>, rule: &Rule, net: NetId) -> Vec<Verdict> {
    let mut found: BTreeMap<PadId, Found> = BTreeMap::new();
    for route in &facts.copper.routes(net).routes {
        look(facts, route, &mut found);
    }
    let mut verdicts: Vec<Verdict> = facts
        .copper
        .routes(net)
        .pads
        .iter()
        .filter_map(|pad| found.remove(pad).map(|found| verdict(facts, rule, net, *pad, found)))
        .collect();
    if let Some(missing) = unrouted(facts, net) {
        verdicts.push(unchecked(facts, NAME, net, missing));
    } else if verdicts.is_empty() {
        verdicts.extend(too_many(facts, net).map(|missing| unchecked(facts, NAME, net, missing)));
    }
    verdicts
}

fn look(facts: &Facts<'_>, route: &Route, found: &mut BTreeMap<PadId, Found>) {
    let necks = facts.copper.necks(route);
    let area = through_area(route).map(|step| Place {
        span: step.kind.item().span(facts.board),
        at: Some(step.path.start()),
        layer: Some(step.layer),
        label: Message::new("the way leads through this copper"),
    });
    for (pad, neck, entry) in
        [(route.from, &necks.ends[0], &necks.entries[0]), (route.to, &necks.ends[1], &necks.entries[1])]
    {
        let at = found.entry(pad).or_default();
        at.layers = at.layers.or(layers(route));
        at.area = at.area.take().or_else(|| area.clone());
        let longer = |neck: &Neck| at.neck.as_ref().is_none_or(|known| known.length < neck.length);
        if let Some(neck) = neck.as_ref().filter(|neck| longer(neck)) {
            at.neck = Some(neck.clone());
            at.entry = entry.clone();
        } else if at.entry.is_none() {
            at.entry = entry.clone();
        }
    }
}

fn verdict(facts: &Facts<'_>, rule: &Rule, net: NetId, pad: PadId, found: Found) -> Verdict {
    let length = found.neck.as_ref().map_or(Length::ZERO, |neck| neck.length);
    let (mut outcome, limit) = judge(rule, Quantity::Length(length), Sense::AtMost);
    if let (Outcome::Pass, Some(_)) = (&outcome, &found.area) {
        outcome = Outcome::Unchecked {
            missing: Message::new(
                "the way from {pad} leads through filled or graphic copper, whose width is not measured",
            )
            .with("pad", pad_name(facts.board, pad)),
        };
    }
    let failed = matches!(outcome, Outcome::Fail(_));
    let measured = !matches!(outcome, Outcome::Unchecked { .. });
    let place = match &found.neck {
        Some(neck) => Place {
            span: ItemRef::Track(neck.track).span(facts.board),
            at: Some(neck.at),
            layer: Some(neck.layer),
            label: Message::new("{width} wide").with("width", neck.width),
        },
        None => pad_place(facts, pad, Message::new("main width from here on")),
    };
    let mut related: Vec<Place> = found.area.into_iter().collect();
    if found.neck.is_some() {
        related.push(pad_place(facts, pad, Message::new("the neck starts at this pad")));
    }
    Verdict {
        check: NAME,
        subject: net_subject(facts, net, &[pad]),
        outcome,
        value: measured.then_some(Quantity::Length(length)),
        limit: limit.filter(|_| measured),
        message: sentence(facts, pad, found.neck.as_ref(), found.entry.as_ref()),
        help: failed
            .then(|| Message::new("widen the track to its main width as soon as it has left the field of lands")),
        place: Some(place),
        related,
        layers: found.layers,
    }
}

fn sentence(facts: &Facts<'_>, pad: PadId, neck: Option<&Neck>, entry: Option<&Entry>) -> Message {
    let name = pad_name(facts.board, pad);
    let message = match (neck, entry) {
        (None, None) => Message::new("{pad} has no track narrower than the main width"),
        (None, Some(_)) => {
            Message::new("the way from {pad} ({pad_width} wide) keeps its main width; the track at the pad is {track}")
        }
        (Some(_), None) => Message::new("the way from {pad} narrows to {width} before it is {main} wide"),
        (Some(_), Some(entry)) if entry.teardrop => Message::new(
            "the way from {pad} ({pad_width} wide, with a teardrop) narrows to {width} before it is {main} wide",
        ),
        (Some(_), Some(_)) => {
            Message::new("the way from {pad} ({pad_width} wide) narrows to {width} before it is {main} wide")
        }
    };
    let mut message = message.with("pad", name);
    if let Some(neck) = neck {
        message = message.with("width", neck.width).with("main", neck.main);
    }
    if let Some(entry) = entry {
        message = message.with("pad_width", entry.width).with("track", entry.track);
    }
    message
}
