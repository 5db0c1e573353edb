//! `uncoupled-run`: how far the legs of a pair run without each other.

use super::pair_routes::PairRoute;
use super::pair_subject::{Look, verdicts};
use super::{Facts, Message, Outcome, Place, Sense, Verdict, judge};
use crate::copper::Route;
use crate::copper::pair::walked;
use crate::copper::pair_coupling::LegCoupling;
use crate::rules::{At, Level, Parameter, ParameterKind, Rule};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For both legs of every pair, the longest stretch without the mate beside it, from the pad to where the legs meet,
    /// on the way, and from where they part to the other pad. The mate is beside a leg if it runs parallel to it within 10
    /// degrees on the same layer, at most twice their typical gap apart; around a bend, where the outer leg turns about the
    /// inner one, too. Lengths are those of the leg's centre line from the pad's anchor on, barrels left out. Each stretch
    /// counts by itself; both legs are looked at and the longer stretch counts.
    ///
    /// With `share` stated, the part of the leg that runs uncoupled is held against it too, for pairs whose longer leg has
    /// at least 5 mm; beyond it is a warning. The first and last `ends` of a leg (2.5 mm if not stated), where it fans out
    /// to its pads, have no part in the share, nor have stretches of at most 1 mm between coupled ones on one layer: they
    /// are bends and the flanks of bumps that make up length.
    ///
    /// # Why it matters
    /// Legs that run alone are two single lines of another impedance than the pair, and noise that reaches one of them does
    /// not reach the other alike: it does not cancel at the receiver.
    ///
    /// # How to read a finding
    /// The finding names the leg, how far it runs alone, and between which places; other stretches beyond the limit are
    /// related places. `unchecked` means that a leg has no route, or runs through filled copper where it has no centre
    /// line.
    ///
    /// # How to correct it
    /// Bring the legs together as soon as they have left the pads, and let them go through layers side by side.
    ///
    /// # Sources
    /// At most 42 ps at each end, about 6.5 mm: module design guide DG-09502-001 v2.1 p. 24, stated for 5 GT/s. 15 % of
    /// the pair, not for pairs under 5 mm; twice the gap, 10 degrees, 1 mm, 2.5 mm: common practice, no source.
    pub UncoupledRun {
        name: "uncoupled-run",
        summary: "stretches of a pair where a leg runs without its mate",
        limit: &[Dimension::Length],
        level: Level::Warning,
        groups: true,
        parameters: &[
            Parameter {
                key: "share",
                kind: ParameterKind::Quantity(&[Dimension::Ratio]),
                about: "greatest uncoupled part of a leg; beyond it is a warning; not looked at if not stated",
            },
            Parameter {
                key: "ends",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length at each end of a leg that has no part in the share; 2.5 mm if not stated",
            },
        ],
    }
    run = run;
}

const NAME: &str = "uncoupled-run";
/// The share is not held against pairs shorter than this. Common practice, no source.
const SHORT_PAIR: Length = Length::mm(5.0);
/// Stretches between coupled ones on one layer that are no longer than this are bends and bumps. Common practice, no
/// source.
const BUMP: Length = Length::mm(1.0);
/// Fan-out at each end that has no part in the share. Common practice, no source.
const ENDS: Length = Length::mm(2.5);
/// Related places that a finding lists.
const LISTED: usize = 8;

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, legs_verdict)
}

/// A stretch of a leg without its mate.
#[derive(Clone, Copy)]
struct Alone<'l> {
    leg: &'l Route,
    from: Length,
    to: Length,
    /// Whether it begins or ends at a pad.
    end: bool,
}

impl Alone<'_> {
    fn length(&self) -> Length {
        self.to - self.from
    }

    /// How much of it counts in the share: what is no fan-out, bend or bump.
    fn counted(&self, ends: Length) -> Length {
        let inside = |position: f64| self.from.to_nm() < position && position < self.to.to_nm();
        let mut barrels = self.leg.steps.iter().filter(|step| step.layer != step.to_layer);
        if !self.end && self.length() <= BUMP && !barrels.any(|step| inside(step.start.to_nm())) {
            return Length::ZERO;
        }
        let (first, last) = (ends.to_nm(), (walked(self.leg) - ends).to_nm());
        Length::nm((self.to.to_nm().min(last) - self.from.to_nm().max(first)).max(0.0))
    }
}

fn alone<'l>(leg: &'l Route, coupling: &LegCoupling) -> Vec<Alone<'l>> {
    let last = walked(leg);
    let stretch = |&(from, to): &(Length, Length)| {
        let end = from.to_nm() <= 1.0 || to.to_nm() >= last.to_nm() - 1.0;
        Alone { leg, from, to, end }
    };
    coupling.uncoupled.iter().map(stretch).collect()
}

fn legs_verdict(look: &Look<'_, '_>, route: &PairRoute) -> Verdict {
    let (legs, coupling) = (&route.legs, route.coupling());
    let sides = [alone(&legs.p, &coupling.p), alone(&legs.n, &coupling.n)];
    let mut all: Vec<Alone<'_>> = sides.iter().flatten().copied().collect();
    // Longest first; of equals the first along P.
    all.sort_by(|a, b| b.length().total_cmp(&a.length()));
    let value = Quantity::Length(all.first().map_or(Length::ZERO, Alone::length));
    let (outcome, limit) = judge(look.rule, value, Sense::AtMost);
    if outcome == Outcome::Pass
        && let Some(verdict) = share_verdict(look, route, &sides)
    {
        return verdict;
    }
    let Some(longest) = all.first() else {
        let message = Message::new("the legs of {pair} run side by side all the way");
        return Verdict { value: Some(value), limit, ..look.verdict(legs, outcome, named(look, message)) };
    };
    let template = match (coupling.gap.is_some(), longest.end) {
        (false, _) => "the legs of {pair} run side by side nowhere: {net} runs alone for {value}",
        (true, true) => "{net} runs without its mate for {value} at {place}",
        (true, false) => "{net} runs without its mate for {value} on the way",
    };
    let message = named(look, Message::new(template))
        .with("net", net(look, longest))
        .with("value", value)
        .with("place", end_name(look, longest));
    let failed = matches!(outcome, Outcome::Fail(_));
    let fails = |found: &&Alone<'_>| {
        matches!(judge(look.rule, Quantity::Length(found.length()), Sense::AtMost).0, Outcome::Fail(_))
    };
    let others = all.iter().skip(1).filter(fails).take(if failed { LISTED } else { 0 });
    Verdict {
        value: Some(value),
        limit,
        help: failed.then(|| Message::new("bring the legs together as near to the pads and vias as they allow")),
        place: Some(place(look, longest)),
        related: others.map(|found| place(look, found)).collect(),
        ..look.verdict(legs, outcome, message)
    }
}

/// Which part of a leg is uncoupled, how much that is, and the stretch with the most of it.
fn share<'l>(leg: &Route, stretches: &[Alone<'l>], ends: Length) -> (f64, Length, Option<Alone<'l>>) {
    let sum: Length = stretches.iter().map(|found| found.counted(ends)).sum();
    let most = stretches.iter().max_by(|a, b| a.counted(ends).total_cmp(&b.counted(ends)));
    (sum.to_nm() / walked(leg).to_nm().max(1.0), sum, most.copied())
}

/// A verdict if too great a part of a leg is uncoupled.
fn share_verdict(look: &Look<'_, '_>, route: &PairRoute, sides: &[Vec<Alone<'_>>; 2]) -> Option<Verdict> {
    let (setting, Quantity::Ratio(bound)) = (look.rule.settings.get("share")?, look.setting("share")?) else {
        return None;
    };
    let legs = &route.legs;
    let ends = look.length("ends", ENDS);
    let (p, n) = (share(&legs.p, &sides[0], ends), share(&legs.n, &sides[1], ends));
    let (part, sum, most) = if n.0 > p.0 { n } else { p };
    let long_enough = walked(&legs.p).to_nm().max(walked(&legs.n).to_nm()) >= SHORT_PAIR.to_nm();
    let value = Quantity::Ratio(part);
    if !long_enough || value.within(Quantity::Ratio(bound)) {
        return None;
    }
    let most = most?;
    let message = named(
        look,
        Message::new("apart from its ends {net} runs without its mate for {value} of its way, {sum} in all"),
    )
    .with("net", net(look, &most))
    .with("value", value)
    .with("sum", sum);
    Some(Verdict {
        value: Some(value),
        limit: Some(At { value: Quantity::Ratio(bound), origin: setting.origin.clone() }),
        help: Some(Message::new("bring the legs together as near to the pads and vias as they allow")),
        place: Some(place(look, &most)),
        ..look.verdict(legs, Outcome::Fail(look.rule.level.min(Level::Warning)), message)
    })
}

fn named(look: &Look<'_, '_>, message: Message) -> Message {
    message.with("pair", look.pair.name.as_str())
}

fn net<'f>(look: &Look<'f, '_>, found: &Alone<'_>) -> &'f str {
    look.facts.board.nets.name(found.leg.net)
}

/// The pad at which a stretch begins or ends.
fn end_name(look: &Look<'_, '_>, found: &Alone<'_>) -> String {
    let pad = if found.from.to_nm() <= 1.0 { found.leg.from } else { found.leg.to };
    crate::copper::pad_name(look.facts.board, pad)
}

/// Where the legs part, or where they meet if the stretch begins at a pad.
fn place(look: &Look<'_, '_>, found: &Alone<'_>) -> Place {
    let begins = found.from.to_nm() <= 1.0;
    let position = if begins && found.to < walked(found.leg) { found.to } else { found.from };
    let label = if begins {
        Message::new("{net} runs alone up to here, for {length}")
    } else {
        Message::new("{net} runs alone from here on, for {length}")
    };
    let label = label.with("net", net(look, found)).with("length", found.length());
    look.place(found.leg, position, label)
}
