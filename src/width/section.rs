//! The cross-section of a line as it would be drawn.

use super::Wanted;
use crate::board::LayerId;
use crate::field::{Conductor, Dielectric, Layer, Net, Section};
use crate::signal::{Basis, Sheet};
use crate::units::Length;

/// The solid planes of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Planes {
    /// Above it.
    pub above: Option<LayerId>,
    /// Below it.
    pub below: Option<LayerId>,
}

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trace {
    /// Width of the wide side, as in the artwork.
    pub width: Length,
    /// Edge to edge; `None` for a single line.
    pub gap: Option<Length>,
}

/// What a board is not quite as the stackup says: factors on nominal values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// On the dielectrics between the trace and its planes.
    pub height: f64,
    /// On the permittivity of all sheets, the mask's not.
    pub permittivity: f64,
}

impl Shift {
    /// As the stackup says.
    pub const NONE: Self = Self { height: 1.0, permittivity: 1.0 };
}

/// No etching leaves less than this part of a trace's width.
const LEAST_TOP: f64 = 0.2;

/// A section and whether every sheet in it has a loss tangent.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// The section.
    pub section: Section,
    /// Every sheet has a loss tangent.
    pub lossy: bool,
}

/// Draws a line on a layer of a complete stackup: everything between its planes, or up to the face of the board where
/// there is none. Foils on the way are taken away, and their room filled as it would be.
pub fn draw(basis: &Basis, wanted: &Wanted, trace: Trace, shift: Shift) -> Drawing {
    let (layer, planes) = (wanted.layer, wanted.planes);
    let last = LayerId(u8::try_from(basis.foils.len().saturating_sub(1)).unwrap_or(u8::MAX));
    let (first, end) = (planes.above.unwrap_or(LayerId(0)), planes.below.unwrap_or(last));
    let thickness = |layer| basis.foil(layer).map_or(Length::ZERO, |foil| foil.thickness);
    let mut stack = Stack { layers: Vec::new(), height: Length::ZERO, lossy: true, permittivity: shift.permittivity };
    // On the lower face the trace hangs below the lowest sheet.
    let mut foot = if layer == end { -thickness(layer) } else { Length::ZERO };
    for at in (first.0..end.0).rev().map(LayerId) {
        // Heights that no plane bounds are not what decides, and stay.
        let towards_plane = if at < layer { planes.above.is_some() } else { planes.below.is_some() };
        let factor = if towards_plane { shift.height } else { 1.0 };
        for sheet in basis.below(at).iter().rev() {
            stack.push(sheet, sheet.thickness * factor);
        }
        if at == layer {
            foot = stack.height;
        }
        if at > first
            && let Some(fill) = basis.foil(at).and_then(|foil| foil.fill)
        {
            stack.push(&fill, thickness(at));
        }
    }
    let foil = basis.foil(layer);
    let narrow = (trace.width - thickness(layer) * wanted.etch).to_nm().max(LEAST_TOP * trace.width.to_nm());
    let (wide, narrow) = (trace.width, Length::nm(narrow));
    let (foot_width, top_width) = if foil.is_some_and(|foil| foil.narrow_up) { (wide, narrow) } else { (narrow, wide) };
    let conductor = |centre: Length| Conductor {
        net: Net::Signal,
        centre,
        foot,
        foot_width,
        top_width,
        thickness: thickness(layer),
    };
    let conductors = match trace.gap {
        None => vec![conductor(Length::ZERO)],
        Some(gap) => {
            let half = (trace.width + gap) / 2.0;
            vec![conductor(-half), conductor(half)]
        }
    };
    let section = Section {
        layers: stack.layers,
        plane_below: planes.below.is_some(),
        plane_above: planes.above.is_some(),
        mask_above: planes.above.is_none().then_some(basis.top.mask),
        mask_below: planes.below.is_none().then_some(basis.bottom.mask),
        conductors,
    };
    Drawing { section, lossy: stack.lossy }
}

/// Layers from the bottom up.
struct Stack {
    layers: Vec<Layer>,
    height: Length,
    lossy: bool,
    permittivity: f64,
}

impl Stack {
    fn push(&mut self, sheet: &Sheet, thickness: Length) {
        let Dielectric { permittivity, loss_tangent } = sheet.dielectric;
        let dielectric = Dielectric::new((permittivity * self.permittivity).max(1.0), loss_tangent);
        self.lossy &= sheet.lossy;
        self.height += thickness;
        match self.layers.last_mut() {
            Some(last) if last.dielectric == dielectric => last.thickness += thickness,
            _ => self.layers.push(Layer { thickness, dielectric }),
        }
    }
}
