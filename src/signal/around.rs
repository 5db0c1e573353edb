//! What is around a place of a route: planes above and below, grounded copper beside, the trace's own width.

use super::across::{Across, Span, length, merged, without};
use super::ground::{Grounds, Part};
use super::{Basis, Doubt, Role};
use crate::board::{LayerId, NetId, ZoneKind};
use crate::copper::{Item, ItemId, ItemRef};
use crate::geometry::to_f64;
use crate::units::Length;

/// The traces of a section, as their route states them.
#[derive(Debug, Clone, Copy)]
pub struct Traces<'n> {
    /// Layer.
    pub layer: LayerId,
    /// Edges of the route's own trace.
    pub own: Span,
    /// Edges of the mate's trace, where it is coupled.
    pub mate: Option<Span>,
    /// The route's net, then the mate's.
    pub nets: &'n [NetId],
}

impl Traces<'_> {
    /// From the leftmost to the rightmost edge.
    pub fn extent(&self) -> Span {
        self.mate.map_or(self.own, |mate| (self.own.0.min(mate.0), self.own.1.max(mate.1)))
    }

    /// How far sideways planes matter, in heights. With a plane that ends there a single line's impedance is 0.7 %
    /// higher than over a whole one (1.7 % if no other plane follows), a pair's differential one 0.3 %: solved for 0.18
    /// mm and 0.12 mm wide traces on 0.1 mm.
    pub const fn plane_reach(&self) -> f64 {
        if self.mate.is_some() { 1.5 } else { 2.0 }
    }

    /// How far sideways grounded copper beside the traces matters, in heights: left out at that gap it would lower the
    /// impedance by 0.9 %.
    pub const fn beside_reach(&self) -> f64 {
        if self.mate.is_some() { 2.0 } else { 3.0 }
    }
}

/// Planes farther to the side than this don't count, however high the trace is over them.
const WIDEST_PLANE: f64 = 1_000_000.0;
/// Nor does copper beside the trace farther than this over a plane, and farther than that without one.
const WIDEST_BESIDE: f64 = 500_000.0;
const WIDEST_OPEN: f64 = 2_000_000.0;
/// Copper goes on for this many heights beyond the reach if it goes on at all.
const BEYOND: f64 = 3.0;
/// Slits in planes narrower than this part of the height let no field through that matters.
const SLIT: f64 = 0.25;
/// Strips of copper narrower than this, in nanometres, are left out; so are slits between copper beside the trace.
const STRIP: f64 = 20_000.0;
/// Planes with openings above each other: so many are drawn; the next that covers half of what is left open counts as
/// whole.
const MOST_PARTIAL: usize = 2;

/// A plane layer on one side of a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// The layer.
    pub layer: LayerId,
    /// Its copper within reach; `None` for a plane without opening there.
    pub spans: Option<Vec<Span>>,
}

/// What is around a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Around {
    /// What the place is of.
    pub role: Role,
    /// Edges of the route's own trace, teardrops included.
    pub own: Span,
    /// Edges of the mate's.
    pub mate: Option<Span>,
    /// Plane layers above, nearest first; all but the last have openings.
    pub above: Vec<Cover>,
    /// The same below.
    pub below: Vec<Cover>,
    /// Grounded copper on the trace's own layer.
    pub beside: Vec<Span>,
    /// Why this can't be relied on.
    pub doubt: Option<Doubt>,
}

/// Looks around a place.
pub fn look(grounds: &Grounds<'_>, basis: &Basis, across: Across, traces: &Traces<'_>) -> Around {
    let mut look = Look { grounds, basis, across, traces, doubt: None };
    let (above, below) =
        (look.side(&outward(basis, traces.layer, true)), look.side(&outward(basis, traces.layer, false)));
    let nearest = above.first().into_iter().chain(below.first());
    let height = nearest.map(|cover| basis.clear(traces.layer, cover.layer).to_nm()).reduce(f64::min);
    let (role, own, mate, beside) = look.own_layer(height);
    Around { role, own, mate, above, below, beside, doubt: look.doubt }
}

/// The layers on one side, nearest first.
pub fn outward(basis: &Basis, layer: LayerId, up: bool) -> Vec<LayerId> {
    let count = u8::try_from(basis.foils.len()).unwrap_or(u8::MAX);
    if up {
        (0..layer.0).rev().map(LayerId).collect()
    } else {
        (layer.0.saturating_add(1)..count).map(LayerId).collect()
    }
}

/// How far sideways a plane at a height counts, nanometres.
pub fn plane_reach(traces: &Traces<'_>, height: Length) -> f64 {
    (traces.plane_reach() * height.to_nm()).min(WIDEST_PLANE)
}

/// How far sideways copper on the trace's own layer counts, nanometres.
pub fn beside_reach(traces: &Traces<'_>, height: Option<f64>) -> f64 {
    height.map_or(WIDEST_OPEN, |height| (traces.beside_reach() * height).min(WIDEST_BESIDE))
}

struct Look<'l, 'a> {
    grounds: &'l Grounds<'a>,
    basis: &'l Basis,
    across: Across,
    traces: &'l Traces<'l>,
    doubt: Option<Doubt>,
}

impl<'a> Look<'_, 'a> {
    /// The plane layers on one side. Behind a plane with openings the next one is seen through them only: it counts as
    /// whole if it covers them, and as much again to each side as it lies deeper.
    fn side(&mut self, layers: &[LayerId]) -> Vec<Cover> {
        let extent = self.traces.extent();
        let mut covers: Vec<Cover> = Vec::new();
        // Openings of the last plane that has any, with its height.
        let mut seen: Option<(Vec<Span>, f64)> = None;
        for &layer in layers {
            let height = self.basis.clear(self.traces.layer, layer);
            let reach = plane_reach(self.traces, height);
            let window = (extent.0 - reach, extent.1 + reach);
            let wanted = match &seen {
                None => vec![window],
                Some((openings, above)) => {
                    let deeper = height.to_nm() - above;
                    openings.iter().map(|&(from, to)| (from - deeper, to + deeper)).collect()
                }
            };
            let hull = wanted.iter().fold(window, |hull, span| (hull.0.min(span.0), hull.1.max(span.1)));
            let spans = self.plane(layer, hull, height.to_nm(), covers.is_empty());
            let openings = without(&wanted, &spans);
            if openings.is_empty() {
                covers.push(Cover { layer, spans: None });
                return covers;
            }
            self.unfilled(layer, &openings);
            if covers.len() >= MOST_PARTIAL {
                if length(&openings) * 2.0 < length(&wanted) {
                    covers.push(Cover { layer, spans: None });
                    return covers;
                }
                continue;
            }
            let beyond = BEYOND * height.to_nm();
            let spans: Vec<Span> = spans
                .into_iter()
                .filter(|span| span.1 - span.0 >= STRIP)
                .map(|(from, to)| {
                    let from = if from <= hull.0 + 1.0 { from - beyond } else { from };
                    (from, if to >= hull.1 - 1.0 { to + beyond } else { to })
                })
                .collect();
            if !spans.is_empty() {
                covers.push(Cover { layer, spans: Some(spans) });
                seen = Some((openings, height.to_nm()));
            }
        }
        covers
    }

    /// The copper of a plane layer within a window. The mate counts as running above or below this trace only if the layer
    /// is `nearest`: behind a plane with the pair's own openings it merely ends at its barrel.
    fn plane(&mut self, layer: LayerId, window: Span, height: f64, nearest: bool) -> Vec<Span> {
        let across = self.across.reaching(window);
        let mut spans = Vec::new();
        let mut meshed = false;
        for (id, item) in self.grounds.near(layer, across.envelope()) {
            match self.grounds.part(item, self.traces.nets) {
                Part::Ground { meshed: mesh } => {
                    let before = spans.len();
                    self.add(across, id, item, &mut spans);
                    meshed |= mesh && spans.len() > before;
                }
                Part::Own if nearest && self.is_broadside(across, id, item, height) => self.doubt(Doubt::Broadside),
                _ => {}
            }
        }
        if meshed {
            self.doubt(Doubt::Meshed);
        }
        merged(spans, SLIT * height)
    }

    /// Doubts bare places of a plane that a zone without fill should cover.
    fn unfilled(&mut self, layer: LayerId, openings: &[Span]) {
        let middle = |span: &Span| self.across.at(f64::midpoint(span.0, span.1)).to_point();
        let zone = openings.iter().find_map(|span| self.grounds.unfilled_at(layer, middle(span)));
        if let Some(zone) = zone {
            self.doubt(Doubt::Unfilled(zone));
        }
    }

    /// Whether an own item on another layer is the mate's track, within a height of this trace.
    fn is_broadside(&self, across: Across, id: ItemId, item: &Item<'_>, height: f64) -> bool {
        let alone = self.traces.mate.is_none();
        let other = matches!(item.source, ItemRef::Track(_)) && self.traces.nets.first() != Some(&item.net);
        if !(alone && other) {
            return false;
        }
        let mut spans = Vec::new();
        self.add(across, id, item, &mut spans);
        spans.iter().any(|span| span.0 < self.traces.own.1 + height && span.1 > self.traces.own.0 - height)
    }

    fn add(&self, across: Across, id: ItemId, item: &Item<'_>, spans: &mut Vec<Span>) {
        across.add(item.shape, self.grounds.copper().items().ring(id), spans);
    }

    fn doubt(&mut self, doubt: Doubt) {
        self.doubt = self.doubt.or(Some(doubt));
    }

    /// What is on the trace's own layer: what the place is of, its traces' edges, and grounded copper.
    fn own_layer(&mut self, height: Option<f64>) -> (Role, Span, Option<Span>, Vec<Span>) {
        let extent = self.traces.extent();
        let reach = beside_reach(self.traces, height);
        let window = (extent.0 - reach, extent.1 + reach);
        let across = self.across.reaching(window);
        let (mut own, mut mate) = (self.traces.own, self.traces.mate);
        let mut role = Role::Track;
        let mut grounds = Vec::new();
        let mut foreign = Vec::new();
        for (id, item) in self.grounds.near(self.traces.layer, across.envelope()) {
            match self.grounds.part(item, self.traces.nets) {
                Part::Ground { .. } => self.add(across, id, item, &mut grounds),
                Part::Foreign => self.add(across, id, item, &mut foreign),
                Part::Own => {
                    let mut spans = Vec::new();
                    self.add(across, id, item, &mut spans);
                    role = role.max(widen(self.kind(item), &spans, &mut own));
                    if let Some(mate) = &mut mate {
                        role = role.max(widen(self.kind(item), &spans, mate));
                    }
                }
                Part::Nothing => {}
            }
        }
        // Foreign copper nearer than the plane holds the field as ground would.
        let near = height.unwrap_or(0.0);
        grounds.extend(foreign.into_iter().filter(|span| span.0 - extent.1 < near && extent.0 - span.1 < near));
        let beyond = BEYOND * reach / self.traces.beside_reach();
        let spans = merged(grounds, STRIP).into_iter().filter(|span| span.1 - span.0 >= STRIP);
        let beside = spans.map(|(from, to)| {
            let from = if from <= window.0 + 1.0 { from - beyond } else { from };
            (from, if to >= window.1 - 1.0 { to + beyond } else { to })
        });
        (role, own, mate, beside.collect())
    }

    /// What own copper makes of the place it covers.
    fn kind(&self, item: &Item<'_>) -> Option<Role> {
        let board = self.grounds.copper().board();
        match item.source {
            ItemRef::Pad(_) | ItemRef::Via(_) => Some(Role::Land),
            ItemRef::Fill(fill) => {
                let zone = board.fills.get(fill).and_then(|fill| board.zones.get(fill.zone))?;
                Some(if zone.kind == ZoneKind::Teardrop { Role::Track } else { Role::Area })
            }
            ItemRef::Graphic(_) => Some(Role::Area),
            ItemRef::Track(_) => None,
        }
    }
}

/// Lets a trace be as wide as own copper over its middle makes it, and tells what the place is then.
fn widen(kind: Option<Role>, spans: &[Span], trace: &mut Span) -> Role {
    let middle = f64::midpoint(trace.0, trace.1);
    let Some(kind) = kind else { return Role::Track };
    let mut role = Role::Track;
    for span in spans.iter().filter(|span| span.0 < middle && middle < span.1) {
        *trace = (trace.0.min(span.0), trace.1.max(span.1));
        role = role.max(kind);
    }
    role
}

/// The span of a trace about the centre line.
pub fn centred(width: i64) -> Span {
    let half = to_f64(width) / 2.0;
    (-half, half)
}
