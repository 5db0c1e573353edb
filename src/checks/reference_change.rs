//! `reference-change`: a signal that passes from the plane of one net to that of another, and what joins the two there.

use super::layer_change_subject::{Look, verdicts};
use super::{Facts, Message, Outcome, Place, Sense, Verdict, judge};
use crate::copper::layer_change::LayerChange;
use crate::copper::return_path::Link;
use crate::rules::{Level, Rule};
use crate::units::{Dimension, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For every via and plated hole through which a route goes on to another layer: the nets of the planes that accompany it
    /// before and after, as `plane-gap` finds them. If no plane before has the net of one after, the distance from the via to
    /// the nearest capacitor between two such nets counts: to the middle between the capacitor's pads. A capacitor is a part
    /// that is fitted, with two pads and a reference that begins with `C` and a number.
    ///
    /// A route that keeps its plane, or whose planes are of one net, passes here; how near a via joins two planes of one net
    /// is judged by `return-via`.
    ///
    /// # Why it matters
    /// A via can carry the return current between planes of one net, but nothing does between two nets except a capacitor or
    /// the planes' own capacitance. Until the current gets there it spreads between the planes, adds inductance, and puts
    /// the signal's edge onto the supply.
    ///
    /// # How to read a finding
    /// The finding stands at the signal's via and names both planes; the nearest capacitor between their nets, if there is
    /// one, is a related place. `unchecked` means that no plane accompanies the route on one of the layers, or that a zone
    /// there is not filled or out of date.
    ///
    /// # How to correct it
    /// Keep to layers whose planes are of one net, or change layers where a capacitor between the two is. A thin dielectric
    /// between the two planes helps and is not counted.
    ///
    /// # Sources
    /// Each track next to a ground plane: layout guide 80-PV086-5P. A voltage plane only if it is unbroken: a public layout
    /// note on serial interconnect (document 259816540). A capacitor within 2.5 mm: common practice, no source.
    pub ReferenceChange {
        name: "reference-change",
        summary: "vias at which a signal passes between planes of different nets",
        limit: &[Dimension::Length],
        level: Level::Error,
        groups: true,
        parameters: &[],
    }
    run = run;
}

const NAME: &str = "reference-change";

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, "{net} passes through no via", change_verdict)
}

#[allow(clippy::unnecessary_wraps, reason = "the shape that the shared walk asks for")]
fn change_verdict(look: &Look<'_, '_>, change: &LayerChange) -> Option<Verdict> {
    if let Some(plane) = change.kept() {
        let message = look.between("the via of {net} keeps its plane, {one} on {one_layer}", (plane, plane));
        return Some(look.verdict(change, Outcome::Pass, message));
    }
    if let Some(planes) = change.of_one_net().next() {
        let message = look.between("the planes before and after the via of {net} are both {one}", planes);
        return Some(look.verdict(change, Outcome::Pass, message));
    }
    let planes = (*change.before.planes.first()?, *change.after.planes.first()?);
    let Some((link, distance)) = look.facts.copper.return_capacitor(change) else {
        let message = look.between(
            "the via of {net} passes from {one} on {one_layer} to {other} on {other_layer}, and no capacitor joins the two",
            planes,
        );
        return Some(Verdict {
            limit: look.rule.limit.clone().or_else(|| look.rule.warn.clone()),
            help: Some(help()),
            ..look.verdict(change, Outcome::Fail(look.rule.level), message)
        });
    };
    let value = Quantity::Length(distance);
    let (outcome, limit) = judge(look.rule, value, Sense::AtMost);
    let failed = matches!(outcome, Outcome::Fail(_));
    let message = look.between(
        "the via of {net} passes from {one} on {one_layer} to {other} on {other_layer}; the nearest capacitor between them \
         is {part}, {value} away",
        planes,
    );
    let part = look.facts.board.footprints.get(link.part).map_or("", |part| part.reference.as_str());
    Some(Verdict {
        value: Some(value),
        limit,
        help: failed.then(help),
        related: if failed { place(look, &link).into_iter().collect() } else { Vec::new() },
        ..look.verdict(change, outcome, message.with("value", value).with("part", part))
    })
}

fn place(look: &Look<'_, '_>, link: &Link) -> Option<Place> {
    let part = look.facts.board.footprints.get(link.part)?;
    let label = Message::new("the nearest capacitor, {part}").with("part", part.reference.as_str());
    Some(Place { span: part.span, at: Some(link.at), layer: None, label })
}

fn help() -> Message {
    Message::new(
        "change to a layer whose plane is of the same net, or put a capacitor between the two nets beside the via",
    )
}
