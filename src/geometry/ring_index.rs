//! An index over a large ring's edges: is a point inside, which edges are near. Built once per fill.

use super::{Envelope, Point, from_f64, ring, to_f64};

/// Edges per leaf box and boxes per parent box. Neighbours in the ring are neighbours in space, so boxes over runs of
/// the ring's own order are tight and need no sorting.
const RUN: usize = 8;
/// At most this many slabs; more gain nothing on a fill of fifty thousand edges.
const SLABS: i64 = 4096;

/// The edges of one ring without its slits, with a box tree for nearness and horizontal slabs for inside tests.
#[derive(Debug, Clone)]
pub struct RingIndex {
    edges: Vec<(Point, Point)>,
    /// Box levels, leaves first; the last level has at most [`RUN`] boxes.
    levels: Vec<Vec<Envelope>>,
    bounds: Option<Envelope>,
    slab_height: i64,
    /// Start of each slab's run in `slab_edges`, and one final end.
    slab_starts: Vec<u32>,
    slab_edges: Vec<u32>,
}

impl RingIndex {
    /// Indexes a ring.
    #[must_use]
    pub fn new(corners: &[Point]) -> Self {
        let edges = ring::edges_without_slits(corners);
        let mut index = Self {
            bounds: Envelope::of_points(corners),
            levels: box_levels(&edges),
            edges,
            slab_height: 1,
            slab_starts: Vec::new(),
            slab_edges: Vec::new(),
        };
        index.fill_slabs();
        index
    }

    /// The edges without slits, in ring order.
    #[must_use]
    pub fn edges(&self) -> &[(Point, Point)] {
        &self.edges
    }

    /// The ring's box; `None` for a ring without corners.
    #[must_use]
    pub fn bounds(&self) -> Option<Envelope> {
        self.bounds
    }

    /// Whether a point lies inside; see [`ring::contains`].
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        let Some(bounds) = self.bounds else { return false };
        if !bounds.contains(point) {
            return false;
        }
        self.slab(self.slab_of(point.y)).filter(|&(from, to)| ring::ray_crosses(from, to, point)).count() % 2 == 1
    }

    /// Calls `visit` with every edge whose box meets an envelope, in ring order, until it returns `false`.
    pub fn visit_near(&self, envelope: Envelope, mut visit: impl FnMut(Point, Point) -> bool) {
        let Some(top) = self.levels.len().checked_sub(1) else { return };
        let mut stack: Vec<(usize, usize)> = Vec::with_capacity(RUN * (top + 1));
        let roots = self.levels.get(top).map_or(0, Vec::len);
        stack.extend((0..roots).rev().map(|at| (top, at)));
        while let Some((level, at)) = stack.pop() {
            let hit = self.levels.get(level).and_then(|boxes| boxes.get(at)).is_some_and(|own| own.meets(envelope));
            if !hit {
                continue;
            }
            let run = at * RUN..(at + 1) * RUN;
            if level > 0 {
                let below = self.levels.get(level - 1).map_or(0, Vec::len);
                stack.extend((run.start..run.end.min(below)).rev().map(|at| (level - 1, at)));
                continue;
            }
            for &(from, to) in self.edges.get(run.start..run.end.min(self.edges.len())).unwrap_or(&[]) {
                if Envelope::of_point(from).with_point(to).meets(envelope) && !visit(from, to) {
                    return;
                }
            }
        }
    }

    fn slab_of(&self, y: i64) -> usize {
        let low = self.bounds.map_or(0, |bounds| bounds.min.y);
        usize::try_from((y - low) / self.slab_height).unwrap_or(0)
    }

    fn slab(&self, at: usize) -> impl Iterator<Item = (Point, Point)> + '_ {
        let start = self.slab_starts.get(at).copied().unwrap_or(0);
        let end = self.slab_starts.get(at + 1).copied().unwrap_or(start);
        self.slab_edges
            .get(start as usize..end as usize)
            .unwrap_or(&[])
            .iter()
            .filter_map(|&edge| self.edges.get(edge as usize).copied())
    }

    /// Sorts the edges into slabs by counting. The slab height is at least the mean height of an edge, so that tall
    /// edges don't fill the table.
    fn fill_slabs(&mut self) {
        let Some(bounds) = self.bounds else { return };
        let count = i64::try_from(self.edges.len()).unwrap_or(i64::MAX);
        let climb: f64 = self.edges.iter().map(|(from, to)| to_f64((to.y - from.y).abs())).sum();
        let mean = from_f64(climb / to_f64(count.max(1)));
        let slabs = (count / 4).clamp(1, SLABS);
        self.slab_height = (bounds.height() / slabs + 1).max(mean / 4);
        let slabs = self.slab_of(bounds.max.y) + 1;
        let mut counts = vec![0u32; slabs + 1];
        for &(from, to) in &self.edges {
            for slab in self.slab_of(from.y.min(to.y))..=self.slab_of(from.y.max(to.y)) {
                if let Some(count) = counts.get_mut(slab) {
                    *count += 1;
                }
            }
        }
        let mut sum = 0;
        for count in &mut counts {
            let here = *count;
            *count = sum;
            sum += here;
        }
        let mut next = counts.clone();
        let mut sorted = vec![0u32; sum as usize];
        for (edge, &(from, to)) in (0u32..).zip(&self.edges) {
            for slab in self.slab_of(from.y.min(to.y))..=self.slab_of(from.y.max(to.y)) {
                if let Some(next) = next.get_mut(slab) {
                    if let Some(place) = sorted.get_mut(*next as usize) {
                        *place = edge;
                    }
                    *next += 1;
                }
            }
        }
        self.slab_starts = counts;
        self.slab_edges = sorted;
    }
}

/// Boxes over runs of edges, then over runs of boxes, until one run is left.
fn box_levels(edges: &[(Point, Point)]) -> Vec<Vec<Envelope>> {
    let union = |boxes: &[Envelope]| boxes.iter().copied().reduce(Envelope::union);
    let edge_boxes: Vec<Envelope> = edges.iter().map(|&(from, to)| Envelope::of_point(from).with_point(to)).collect();
    let mut levels: Vec<Vec<Envelope>> = vec![edge_boxes.chunks(RUN).filter_map(union).collect()];
    while let Some(last) = levels.last()
        && last.len() > RUN
    {
        let next = last.chunks(RUN).filter_map(union).collect();
        levels.push(next);
    }
    levels
}
