//! `return-via`: how far the return current must go where a signal changes layers between planes of one net.

use super::copper_place;
use super::layer_change_subject::{Look, verdicts};
use super::{Facts, Message, Outcome, Sense, Verdict, judge};
use crate::copper::layer_change::LayerChange;
use crate::copper::return_path::{FARTHEST, ReturnBarrel};
use crate::rules::{Level, Parameter, ParameterKind, Rule, Setting};
use crate::units::{Dimension, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For every via and plated hole through which a route goes on to another layer: the distance, centre to centre, to the
    /// nearest barrel that joins the plane which accompanies the route before to the one which accompanies it after. A via
    /// or a plated pin counts if its copper touches the filled copper of both planes, so a blind via that reaches one of
    /// them does not, and a through-hole pin of a connector does. With `count` stated the n-th nearest barrel counts.
    ///
    /// The planes are those of `plane-gap`: the nearest poured copper that is really there; on an inner layer also the one
    /// on the other side, unless it is more than twice as far away. A route that keeps one of its planes, such as from the
    /// first layer to the third with the plane between them, needs no return via and passes. Where the planes before and
    /// after are of different nets no via can join them: `reference-change` judges that, and this check says nothing.
    ///
    /// # Why it matters
    /// The return current flows in the plane next to the track. Where the track changes planes, the current must change too;
    /// until it reaches a barrel between the planes it spreads in the space between them, which couples all vias that pass
    /// there, excites the planes' resonances and adds inductance to the signal's own via.
    ///
    /// # How to read a finding
    /// The finding stands at the signal's via and names the two planes and the distance; the barrel that was found is a
    /// related place. `unchecked` means that no plane accompanies the route on one of the layers, or that a zone there is
    /// not filled or out of date.
    ///
    /// # How to correct it
    /// Put a via of the planes' net beside the signal's via, for a pair one on each side, at the distance of the pair's own
    /// vias. In a ball field the ground balls' own vias often do.
    ///
    /// # Sources
    /// At most the pair's own via pitch away, at most four signal vias to one return via: module design guide DG-10931-001.
    /// Two for each pair: a public layout note on serial interconnect (document 259816540). 5 mm for slow signals: from
    /// memory. 0.6 and 1 mm: common practice, no source.
    pub ReturnVia {
        name: "return-via",
        summary: "vias of a signal without a via nearby that joins the planes it passes between",
        limit: &[Dimension::Length],
        level: Level::Error,
        groups: true,
        parameters: &[Parameter {
            key: "count",
            kind: ParameterKind::Quantity(&[Dimension::Count]),
            about: "how many return vias must be within the limit; 1 if not stated",
        }],
    }
    run = run;
}

const NAME: &str = "return-via";

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, "{net} passes through no via between planes of one net", change_verdict)
}

fn change_verdict(look: &Look<'_, '_>, change: &LayerChange) -> Option<Verdict> {
    if let Some(plane) = change.kept() {
        let message = look.between("the via of {net} keeps its plane, {one} on {one_layer}", (plane, plane));
        return Some(look.verdict(change, Outcome::Pass, message));
    }
    let planes = change.of_one_net().next()?;
    let count = count(look.rule);
    let barrels = look.facts.copper.return_barrels(change, count);
    let Some(counting) = barrels.get(count - 1) else {
        let message = look.between(
            if barrels.is_empty() {
                "no via of {one} within {reach} of the via of {net} joins {one_layer} and {other_layer}"
            } else {
                "fewer than {count} vias of {one} within {reach} of the via of {net} join {one_layer} and {other_layer}"
            },
            planes,
        );
        let message = message.with("reach", FARTHEST).with("count", told(count));
        return Some(Verdict {
            limit: look.rule.limit.clone().or_else(|| look.rule.warn.clone()),
            help: Some(help(look)),
            ..look.verdict(change, Outcome::Fail(look.rule.level), message)
        });
    };
    let value = Quantity::Length(counting.distance);
    let (outcome, limit) = judge(look.rule, value, Sense::AtMost);
    let failed = matches!(outcome, Outcome::Fail(_));
    let message = look.between(
        if count == 1 {
            "the nearest via of {one} that joins {one_layer} and {other_layer} is {value} from the via of {net}"
        } else {
            "of the vias of {one} that join {one_layer} and {other_layer}, number {count} is {value} from the via of {net}"
        },
        planes,
    );
    let message = message.with("value", value).with("count", told(count));
    Some(Verdict {
        value: Some(value),
        limit,
        help: failed.then(|| help(look)),
        related: if failed { places(look, &barrels) } else { Vec::new() },
        ..look.verdict(change, outcome, message)
    })
}

fn count(rule: &Rule) -> usize {
    match rule.settings.get("count").map(|at| &at.value) {
        Some(Setting::Quantity(Quantity::Count(count))) => usize::try_from(*count).unwrap_or(usize::MAX).max(1),
        _ => 1,
    }
}

fn told(count: usize) -> Quantity {
    Quantity::Count(u64::try_from(count).unwrap_or(u64::MAX))
}

fn places(look: &Look<'_, '_>, barrels: &[ReturnBarrel]) -> Vec<super::Place> {
    let items = look.facts.copper.items();
    let place = |barrel: &ReturnBarrel| {
        let (item, _) = items.of(barrel.item).next()?;
        copper_place::place(look.facts.copper, item, barrel.at)
    };
    barrels.iter().rev().filter_map(place).collect()
}

fn help(look: &Look<'_, '_>) -> Message {
    Message::new("put a via that joins both planes beside the via of {net}").with("net", look.name())
}
