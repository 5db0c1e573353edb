//! A cross-section as its user describes it.

use super::doubt::Undetermined;
use super::material::Dielectric;
use crate::units::Length;

/// At most this many signal conductors.
pub const MOST_SIGNALS: usize = 8;

/// A cross-section of a board: x across, y up, y = 0 at the bottom of the lowest layer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// Dielectric layers from the bottom up. Beyond them is air, or a plane.
    pub layers: Vec<Layer>,
    /// A solid plane at y = 0.
    pub plane_below: bool,
    /// A solid plane on top of the layers.
    pub plane_above: bool,
    /// Solder mask on the upper face, over board and copper.
    pub mask_above: Option<Mask>,
    /// Solder mask on the lower face.
    pub mask_below: Option<Mask>,
    /// Traces, coplanar grounds, and planes that end within the section.
    pub conductors: Vec<Conductor>,
}

/// A dielectric layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// How thick.
    pub thickness: Length,
    /// Of what.
    pub dielectric: Dielectric,
}

/// A coating that follows the copper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mask {
    /// Thickness on the bare board.
    pub on_board: Length,
    /// Thickness over copper.
    pub over_copper: Length,
    /// Thickness beside copper.
    pub beside_copper: Length,
    /// Of what.
    pub dielectric: Dielectric,
}

/// What a conductor carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Net {
    /// A signal of its own; signals are numbered in the section's order.
    Signal,
    /// The reference: ground, or a rail that is ground at speed.
    Ground,
}

/// A conductor: a trapezoid with level foot and top. Without thickness it is a strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// What it carries.
    pub net: Net,
    /// x of its middle.
    pub centre: Length,
    /// y of its lower face.
    pub foot: Length,
    /// Width of its lower face.
    pub foot_width: Length,
    /// Width of its upper face.
    pub top_width: Length,
    /// From lower to upper face.
    pub thickness: Length,
}

impl Conductor {
    /// A rectangular signal conductor.
    #[must_use]
    pub const fn signal(centre: Length, foot: Length, width: Length, thickness: Length) -> Self {
        Self { net: Net::Signal, centre, foot, foot_width: width, top_width: width, thickness }
    }

    /// A rectangular grounded conductor.
    #[must_use]
    pub const fn ground(centre: Length, foot: Length, width: Length, thickness: Length) -> Self {
        Self { net: Net::Ground, centre, foot, foot_width: width, top_width: width, thickness }
    }

    /// The same with another width on top, as etching leaves it.
    #[must_use]
    pub const fn etched(self, top_width: Length) -> Self {
        Self { top_width, ..self }
    }
}

fn check(good: bool, what: &'static str) -> Result<(), Undetermined> {
    if good { Ok(()) } else { Err(Undetermined::BadValue(what)) }
}

fn positive(length: Length) -> bool {
    length.to_nm() > 0.0 && length.to_nm().is_finite()
}

fn sound(dielectric: Dielectric) -> bool {
    (1.0..=1000.0).contains(&dielectric.permittivity) && (0.0..1.0).contains(&dielectric.loss_tangent)
}

impl Section {
    /// How many conductors carry signals.
    #[must_use]
    pub fn signals(&self) -> usize {
        self.conductors.iter().filter(|conductor| conductor.net == Net::Signal).count()
    }

    /// The section turned over.
    #[must_use]
    pub fn turned(&self) -> Self {
        let height: Length = self.layers.iter().map(|layer| layer.thickness).sum();
        let turn = |conductor: &Conductor| Conductor {
            foot: height - conductor.foot - conductor.thickness,
            foot_width: conductor.top_width,
            top_width: conductor.foot_width,
            ..*conductor
        };
        Self {
            layers: self.layers.iter().rev().copied().collect(),
            plane_below: self.plane_above,
            plane_above: self.plane_below,
            mask_above: self.mask_below,
            mask_below: self.mask_above,
            conductors: self.conductors.iter().map(turn).collect(),
        }
    }

    /// Refuses what can't be a section.
    pub(super) fn check(&self) -> Result<(), Undetermined> {
        for layer in &self.layers {
            check(positive(layer.thickness), "a layer's thickness")?;
            check(sound(layer.dielectric), "a layer's permittivity or loss tangent")?;
        }
        for (mask, plane) in [(self.mask_above, self.plane_above), (self.mask_below, self.plane_below)] {
            let Some(mask) = mask else { continue };
            if plane {
                return Err(Undetermined::MaskedPlane);
            }
            check(
                positive(mask.on_board) && positive(mask.over_copper) && positive(mask.beside_copper),
                "the mask's thickness",
            )?;
            check(sound(mask.dielectric), "the mask's permittivity or loss tangent")?;
        }
        for conductor in &self.conductors {
            check(conductor.centre.to_nm().is_finite(), "a conductor's place")?;
            check(conductor.foot.to_nm().is_finite(), "a conductor's height")?;
            check(positive(conductor.foot_width) && positive(conductor.top_width), "a conductor's width")?;
            check(
                conductor.thickness.to_nm() >= 0.0 && conductor.thickness.to_nm().is_finite(),
                "a conductor's thickness",
            )?;
        }
        check(!(self.plane_below && self.plane_above && self.layers.is_empty()), "the space between the planes")?;
        match self.signals() {
            0 => Err(Undetermined::NoSignal),
            count if count > MOST_SIGNALS => Err(Undetermined::TooManySignals(count)),
            _ => Ok(()),
        }
    }
}
