//! Necks: where a route is narrower than it is for most of its way, near its pads and elsewhere.

use super::graph_parts::{Base, is_teardrop};
use super::route::{Route, Step, StepKind};
use super::{Copper, ItemRef};
use crate::board::{LayerId, PadId, TrackId};
use crate::geometry::{Path, Point, ShapeRef, Vector, crossings, to_f64};
use crate::units::Length;
use std::collections::BTreeMap;

/// A track is a neck where it is narrower than this share of the route's main width: fabs make widths to ±10 % at best
/// (published capability tables), so a drawn width within that is the same width.
const SAME_WIDTH: f64 = 0.9;

/// A layer with less than this share of a route's tracks has no main width of its own.
const OWN_WIDTH_SHARE: f64 = 0.25;

/// A stretch of a route that is narrower than its main width.
#[derive(Debug, Clone, PartialEq)]
pub struct Neck {
    /// Layer where it starts.
    pub layer: LayerId,
    /// Where it starts.
    pub at: Point,
    /// Position along the route where it starts, barrels counted as zero.
    pub start: Length,
    /// How long it is: tracks alone, the part that a teardrop widens left out.
    pub length: Length,
    /// Its least width.
    pub width: Length,
    /// The main width it is held against.
    pub main: Length,
    /// Its narrowest track.
    pub track: TrackId,
}

/// How a route meets a pad.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The pad.
    pub pad: PadId,
    /// Layer.
    pub layer: LayerId,
    /// Where the centre line crosses the pad's outline.
    pub at: Point,
    /// Width of the track there.
    pub track: Length,
    /// Width of the pad across the track's direction.
    pub width: Length,
    /// Length of the pad along the track's direction.
    pub length: Length,
    /// A teardrop smooths the step.
    pub teardrop: bool,
}

impl Entry {
    /// How many times wider the pad is than the track.
    #[must_use]
    pub fn step(&self) -> f64 {
        self.width.to_nm() / self.track.to_nm().max(1.0)
    }
}

/// The necks of a route.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Necks {
    /// The width of the greatest length, by layer.
    pub main: BTreeMap<LayerId, Length>,
    /// How the route meets its first and its last pad; `None` where no track does.
    pub entries: [Option<Entry>; 2],
    /// The neck that starts at the first pad, and the one that starts at the last pad.
    pub ends: [Option<Neck>; 2],
    /// Necks that touch neither pad.
    pub between: Vec<Neck>,
}

impl Copper<'_> {
    /// The necks of a route.
    #[must_use]
    pub fn necks(&self, route: &Route) -> Necks {
        let base = self.base();
        let main = main_widths(route);
        let narrow = |step: &Step| {
            let main = main.get(&step.layer)?;
            (to_f64(step.width) < main * SAME_WIDTH - 0.5).then_some(*main)
        };
        let mut runs: Vec<Run<'_>> = Vec::new();
        let mut open = false;
        for (at, step) in route.steps.iter().enumerate() {
            if !matches!(step.kind, StepKind::Track(_)) {
                // Pads and barrels on the way neither widen nor end a neck; poured copper ends it.
                open &= !matches!(step.kind, StepKind::Fill(_) | StepKind::Graphic(_));
                continue;
            }
            match narrow(step) {
                Some(main) if open => {
                    if let Some(run) = runs.last_mut() {
                        run.steps.push((step, main));
                    }
                }
                Some(main) => runs.push(Run { first: at, steps: vec![(step, main)] }),
                None => {}
            }
            open = narrow(step).is_some();
        }
        let is_track = |step: &Step| matches!(step.kind, StepKind::Track(_));
        let first = route.steps.iter().position(is_track);
        let last = route.steps.iter().rposition(is_track).and_then(|at| route.steps.get(at));
        let mut necks = Necks {
            main: main.iter().map(|(&layer, &width)| (layer, Length::nm(width))).collect(),
            entries: [entry(base, route, false), entry(base, route, true)],
            ..Necks::default()
        };
        for run in runs {
            let ends_last =
                run.steps.last().is_some_and(|(step, _)| last.is_some_and(|last| std::ptr::eq(*step, last)));
            if Some(run.first) == first {
                necks.ends[0] = run.neck(base, route, Some(false));
            } else if ends_last {
                necks.ends[1] = run.neck(base, route, Some(true));
            } else {
                necks.between.extend(run.neck(base, route, None));
            }
        }
        necks
    }
}

/// Narrow steps in a row, each with the main width it is held against.
struct Run<'r> {
    first: usize,
    steps: Vec<(&'r Step, f64)>,
}

impl Run<'_> {
    fn neck(&self, base: Base<'_, '_>, route: &Route, from_last: Option<bool>) -> Option<Neck> {
        let &(narrowest, main) = self.steps.iter().min_by_key(|(step, _)| step.width)?;
        let StepKind::Track(track) = narrowest.kind else { return None };
        let length: Length = self.steps.iter().map(|(step, _)| step.length).sum();
        let (first, _) = self.steps.first()?;
        let (last, _) = self.steps.last()?;
        let widened = match from_last {
            None => 0.0,
            Some(false) => widened(base, route, (route.from, first.layer), &first.path, main),
            Some(true) => widened(base, route, (route.to, last.layer), &last.path.reversed(), main),
        };
        let length = Length::nm(length.to_nm() - widened);
        let at = if from_last == Some(true) { last.path.end() } else { first.path.start() };
        (length > Length::ZERO).then_some(Neck {
            layer: if from_last == Some(true) { last.layer } else { first.layer },
            at,
            start: first.start,
            length,
            width: Length::nm(to_f64(narrowest.width)),
            main: Length::nm(main),
            track,
        })
    }
}

/// The width that holds the greatest length of a route, for each layer that holds enough of it, else for all.
fn main_widths(route: &Route) -> BTreeMap<LayerId, f64> {
    let mut by_layer: BTreeMap<LayerId, BTreeMap<i64, f64>> = BTreeMap::new();
    let mut all: BTreeMap<i64, f64> = BTreeMap::new();
    for step in route.steps.iter().filter(|step| matches!(step.kind, StepKind::Track(_)) && step.width > 0) {
        *by_layer.entry(step.layer).or_default().entry(step.width).or_default() += step.length.to_nm();
        *all.entry(step.width).or_default() += step.length.to_nm();
    }
    // Of widths with equal length the wider one is the main width: the other is the neck.
    let longest = |widths: &BTreeMap<i64, f64>| {
        widths.iter().max_by(|one, other| one.1.total_cmp(other.1).then(one.0.cmp(other.0))).map(|(width, _)| *width)
    };
    let total: f64 = all.values().sum();
    by_layer
        .iter()
        .filter_map(|(&layer, widths)| {
            let own = widths.values().sum::<f64>() >= total * OWN_WIDTH_SHARE;
            Some((layer, to_f64(longest(if own { widths } else { &all })?)))
        })
        .collect()
}

/// How a route meets its first (or last) pad.
fn entry(base: Base<'_, '_>, route: &Route, at_last: bool) -> Option<Entry> {
    let is_track = |step: &&Step| matches!(step.kind, StepKind::Track(_));
    let (pad, step, other) = if at_last {
        (route.to, route.steps.iter().rev().find(is_track)?, route.steps.last()?)
    } else {
        (route.from, route.steps.iter().find(is_track)?, route.steps.first()?)
    };
    // A barrel between the pad and the first track: the track does not meet the pad.
    let planar = if at_last {
        route.steps.iter().rev().take_while(|other| !std::ptr::eq(*other, step)).all(|step| step.layer == step.to_layer)
    } else {
        route.steps.iter().take_while(|other| !std::ptr::eq(*other, step)).all(|step| step.layer == step.to_layer)
    };
    if !planar || other.layer != step.layer {
        return None;
    }
    let path = if at_last { step.path.reversed() } else { step.path };
    let along = path.tangent_at(0.0);
    let land = base.copper(ItemRef::Pad(pad), step.layer);
    let near = path.envelope().union(crate::geometry::Envelope::of_point(path.start()));
    let teardrop = teardrops(base, route, step.layer, &path)
        .iter()
        .any(|drop| drop.envelope().is_some_and(|envelope| envelope.meets(near)));
    Some(Entry {
        pad,
        layer: step.layer,
        at: path.start(),
        track: Length::nm(to_f64(step.width)),
        width: Length::nm(extent(&land, along.turned())?),
        length: Length::nm(extent(&land, along)?),
        teardrop,
    })
}

/// How far copper reaches in a direction.
fn extent(shapes: &[ShapeRef<'_>], direction: Vector) -> Option<f64> {
    let mut range: Option<(f64, f64)> = None;
    for shape in shapes {
        let pen = to_f64(shape.radius());
        for core in shape.core() {
            // Arcs bulge between their ends; a few points along them are near enough for a width.
            for part in 0..=8u8 {
                let at = core.point_at(core.length() * f64::from(part) / 8.0).dot(direction);
                let (low, high) = range.unwrap_or((at, at));
                range = Some((low.min(at - pen), high.max(at + pen)));
            }
        }
    }
    range.map(|(low, high)| high - low)
}

/// Teardrops of the route's net on a layer near a path.
fn teardrops<'b>(base: Base<'_, 'b>, route: &Route, layer: LayerId, path: &Path) -> Vec<ShapeRef<'b>> {
    let mut found = Vec::new();
    base.items.visit_near(layer, path.envelope(), |id, item| {
        if let ItemRef::Fill(fill) = item.source
            && item.net == route.net
            && is_teardrop(base.board, fill)
        {
            found.push((id, item.shape));
        }
    });
    found.sort_unstable_by_key(|(id, _)| *id);
    found.into_iter().map(|(_, shape)| shape).collect()
}

/// How far from its start at a pad a path runs through teardrops at least as wide as `width` nanometres.
fn widened(base: Base<'_, '_>, route: &Route, (pad, layer): (PadId, LayerId), path: &Path, width: f64) -> f64 {
    let mut shapes = teardrops(base, route, layer, path);
    if shapes.is_empty() {
        return 0.0;
    }
    shapes.extend(base.copper(ItemRef::Pad(pad), layer));
    let wide = |along: f64| across(&shapes, path, along, width) >= width;
    // A teardrop only narrows on its way: halve until within a micrometre.
    let (mut low, mut high) = (0.0, path.length());
    if !wide(0.0) {
        return 0.0;
    }
    if wide(high) {
        return high;
    }
    while high - low > 1000.0 {
        let middle = f64::midpoint(low, high);
        if wide(middle) { low = middle } else { high = middle }
    }
    low
}

/// Width of copper across a path, looked at up to twice `reach` to either side.
fn across(shapes: &[ShapeRef<'_>], path: &Path, along: f64, reach: f64) -> f64 {
    let (at, normal) = (path.point_at(along), path.tangent_at(along).turned());
    let (from, to) = (at + normal * (-2.0 * reach), at + normal * (2.0 * reach));
    let section = Path::Line(from.to_point(), to.to_point());
    let middle = section.length() / 2.0;
    let cuts: Vec<f64> = std::iter::once(0.0).chain(crossings(&section, shapes)).chain([section.length()]).collect();
    cuts.windows(2)
        .find_map(|pair| match pair {
            [from, to] if *from <= middle && middle <= *to => {
                let point = section.point_at(f64::midpoint(*from, *to));
                Some(if shapes.iter().any(|shape| shape.contains(point)) { to - from } else { 0.0 })
            }
            _ => None,
        })
        .unwrap_or(0.0)
}
