//! `impedance-step`: changes of impedance along pairs and nets, as an edge sees them.

use super::electric::{by_placeholder, doubt_words, judge_measured, no_basis, ohms, rise};
use super::pair_routes::PairRoute;
use super::pair_subject::{Look, length_of, verdicts, worse};
use super::profile::{Known, Stretch, judged, of_leg, of_line};
use super::route_subject::{layers, net_subject, pad_place, place_at, unchecked, unrouted};
use super::zones::{ENDS, VIAS, zones};
use super::{Facts, Message, Outcome, Selection, Subject, Value, Verdict};
use crate::board::{LayerSet, NetId};
use crate::copper::Route;
use crate::field::{Impedance, Time};
use crate::rules::{Level, Parameter, ParameterKind, Rule};
use crate::signal::Leg;
use crate::units::{Dimension, Length, Quantity};
use std::collections::BTreeSet;

crate::declare_check! {
    /// # What is measured
    /// For every pair (differential) and every net that a group names as a net (single), the greatest change of impedance
    /// from one stretch of the way to the next, as an edge of a given rise time sees it.
    ///
    /// A reflectometer with the rise time T shows, in first order, the running mean of ln Z over the way that the signal
    /// takes in T/2. So the means of two neighbouring stretches of that length (2 mm at 25 ps) are held against each
    /// other, all along the way; the value is the greater mean over the smaller, minus one. A step between long pieces
    /// counts in full, a short piece by its share of the length, and a taper by what it changes within the length. The
    /// reflection is half of the value.
    ///
    /// `rise` states the rise time, 10 to 90 % or whole makes no difference here; without it 0.4 of the group's unit
    /// interval is taken. Impedances are those of the pieces, as in `pair-impedance`; where legs run apart a pair has
    /// twice the single impedance.
    ///
    /// Not counted: the first and last `ends` of each leg (2.5 mm if not stated), where the pair opens towards its pads, with
    /// the neck that starts there (up to a third of the leg), which `pad-neck` judges;
    /// `vias` before and behind each barrel (1 mm if not stated), where it runs over the barrels' own openings. What lies
    /// before and behind a barrel is held against each other; what barrels, pads and lands reflect themselves is not in it.
    ///
    /// # Why it matters
    /// A step reflects; two steps bounce the signal between them. A change of 20 % over a long stretch reflects 10 %.
    ///
    /// # How to read a finding
    /// The finding names the change, the place and layer, and the mean impedances before and behind it. `unchecked` means
    /// that there is no stackup, no rate and no rise time, or that a stretch longer than a tenth of the length has no
    /// impedance that could tell. The solver's error of both impedances counts: a change within the limit by less is
    /// `unchecked`, at the warning's bound a warning.
    ///
    /// # How to correct it
    /// Make the pieces alike: width, gap, planes, coplanar copper. Bring legs together early; taper where a width must
    /// change; keep short what can't be changed.
    ///
    /// # Sources
    /// Reflection of a step and of a short piece: textbook (small reflections add, smoothed by the edge). 10 % longer than
    /// 1 mm, 20 %, and 5 and 10 % of reflection for short lumps: common practice, no source. 0.4 of a unit interval:
    /// common practice, no source.
    pub ImpedanceStep {
        name: "impedance-step",
        summary: "changes of impedance along the way, as an edge sees them",
        limit: &[Dimension::Ratio],
        level: Level::Warning,
        groups: true,
        parameters: &[
            Parameter {
                key: "rise",
                kind: ParameterKind::Quantity(&[Dimension::Time]),
                about: "rise time of the signal's edges; 0.4 of the group's unit interval if not stated",
            },
            Parameter {
                key: "ends",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length at each end of a leg that is not judged; 2.5 mm if not stated",
            },
            Parameter {
                key: "vias",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length before and behind each barrel that is not judged; 1 mm if not stated",
            },
        ],
    }
    run = run;
    signals = |_| true;
}

const NAME: &str = "impedance-step";
/// A stretch in doubt that is shorter than this part of the length can hide no step: even twice the impedance would be
/// 7 %.
const TINY: f64 = 0.1;
/// Delay that a stretch in doubt is taken to have at most, in seconds per nanometre: 8 ps/mm.
const SLOWEST: f64 = 8e-18;

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let mut found = verdicts(NAME, facts, rule, pair_verdict);
    let mut seen = BTreeSet::new();
    for group in facts.selection(rule) {
        let nets = group.nets.iter().filter(|net| seen.insert(**net));
        found.extend(nets.map(|&net| net_verdict(facts, rule, group, net)));
    }
    found
}

fn pair_verdict(look: &Look<'_, '_>, route: &PairRoute) -> Verdict {
    let legs = &route.legs;
    let rise = match rise(look.rule, look.group) {
        Ok(rise) => rise,
        Err(missing) => return look.unchecked(Some(legs), missing),
    };
    let line = match look.facts.signals.pair(legs) {
        Ok(line) => line,
        Err(missing) => return look.unchecked(Some(legs), no_basis(missing)),
    };
    let held = |route, mate, leg| {
        let mate = Some(mate);
        let seen = Seen { facts: look.facts, rule: look.rule, name: &look.pair.name, route, mate, rise };
        seen.verdict(&of_leg(&line, leg), look.subject(Some(legs)), line.layers)
    };
    worse(held(&legs.p, &legs.n, Leg::P), held(&legs.n, &legs.p, Leg::N))
}

fn net_verdict(facts: &Facts<'_>, rule: &Rule, group: &Selection, net: NetId) -> Verdict {
    let missing = |missing| unchecked(facts, NAME, net, missing);
    let rise = match unrouted(facts, net).map_or_else(|| rise(rule, group), Err) {
        Ok(rise) => rise,
        Err(reason) => return missing(reason),
    };
    let verdicts = facts.copper.routes(net).routes.iter().map(|route| match facts.signals.line(route) {
        Ok(line) => {
            let seen = Seen { facts, rule, name: facts.board.nets.name(net), route, mate: None, rise };
            seen.verdict(&of_line(&line), net_subject(facts, net, &[route.from, route.to]), line.layers)
        }
        Err(reason) => missing(no_basis(reason)),
    });
    verdicts.reduce(worse).unwrap_or_else(|| {
        let count = facts.copper.routes(net).pads.len().try_into().unwrap_or(u64::MAX);
        missing(
            Message::new("{net} has {count} pads: too many to look at every route")
                .with("net", facts.board.nets.name(net))
                .with("count", Quantity::Count(count)),
        )
    })
}

/// ln Z along a way, by delay.
struct Logs {
    /// Delay at the ends of stretches, in seconds, with the position there and the integral of ln Z up to there.
    ends: Vec<(f64, f64, f64)>,
    /// The greatest relative error of an impedance.
    error: f64,
}

impl Logs {
    /// A run of stretches that all have an impedance.
    fn new(stretches: &[&Stretch]) -> Self {
        let mut ends = Vec::with_capacity(stretches.len() + 1);
        let (mut delay, mut integral, mut error) = (0.0, 0.0, 0.0_f64);
        ends.push((0.0, stretches.first().map_or(0.0, |first| first.along[0]), 0.0));
        for found in stretches {
            let Known::Ohms(value, doubt) = found.known else { continue };
            let time = found.slowness * found.length();
            delay += time;
            integral += time * value.ln();
            error = error.max(doubt / value);
            ends.push((delay, found.along[1], integral));
        }
        Self { ends, error }
    }

    fn delay(&self) -> f64 {
        self.ends.last().map_or(0.0, |end| end.0)
    }

    /// Position and integral at a delay.
    fn at(&self, delay: f64) -> (f64, f64) {
        let after = self.ends.partition_point(|end| end.0 < delay);
        let (Some(to), Some(from)) = (self.ends.get(after), after.checked_sub(1).and_then(|at| self.ends.get(at)))
        else {
            let end = if after == 0 { self.ends.first() } else { self.ends.last() };
            return end.map_or((0.0, 0.0), |end| (end.1, end.2));
        };
        let share = (delay - from.0) / (to.0 - from.0);
        (from.1 + (to.1 - from.1) * share, from.2 + (to.2 - from.2) * share)
    }

    /// The change of the mean over `window` at a delay, by natural logarithm, with both means. Where less than the window
    /// is left before an end the change counts by the share that is there.
    fn change(&self, delay: f64, window: f64) -> Option<Change> {
        let (from, to) = ((delay - window).max(0.0), (delay + window).min(self.delay()));
        let (before, after) = (delay - from, to - delay);
        if before <= 0.0 || after <= 0.0 {
            return None;
        }
        let middle = self.at(delay);
        let means = [(middle.1 - self.at(from).1) / before, (self.at(to).1 - middle.1) / after];
        let weight = (before / window).min(1.0) * (after / window).min(1.0);
        Some(Change { size: (means[1] - means[0]) * weight, at: middle.0, means: means.map(f64::exp) })
    }

    /// The greatest change. It lies where an end of a stretch is at an end of one of the two windows.
    fn greatest(&self, window: f64) -> Option<Change> {
        let ends = self.ends.iter().map(|end| end.0);
        let delays = ends.flat_map(|end| [end, end - window, end + window]);
        let changes = delays.filter_map(|delay| self.change(delay, window));
        // Of equals the first: noise must not choose.
        changes.reduce(|most, next| if next.size.abs() > most.size.abs() * (1.0 + 1e-9) { next } else { most })
    }
}

#[derive(Clone, Copy)]
struct Change {
    /// Change of ln Z.
    size: f64,
    /// Position along the way.
    at: f64,
    /// Mean impedance before and behind, ohms.
    means: [f64; 2],
}

struct Seen<'f, 'a> {
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    name: &'f str,
    route: &'f Route,
    /// The other leg of a pair.
    mate: Option<&'f Route>,
    rise: Time,
}

impl Seen<'_, '_> {
    fn verdict(&self, stretches: &[Stretch], subject: Subject, rests: LayerSet) -> Verdict {
        let window = self.rise.to_seconds() / 2.0;
        let (ends, vias) = (length_of(self.rule, "ends", ENDS), length_of(self.rule, "vias", VIAS));
        let zones = |route| zones(self.facts, route, ends, vias);
        let stretches = &judged(stretches, &zones(self.route), &self.mate.map(zones).unwrap_or_default());
        let tiny = |found: &Stretch| found.length() * SLOWEST <= TINY * window;
        let doubtful = stretches.iter().filter(|found| matches!(found.known, Known::Doubt(_)) && !tiny(found));
        let doubt = doubtful.reduce(|one, next| if next.length() > one.length() { next } else { one });
        let known: Vec<Stretch> =
            stretches.iter().filter(|found| found.ohms().is_some() || !tiny(found)).copied().collect();
        let runs = known.split(|found| found.ohms().is_none()).map(|run| Logs::new(&run.iter().collect::<Vec<_>>()));
        let changes = runs.filter_map(|logs| Some((logs.greatest(window)?, logs.error)));
        let greatest = changes.reduce(|most, next| if next.0.size.abs() > most.0.size.abs() { next } else { most });
        let share = |size: f64| ((size.exp() - 1.0) * 1e3).round() / 1e3;
        let (size, error) = greatest.map_or((0.0, 0.0), |(change, error)| (change.size.abs(), 2.0 * error));
        let held = judge_measured(self.rule, |_| Ok((Quantity::Ratio(share(size)), error)));
        let told = |outcome, message| Verdict {
            check: NAME,
            subject,
            outcome,
            value: None,
            limit: None,
            message,
            help: None,
            place: Some(pad_place(self.facts, self.route.from, Message::new("one end"))),
            related: Vec::new(),
            layers: rests.or(layers(self.route)),
        };
        let failed = matches!(held.outcome, Outcome::Fail(_));
        if let (false, Some(found)) = (failed, doubt)
            && let Known::Doubt(why) = found.known
        {
            let missing = Message::new("the impedance of {name} is not known for {length} on {layer}: {why}")
                .with("name", self.name)
                .with("length", Length::nm(found.length()))
                .with("layer", self.facts.board.layers.name(found.layer))
                .with("why", Value::Word(doubt_words(why)));
            return told(Outcome::Unchecked { missing: missing.clone() }, missing);
        }
        if let Outcome::Unchecked { missing } = held.outcome {
            return told(Outcome::Unchecked { missing: missing.clone() }, missing);
        }
        let Some((change, _)) = greatest else {
            let message = Message::new("{name} has no two stretches to compare apart from its ends and vias")
                .with("name", self.name);
            return Verdict { value: held.value, limit: held.limit, ..told(held.outcome, message) };
        };
        let at = Length::nm(change.at);
        let layer = stretches.iter().find(|found| found.along[1] >= change.at).map(|found| found.layer);
        let message = Message::new(
            "the impedance of {name} changes by {value} on {layer}, from {before} to {behind}, for an edge of {rise}{near}{basis}",
        )
        .with("name", self.name)
        .with("value", Quantity::Ratio(share(size)))
        .with("layer", layer.map_or("", |layer| self.facts.board.layers.name(layer)))
        .with("before", ohms(Impedance::ohms(change.means[0])))
        .with("behind", ohms(Impedance::ohms(change.means[1])))
        .with("rise", Quantity::Time(self.rise.to_seconds()))
        .with("near", held.near())
        .with("basis", by_placeholder(self.facts));
        let help = "make the pieces alike there: width, gap, planes, copper beside; keep short what can't be changed";
        Verdict {
            value: held.value,
            limit: held.limit,
            help: failed.then(|| Message::new(help)),
            place: Some(place_at(self.facts, self.route, at, Message::new("the impedance changes here"))),
            ..told(held.outcome, message)
        }
    }
}
