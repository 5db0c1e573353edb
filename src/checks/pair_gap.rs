//! `pair-gap`: gap and track widths of a pair against what it has elsewhere on the layer.

use super::pair_routes::PairRoute;
use super::pair_subject::{Look, verdicts};
use super::sustained::{Part, Run, runs, sustained};
use super::zones::{ENDS, VIAS, across, free, zones};
use super::{Facts, Message, Outcome, Place, Sense, Verdict, judge};
use crate::board::LayerId;
use crate::copper::coupling::Beside;
use crate::copper::{Route, StepKind};
use crate::geometry::to_f64;
use crate::rules::{Level, Parameter, ParameterKind, Rule};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For every pair and layer, the gap between its legs and the width of each leg along the way, against what the pair
    /// itself has on that layer for most of its length (the value in the middle, by length). The value is the greatest
    /// deviation that lasts: as a share of the usual gap or width.
    ///
    /// The gap is measured edge to edge, square to the legs, wherever they run side by side (parallel within 10 degrees
    /// on one layer, at most twice their typical gap apart), from the tracks' centre lines and widths; nothing is sampled.
    /// Around a bend, where one leg turns about the other, no gap is judged.
    ///
    /// Not counted: the first and last `ends` of each leg (2.5 mm if not stated), where the pair opens towards its pads; a
    /// neck that starts at a pad, up to a third of the leg, for `pad-neck` judges it;
    /// `vias` before and behind each of its barrels (1 mm if not stated); a deviation over less than 0.5 mm; and a wider
    /// gap over at most `bump` (1.5 mm if not stated), for that is how a leg makes up length. Teardrops are no width of a
    /// track.
    ///
    /// # Why it matters
    /// Gap and width make the impedance of a pair. A pair of 0.16 mm tracks 0.14 mm apart on 0.1 mm of dielectric changes
    /// by about 1 % for 10 % of its gap and by about 5 % for 10 % of its width. A stretch that was moved by hand stands
    /// out in both.
    ///
    /// # How to read a finding
    /// The finding names what deviates (the gap, or which leg's width), where, for how long, and the usual value on that
    /// layer. Further stretches beyond the same limit are related places. `unchecked` means that a leg has no route, or
    /// that the legs run side by side nowhere outside what is not counted, so that there is no gap to compare.
    ///
    /// # How to correct it
    /// Draw the stretch again with the gap and width that the pair has elsewhere. If a narrow stretch between pads can't
    /// be avoided keep it short; see `pad-neck`.
    ///
    /// # Sources
    /// Uniform width and gap along a pair: application note SLAAE45 (2021) and the layout section of the data sheet
    /// DS80PCI402. Warning at 10 %, error at 25 %; the lengths that are not counted: common practice, no source. The gap
    /// inside a bump less than twice the normal one: a public layout note on serial interconnect (document 259816540).
    pub PairGap {
        name: "pair-gap",
        summary: "gap or track width of a pair that changes along the way",
        limit: &[Dimension::Ratio],
        level: Level::Error,
        groups: true,
        parameters: &[
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
            Parameter {
                key: "bump",
                kind: ParameterKind::Quantity(&[Dimension::Length]),
                about: "length up to which a wider gap is a bump that makes up length; 1.5 mm if not stated",
            },
        ],
    }
    run = run;
}

const NAME: &str = "pair-gap";
/// Common practice, no source.
const BUMP: Length = Length::mm(1.5);
/// A deviation over less than this, in nanometres, does nothing: 3 ps. Common practice, no source.
const SHORT: f64 = 500_000.0;
/// Deviations below this are rounding of the drawing.
const SAME: f64 = 5e-4;
/// Stretches shorter than this, in nanometres, are rounding.
const SPECK: f64 = 2.0;
/// Related places that a finding lists.
const LISTED: usize = 8;

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, legs_verdict)
}

/// What deviates, and to which side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Apart,
    Close,
    /// A leg (P if true).
    Wide(bool),
    Thin(bool),
}

impl What {
    const fn sign(self) -> f64 {
        match self {
            Self::Apart | Self::Wide(_) => 1.0,
            Self::Close | Self::Thin(_) => -1.0,
        }
    }
}

/// A curve of deviations on one layer, with what is needed to tell of it.
struct Curve {
    what: What,
    layer: LayerId,
    /// Gap or width that the pair has for most of its length there.
    usual: f64,
    /// How long a deviation must last.
    persist: f64,
    parts: Vec<Part>,
}

/// A stretch of one leg with one width.
#[derive(Clone, Copy)]
struct Width {
    along: [f64; 2],
    layer: LayerId,
    width: f64,
}

fn legs_verdict(look: &Look<'_, '_>, route: &PairRoute) -> Verdict {
    let legs = &route.legs;
    let (ends, vias) = (look.length("ends", ENDS), look.length("vias", VIAS));
    let zones = [&legs.p, &legs.n].map(|leg| zones(look.facts, leg, ends, vias));
    let straight = route.coupling().stretches.iter().filter(|found| !found.bend);
    let gaps: Vec<Beside> = straight.flat_map(|found| outside(found, &zones)).collect();
    let widths = [widths(&legs.p, &zones[0]), widths(&legs.n, &zones[1])];
    if gaps.is_empty() && widths.iter().any(|widths| !widths.is_empty()) {
        let missing = Message::new("the legs of {pair} run side by side nowhere, so there is no gap to compare")
            .with("pair", look.pair.name.as_str());
        return look.unchecked(Some(legs), missing);
    }
    let curves = curves(look, &gaps, &widths);
    let worst = curves.iter().map(|curve| (sustained(&curve.parts, curve.persist), curve));
    let worst = worst.reduce(|worst, next| if next.0 > worst.0 { next } else { worst });
    let value = Quantity::Ratio(worst.map_or(0.0, |(value, _)| value));
    let (outcome, limit) = judge(look.rule, value, Sense::AtMost);
    let bound = limit.as_ref().map_or(0.0, |limit| limit.value.base());
    let mut found: Vec<(Run, &Curve)> = Vec::new();
    if matches!(outcome, Outcome::Fail(_)) {
        // A little beyond the bound, so that what is exactly at it does not join stretches.
        let beyond = |curve| runs(curve, bound * (1.0 + 1e-9), 0.0);
        for curve in &curves {
            let lasting = beyond(&curve.parts).into_iter().filter(|run| run.length() >= curve.persist - SPECK);
            found.extend(lasting.map(|run| (run, curve)));
        }
    }
    let leads = |curve: &Curve| worst.is_some_and(|(_, worst)| std::ptr::eq(worst, curve));
    found.sort_by(|(a, of_a), (b, of_b)| {
        leads(of_b).cmp(&leads(of_a)).then(b.top.total_cmp(&a.top)).then(b.length().total_cmp(&a.length()))
    });
    let Some((run, curve)) = found.first() else {
        let message = if gaps.is_empty() {
            Message::new("{pair} is so short that all of it lies near its ends and vias, where nothing is judged")
        } else if value.base() < SAME {
            Message::new("gap and widths of {pair} are the same all along each layer")
        } else {
            Message::new("gap and widths of {pair} stay within {value} of what they usually are on each layer")
        };
        let message = message.with("pair", look.pair.name.as_str()).with("value", value);
        return Verdict { value: Some(value), limit, ..look.verdict(legs, outcome, message) };
    };
    Verdict {
        value: Some(value),
        limit,
        help: Some(Message::new("draw the stretch with the gap and width that the pair has elsewhere on this layer")),
        place: Some(place(look, route, run, curve)),
        related: found.iter().skip(1).take(LISTED).map(|(run, curve)| place(look, route, run, curve)).collect(),
        ..look.verdict(legs, outcome, sentence(look, run, curve, value))
    }
}

fn sentence(look: &Look<'_, '_>, run: &Run, curve: &Curve, value: Quantity) -> Message {
    let net = |p: bool| look.facts.board.nets.name(if p { look.pair.p } else { look.pair.n });
    let (template, leg) = match curve.what {
        What::Apart => {
            ("the legs of {pair} are {most} apart on {layer} for {length}, {value} more than the usual {usual}", None)
        }
        What::Close => {
            ("the legs of {pair} are {most} apart on {layer} for {length}, {value} less than the usual {usual}", None)
        }
        What::Wide(p) => ("{net} is {most} wide on {layer} for {length}, {value} more than the usual {usual}", Some(p)),
        What::Thin(p) => ("{net} is {most} wide on {layer} for {length}, {value} less than the usual {usual}", Some(p)),
    };
    let most = curve.usual * (1.0 + curve.what.sign() * value.base());
    let message = Message::new(template)
        .with("pair", look.pair.name.as_str())
        .with("most", Length::nm(most))
        .with("layer", look.facts.board.layers.name(curve.layer))
        .with("length", Length::nm(run.length()))
        .with("value", value)
        .with("usual", Length::nm(curve.usual));
    match leg {
        Some(p) => message.with("net", net(p)),
        None => message,
    }
}

fn place(look: &Look<'_, '_>, route: &PairRoute, run: &Run, curve: &Curve) -> Place {
    let (leg, label) = match curve.what {
        What::Apart => (&route.legs.p, "the gap is wider from here on, for {length}"),
        What::Close => (&route.legs.p, "the gap is narrower from here on, for {length}"),
        What::Wide(true) => (&route.legs.p, "the track is wider from here on, for {length}"),
        What::Wide(false) => (&route.legs.n, "the track is wider from here on, for {length}"),
        What::Thin(true) => (&route.legs.p, "the track is narrower from here on, for {length}"),
        What::Thin(false) => (&route.legs.n, "the track is narrower from here on, for {length}"),
    };
    let label = Message::new(label).with("length", Length::nm(run.length()));
    look.place(leg, Length::nm(run.along[0] + SPECK), label)
}

/// The parts of a stretch that lie outside the zones of both legs.
fn outside(found: &Beside, [p, n]: &[Vec<[f64; 2]>; 2]) -> Vec<Beside> {
    let zones = [p.clone(), across(n, found.leg, found.mate)].concat();
    free(found.leg, &zones).into_iter().map(|[from, to]| found.part(from, to)).collect()
}

/// The widths of a leg's tracks outside its zones.
fn widths(leg: &Route, zones: &[[f64; 2]]) -> Vec<Width> {
    let tracks = leg.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_)) && step.width > 0);
    let cut = |step: &crate::copper::Step| {
        let start = step.start.to_nm();
        let parts = free([start, start + step.length.to_nm()], zones).into_iter();
        let width = |along| Width { along, layer: step.layer, width: to_f64(step.width) };
        parts.map(width).collect::<Vec<_>>()
    };
    tracks.flat_map(cut).collect()
}

/// The value with half of the length below it.
fn usual(values: impl Iterator<Item = (f64, f64)>) -> Option<f64> {
    let mut values: Vec<(f64, f64)> = values.collect();
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = values.iter().map(|(_, length)| length).sum::<f64>() / 2.0;
    let mut passed = 0.0;
    let middle = values.iter().find(|(_, length)| {
        passed += length;
        passed >= half
    });
    middle.map(|(value, _)| *value).filter(|value| *value > 0.0)
}

/// The curves of all deviations, layer by layer.
fn curves(look: &Look<'_, '_>, gaps: &[Beside], widths: &[Vec<Width>; 2]) -> Vec<Curve> {
    let bump = look.length("bump", BUMP).to_nm();
    let mut curves = Vec::new();
    for layer in look.facts.board.layers.ids() {
        let on: Vec<&Beside> = gaps.iter().filter(|found| found.layer == layer).collect();
        let middle = |found: &Beside| f64::midpoint(found.gap[0], found.gap[1]);
        if let Some(usual) = usual(on.iter().map(|found| (middle(found), found.length()))) {
            for (what, persist) in [(What::Apart, bump), (What::Close, SHORT)] {
                let parts = on.iter().map(|found| part(found.leg, found.gap, usual, what));
                curves.push(Curve { what, layer, usual, persist, parts: parts.collect() });
            }
        }
        let both = widths.iter().flatten().filter(|width| width.layer == layer);
        if let Some(usual) = usual(both.map(|width| (width.width, width.along[1] - width.along[0]))) {
            for (p, widths) in [(true, &widths[0]), (false, &widths[1])] {
                let on: Vec<&Width> = widths.iter().filter(|width| width.layer == layer).collect();
                for what in [What::Wide(p), What::Thin(p)] {
                    let parts = on.iter().map(|width| part(width.along, [width.width; 2], usual, what));
                    curves.push(Curve { what, layer, usual, persist: SHORT, parts: parts.collect() });
                }
            }
        }
    }
    curves
}

fn part(along: [f64; 2], value: [f64; 2], usual: f64, what: What) -> Part {
    Part { along, value: value.map(|value| (what.sign() * (value - usual) / usual).max(0.0)) }
}
