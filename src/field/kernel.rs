//! What the charge on panels does at a point: the contract of the kernels, and rows of the system made with them.
//!
//! A kernel knows the ground that it stands over: nothing, one plane at y = 0, or two planes. It gives, for a target z,
//! `I_k` of each panel less that of its images (see `panel`). Potential rows need the real part at a point; flux rows
//! need how far the imaginary part goes from one point to the next. Most panels are far from most targets, so both go
//! through a series on four panels at once; the few near ones are put right afterwards with the closed forms.

use super::complex::Complex;
use super::lanes::{Lanes, WIDTH};
use super::panel::{Lanes2, NEAR, Panel};

/// What a target sees of four panels: all that a flux row needs at one end of its stretch.
#[derive(Debug, Clone, Copy)]
pub struct Node<const P: usize> {
    /// A number whose angle goes with `ln` of the distance to the panel's centre.
    pub direct: Lanes2,
    /// The same for the image.
    pub image: Lanes2,
    /// Imaginary parts of panel plus image, without those angles.
    pub rest: [Lanes; P],
    /// Below `NEAR`, the series does not serve.
    pub reach: Lanes,
}

impl<const P: usize> Node<P> {
    const NONE: Self = {
        let zero = Lanes([0.0; WIDTH]);
        let both = Lanes2 { re: zero, im: zero };
        Self { direct: both, image: both, rest: [zero; P], reach: zero }
    };
}

/// A kernel of the cross-section's potential.
pub trait Kernel: Sized {
    /// Four panels, laid out for the series.
    type Block;
    /// A target, prepared once for all panels.
    type Target: Copy;
    /// What the closed forms need of one panel.
    type Detail;

    /// Prepares a target.
    fn target(&self, z: Complex) -> Self::Target;
    /// Prepares a panel.
    fn detail<const P: usize>(&self, panel: &Panel) -> Self::Detail;
    /// Prepares four panels (fewer at the end of a list).
    fn block<const P: usize>(&self, panels: &[Source<Self>]) -> Self::Block;
    /// The real parts for four panels, and the reach.
    fn potential<const P: usize>(&self, target: Self::Target, block: &Self::Block) -> ([Lanes; P], Lanes);
    /// The imaginary parts for four panels.
    fn node<const P: usize>(&self, target: Self::Target, block: &Self::Block) -> Node<P>;
    /// The real parts for one panel, wherever the target is.
    fn exact_potential<const P: usize>(&self, z: Complex, source: &Source<Self>) -> [f64; P];
    /// `Node::rest` for one panel, wherever the target is: of the panel, and of its image.
    fn exact_rest<const P: usize>(&self, z: Complex, source: &Source<Self>) -> ([f64; P], [f64; P]);
}

/// The panels, with their lanes, for which the series does not serve.
fn near_ones<K: Kernel>(sources: &[Source<K>], reach: Lanes) -> impl Iterator<Item = (usize, &Source<K>)> {
    sources
        .iter()
        .zip(reach.0)
        .enumerate()
        .filter(|(_, (_, reach))| is_near_one(*reach))
        .map(|(lane, (s, _))| (lane, s))
}

/// A panel, and what the kernel's closed forms need of it.
pub struct Source<K: Kernel> {
    /// The panel.
    pub panel: Panel,
    /// The rest.
    pub detail: K::Detail,
}

/// Panels in order, laid out for a kernel.
pub struct Sources<K: Kernel, const P: usize> {
    /// One by one.
    panels: Vec<Source<K>>,
    /// Four by four.
    blocks: Vec<K::Block>,
}

/// One number for each unknown of some sources, four panels at a time.
pub type Row<const P: usize> = Vec<[Lanes; P]>;

fn put<const P: usize>(entry: &mut [Lanes; P], k: usize, lane: usize, value: f64) {
    if let Some(slot) = entry.get_mut(k).and_then(|lanes| lanes.0.get_mut(lane)) {
        *slot = value;
    }
}

/// Not a number counts as near: the target is a panel's own centre.
fn is_near_one(reach: f64) -> bool {
    reach < NEAR || reach.is_nan()
}

fn is_near(reach: Lanes) -> bool {
    reach.0.iter().any(|&reach| is_near_one(reach))
}

impl<K: Kernel, const P: usize> Sources<K, P> {
    /// Lays panels out.
    pub fn new(kernel: &K, panels: impl Iterator<Item = Panel>) -> Self {
        let panels: Vec<Source<K>> = panels.map(|panel| Source { detail: kernel.detail::<P>(&panel), panel }).collect();
        let blocks = panels.chunks(WIDTH).map(|four| kernel.block::<P>(four)).collect();
        Self { panels, blocks }
    }

    /// An empty row.
    pub fn row(&self) -> Row<P> {
        vec![[Lanes::all(0.0); P]; self.blocks.len()]
    }

    /// Real parts at `z`.
    pub fn potential_row(&self, kernel: &K, z: Complex, row: &mut Row<P>) {
        let target = kernel.target(z);
        for ((block, out), sources) in self.blocks.iter().zip(row.iter_mut()).zip(self.panels.chunks(WIDTH)) {
            let (values, reach) = kernel.potential::<P>(target, block);
            *out = values;
            if is_near(reach) {
                for (lane, source) in near_ones(sources, reach) {
                    for (k, value) in kernel.exact_potential::<P>(z, source).into_iter().enumerate() {
                        put(out, k, lane, value);
                    }
                }
            }
        }
    }

    /// What a flux row needs at `z`.
    pub fn nodes(&self, kernel: &K, z: Complex, nodes: &mut Vec<Node<P>>) {
        let target = kernel.target(z);
        nodes.resize(self.blocks.len(), Node::NONE);
        for ((block, node), sources) in self.blocks.iter().zip(nodes).zip(self.panels.chunks(WIDTH)) {
            *node = kernel.node::<P>(target, block);
            if is_near(node.reach) {
                for (lane, source) in near_ones(sources, node.reach) {
                    let (own, image) = kernel.exact_rest::<P>(z, source);
                    for (k, (own, image)) in own.into_iter().zip(image).enumerate() {
                        put(&mut node.rest, k, lane, own + image);
                    }
                }
            }
        }
    }

    /// Corrects the entry of panel `number` in the row of a flux through a part of that panel: its own field has no
    /// flux there, its image's has.
    pub fn own_flux(
        &self,
        kernel: &K,
        number: usize,
        (from, to): (Complex, Complex),
        (from_nodes, to_nodes): (&[Node<P>], &[Node<P>]),
        row: &mut Row<P>,
    ) {
        let (block, lane) = (number / WIDTH, number % WIDTH);
        let (Some(source), Some(from_node), Some(to_node), Some(out)) =
            (self.panels.get(number), from_nodes.get(block), to_nodes.get(block), row.get_mut(block))
        else {
            return;
        };
        let angle = (to_node.image.lane(lane) * from_node.image.lane(lane).conj()).arg();
        let (_, at_from) = kernel.exact_rest::<P>(from, source);
        let (_, at_to) = kernel.exact_rest::<P>(to, source);
        for (k, (to, from)) in at_to.into_iter().zip(at_from).enumerate() {
            put(out, k, lane, to - from + if k == 0 { 2.0 * angle } else { 0.0 });
        }
    }
}

/// How far the imaginary parts go between two nodes: the flux that passes to the right of the way from one to the other,
/// of charge 1 per unknown, times 2π.
pub fn flux_row<const P: usize>(from: &[Node<P>], to: &[Node<P>], row: &mut Row<P>) {
    for ((from, to), out) in from.iter().zip(to).zip(row.iter_mut()) {
        let direct = to.direct.times_conj(from.direct);
        let image = to.image.times_conj(from.image);
        let both = direct.times(image);
        let mut angle = both.im.atan2(both.re);
        // Each turn is less than a half circle, for a straight way can't pass round a panel that it does not cross. Only
        // their sum can be more, and only if one of them is past a right angle.
        let least = direct.re.min(image.re);
        if least.0.iter().any(|&re| re < 0.0) {
            for (lane, angle) in angle.0.iter_mut().enumerate() {
                *angle = direct.lane(lane).arg() + image.lane(lane).arg();
            }
        }
        let mut rests = to.rest.iter().zip(&from.rest);
        *out = std::array::from_fn(|k| {
            let turn = rests.next().map_or(Lanes::all(0.0), |(&to, &from)| to - from);
            if k == 0 { turn + angle * Lanes::all(2.0) } else { turn }
        });
    }
}
