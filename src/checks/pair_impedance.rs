//! `pair-impedance`: impedance along pairs and nets against their target.

use super::electric::{by_placeholder, doubt_words, no_basis, ohms, too_near};
use super::pair_routes::PairRoute;
use super::pair_subject::{Look, length_of, verdicts, worse};
use super::profile::{Known, Stretch, judged, of_leg, of_line};
use super::route_subject::{net_subject, pad_place, place_at, unchecked, unrouted};
use super::sustained::{Part, Run, runs, sustained};
use super::zones::{ENDS, VIAS, zones};
use super::{Facts, Message, Outcome, Place, Selection, Subject, Value, Verdict};
use crate::board::{LayerSet, NetId};
use crate::copper::Route;
use crate::field::Impedance;
use crate::rules::{At, Level, Origin, Parameter, ParameterKind, Rule, Setting};
use crate::signal::{Doubt, Leg};
use crate::units::{Dimension, Length, Quantity};
use std::collections::BTreeSet;

crate::declare_check! {
    /// # What is measured
    /// The impedance of every piece of a pair (differential), and of every net that a group names as a net (single),
    /// against `target`, or the group's `impedance` if the rule states none. A piece is a stretch in which layer, widths,
    /// gap, planes and grounds beside do not change; its cross-section is cut from the copper and the stackup and solved:
    /// planes where they are filled, coplanar copper of other nets within reach, mask, trapezoidal tracks. Where the legs
    /// of a pair run apart it counts with twice the impedance of the single leg.
    ///
    /// `limit` and `warn` are how far off the target it may be, to both sides: a share of it, or ohms. Without `limit` the
    /// tolerance of the group's target is the limit. The value is the impedance farthest off that lasts for at least
    /// `persist` along the way (1 mm if not stated); what is shorter is a lump, which `impedance-step` weighs.
    ///
    /// Not counted: the first and last `ends` of each leg (2.5 mm if not stated), with the neck that starts there (up to a
    /// third of the leg), which `pad-neck` judges; `vias` before and behind each barrel (1 mm if not stated). Inside pads
    /// and lands there is no impedance of its own: they are passed over.
    ///
    /// # Why it matters
    /// Every change of impedance reflects a part of the signal. Between a line of 85 ohm and one of 100 ohm that is 8 %;
    /// the reflections of several places add up at the receiver as noise that no equaliser knows.
    ///
    /// # How to read a finding
    /// The finding names the impedance and the layer where it is farthest off, for how long it lasts there, how much of
    /// the judged way lies outside the limit, the range, and the value with half of the length below it. Further stretches
    /// are related places.
    ///
    /// The solver tells its error. A value beyond the limit fails; one within the limit passes only if its error does not
    /// reach the limit, else it is `unchecked`. The same at the warning's bound is a warning. `unchecked` too: no stackup,
    /// or one that lacks a value; no target or no tolerance; a stretch as long as `persist` without an impedance, because
    /// no plane is near, a zone is not filled, a plane is a mesh, or the solver gave up. A stackup that looks like one that
    /// nobody entered is used and said to be one.
    ///
    /// # How to correct it
    /// Change width or gap; the `width` command proposes both for a layer. Where a plane or coplanar copper comes and goes
    /// under or beside the pair, correct that. If all pieces of a layer are off alike, ask the fabricator for the pressed
    /// heights and permittivities first.
    ///
    /// # Sources
    /// ±10 % is what fabricators hold, ±5 to 7 % at a price: published capability tables. 85 or 100 ohm ±15 %, and 85 ohm
    /// for 16 GT/s: module design guides DG-09502-001 v2.1 and DG-10931-001. A warning at half the tolerance, 1 mm and 2.5
    /// mm: common practice, no source. 8 %: (100 - 85)/(100 + 85), textbook.
    pub PairImpedance {
        name: "pair-impedance",
        summary: "impedance of pairs and nets against their target",
        limit: &[Dimension::Ratio, Dimension::Impedance],
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "target",
                kind: ParameterKind::Quantity(&[Dimension::Impedance]),
                about: "impedance to hold, differential for pairs; that of the group if not stated",
            },
            Parameter {
                key: "persist",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length for which an impedance must last to count; 1 mm if not stated",
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
    tolerance = true;
}

const NAME: &str = "pair-impedance";
/// A sixth of the rise time of 16 GT/s. Common practice, no source.
const PERSIST: Length = Length::mm(1.0);
/// What counts for a deviation that is not known: beyond every limit.
const UNKNOWN: f64 = 1e6;
/// Related places that a finding lists.
const LISTED: usize = 8;

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
    let missing = |missing| look.unchecked(Some(legs), missing);
    let bounds = match Bounds::of(look.rule, look.group) {
        Ok(bounds) => bounds,
        Err(reason) => return missing(reason),
    };
    let line = match look.facts.signals.pair(legs) {
        Ok(line) => line,
        Err(reason) => return missing(no_basis(reason)),
    };
    let ways = [
        Way::new(look.facts, look.rule, &legs.p, Some(&legs.n), &of_leg(&line, Leg::P)),
        Way::new(look.facts, look.rule, &legs.n, Some(&legs.p), &of_leg(&line, Leg::N)),
    ];
    let held = Held { facts: look.facts, rule: look.rule, bounds, name: &look.pair.name, ways: &ways };
    held.verdict(look.subject(Some(legs)), line.layers)
}

fn net_verdict(facts: &Facts<'_>, rule: &Rule, group: &Selection, net: NetId) -> Verdict {
    let missing = |missing| unchecked(facts, NAME, net, missing);
    if let Some(reason) = unrouted(facts, net) {
        return missing(reason);
    }
    let verdicts = facts.copper.routes(net).routes.iter().map(|route| {
        let bounds = match Bounds::of(rule, group) {
            Ok(bounds) => bounds,
            Err(reason) => return missing(reason),
        };
        let line = match facts.signals.line(route) {
            Ok(line) => line,
            Err(reason) => return missing(no_basis(reason)),
        };
        let ways = [Way::new(facts, rule, route, None, &of_line(&line))];
        let held = Held { facts, rule, bounds, name: facts.board.nets.name(net), ways: &ways };
        held.verdict(net_subject(facts, net, &[route.from, route.to]), line.layers)
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

/// How far off the target is too far, as shares of it.
struct Bounds {
    target: f64,
    limit: Option<(f64, Origin)>,
    warn: Option<(f64, Origin)>,
}

impl Bounds {
    fn of(rule: &Rule, group: &Selection) -> Result<Self, Message> {
        let own = match rule.settings.get("target").map(|at| &at.value) {
            Some(Setting::Quantity(Quantity::Impedance(ohms))) => Some(*ohms),
            _ => None,
        };
        let of_group = group.impedance.as_ref();
        let target = own.or_else(|| of_group.map(|at| at.value.value.base())).filter(|target| *target > 0.0);
        let named = |message: Message| message.with("group", group.group.as_str());
        let target = target.ok_or_else(|| {
            named(Message::new("neither the rule nor group {group} states a target: enter `impedance` in the group"))
        })?;
        let bound = |at: &Option<At<Quantity>>| {
            let at = at.as_ref()?;
            let share =
                if at.value.dimension() == Dimension::Ratio { at.value.base() } else { at.value.base() / target };
            Some((share, at.origin.clone()))
        };
        let tolerance = || {
            let at = of_group.filter(|at| own.is_none() && at.value.tolerance.is_some())?;
            Some(((at.value.high().base() - target) / target, at.origin.clone()))
        };
        let limit = bound(&rule.limit).or_else(tolerance);
        let warn = bound(&rule.warn);
        if limit.is_none() && warn.is_none() {
            return Err(named(Message::new(
                "neither the rule nor group {group} states how far off it may be: enter a tolerance",
            )));
        }
        Ok(Self { target, limit, warn })
    }

    /// The impedance that is a share off the target.
    fn edge(&self, share: f64, sign: f64) -> Quantity {
        ohms(Impedance::ohms(self.target * (1.0 + sign * share)))
    }
}

/// The judged stretches of a leg or a net.
struct Way<'r> {
    route: &'r Route,
    stretches: Vec<Stretch>,
}

impl<'r> Way<'r> {
    fn new(facts: &Facts<'_>, rule: &Rule, route: &'r Route, mate: Option<&Route>, stretches: &[Stretch]) -> Self {
        let zones = |route| zones(facts, route, length_of(rule, "ends", ENDS), length_of(rule, "vias", VIAS));
        let stretches = judged(stretches, &zones(route), &mate.map(zones).unwrap_or_default());
        Self { route, stretches }
    }

    /// Deviations to one side, as shares of the target. With `doubt`, as great as they can be.
    fn curve(&self, target: f64, sign: f64, doubt: bool) -> Vec<Part> {
        let part = |found: &Stretch| {
            let share = match found.known {
                Known::Ohms(value, error) => {
                    let value = ohms(Impedance::ohms(value)).base() + if doubt { sign * error } else { 0.0 };
                    (sign * (value - target) / target).max(0.0)
                }
                Known::Doubt(_) if doubt => UNKNOWN,
                Known::Doubt(_) => return None,
            };
            Some(Part { along: found.along, value: [share; 2] })
        };
        self.stretches.iter().filter_map(part).collect()
    }
}

/// The deviation of one way to one side that lasts.
struct Off<'w> {
    way: &'w Way<'w>,
    sign: f64,
    share: f64,
}

struct Held<'f, 'a> {
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    bounds: Bounds,
    name: &'f str,
    ways: &'f [Way<'f>],
}

impl Held<'_, '_> {
    fn persist(&self) -> f64 {
        length_of(self.rule, "persist", PERSIST).to_nm()
    }

    /// The deviation farthest off that lasts.
    fn farthest(&self, doubt: bool) -> Option<Off<'_>> {
        let sides = self.ways.iter().flat_map(|way| [1.0, -1.0].map(|sign| (way, sign)));
        let offs = sides.map(|(way, sign)| {
            let share = sustained(&way.curve(self.bounds.target, sign, doubt), self.persist());
            Off { way, sign, share }
        });
        offs.reduce(|worst, next| if next.share > worst.share { next } else { worst })
    }

    fn verdict(&self, subject: Subject, layers: LayerSet) -> Verdict {
        let beyond = |bound: &Option<(f64, Origin)>, off: &Off<'_>| {
            bound.as_ref().is_some_and(|bound| off.share > bound.0 * (1.0 + 1e-9))
        };
        let told = |outcome, message, limit| Verdict {
            check: NAME,
            subject,
            outcome,
            value: None,
            limit,
            message,
            help: None,
            place: self.ways.first().map(|way| pad_place(self.facts, way.route.from, Message::new("one end"))),
            related: Vec::new(),
            layers,
        };
        let (Some(off), Some(worst)) = (self.farthest(false), self.farthest(true)) else {
            return told(Outcome::Pass, self.short(), None);
        };
        let Bounds { limit, warn, .. } = &self.bounds;
        if beyond(limit, &off) {
            return self.failed(&off, limit, self.rule.level, false, told);
        }
        if beyond(&limit.clone().or_else(|| warn.clone()), &worst) && worst.share >= UNKNOWN {
            let missing = self.in_doubt();
            return told(Outcome::Unchecked { missing: missing.clone() }, missing, None);
        }
        if beyond(limit, &worst) {
            let bound = limit.as_ref().map_or(0.0, |limit| limit.0);
            let value = self.bounds.edge(off.share, off.sign);
            let error = (worst.share - off.share) * self.bounds.target;
            let missing = too_near(self.bounds.edge(bound, worst.sign), value, error);
            return told(Outcome::Unchecked { missing: missing.clone() }, missing, None);
        }
        let mild = self.rule.level.min(Level::Warning);
        if beyond(warn, &off) {
            return self.failed(&off, warn, mild, false, told);
        }
        if beyond(warn, &worst) {
            return self.failed(&worst, warn, mild, true, told);
        }
        let Some(spread) = Spread::of(self.ways, &self.bounds) else {
            return told(Outcome::Pass, self.short(), None);
        };
        let even = ohms(Impedance::ohms(spread.least)) == ohms(Impedance::ohms(spread.most));
        let message = Message::new(if even {
            "the impedance of {name} is {middle} all along {way}{basis}"
        } else {
            "the impedance of {name} is {least} to {most}, {middle} in the middle, over {way}{basis}"
        });
        let bound = warn.as_ref().or(limit.as_ref());
        let edge =
            bound.map(|(share, origin)| At { value: self.bounds.edge(*share, off.sign), origin: origin.clone() });
        let verdict = told(Outcome::Pass, self.filled(message, &spread), edge);
        Verdict { value: Some(self.bounds.edge(off.share, off.sign)), ..verdict }
    }

    fn filled(&self, message: Message, spread: &Spread) -> Message {
        let ohm = |value| ohms(Impedance::ohms(value));
        message
            .with("name", self.name)
            .with("least", ohm(spread.least))
            .with("most", ohm(spread.most))
            .with("middle", ohm(spread.middle))
            .with("way", Length::nm(spread.way))
            .with("outside", Length::nm(spread.outside))
            .with("basis", by_placeholder(self.facts))
    }

    fn short(&self) -> Message {
        Message::new("{name} is so short that all of it lies near its ends and vias, where nothing is judged")
            .with("name", self.name)
    }

    fn failed(
        &self,
        off: &Off<'_>,
        bound: &Option<(f64, Origin)>,
        level: Level,
        by_error: bool,
        told: impl FnOnce(Outcome, Message, Option<At<Quantity>>) -> Verdict,
    ) -> Verdict {
        let Some((share, origin)) = bound else { return told(Outcome::Fail(level), self.short(), None) };
        let found = |way: &Way<'_>, sign| {
            runs(&way.curve(self.bounds.target, sign, by_error), share * (1.0 + 1e-9), self.persist())
        };
        let mut places: Vec<(Run, &Way<'_>, f64)> = Vec::new();
        for way in self.ways {
            for sign in [1.0, -1.0] {
                places.extend(found(way, sign).into_iter().map(|run| (run, way, sign)));
            }
        }
        places.sort_by(|a, b| b.0.top.total_cmp(&a.0.top).then(b.0.length().total_cmp(&a.0.length())));
        let leads =
            |(_, way, sign): &(Run, &Way<'_>, f64)| std::ptr::eq(*way, off.way) && sign.total_cmp(&off.sign).is_eq();
        places.sort_by_key(|place| !leads(place));
        let value = self.bounds.edge(off.share, off.sign);
        let template = if by_error {
            "the impedance of {name} is {value} on {layer}, which the method's error may carry outside {low} to {high}: it is {least} to {most} over {way}{basis}"
        } else {
            "the impedance of {name} is {value} on {layer}; {outside} of {way} lie outside {low} to {high}: it is {least} to {most}, {middle} in the middle{basis}"
        };
        let message = match Spread::of(self.ways, &Bounds { limit: bound.clone(), warn: None, ..self.bounds }) {
            Some(spread) => self.filled(Message::new(template), &spread),
            None => Message::new(template),
        };
        let edge = |sign| self.bounds.edge(*share, sign);
        // The worst place is where the value itself holds, not where the bound is crossed.
        let holds =
            runs(&off.way.curve(self.bounds.target, off.sign, by_error), off.share * (1.0 - 1e-9), self.persist());
        let worst = holds.first().map(|run| (*run, off.way, off.sign));
        let within = |run: &Run| {
            worst.is_some_and(|(worst, ..)| run.along[0] <= worst.along[0] && worst.along[1] <= run.along[1])
        };
        places.retain(|place| !(leads(place) && within(&place.0)));
        places.splice(0..0, worst);
        let first = places.first();
        let layer = first.and_then(|(run, way, _)| way.stretches.iter().find(|found| found.along[1] > run.along[0]));
        let message = message
            .with("value", value)
            .with("layer", layer.map_or("", |found| self.facts.board.layers.name(found.layer)))
            .with("low", edge(-1.0))
            .with("high", edge(1.0));
        let limit = Some(At { value: edge(off.sign), origin: origin.clone() });
        let place = |(run, way, sign): &(Run, &Way<'_>, f64)| self.place(run, way, *sign);
        Verdict {
            value: Some(value),
            help: Some(Message::new("change width or gap there, or what lies under and beside it")),
            place: first.map(place),
            related: places.iter().skip(1).take(LISTED).map(place).collect(),
            ..told(Outcome::Fail(level), message, limit)
        }
    }

    fn place(&self, run: &Run, way: &Way<'_>, sign: f64) -> Place {
        let label = Message::new("{value} from here on, for {length}")
            .with("value", self.bounds.edge(run.top, sign))
            .with("length", Length::nm(run.length()));
        place_at(self.facts, way.route, Length::nm(run.along[0] + 2.0), label)
    }

    /// What is not known, told by its longest stretch.
    fn in_doubt(&self) -> Message {
        let doubts = self.ways.iter().flat_map(|way| &way.stretches).filter_map(|found| match found.known {
            Known::Doubt(doubt) => Some((found, doubt)),
            Known::Ohms(..) => None,
        });
        let all: Vec<(&Stretch, Doubt)> = doubts.collect();
        let longest = all.iter().copied().reduce(|one, next| if next.0.length() > one.0.length() { next } else { one });
        let Some((stretch, doubt)) = longest else { return Message::new("its impedance is not known") };
        let sum = all.iter().map(|(found, _)| found.length()).sum::<f64>() / legs(self.ways);
        Message::new("the impedance of {name} is not known for {length}, the most of it on {layer}: {why}")
            .with("name", self.name)
            .with("length", Length::nm(sum))
            .with("layer", self.facts.board.layers.name(stretch.layer))
            .with("why", Value::Word(doubt_words(doubt)))
    }
}

/// The distribution over all judged stretches.
struct Spread {
    least: f64,
    most: f64,
    middle: f64,
    way: f64,
    /// Length outside the limit.
    outside: f64,
}

impl Spread {
    fn of(ways: &[Way<'_>], bounds: &Bounds) -> Option<Self> {
        let known = ways.iter().flat_map(|way| &way.stretches);
        let mut values: Vec<(f64, f64)> = known.filter_map(|found| Some((found.ohms()?, found.length()))).collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let way = values.iter().map(|(_, length)| length).sum::<f64>();
        let mut passed = 0.0;
        let middle = values.iter().find(|(_, length)| {
            passed += length;
            passed >= way / 2.0
        });
        let bound = bounds.limit.as_ref().or(bounds.warn.as_ref()).map_or(0.0, |bound| bound.0) * (1.0 + 1e-9);
        let off = |value: f64| (ohms(Impedance::ohms(value)).base() - bounds.target).abs() / bounds.target > bound;
        let outside: f64 = values.iter().filter(|(value, _)| off(*value)).map(|(_, length)| length).sum();
        let legs = legs(ways);
        let (least, most, middle) = (values.first()?.0, values.last()?.0, middle?.0);
        Some(Self { least, most, middle, way: way / legs, outside: outside / legs })
    }
}

/// How many legs the ways are: lengths are told for one.
fn legs(ways: &[Way<'_>]) -> f64 {
    if ways.len() == 2 { 2.0 } else { 1.0 }
}
