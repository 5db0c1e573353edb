//! `pair-skew`: the two legs of a pair against each other, at the end and on the way.

use super::route_subject::{ends, layers, pad_place, through_area, unrouted};
use super::{Facts, Message, Outcome, Pair, Place, Sense, Subject, Verdict, judge};
use crate::board::LayerSet;
use crate::copper::mismatch::{Mismatch, Sample, mismatch};
use crate::copper::pair::{Legs, match_legs};
use crate::copper::pair_coupling::coupling;
use crate::copper::{Route, pad_name};
use crate::rules::{Level, Parameter, ParameterKind, Rule, Setting};
use crate::source::Span;
use crate::units::{Dimension, Length, Quantity};
use std::collections::BTreeSet;

crate::declare_check! {
    /// # What is measured
    /// For the two legs of every pair, between the parts that both reach: how much longer P is than N from end to end,
    /// without sign, held against `warn` and `limit`.
    ///
    #[doc = crate::length_rule!()]
    ///
    /// With `peak` stated, the running mismatch is held against it too: up to each place where the legs run side by side
    /// (parallel within 10 degrees on one layer, at most twice their typical gap apart), P minus N. Positions are
    /// matched square to the legs, around bends and along arcs by their exact length. It counts only where it stays
    /// beyond `peak`, with one sign, for at least `persist` along the pair (2 mm if not stated): two bends that soon undo
    /// each other are no mismatch. Of such a stretch the greatest value is told. Where the legs don't run side by side
    /// nothing is matched, and nothing is said.
    ///
    /// A pair with series capacitors is two pairs of nets; each side is judged on its own.
    ///
    /// # Why it matters
    /// The receiver takes the difference of the legs. A leg that is late turns part of the signal into a common mode:
    /// with a skew t, sin(pi f t) of it at the frequency f, and cos(pi f t) is left of the signal. At 8 GHz 1 ps (0.15 to
    /// 0.18 mm) makes -32 dB of common mode, 5 ps make -18 dB. A mismatch on the way converts as well, at each via,
    /// connector and bend that the pair passes before it is compensated.
    ///
    /// # How to read a finding
    /// The finding names the longer leg and by how much, at the place where the mismatch has arisen for good; a related
    /// place shows where the running mismatch is greatest. A finding on the running mismatch names its size where it
    /// is greatest, how far it stays beyond the limit, and both ends of that stretch; `measure` shows the greatest running
    /// mismatch of every pair, short ones too. A pair that turns has one until it turns back: how much that harms depends
    /// on what it meets in between. `unchecked` means that a leg has no route, that barrels differ and the stackup does
    /// not state their heights (equal barrels cancel), or that a limit is stated in time: delays need the field of each
    /// layer, which is not computed yet; state the limit in mm.
    ///
    /// # How to correct it
    /// Lengthen the shorter leg by small bumps close to the place where the mismatch arises, on the same layer, before
    /// the next via or connector. Don't compensate inside the breakout.
    ///
    /// # Sources
    /// 0.15 mm within a pair: module design guide DG-09502-001 v2.1 p. 24. 5 mil: application note SLAAE45 (2021).
    /// Matching before each discontinuity: module design guide DG-10931-001. Short stretches between bends that cancel
    /// don't count, 2 mm: common practice, no source. Conversion: textbook.
    pub PairSkew {
        name: "pair-skew",
        summary: "the two legs of a pair against each other, at the end and on the way",
        limit: &[Dimension::Length, Dimension::Time],
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "peak",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "greatest running mismatch on the way; beyond it is a warning; not looked at if not stated",
            },
            Parameter {
                key: "persist",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length along the pair for which a running mismatch must last to count; 2 mm if not stated",
            },
        ],
    }
    run = run;
}

const NAME: &str = "pair-skew";
/// A running mismatch over less than this doesn't count. Common practice, no source.
const PERSIST: Length = Length::mm(2.0);
/// A stretch shorter than this is a place.
const POINT: Length = Length::mm(0.01);

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let mut seen = BTreeSet::new();
    let pairs = facts.selection(rule).into_iter().flat_map(|group| &group.pairs);
    pairs.filter(|pair| seen.insert((pair.p, pair.n))).map(|pair| pair_verdict(facts, rule, pair)).collect()
}

fn length_setting(rule: &Rule, key: &str) -> Option<Length> {
    match rule.settings.get(key).map(|at| &at.value) {
        Some(Setting::Quantity(Quantity::Length(length))) => Some(*length),
        _ => None,
    }
}

/// The verdict on the legs that fare worst.
fn pair_verdict(facts: &Facts<'_>, rule: &Rule, pair: &Pair) -> Verdict {
    if let Some(missing) = unrouted(facts, pair.p).or_else(|| unrouted(facts, pair.n)) {
        return unchecked(facts, pair, None, missing);
    }
    let (p, n) = (facts.copper.routes(pair.p), facts.copper.routes(pair.n));
    let legs = match_legs(facts.board, &p.routes, &n.routes).legs;
    let verdicts = legs.iter().map(|legs| legs_verdict(facts, rule, pair, legs));
    let worst = verdicts.reduce(|worst, next| if badness(&next) > badness(&worst) { next } else { worst });
    worst.unwrap_or_else(|| {
        let missing = Message::new("the legs of {pair} share no two parts that both run between")
            .with("pair", pair.name.as_str());
        unchecked(facts, pair, None, missing)
    })
}

/// Failures first, the worse level and value first; then what could not be judged; then passes by value.
fn badness(verdict: &Verdict) -> (u8, Option<Level>, i64) {
    let value = match verdict.value {
        Some(Quantity::Length(value)) => crate::geometry::from_f64(value.to_nm()),
        _ => 0,
    };
    match verdict.outcome {
        Outcome::Fail(level) => (2, Some(level), value),
        Outcome::Unchecked { .. } => (1, None, value),
        Outcome::Pass => (0, None, value),
    }
}

fn subject(facts: &Facts<'_>, pair: &Pair, legs: Option<&Legs>) -> Subject {
    let pads = legs.map(|legs| vec![legs.p.from, legs.p.to, legs.n.from, legs.n.to]).unwrap_or_default();
    Subject { kind: "pair", name: pair.name.clone(), ends: ends(facts, &pads) }
}

fn unchecked(facts: &Facts<'_>, pair: &Pair, legs: Option<&Legs>, missing: Message) -> Verdict {
    let first = legs.map(|legs| legs.p.from).or_else(|| facts.copper.routes(pair.p).pads.first().copied());
    Verdict {
        check: NAME,
        subject: subject(facts, pair, legs),
        message: missing.clone(),
        outcome: Outcome::Unchecked { missing },
        value: None,
        limit: None,
        help: None,
        place: first.map(|pad| pad_place(facts, pad, Message::new("one end of leg P"))),
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

fn legs_verdict(facts: &Facts<'_>, rule: &Rule, pair: &Pair, legs: &Legs) -> Verdict {
    let in_time = |bound: &Option<crate::rules::At<Quantity>>| {
        bound.as_ref().is_some_and(|bound| bound.value.dimension() == Dimension::Time)
    };
    if in_time(&rule.limit) || in_time(&rule.warn) {
        let missing = Message::new("the limit is a time, and the delay of {pair} on each layer is not computed yet")
            .with("pair", pair.name.as_str());
        return unchecked(facts, pair, Some(legs), missing);
    }
    if let Some(step) = through_area(&legs.p).or_else(|| through_area(&legs.n)) {
        let missing = Message::new("a leg of {pair} runs through copper without a centre line on {layer}")
            .with("pair", pair.name.as_str())
            .with("layer", facts.board.layers.name(step.layer));
        return unchecked(facts, pair, Some(legs), missing);
    }
    let Some(end) = legs.p.length.longer_than(&legs.n.length) else {
        return unchecked(facts, pair, Some(legs), heights_missing(pair));
    };
    let height = |one, other| facts.copper.height(one, other);
    let running = mismatch(facts.board, legs, &coupling(legs).stretches, &height);
    let found = Found {
        facts,
        rule,
        pair,
        legs,
        running: &running,
        persist: length_setting(rule, "persist").unwrap_or(PERSIST),
    };
    found.verdict(end)
}

fn heights_missing(pair: &Pair) -> Message {
    Message::new("the legs of {pair} pass different barrels, and the stackup does not state their heights")
        .with("pair", pair.name.as_str())
}

/// What was measured of two legs.
struct Found<'f, 'a> {
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    pair: &'f Pair,
    legs: &'f Legs,
    running: &'f Mismatch,
    persist: Length,
}

impl Found<'_, '_> {
    fn verdict(&self, end: Length) -> Verdict {
        let (outcome, limit) = judge(self.rule, Quantity::Length(end.abs()), Sense::AtMost);
        let peak_limit = length_setting(self.rule, "peak");
        if outcome == Outcome::Pass
            && let Some(peak_limit) = peak_limit
        {
            if self.running.has_unknown() {
                return unchecked(self.facts, self.pair, Some(self.legs), heights_missing(self.pair));
            }
            if let Some(verdict) = self.peak_verdict(peak_limit) {
                return verdict;
            }
        }
        let failed = matches!(outcome, Outcome::Fail(_));
        let (longer, shorter) = self.by_length(end);
        let mut message = if end.abs().to_nm() < 0.5 {
            Message::new("{longer} and {shorter} are equally long")
        } else {
            Message::new("{longer} is {value} longer than {shorter}")
        };
        message = message.with("value", end.abs());
        let arisen = self.arisen(end);
        let label =
            if failed { Message::new("the mismatch has arisen here") } else { Message::new("one end of leg P") };
        let place = match arisen.filter(|_| failed) {
            Some(sample) => self.at(&sample, label),
            None => pad_place(
                self.facts,
                if end.to_nm() < 0.0 { self.legs.n.from } else { self.legs.p.from },
                label_end(failed, label),
            ),
        };
        let mut related = self.ends();
        if failed && let Some(peak) = self.running.peak() {
            let label = Message::new("the running mismatch is greatest here, {value}")
                .with("value", peak.value.unwrap_or_default().abs());
            related.insert(0, self.at(&peak, label));
        }
        Verdict {
            check: NAME,
            subject: subject(self.facts, self.pair, Some(self.legs)),
            outcome,
            value: Some(Quantity::Length(end.abs())),
            limit,
            message: message.with("longer", longer).with("shorter", shorter),
            help: failed.then(|| {
                Message::new("lengthen {shorter} by a bump close to where the mismatch arises").with("shorter", shorter)
            }),
            place: Some(place),
            related,
            layers: layers(&self.legs.p).or(layers(&self.legs.n)),
        }
    }

    /// A running mismatch beyond its limit, if there is one.
    fn peak_verdict(&self, limit: Length) -> Option<Verdict> {
        let found = self.running.lasting(limit, self.persist)?;
        let most = found.top.value?;
        let (longer, shorter) = self.by_length(most);
        let origin = self.rule.settings.get("peak").map(|at| at.origin.clone());
        let label = match self.running.samples.last() {
            Some(last) if *last == found.to => Message::new("the legs run side by side up to here"),
            _ => Message::new("from here on it is within the limit"),
        };
        let mut related =
            vec![self.at(&found.from, Message::new("it is beyond the limit from here on")), self.at(&found.to, label)];
        related.extend(self.loops());
        let message = if found.span < POINT {
            Message::new("seen from {pad}, {longer} is {value} longer than {shorter} at one place")
        } else {
            Message::new(
                "seen from {pad}, {longer} is up to {value} longer than {shorter}, and beyond the limit for {span} of the way",
            )
        };
        Some(Verdict {
            check: NAME,
            subject: subject(self.facts, self.pair, Some(self.legs)),
            outcome: Outcome::Fail(self.rule.level.min(Level::Warning)),
            value: Some(Quantity::Length(most.abs())),
            limit: origin.map(|origin| crate::rules::At { value: Quantity::Length(limit), origin }),
            message: message
                .with("longer", longer)
                .with("value", most.abs())
                .with("shorter", shorter)
                .with("span", found.span)
                .with("pad", pad_name(self.facts.board, self.legs.p.from)),
            help: Some(
                Message::new("compensate where the mismatch arises, not later: a bump on {shorter} near there")
                    .with("shorter", shorter),
            ),
            place: Some(
                self.at(
                    &found.top,
                    Message::new("{longer} is longest against {shorter} here")
                        .with("longer", longer)
                        .with("shorter", shorter),
                ),
            ),
            related,
            layers: layers(&self.legs.p).or(layers(&self.legs.n)),
        })
    }

    /// Names of the longer and the shorter leg.
    fn by_length(&self, p_minus_n: Length) -> (&str, &str) {
        let (p, n) = (self.facts.board.nets.name(self.pair.p), self.facts.board.nets.name(self.pair.n));
        if p_minus_n.to_nm() < 0.0 { (n, p) } else { (p, n) }
    }

    /// Where the mismatch has arisen for good: from there on at least half of the end value is there.
    fn arisen(&self, end: Length) -> Option<Sample> {
        let reached = |sample: &Sample| {
            sample.value.is_some_and(|value| value.to_nm() * end.to_nm().signum() >= end.to_nm().abs() / 2.0)
        };
        let samples = &self.running.samples;
        let after = samples.iter().rposition(|sample| !reached(sample)).map_or(0, |last| last + 1);
        samples.get(after).or(samples.last()).copied()
    }

    /// The place of a sample, on leg P.
    fn at(&self, sample: &Sample, label: Message) -> Place {
        Place {
            span: span_at(self.facts, &self.legs.p, sample.p),
            at: Some(sample.at),
            layer: Some(sample.layer),
            label,
        }
    }

    /// The end of leg P, and other ways of copper that the length leaves out.
    fn ends(&self) -> Vec<Place> {
        let label = Message::new("the other end, {pad}").with("pad", pad_name(self.facts.board, self.legs.p.to));
        let mut places = vec![pad_place(self.facts, self.legs.p.to, label)];
        places.extend(self.loops());
        places
    }

    fn loops(&self) -> impl Iterator<Item = Place> {
        let looped = [&self.legs.p, &self.legs.n].into_iter().filter(|route| route.looped);
        looped.map(|route| {
            let label = Message::new("{net} has a second way of copper; the shorter one counts")
                .with("net", self.facts.board.nets.name(route.net));
            pad_place(self.facts, route.from, label)
        })
    }
}

fn label_end(failed: bool, label: Message) -> Message {
    if failed { Message::new("one end of the longer leg") } else { label }
}

/// The head token of the copper at a position of a route.
pub(super) fn span_at(facts: &Facts<'_>, route: &Route, position: Length) -> Span {
    let at = route.steps.iter().rfind(|step| step.start.to_nm() <= position.to_nm() && step.length.to_nm() > 0.0);
    at.or(route.steps.first()).map_or(Span::default(), |step| step.kind.item().span(facts.board))
}
