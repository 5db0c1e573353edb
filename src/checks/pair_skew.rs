//! `pair-skew`: the two legs of a pair against each other, at the end and on the way.

use super::electric::{Judged, judge_measured, ps};
use super::pair_routes::PairRoute;
use super::pair_skew_time::{self, Timed};
use super::pair_subject::{Look, verdicts};
use super::route_subject::{pad_place, span_at};
use super::{Facts, Message, Outcome, Place, Verdict};
use crate::copper::mismatch::{Mismatch, Sample, mismatch};
use crate::copper::pad_name;
use crate::copper::pair::Legs;
use crate::field::Time;
use crate::rules::{At, Level, Parameter, ParameterKind, Rule};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For the two legs of every pair, between the parts that both reach: how much later the signal arrives on one leg than
    /// on the other, or how much longer one leg is, whichever unit `warn` and `limit` have; without sign.
    ///
    #[doc = crate::length_rule!()]
    ///
    /// The delay of a leg is that of its pieces, each solved as a cross-section of the board (see `pair-impedance`), and of
    /// its barrels, which are lines with their lands as capacitors. In the straight line inside a pad the signal is as
    /// fast as on the track next to it. What both legs have alike cancels, known or not.
    ///
    /// With `peak` stated, the running mismatch is held against it too: up to each place where the legs run side by side
    /// (parallel within 10 degrees on one layer, at most twice their typical gap apart), P minus N. Positions are
    /// matched square to the legs, around bends and along arcs by their exact length. It counts only where it stays
    /// beyond `peak`, a length or a time, with one sign, for at least `persist` along the pair (2 mm if not stated): two bends that soon undo
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
    /// on what it meets in between. Where the group states its rate, a skew in time is told as a part of the unit interval
    /// too: a limit of layout quality is far below what breaks a link. A length has its time beside it where other checks
    /// have worked it out.
    ///
    /// `unchecked` means that a leg has no route; for lengths, that barrels differ and the stackup does not state their
    /// heights (equal barrels cancel); for times, that there is no stackup, that the delay of a part is not known and the
    /// other leg has no equal part, that pads declare different lengths inside their packages, or that the value is within
    /// the limit by less than the method's error (of the solver, and a fifth of the delay of barrels that differ).
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
                kind: ParameterKind::Quantity(&[Dimension::Length, Dimension::Time]),
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
    signals = pair_skew_time::asked;
}

const NAME: &str = "pair-skew";
/// A running mismatch over less than this doesn't count. Common practice, no source.
const PERSIST: Length = Length::mm(2.0);
/// A stretch shorter than this is a place.
const POINT: Length = Length::mm(0.01);

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, legs_verdict)
}

fn legs_verdict(look: &Look<'_, '_>, route: &PairRoute) -> Verdict {
    let legs = &route.legs;
    let end = legs.p.length.longer_than(&legs.n.length);
    let timed = pair_skew_time::asked(look.rule).then(|| Timed::of(look, legs));
    let judged = judge_measured(look.rule, |dimension| match (dimension, &timed) {
        (Dimension::Time, Some(timed)) => timed.as_ref().map_err(Clone::clone).and_then(Timed::end),
        _ => end.map(|end| (Quantity::Length(end.abs()), 0.0)).ok_or_else(|| heights_missing(look)),
    });
    if let Outcome::Unchecked { missing } = judged.outcome {
        return look.unchecked(Some(legs), missing);
    }
    let persist = look.length("persist", PERSIST);
    let height = |one, other| look.facts.copper.height(one, other);
    let running = mismatch(look.facts.board, legs, &route.coupling().stretches, &height);
    let later = look.facts.signals.known_pair(legs).and_then(|line| line.skew.whole().ok());
    let found = Found { look, legs, running: &running, persist, later };
    // The way counts where the end is within its limits.
    let peak = look.setting("peak").filter(|_| judged.outcome == Outcome::Pass);
    let on_the_way = match (peak, &timed) {
        (Some(Quantity::Length(_)), _) if running.has_unknown() => Err(heights_missing(look)),
        (Some(Quantity::Length(peak)), _) => Ok(found.peak_verdict(peak)),
        (Some(Quantity::Time(peak)), Some(timed)) => {
            timed.as_ref().map_err(Clone::clone).and_then(|timed| timed.peak(look, legs, peak, persist))
        }
        _ => Ok(None),
    };
    match (on_the_way, judged.value, timed) {
        (Err(missing), ..) => look.unchecked(Some(legs), missing),
        (Ok(Some(verdict)), ..) => verdict,
        (Ok(None), Some(Quantity::Time(_)), Some(Ok(timed))) => timed.verdict(look, legs, judged, end),
        _ => found.verdict(end.unwrap_or_default(), judged),
    }
}

fn heights_missing(look: &Look<'_, '_>) -> Message {
    Message::new("the legs of {pair} pass different barrels, and the stackup does not state their heights")
        .with("pair", look.pair.name.as_str())
}

/// What was measured of two legs.
struct Found<'f, 'a> {
    look: &'f Look<'f, 'a>,
    legs: &'f Legs,
    running: &'f Mismatch,
    persist: Length,
    /// Delay of P minus delay of N, where other rules have worked it out.
    later: Option<Time>,
}

impl Found<'_, '_> {
    fn verdict(&self, end: Length, judged: Judged) -> Verdict {
        let failed = matches!(judged.outcome, Outcome::Fail(_));
        let (longer, shorter) = self.by_length(end);
        // Positive if the longer leg is the later one.
        let later = self.later.map(|later| if end.to_nm() < 0.0 { later * -1.0 } else { later });
        let template = match (end.abs().to_nm() < 0.5, later.map(|later| later.to_seconds() < 0.0)) {
            (true, _) => "{longer} and {shorter} are equally long",
            (false, None) => "{longer} is {value} longer than {shorter}",
            (false, Some(false)) => "{longer} is {value} longer than {shorter} ({time} later)",
            (false, Some(true)) => "{longer} is {value} longer than {shorter} ({time} earlier)",
        };
        let mut message = Message::new(template).with("value", end.abs());
        if let Some(later) = later {
            message = message.with("time", ps(later.abs()));
        }
        let arisen = self.arisen(end);
        let label =
            if failed { Message::new("the mismatch has arisen here") } else { Message::new("one end of leg P") };
        let place = match arisen.filter(|_| failed) {
            Some(sample) => self.at(&sample, label),
            None => pad_place(
                self.look.facts,
                if end.to_nm() < 0.0 { self.legs.n.from } else { self.legs.p.from },
                label_end(failed, label),
            ),
        };
        let mut related = far_end(self.look, self.legs);
        if failed && let Some(peak) = self.running.peak() {
            let label = Message::new("the running mismatch is greatest here, {value}")
                .with("value", peak.value.unwrap_or_default().abs());
            related.insert(0, self.at(&peak, label));
        }
        Verdict {
            value: Some(Quantity::Length(end.abs())),
            limit: judged.limit,
            help: failed.then(|| {
                Message::new("lengthen {shorter} by a bump close to where the mismatch arises").with("shorter", shorter)
            }),
            place: Some(place),
            related,
            ..self.look.verdict(self.legs, judged.outcome, message.with("longer", longer).with("shorter", shorter))
        }
    }

    /// A running mismatch beyond its limit, if there is one.
    fn peak_verdict(&self, limit: Length) -> Option<Verdict> {
        let found = self.running.lasting(limit, self.persist)?;
        let most = found.top.value?;
        let (longer, shorter) = self.by_length(most);
        let origin = self.look.rule.settings.get("peak").map(|at| at.origin.clone());
        let label = match self.running.samples.last() {
            Some(last) if *last == found.to => Message::new("the legs run side by side up to here"),
            _ => Message::new("from here on it is within the limit"),
        };
        let mut related =
            vec![self.at(&found.from, Message::new("it is beyond the limit from here on")), self.at(&found.to, label)];
        related.extend(loops(self.look, self.legs));
        let message = if found.span < POINT {
            Message::new("seen from {pad}, {longer} is {value} longer than {shorter} at one place")
        } else {
            Message::new(
                "seen from {pad}, {longer} is up to {value} longer than {shorter}, and beyond the limit for {span} of the way",
            )
        };
        let message = message
            .with("longer", longer)
            .with("value", most.abs())
            .with("shorter", shorter)
            .with("span", found.span)
            .with("pad", pad_name(self.look.facts.board, self.legs.p.from));
        let outcome = Outcome::Fail(self.look.rule.level.min(Level::Warning));
        Some(Verdict {
            value: Some(Quantity::Length(most.abs())),
            limit: origin.map(|origin| At { value: Quantity::Length(limit), origin }),
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
            ..self.look.verdict(self.legs, outcome, message)
        })
    }

    /// Names of the longer and the shorter leg.
    fn by_length(&self, p_minus_n: Length) -> (&str, &str) {
        let (p, n) =
            (self.look.facts.board.nets.name(self.look.pair.p), self.look.facts.board.nets.name(self.look.pair.n));
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
            span: span_at(self.look.facts, &self.legs.p, sample.p),
            at: Some(sample.at),
            layer: Some(sample.layer),
            label,
        }
    }
}

/// The end of leg P, and other ways of copper that the length leaves out.
pub(super) fn far_end(look: &Look<'_, '_>, legs: &Legs) -> Vec<Place> {
    let label = Message::new("the other end, {pad}").with("pad", pad_name(look.facts.board, legs.p.to));
    let mut places = vec![pad_place(look.facts, legs.p.to, label)];
    places.extend(loops(look, legs));
    places
}

/// Other ways of copper that the length leaves out.
pub(super) fn loops(look: &Look<'_, '_>, legs: &Legs) -> Vec<Place> {
    let looped = [&legs.p, &legs.n].into_iter().filter(|route| route.looped);
    let place = |route: &crate::copper::Route| {
        let label = Message::new("{net} has a second way of copper; the shorter one counts")
            .with("net", look.facts.board.nets.name(route.net));
        pad_place(look.facts, route.from, label)
    };
    looped.map(place).collect()
}

fn label_end(failed: bool, label: Message) -> Message {
    if failed { Message::new("one end of the longer leg") } else { label }
}
