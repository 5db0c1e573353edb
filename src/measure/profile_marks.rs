//! What stands on a channel's way: pads, barrels and necks.

use super::profile::Axis;
use crate::board::{Board, LayerId, PadId};
use crate::checks::Facts;
use crate::copper::pair::walked;
use crate::copper::{Neck, Route, StepKind, pad_name};
use crate::field::{Impedance, Time};
use crate::geometry::{Path, Point, Shape};
use crate::signal::{BarrelPiece, Doubt, Knot, Leg};
use crate::units::Length;

/// Something on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What.
    pub kind: MarkKind,
    /// On which leg; P for a single route.
    pub leg: Leg,
    /// Position along its leg where it is met, barrels counted as zero.
    pub along: Length,
    /// Position on the profile's axis.
    pub axis: Length,
    /// Where.
    pub at: Point,
    /// Layer on which it is met.
    pub layer: LayerId,
    /// Delay up to there; `None` behind the first doubt.
    pub delay: Option<Time>,
}

/// What a mark is.
#[derive(Debug, Clone, PartialEq)]
pub enum MarkKind {
    /// A pad: at an end, or on the way.
    Pad {
        /// Its name.
        name: String,
        /// What it is for.
        sort: PadSort,
    },
    /// A via, or a plated hole, through which the signal changes layer.
    Barrel {
        /// The layer it goes to.
        to: LayerId,
        /// Its impedance and the delay of its used part, or why they are not known.
        line: Result<(Impedance, Time), Doubt>,
    },
    /// A neck.
    Neck {
        /// Position along its leg where it begins.
        from: Length,
        /// How long it is.
        length: Length,
        /// Its least width.
        width: Length,
        /// The width it is held against.
        main: Length,
    },
}

/// What a pad is for, as far as the board file tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PadSort {
    /// A ball's land: one of many round pads of a part.
    Ball,
    /// A contact of a connector: its reference begins with J or P (IEEE 315).
    Contact,
    /// Anything else.
    Pad,
}

/// A part with at least this many pads, all round, has balls. Common practice, no source.
const BALLS: usize = 16;

fn sort(board: &Board, id: PadId) -> PadSort {
    let Some(pad) = board.pads.get(id) else { return PadSort::Pad };
    let reference = board.footprints.get(pad.footprint).map_or("", |part| part.reference.as_str());
    let class: String = reference.chars().take_while(char::is_ascii_alphabetic).collect();
    if class == "J" || class == "P" {
        return PadSort::Contact;
    }
    let is_round =
        |shapes: &[Shape]| matches!(shapes, [Shape::Stroke { path: Path::Line(from, to), .. }] if from == to);
    let mut count = 0;
    for other in board.pads.values().filter(|other| other.footprint == pad.footprint) {
        if !is_round(&other.shapes) {
            return PadSort::Pad;
        }
        count += 1;
    }
    if count >= BALLS { PadSort::Ball } else { PadSort::Pad }
}

/// The marks of all legs, in order on the axis.
pub(super) fn of(
    facts: &Facts<'_>,
    routes: &[&Route],
    barrels: &[&[BarrelPiece]],
    knots: &[&[Knot]],
    axis: &Axis,
) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    for ((route, leg), (barrels, knots)) in routes.iter().zip([Leg::P, Leg::N]).zip(barrels.iter().zip(knots)) {
        let of_leg = Way { facts, route, leg, knots, axis };
        marks.extend(of_leg.pads());
        marks.extend(barrels.iter().map(|barrel| of_leg.barrel(barrel)));
        marks.extend(of_leg.necks());
    }
    marks.sort_by(|a, b| a.axis.total_cmp(&b.axis).then(rank(&a.kind).cmp(&rank(&b.kind))).then(a.leg.cmp(&b.leg)));
    marks
}

const fn rank(kind: &MarkKind) -> u8 {
    match kind {
        MarkKind::Pad { .. } => 0,
        MarkKind::Neck { .. } => 1,
        MarkKind::Barrel { .. } => 2,
    }
}

struct Way<'w, 'f> {
    facts: &'w Facts<'f>,
    route: &'w Route,
    leg: Leg,
    knots: &'w [Knot],
    axis: &'w Axis,
}

impl Way<'_, '_> {
    fn mark(&self, kind: MarkKind, along: Length, at: Point, layer: LayerId) -> Mark {
        let axis = if self.leg == Leg::P { along } else { self.axis.at(along) };
        Mark { kind, leg: self.leg, along, axis, at, layer, delay: delay_at(self.knots, along) }
    }

    fn pads(&self) -> Vec<Mark> {
        let board = self.facts.board;
        let mark = |id: PadId, along, layer| {
            let at = board.pads.get(id).map(|pad| pad.at).unwrap_or_default();
            let kind = MarkKind::Pad { name: pad_name(board, id), sort: sort(board, id) };
            self.mark(kind, along, at, layer)
        };
        let steps = &self.route.steps;
        let mut marks = vec![mark(self.route.from, Length::ZERO, steps.first().map_or(LayerId(0), |step| step.layer))];
        let mut last = self.route.from;
        for step in steps {
            if let StepKind::Pad(pad) = step.kind
                && pad != last
                && pad != self.route.to
            {
                marks.push(mark(pad, step.start, step.layer));
                last = pad;
            }
        }
        marks.push(mark(self.route.to, walked(self.route), steps.last().map_or(LayerId(0), |step| step.to_layer)));
        marks
    }

    fn barrel(&self, barrel: &BarrelPiece) -> Mark {
        let line = barrel.line.as_ref().map(|line| (line.impedance, line.delay)).map_err(|doubt| *doubt);
        self.mark(MarkKind::Barrel { to: barrel.to, line }, barrel.along, barrel.at, barrel.from)
    }

    fn necks(&self) -> Vec<Mark> {
        let necks = self.facts.copper.necks(self.route);
        let mark = |neck: &Neck, along| {
            let kind = MarkKind::Neck { from: neck.start, length: neck.length, width: neck.width, main: neck.main };
            self.mark(kind, along, neck.at, neck.layer)
        };
        let [first, last] = &necks.ends;
        let from_start = first.iter().chain(&necks.between).map(|neck| mark(neck, neck.start));
        // The neck of the last pad is placed where it meets that pad.
        from_start.chain(last.iter().map(|neck| mark(neck, neck.start + neck.length))).collect()
    }
}

/// When a signal is at a position; before a barrel that stands there. `None` behind the end of what is known.
fn delay_at(knots: &[Knot], along: Length) -> Option<Time> {
    knots.windows(2).find_map(|two| match two {
        [from, to] if along >= from.along && along <= to.along => {
            let whole = (to.along - from.along).to_nm();
            let share = if whole > 0.0 { (along - from.along).to_nm() / whole } else { 0.0 };
            Some(from.delay + (to.delay - from.delay) * share)
        }
        _ => None,
    })
}
