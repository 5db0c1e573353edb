//! The cross-section at a place: from what is around it to what the solver takes, snapped so that equal places make
//! equal sections.

use super::Basis;
use super::across::{Span, merged};
use super::around::{Around, Cover};
use super::basis::ETCH;
use crate::board::LayerId;
use crate::field::{Conductor, Dielectric, Layer, Mask, Net, Section};
use crate::units::Length;

/// A section as the cache knows it: turned and mirrored to the one of its four images that comes first.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// The section.
    pub section: Section,
    /// All its numbers in order: equal words mean equal sections.
    pub words: Box<[u64]>,
    /// Place of the route's own trace among the signals.
    pub own: usize,
    /// Place of the mate's.
    pub mate: Option<usize>,
    /// Every dielectric has a loss tangent.
    pub lossy: bool,
}

/// Widths and gaps are whole micrometres.
const SNAP: f64 = 1_000.0;
/// A value drawn half way between two micrometres must not fall to either side by the noise of arithmetic.
const NOISE: f64 = 1e-3;
/// Edges of grounds are snapped to this part of the height where they are next to a trace: there a shift of a height
/// changes the impedance by a tenth. Farther off, where it matters less, the steps grow.
const FINENESS: f64 = 0.04;
/// Far edges of copper are snapped to this, in nanometres.
const COARSE: f64 = 50_000.0;
/// No etching leaves less than this part of a trace's width.
const LEAST_TOP: f64 = 0.2;

fn snapped(value: f64) -> f64 {
    (value / SNAP + 0.5 + NOISE).floor() * SNAP
}

/// A distance between a trace's edge and one of a ground, in steps that grow with the distance.
fn eased(distance: f64, height: f64) -> f64 {
    let far = distance.abs() / height;
    let step = snapped(FINENESS * height * (1.0 + far) * (1.0 + far)).max(SNAP);
    (distance / step + 0.5 + NOISE).floor() * step
}

fn coarse(edge: f64) -> f64 {
    (edge / COARSE).round() * COARSE
}

/// Draws the section of a place.
pub fn draw(basis: &Basis, layer: LayerId, around: &Around) -> Drawn {
    let mut frame = Frame::new(basis, layer, &around.above, &around.below);
    let gap_height = around
        .above
        .first()
        .into_iter()
        .chain(around.below.first())
        .map(|cover| basis.clear(layer, cover.layer).to_nm())
        .reduce(f64::min)
        .unwrap_or(COARSE);
    let signals = signals(around);
    let (left, right) = (signals.first().map_or(0.0, |one| one.0), signals.last().map_or(0.0, |one| one.1));
    // The same place in the snapped frame for an edge of a ground: by its distance from the nearer outer edge.
    let outer = around.mate.map_or(around.own, |mate| (around.own.0.min(mate.0), around.own.1.max(mate.1)));
    let place = |edge: f64, height: f64| {
        if edge < f64::midpoint(outer.0, outer.1) {
            left - eased(outer.0 - edge, height)
        } else {
            right + eased(edge - outer.1, height)
        }
    };
    let middle = f64::midpoint(left, right);
    for &(from, to) in &signals {
        frame.push(layer, Net::Signal, (from - middle, to - middle));
    }
    let mut ground = |on: LayerId, height: f64, spans: &[Span]| {
        let shifted = spans.iter().map(|&(from, to)| (place(from, height) - middle, place(to, height) - middle));
        let shifted = shifted.map(|(from, to)| match on == layer {
            // The edge that looks away is not worth a section of its own.
            true if from > right - middle => (from, coarse(to).max(from + COARSE)),
            true if to < left - middle => (coarse(from).min(to - COARSE), to),
            _ => (from, to),
        });
        // Slits that snapping closed are none.
        for span in merged(shifted.filter(|(from, to)| to > from).collect(), SNAP) {
            frame.push(on, Net::Ground, span);
        }
    };
    ground(layer, gap_height, &around.beside);
    for cover in around.above.iter().chain(&around.below) {
        let height = basis.clear(layer, cover.layer).to_nm();
        ground(cover.layer, height, cover.spans.as_deref().unwrap_or(&[]));
    }
    let own_first = around.mate.is_none_or(|mate| around.own.0 <= mate.0);
    let (own, mate) = if own_first { (0, 1) } else { (1, 0) };
    frame.canonical(own, around.mate.map(|_| mate))
}

/// The signals' edges from left to right, widths and gap snapped.
fn signals(around: &Around) -> Vec<Span> {
    let mut traces: Vec<Span> = std::iter::once(around.own).chain(around.mate).collect();
    traces.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut at = 0.0;
    let mut last: Option<Span> = None;
    let mut out = Vec::with_capacity(2);
    for trace in traces {
        if let Some(last) = last {
            at += snapped(trace.0 - last.1);
        }
        let width = snapped(trace.1 - trace.0).max(SNAP);
        out.push((at, at + width));
        at += width;
        last = Some(trace);
    }
    out
}

/// A section being drawn.
struct Frame<'b> {
    basis: &'b Basis,
    section: Section,
    /// The lower face of each foil in the section.
    feet: Vec<(LayerId, Length)>,
    lossy: bool,
}

impl<'b> Frame<'b> {
    /// The layers between the planes without openings, or the whole board where there are none.
    fn new(basis: &'b Basis, layer: LayerId, above: &[Cover], below: &[Cover]) -> Self {
        let solid = |covers: &[Cover]| covers.last().filter(|cover| cover.spans.is_none()).map(|cover| cover.layer);
        let (upper, lower) = (solid(above), solid(below));
        let last = LayerId(u8::try_from(basis.foils.len().saturating_sub(1)).unwrap_or(u8::MAX));
        let (first, end) = (upper.unwrap_or(LayerId(0)), lower.unwrap_or(last));
        let mut frame = Self {
            basis,
            section: Section {
                plane_above: upper.is_some(),
                plane_below: lower.is_some(),
                mask_above: if upper.is_some() { None } else { Some(basis.top.mask) },
                mask_below: if lower.is_some() { None } else { Some(basis.bottom.mask) },
                ..Section::default()
            },
            feet: Vec::new(),
            lossy: true,
        };
        let mut height = Length::ZERO;
        let thickness = |layer| basis.foil(layer).map_or(Length::ZERO, |foil| foil.thickness);
        if lower.is_none() {
            frame.feet.push((last, -thickness(last)));
        }
        for at in (first.0..end.0).rev().map(LayerId) {
            for sheet in basis.below(at).iter().rev() {
                height += frame.layer(sheet.thickness, sheet.dielectric, sheet.lossy);
            }
            frame.feet.push((at, height));
            if at > first
                && let Some(fill) = basis.foil(at).and_then(|foil| foil.fill)
            {
                height += frame.layer(thickness(at), fill.dielectric, fill.lossy);
            }
        }
        debug_assert!(frame.feet.iter().any(|(foil, _)| *foil == layer));
        frame
    }

    fn layer(&mut self, thickness: Length, dielectric: Dielectric, lossy: bool) -> Length {
        self.lossy &= lossy;
        match self.section.layers.last_mut() {
            Some(last) if last.dielectric == dielectric => last.thickness += thickness,
            _ => self.section.layers.push(Layer { thickness, dielectric }),
        }
        thickness
    }

    fn push(&mut self, layer: LayerId, net: Net, (from, to): Span) {
        let Some((foil, &(_, foot))) = self.basis.foil(layer).zip(self.feet.iter().find(|(foil, _)| *foil == layer))
        else {
            return;
        };
        let wide = Length::nm(to - from);
        let narrow = Length::nm((wide - foil.thickness * ETCH).to_nm().max(LEAST_TOP * wide.to_nm()));
        let (foot_width, top_width) = if foil.narrow_up { (wide, narrow) } else { (narrow, wide) };
        self.section.conductors.push(Conductor {
            net,
            centre: Length::nm(f64::midpoint(from, to)),
            foot,
            foot_width,
            top_width,
            thickness: foil.thickness,
        });
    }

    /// The image that comes first, and where own trace and mate are in it.
    fn canonical(self, own: usize, mate: Option<usize>) -> Drawn {
        let count = 1 + usize::from(mate.is_some());
        let upright = self.section;
        let turned = upright.turned();
        let images = [(mirrored(&upright), true), (turned.clone(), false), (mirrored(&turned), true), (upright, false)];
        let best = images
            .into_iter()
            .map(|(section, swapped)| {
                let section = ordered(section);
                (words(&section), section, swapped)
            })
            .min_by(|one, other| one.0.cmp(&other.0).then(one.2.cmp(&other.2)));
        let (words, section, swapped) = best.unwrap_or_default();
        let place = |at: usize| if swapped { count - 1 - at } else { at };
        Drawn { section, words: words.into(), own: place(own), mate: mate.map(place), lossy: self.lossy }
    }
}

/// Seen in a mirror, left for right.
fn mirrored(section: &Section) -> Section {
    let flip = |conductor: &Conductor| Conductor { centre: -conductor.centre, ..*conductor };
    Section { conductors: section.conductors.iter().map(flip).collect(), ..section.clone() }
}

/// Conductors from left to right: signals keep no other order.
fn ordered(mut section: Section) -> Section {
    section.conductors.sort_by(|one, other| one.centre.total_cmp(&other.centre).then(one.foot.total_cmp(&other.foot)));
    section
}

fn words(section: &Section) -> Vec<u64> {
    // Zero and minus zero are one number.
    let length = |length: Length| (length.to_nm() + 0.0).to_bits();
    let dielectric = |dielectric: Dielectric| [dielectric.permittivity.to_bits(), dielectric.loss_tangent.to_bits()];
    let mut words = vec![u64::from(section.plane_below), u64::from(section.plane_above)];
    for layer in &section.layers {
        words.push(length(layer.thickness));
        words.extend(dielectric(layer.dielectric));
    }
    for mask in [section.mask_below, section.mask_above] {
        words.push(u64::from(mask.is_some()));
        if let Some(Mask { on_board, over_copper, beside_copper, dielectric: of }) = mask {
            words.extend([on_board, over_copper, beside_copper].map(length));
            words.extend(dielectric(of));
        }
    }
    for conductor in &section.conductors {
        words.push(u64::from(conductor.net == Net::Signal));
        let Conductor { centre, foot, foot_width, top_width, thickness, .. } = *conductor;
        words.extend([centre, foot, foot_width, top_width, thickness].map(length));
    }
    words
}
