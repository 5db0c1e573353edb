//! From stretches to pieces that are not solved yet: each with what is around it and the section it asks for.

use super::across::{Across, Span};
use super::around::{Around, Traces, beside_reach, centred, look, outward, plane_reach};
use super::cache::{Cache, Slot};
use super::change::{Corridor, Fineness, Place, cells};
use super::ground::{Grounds, Part};
use super::section::draw;
use super::stretch::{Mate, Stretch};
use super::{Basis, Doubt, Leg, Role};
use crate::board::{LayerId, NetId};
use crate::copper::{Item, ItemId, ItemRef, Route, Step};
use crate::geometry::{Envelope, Path, Point, ShapeRef, Vector, to_f64};
use std::sync::Arc;

/// A piece before it is solved.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Where it is.
    pub stretch: Stretch,
    /// Its ends on its leg's centre line.
    pub at: [Point; 2],
    /// What is around its middle; `None` where nobody looked.
    pub around: Option<Around>,
    /// Its section; none where it borrows or is in doubt.
    pub asks: Option<Asked>,
    /// Why it has none.
    pub doubt: Option<Doubt>,
}

/// A section that a piece asks for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The section.
    pub slot: Arc<Slot>,
    /// Place of leg P, or of the single line, among its signals.
    pub own: usize,
    /// Place of leg N.
    pub mate: Option<usize>,
    /// Every dielectric has a loss tangent.
    pub lossy: bool,
}

impl Draft {
    /// Its length along its leg, nanometres.
    pub const fn length(&self) -> f64 {
        self.stretch.along[1] - self.stretch.along[0]
    }

    /// Goes on up to the end of the next.
    fn extend(&mut self, next: &Self) {
        self.stretch.along[1] = next.stretch.along[1];
        self.at[1] = next.at[1];
        if let (Some(last), Some(next)) = (&mut self.stretch.mate, next.stretch.mate) {
            last.along[1] = next.along[1];
            last.gap[1] = next.gap[1];
        }
    }

    const fn is_bend(&self) -> bool {
        matches!(self.stretch.mate, Some(Mate { bend: true, .. }))
    }

    /// Whether another piece lies in the same kind of place: same layer, coupled or not.
    fn is_like(&self, other: &Self) -> bool {
        let coupled = |draft: &Self| draft.stretch.mate.is_some();
        self.stretch.layer == other.stretch.layer
            && coupled(self) == coupled(other)
            && (coupled(self) || self.stretch.leg == other.stretch.leg)
    }
}

/// Changes are followed along the route in steps of this part of the height, for the field does not follow them more
/// finely,
const GRAIN: f64 = 0.5;
/// and in steps of no less than this, in nanometres.
const LEAST_GRAIN: f64 = 50_000.0;
/// Pieces shorter than this, in nanometres, take the section of a neighbour.
const SHORT: f64 = 50_000.0;
/// Edges that run obliquely are followed in steps of this part of the height,
const OBLIQUE: f64 = 0.3;
/// those of teardrops in steps of this part of the width,
const TEARDROP: f64 = 0.1;
/// and none in steps of less than this, in nanometres.
const LEAST_STEP: f64 = 10_000.0;

/// The drafts of a route or pair are made with this.
pub struct Planner<'p, 'a> {
    /// The board's reference copper.
    pub grounds: &'p Grounds<'a>,
    /// The stackup.
    pub basis: &'p Basis,
    /// Sections.
    pub cache: &'p Cache,
    /// Leg P, or the single route.
    pub p: &'p Route,
    /// Leg N.
    pub n: Option<&'p Route>,
}

impl Planner<'_, '_> {
    /// The drafts of some stretches, in order.
    pub fn drafts(&self, stretches: &[Stretch]) -> Vec<Draft> {
        let mut drafts: Vec<Draft> = Vec::with_capacity(stretches.len());
        for stretch in stretches {
            self.cut(stretch, &mut drafts);
        }
        self.lend_to_lands(&mut drafts);
        lend(&mut drafts, |draft| draft.is_bend() || (draft.asks.is_some() && draft.length() < SHORT));
        united(drafts)
    }

    fn route(&self, leg: Leg) -> &Route {
        match (leg, self.n) {
            (Leg::N, Some(n)) => n,
            _ => self.p,
        }
    }

    fn step(&self, stretch: &Stretch) -> Option<&Step> {
        self.route(stretch.leg).steps.get(stretch.step)
    }

    /// The nets of a stretch: its leg's first.
    fn nets(&self, leg: Leg) -> Vec<NetId> {
        let (own, other) = match leg {
            Leg::P => (self.p.net, self.n.map(|n| n.net)),
            Leg::N => (self.route(leg).net, Some(self.p.net)),
        };
        std::iter::once(own).chain(other).collect()
    }

    /// Cuts a stretch where its surroundings change.
    fn cut(&self, stretch: &Stretch, out: &mut Vec<Draft>) {
        let Some(step) = self.step(stretch) else { return };
        let start = step.start.to_nm();
        let at = stretch.along.map(|along| step.path.point_at(along - start).to_point());
        let plain = Draft { stretch: *stretch, at, around: None, asks: None, doubt: None };
        match stretch.role {
            Role::Area => return out.push(Draft { doubt: Some(Doubt::NoCentreLine), ..plain }),
            Role::Land => return out.push(plain),
            Role::Track if plain.is_bend() => return out.push(plain),
            Role::Track => {}
        }
        let nets = self.nets(stretch.leg);
        let length = stretch.along[1] - stretch.along[0];
        let path = step.path.between(stretch.along[0] - start, stretch.along[1] - start);
        let Some((_, traces)) = self.station(stretch, step, 0.5, &nets) else { return };
        let places = self.changes(&path, &traces);
        let cells = cells(length, places);
        let first = out.len();
        for (from, to) in cells {
            let share = |position: f64| if length > 0.0 { (position / length).clamp(0.0, 1.0) } else { 0.0 };
            let Some((across, traces)) = self.station(stretch, step, share(f64::midpoint(from, to)), &nets) else {
                continue;
            };
            let around = look(self.grounds, self.basis, across, &traces);
            let part = part(stretch, share(from), share(to));
            let mut draft = self.draft(part, step, Some(around));
            // A cell like the one before goes on with it.
            if let Some(last) = out.get_mut(first..).and_then(|own| own.last_mut())
                && continues(last, &draft)
            {
                last.extend(&draft);
            } else {
                draft.stretch.role = draft.around.as_ref().map_or(Role::Track, |around| around.role);
                out.push(draft);
            }
        }
    }

    /// The line across a stretch at a share of its length, and the traces there.
    fn station<'n>(
        &self,
        stretch: &Stretch,
        step: &Step,
        share: f64,
        nets: &'n [NetId],
    ) -> Option<(Across, Traces<'n>)> {
        let mix = |[from, to]: [f64; 2]| from + (to - from) * share;
        let spot = |step: &Step, along: [f64; 2]| {
            let position = mix(along) - step.start.to_nm();
            (step.path.point_at(position), step.path.tangent_at(position))
        };
        let (origin, along) = spot(step, stretch.along);
        let own = centred(step.width);
        let Some(mate) = &stretch.mate else {
            let across = Across::new(origin, along, (0.0, 0.0));
            return Some((across, Traces { layer: stretch.layer, own, mate: None, nets }));
        };
        // Legs are matched square to the bisector of their directions.
        let other = self.n?.steps.get(mate.step)?;
        let (there, other_along) = spot(other, mate.along);
        let across = Across::new(origin, (along + other_along).unit(), (0.0, 0.0));
        let (offset, width) = (across.offset(there), to_f64(other.width));
        let drawn = offset.abs() - own.1 - width / 2.0;
        let gap = if mate.tapers && drawn > 0.0 { stepped(drawn) } else { mix(mate.gap) };
        let (near, far) = (own.1 + gap, own.1 + gap + width);
        let mate = Some(if offset < 0.0 { (-far, -near) } else { (near, far) });
        Some((across, Traces { layer: stretch.layer, own, mate, nets }))
    }

    /// A draft with its section.
    fn draft(&self, stretch: Stretch, step: &Step, around: Option<Around>) -> Draft {
        let start = step.start.to_nm();
        let at = stretch.along.map(|along| step.path.point_at(along - start).to_point());
        let mut draft = Draft { stretch, at, around, asks: None, doubt: None };
        let Some(around) = &draft.around else { return draft };
        draft.doubt = match around.role {
            Role::Area => Some(Doubt::NoCentreLine),
            _ => around.doubt,
        };
        if draft.doubt.is_none() && around.role == Role::Track {
            draft.asks = Some(self.asked(stretch.layer, around));
        }
        draft
    }

    fn asked(&self, layer: LayerId, around: &Around) -> Asked {
        let drawn = draw(self.basis, layer, around);
        Asked { slot: self.cache.slot(&drawn), own: drawn.own, mate: drawn.mate, lossy: drawn.lossy }
    }

    /// Places along a path at which what is around it may change.
    fn changes(&self, path: &Path, traces: &Traces<'_>) -> Vec<Place> {
        let mut places = Vec::new();
        let mut nearest: Option<f64> = None;
        for up in [true, false] {
            for layer in outward(self.basis, traces.layer, up) {
                let height = self.basis.clear(traces.layer, layer);
                let corridor = Corridor::new(path, grown(traces.extent(), plane_reach(traces, height)));
                let found = self.plane_changes(layer, path, &corridor, traces.nets, height.to_nm(), &mut places);
                if found != Found::Nothing {
                    nearest = Some(nearest.map_or(height.to_nm(), |nearest| nearest.min(height.to_nm())));
                }
                if found == Found::Whole {
                    break;
                }
            }
        }
        self.own_changes(path, traces, nearest, &mut places);
        places
    }

    fn plane_changes(
        &self,
        layer: LayerId,
        path: &Path,
        corridor: &Corridor,
        nets: &[NetId],
        height: f64,
        places: &mut Vec<Place>,
    ) -> Found {
        let items = self.grounds.copper().items();
        let near = self.grounds.near(layer, corridor.bounds());
        let ground = |item: &Item<'_>| matches!(self.grounds.part(item, nets), Part::Ground { .. });
        let grounds: Vec<_> = near.iter().filter(|(_, item)| ground(item)).collect();
        let whole = grounds.iter().any(|(id, item)| {
            let ring = items.ring(*id);
            ring.is_some_and(|ring| ring.covers_corridor(item.shape.radius(), path, corridor.half_width()))
        });
        if whole {
            return Found::Whole;
        }
        for (id, item) in &grounds {
            self.edges(*id, item, corridor, fine(OBLIQUE * height, height), places);
        }
        if grounds.is_empty() { Found::Nothing } else { Found::Part }
    }

    fn own_changes(&self, path: &Path, traces: &Traces<'_>, height: Option<f64>, places: &mut Vec<Place>) {
        let extent = traces.extent();
        let wide = Corridor::new(path, grown(extent, beside_reach(traces, height)));
        let close = Corridor::new(path, grown(extent, height.unwrap_or(0.0)));
        let near = height.unwrap_or(0.0);
        let (beside, own) = (fine(OBLIQUE * near / 2.0, near), fine(TEARDROP * (traces.own.1 - traces.own.0), 0.0));
        for (id, item) in self.grounds.near(traces.layer, wide.bounds()) {
            match (self.grounds.part(item, traces.nets), item.source) {
                (Part::Ground { .. }, _) => self.edges(id, item, &wide, beside, places),
                (Part::Foreign, _) => self.edges(id, item, &close, beside, places),
                (Part::Own, ItemRef::Pad(_) | ItemRef::Via(_)) => {
                    let ends = item.shape.crossings(path).into_iter();
                    places.extend(ends.map(|at| Place { at, grain: own.grain }));
                }
                (Part::Own, ItemRef::Fill(_) | ItemRef::Graphic(_)) => {
                    self.edges(id, item, &close, own, places);
                }
                _ => {}
            }
        }
    }

    /// The places that an item's edges make; those of a small stroke by its box.
    fn edges(&self, id: ItemId, item: &Item<'_>, corridor: &Corridor, fine: Fineness, places: &mut Vec<Place>) {
        if let Some(ring) = self.grounds.copper().items().ring(id) {
            let bounds = corridor.bounds().grown(item.shape.radius());
            ring.visit_near(bounds, |from, to| {
                corridor.add(from.into(), to.into(), fine, places);
                true
            });
            return;
        }
        match item.shape {
            ShapeRef::Area { ring, .. } => {
                for (from, to) in crate::geometry::ring::edges(ring) {
                    corridor.add(from.into(), to.into(), fine, places);
                }
            }
            ShapeRef::Stroke { .. } => {
                for (from, to) in sides(item.envelope) {
                    corridor.add(from, to, fine, places);
                }
            }
        }
    }

    /// Straight lines inside lands take the section of the nearest track on their layer. Where there is none, the land
    /// itself is taken as a trace as wide as it is.
    fn lend_to_lands(&self, drafts: &mut [Draft]) {
        let waiting = |draft: &Draft| draft.stretch.role == Role::Land && draft.doubt.is_none();
        lend(drafts, waiting);
        for draft in drafts.iter_mut().filter(|draft| waiting(draft) && draft.asks.is_none()) {
            let nets = self.nets(draft.stretch.leg);
            let Some(step) = self.step(&draft.stretch) else { continue };
            let Some((across, mut traces)) = self.station(&draft.stretch, step, 0.5, &nets) else { continue };
            if traces.own.1 <= 0.0 {
                traces.own = centred(LAND);
            }
            let around = look(self.grounds, self.basis, across, &traces);
            // Only its delay counts, which a mate below hardly changes.
            draft.doubt = around.doubt.filter(|doubt| *doubt != Doubt::Broadside);
            if draft.doubt.is_none() {
                draft.asks = Some(self.asked(draft.stretch.layer, &around));
            }
        }
    }
}

/// Drafts that follow on from each other in one section, as one: a track drawn in parts, a bend and what it borrowed from.
fn united(drafts: Vec<Draft>) -> Vec<Draft> {
    let mut out: Vec<Draft> = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let meets = |last: &Draft| {
            let apart = |one: [f64; 2], two: [f64; 2]| (two[0] - one[1]).abs();
            let mates = match (&last.stretch.mate, &draft.stretch.mate) {
                (Some(one), Some(two)) => apart(one.along, two.along) < APART,
                (None, None) => last.stretch.leg == draft.stretch.leg,
                _ => false,
            };
            let same = match (&last.asks, &draft.asks) {
                (Some(one), Some(two)) => Arc::ptr_eq(&one.slot, &two.slot) && one.own == two.own,
                _ => false,
            };
            let role = last.stretch.role == draft.stretch.role && last.stretch.layer == draft.stretch.layer;
            same && mates && role && last.doubt == draft.doubt && apart(last.stretch.along, draft.stretch.along) < APART
        };
        match out.last_mut() {
            Some(last) if meets(last) => last.extend(&draft),
            _ => out.push(draft),
        }
    }
    out
}

/// Ends this near, in nanometres, meet.
const APART: f64 = 1.0;

/// Width of a trace inside a land before the land makes it wider, nanometres.
const LAND: i64 = 100_000;

/// A gap that lasts for a moment only, to 5 %: tapers that are nearly alike share their sections.
fn stepped(gap: f64) -> f64 {
    if gap > 0.0 { ((gap.ln() / GAP_STEP.ln_1p()).round() * GAP_STEP.ln_1p()).exp() } else { gap }
}

/// The step.
const GAP_STEP: f64 = 0.05;

/// What was found of a plane layer along a path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    Nothing,
    Part,
    Whole,
}

/// Lets each draft that `borrows` take the section of the nearest one of its kind that does not.
fn lend(drafts: &mut [Draft], borrows: impl Fn(&Draft) -> bool) {
    let count = drafts.len();
    for at in 0..count {
        let Some(draft) = drafts.get(at).filter(|draft| borrows(draft)) else { continue };
        let fits = |other: usize| {
            let other = drafts.get(other)?;
            let track = other.stretch.role == Role::Track && !borrows(other) && other.asks.is_some();
            let leg = other.stretch.mate.is_some() || other.stretch.leg == draft.stretch.leg;
            let like = if draft.stretch.role == Role::Land {
                other.stretch.layer == draft.stretch.layer && leg
            } else {
                draft.is_like(other)
            };
            (track && like).then(|| (other.asks.clone(), other.around.clone()))
        };
        let found = (1..count).find_map(|away| at.checked_sub(away).and_then(fits).or_else(|| fits(at + away)));
        if let (Some((asks, around)), Some(draft)) = (found, drafts.get_mut(at)) {
            draft.asks = asks;
            if draft.stretch.role == Role::Track {
                draft.around = draft.around.take().or(around);
            }
        }
    }
}

fn fine(taper: f64, height: f64) -> Fineness {
    Fineness { taper: taper.max(LEAST_STEP), grain: (GRAIN * height).max(LEAST_GRAIN) }
}

fn grown((from, to): Span, by: f64) -> Span {
    (from - by, to + by)
}

fn sides(bounds: Envelope) -> [(Vector, Vector); 4] {
    let (low, high) = (Vector::from(bounds.min), Vector::from(bounds.max));
    let corners = [low, Vector::new(high.x, low.y), high, Vector::new(low.x, high.y)];
    let [a, b, c, d] = corners;
    [(a, b), (b, c), (c, d), (d, a)]
}

/// The part of a stretch between two shares of its length.
fn part(stretch: &Stretch, from: f64, to: f64) -> Stretch {
    let mix = |[start, end]: [f64; 2]| {
        let at = |share: f64| if share >= 1.0 { end } else { start + (end - start) * share };
        [at(from), at(to)]
    };
    let mate = stretch.mate.map(|mate| Mate { along: mix(mate.along), gap: mix(mate.gap), ..mate });
    Stretch { along: mix(stretch.along), mate, ..*stretch }
}

/// Whether a draft goes on with the one before: the same section, or the same reason for none.
fn continues(last: &Draft, next: &Draft) -> bool {
    let same = match (&last.asks, &next.asks) {
        (Some(last), Some(next)) => Arc::ptr_eq(&last.slot, &next.slot) && last.own == next.own,
        (None, None) => true,
        _ => false,
    };
    let role = |draft: &Draft| draft.around.as_ref().map(|around| around.role);
    same && last.doubt == next.doubt && role(last) == role(next)
}
