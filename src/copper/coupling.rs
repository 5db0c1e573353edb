//! Where one centre line runs beside another: the kernel behind pair coupling. It knows strands, not boards.
//!
//! Two straight lines are matched square to the bisector of their directions, so that swapping them changes nothing;
//! concentric arcs by angle. Other arcs are matched chord by chord; there the matched position is good to a micrometre.
//! Lengths along arcs are exact.

use crate::board::LayerId;
use crate::geometry::{ArcFrame, Curve, Envelope, Path, Vector, from_f64, to_f64};
use std::collections::BTreeMap;

/// A stretch of a leg: a centre line with width on one layer. Positions are nanometres along the leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strand {
    /// Layer.
    pub layer: LayerId,
    /// Centre line in walking direction.
    pub path: Path,
    /// Copper width in nanometres.
    pub width: i64,
    /// Position of its first end along the leg.
    pub start: f64,
}

/// What may count as running beside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Greatest gap, edge to edge, in nanometres.
    pub gap: f64,
    /// Lines walked in opposite directions count too (for evidence; routes of a pair are walked the same way).
    pub either_way: bool,
}

/// A stretch in which two strands run side by side. Values stand for its two ends and are linear between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// Positions along the leg, ascending.
    pub leg: [f64; 2],
    /// Matched positions along the mate.
    pub mate: [f64; 2],
    /// Gap edge to edge, nanometres.
    pub gap: [f64; 2],
    /// Points of the leg's centre line.
    pub at: [Vector; 2],
    /// Layer.
    pub layer: LayerId,
    /// Around a bend, where one leg turns about the other and nothing is parallel.
    pub bend: bool,
}

impl Beside {
    /// Its length along the leg.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.leg[1] - self.leg[0]
    }

    /// The part between two positions of the leg, which lie within it.
    #[must_use]
    pub fn part(&self, from: f64, to: f64) -> Self {
        let length = self.length();
        let share = |at: f64| if length > 0.0 { ((at - self.leg[0]) / length).clamp(0.0, 1.0) } else { 0.0 };
        let ends = [share(from), share(to)];
        let mix = |pair: [f64; 2]| ends.map(|share| pair[0] + (pair[1] - pair[0]) * share);
        let at = ends.map(|share| self.at[0] + (self.at[1] - self.at[0]) * share);
        Self { leg: [from, to], mate: mix(self.mate), gap: mix(self.gap), at, ..*self }
    }

    /// Seen from the mate.
    #[must_use]
    fn swapped(&self, index: usize) -> (usize, [f64; 2], f64) {
        let [a, b] = self.mate;
        (index, [a.min(b), a.max(b)], f64::midpoint(self.gap[0], self.gap[1]))
    }
}

/// Lines within 10 degrees count as parallel: the cosine.
const PARALLEL_COSINE: f64 = 0.984_807_753_012_208;
/// Greatest distance, in nanometres, between an arc and a chord that stands for it.
const SAGITTA: f64 = 10.0;
/// Arcs whose centres are this near, in nanometres, are concentric.
const CONCENTRIC: f64 = 1000.0;
/// A right-angled bend leaves a hole of twice the spacing; a little more covers chamfered corners.
const BEND: f64 = 2.5;
/// Stretches shorter than this, in nanometres, are rounding.
const SPECK: f64 = 2.0;

/// All stretches in which the mate is the leg's nearest parallel neighbour within reach and the leg is the mate's, in
/// order along the leg.
#[must_use]
pub fn beside(leg: &[Strand], mate: &[Strand], reach: Reach) -> Vec<Beside> {
    let mut all = Vec::new();
    let (leg, mate) = (prepared(leg), prepared(mate));
    for one in &leg {
        let near = one.bounds.grown(from_f64(reach.gap) + 1);
        for two in mate.iter().filter(|two| two.strand.layer == one.strand.layer && near.meets(two.bounds)) {
            strands(one, two, reach, &mut all);
        }
    }
    let of_leg = nearest(
        all.iter().enumerate().map(|(index, found)| (index, found.leg, f64::midpoint(found.gap[0], found.gap[1]))),
    );
    let mut of_mate = nearest(all.iter().enumerate().map(|(index, found)| found.swapped(index)));
    of_mate.sort_by_key(|(index, _)| *index);
    let mut found: Vec<Beside> = Vec::new();
    for (index, [from, to]) in of_leg {
        let Some(stretch) = all.get(index) else { continue };
        let own = stretch.part(from, to);
        let first = of_mate.partition_point(|(other, _)| *other < index);
        let same = of_mate.iter().skip(first).take_while(|(other, _)| *other == index);
        for &(_, [low, high]) in same {
            // The part of the leg's stretch that is matched to the part of the mate's.
            let position = |mate: f64| {
                let [a, b] = stretch.mate;
                let share = if (b - a).abs() > 0.0 { (mate - a) / (b - a) } else { 0.0 };
                stretch.leg[0] + stretch.length() * share
            };
            let (a, b) = (position(low), position(high));
            let (start, end) = (a.min(b).max(own.leg[0]), a.max(b).min(own.leg[1]));
            if end - start > SPECK {
                found.push(stretch.part(start, end));
            }
        }
    }
    found.sort_by(|a, b| a.leg[0].total_cmp(&b.leg[0]));
    found
}

/// Keeps the stretches that form the longest chain in which both legs advance: a match that jumps back along the mate
/// is a neighbour by chance.
#[must_use]
pub fn advancing(stretches: Vec<Beside>) -> Vec<Beside> {
    // Stretches that follow on from each other count as one.
    let mut runs: Vec<(f64, f64, f64, usize)> = Vec::new(); // mate from, mate to, length, first stretch
    let mut last: Option<&Beside> = None;
    for (index, stretch) in stretches.iter().enumerate() {
        let follows = last.is_some_and(|last| {
            (last.leg[1] - stretch.leg[0]).abs() < SPECK && (last.mate[1] - stretch.mate[0]).abs() < SPECK
        });
        match runs.last_mut() {
            Some(run) if follows => {
                run.1 = stretch.mate[1];
                run.2 += stretch.length();
            }
            _ => runs.push((stretch.mate[0], stretch.mate[1], stretch.length(), index)),
        }
        last = Some(stretch);
    }
    // Chains by the mate position they end at: a longer chain is worth keeping only if it ends later.
    let mut ends: BTreeMap<i64, (f64, usize)> = BTreeMap::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(runs.len());
    for (at, &(from, to, length, _)) in runs.iter().enumerate() {
        let earlier = ends.range(..=from_f64(from + SPECK)).next_back().map(|(_, chain)| *chain);
        before.push(earlier.map(|chain| chain.1));
        let total = earlier.map_or(0.0, |chain| chain.0) + length;
        let end = from_f64(to);
        if ends.range(..=end).next_back().is_none_or(|(_, chain)| chain.0 < total) {
            while let Some((&later, _)) = ends.range(end..).next().filter(|(_, chain)| chain.0 <= total) {
                ends.remove(&later);
            }
            ends.insert(end, (total, at));
        }
    }
    let mut next = ends.values().next_back().map(|chain| chain.1);
    let mut keep = vec![false; runs.len()];
    while let Some(index) = next {
        if let Some(flag) = keep.get_mut(index) {
            *flag = true;
        }
        next = before.get(index).copied().flatten();
    }
    let mut out = Vec::with_capacity(stretches.len());
    for (number, stretch) in stretches.into_iter().enumerate() {
        let run = runs.partition_point(|run| run.3 <= number).saturating_sub(1);
        if keep.get(run).copied().unwrap_or(false) {
            out.push(stretch);
        }
    }
    out
}

/// Joins stretches around bends: where both legs go on after a hole of at most a few times their spacing, one turns
/// about the other, and the longer way around is still beside. `width` is the mean width of the legs.
#[must_use]
pub fn around_bends(stretches: Vec<Beside>, width: f64) -> Vec<Beside> {
    let mut out: Vec<Beside> = Vec::with_capacity(stretches.len() * 2);
    for next in stretches {
        if let Some(last) = out.last()
            && last.layer == next.layer
        {
            let (leg, mate) = (next.leg[0] - last.leg[1], next.mate[0] - last.mate[1]);
            let most = BEND * (last.gap[1].max(next.gap[0]) + width);
            if leg.max(mate) > 0.0 && leg.max(mate) <= most && leg.min(mate) >= -SPECK {
                out.push(Beside {
                    leg: [last.leg[1], next.leg[0]],
                    mate: [last.mate[1], next.mate[0]],
                    gap: [last.gap[1], next.gap[0]],
                    at: [last.at[1], next.at[0]],
                    layer: next.layer,
                    bend: true,
                });
            }
        }
        out.push(next);
    }
    out
}

/// A strand with what is asked of it again and again.
struct Prepared {
    strand: Strand,
    curve: Curve,
    /// Box of its copper.
    bounds: Envelope,
    chords: Vec<Chord>,
}

fn prepared(strands: &[Strand]) -> Vec<Prepared> {
    let prepare = |strand: &Strand| {
        let curve = strand.path.curve();
        let bounds = curve.envelope().grown(strand.width / 2);
        Prepared { strand: *strand, curve, bounds, chords: chords(&curve, strand.start) }
    };
    strands.iter().map(prepare).collect()
}

/// For each position, the interval with the least value there: intervals (index, ends, value) to (index, part).
fn nearest(intervals: impl Iterator<Item = (usize, [f64; 2], f64)>) -> Vec<(usize, [f64; 2])> {
    let mut intervals: Vec<(usize, [f64; 2], f64)> = intervals.collect();
    intervals.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]).then(a.0.cmp(&b.0)));
    let mut cuts: Vec<f64> = intervals.iter().flat_map(|found| found.1).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let mut out: Vec<(usize, [f64; 2])> = Vec::new();
    let mut open: Vec<(usize, [f64; 2], f64)> = Vec::new();
    let mut waiting = intervals.into_iter().peekable();
    for pair in cuts.windows(2) {
        let &[from, to] = pair else { continue };
        let middle = f64::midpoint(from, to);
        while let Some(next) = waiting.next_if(|next| next.1[0] <= middle) {
            open.push(next);
        }
        open.retain(|found| found.1[1] >= middle);
        let least = open.iter().min_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
        if let Some(&(index, ..)) = least {
            match out.last_mut() {
                Some(last) if last.0 == index && (last.1[1] - from).abs() < 1e-6 => last.1[1] = to,
                _ => out.push((index, [from, to])),
            }
        }
    }
    out
}

/// A straight piece of a strand, or one that stands for a piece of its arc.
#[derive(Debug, Clone, Copy)]
struct Chord {
    ends: [Vector; 2],
    positions: [f64; 2],
    direction: Vector,
}

impl Chord {
    fn new(ends: [Vector; 2], positions: [f64; 2]) -> Self {
        Self { ends, positions, direction: (ends[1] - ends[0]).unit() }
    }
}

fn strands(one: &Prepared, two: &Prepared, reach: Reach, out: &mut Vec<Beside>) {
    if let (Curve::Arc(a), Curve::Arc(b)) = (&one.curve, &two.curve)
        && a.centre.distance(b.centre) <= CONCENTRIC
    {
        arcs((&one.strand, a, &one.chords), (&two.strand, b), reach, out);
        return;
    }
    for x in &one.chords {
        for y in &two.chords {
            lines(&one.strand, x, &two.strand, y, reach, out);
        }
    }
}

fn chords(curve: &Curve, start: f64) -> Vec<Chord> {
    match curve {
        Curve::Segment(from, to) => {
            vec![Chord::new([*from, *to], [start, start + from.distance(*to)])]
        }
        Curve::Arc(arc) => {
            let step = (8.0 * SAGITTA / arc.radius).sqrt().clamp(1e-3, 0.2);
            let count = from_f64((arc.sweep.abs() / step).ceil()).max(1);
            let turn = |index: i64| arc.sweep.abs() * to_f64(index) / to_f64(count);
            (0..count)
                .map(|index| {
                    let turns = [turn(index), turn(index + 1)];
                    Chord::new(turns.map(|turn| arc.at_turn(turn)), turns.map(|turn| start + turn * arc.radius))
                })
                .collect()
        }
    }
}

fn lines(one: &Strand, x: &Chord, two: &Strand, y: &Chord, reach: Reach, out: &mut Vec<Beside>) {
    let mut y = *y;
    if reach.either_way && x.direction.dot(y.direction) < 0.0 {
        y.ends.reverse();
        y.positions.reverse();
        y.direction = y.direction * -1.0;
    }
    if x.direction.dot(y.direction) < PARALLEL_COSINE {
        return;
    }
    let along = (x.direction + y.direction).unit();
    let a = x.ends.map(|end| end.dot(along));
    let b = y.ends.map(|end| end.dot(along));
    let (mut low, mut high) = (a[0].max(b[0]), a[1].min(b[1]));
    if high - low <= 0.0 {
        return;
    }
    let half = to_f64(one.width + two.width) / 2.0;
    let point = |ends: [Vector; 2], range: [f64; 2], at: f64| {
        ends[0] + (ends[1] - ends[0]) * ((at - range[0]) / (range[1] - range[0]))
    };
    let offset = |at: f64| (point(y.ends, b, at) - point(x.ends, a, at)).dot(along.turned());
    // The offset is linear, so the part within reach is one interval.
    let greatest = reach.gap + half;
    let (from, to) = (offset(low), offset(high));
    let slope = (to - from) / (high - low);
    if slope.abs() > 1e-12 {
        let cuts = [(-greatest - from) / slope, (greatest - from) / slope].map(|cut| low + cut);
        (low, high) = (low.max(cuts[0].min(cuts[1])), high.min(cuts[0].max(cuts[1])));
    } else if from.abs() > greatest {
        return;
    }
    if high - low <= SPECK / 2.0 {
        return;
    }
    let ends = [low, high];
    let position = |positions: [f64; 2], range: [f64; 2], at: f64| {
        positions[0] + (positions[1] - positions[0]) * ((at - range[0]) / (range[1] - range[0]))
    };
    out.push(Beside {
        leg: ends.map(|at| position(x.positions, a, at)),
        mate: ends.map(|at| position(y.positions, b, at)),
        gap: ends.map(|at| offset(at).abs() - half),
        at: ends.map(|at| point(x.ends, a, at)),
        layer: one.layer,
        bend: false,
    });
}

fn arcs(
    (one, a, chords): (&Strand, &ArcFrame, &[Chord]),
    (two, b): (&Strand, &ArcFrame),
    reach: Reach,
    out: &mut Vec<Beside>,
) {
    let gap = (a.radius - b.radius).abs() - to_f64(one.width + two.width) / 2.0;
    let same_way = a.sweep.signum() * b.sweep.signum() > 0.0;
    if gap > reach.gap || !(same_way || reach.either_way) {
        return;
    }
    // Turns of `a` at which `b` begins and ends, brought to one walking direction.
    let b_frame = if same_way { *b } else { b.reversed() };
    let lead = ((b_frame.start - a.start) * a.sweep.signum()).rem_euclid(std::f64::consts::TAU);
    for begin in [lead, lead - std::f64::consts::TAU] {
        let (from, to) = (begin.max(0.0), (begin + b.sweep.abs()).min(a.sweep.abs()));
        if (to - from) * a.radius <= SPECK / 2.0 {
            continue;
        }
        let turns = [from, to];
        let mate = |turn: f64| {
            let along = (turn - begin) * b.radius;
            two.start + if same_way { along } else { b.length() - along }
        };
        // Cut into pieces so that the points between the ends stay on the arc.
        for chord in chords {
            let piece = chord.positions.map(|position| (position - one.start) / a.radius);
            let part = [turns[0].max(piece[0]), turns[1].min(piece[1])];
            if (part[1] - part[0]) * a.radius > 1e-6 {
                out.push(Beside {
                    leg: part.map(|turn| one.start + turn * a.radius),
                    mate: part.map(mate),
                    gap: [gap; 2],
                    at: part.map(|turn| a.at_turn(turn)),
                    layer: one.layer,
                    bend: false,
                });
            }
        }
    }
}
