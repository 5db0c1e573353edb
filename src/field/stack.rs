//! Layers in the solver's units, and which dielectric lies where.

use super::material::Dielectric;
use super::section::Section;

/// Heights closer than this (in units of the section's size) are one height. It decides which dielectric a side sees.
pub const SNAP: f64 = 1e-5;

/// A section's layers.
pub struct Stack {
    /// Heights of the faces, from 0 up.
    pub faces: Vec<f64>,
    /// The dielectric under the first face, between each two, and above the last.
    regions: Vec<usize>,
    /// All distinct dielectrics; the first is air.
    pub dielectrics: Vec<Dielectric>,
}

impl Stack {
    /// From a section, with metres per unit.
    pub fn new(section: &Section, scale: f64) -> Self {
        let mut dielectrics = vec![Dielectric::AIR];
        let mut number = |dielectric: Dielectric| {
            dielectrics.iter().position(|known| *known == dielectric).unwrap_or_else(|| {
                dielectrics.push(dielectric);
                dielectrics.len() - 1
            })
        };
        let mut regions = vec![section.mask_below.map_or(0, |mask| number(mask.dielectric))];
        let mut faces = vec![0.0];
        let mut height = 0.0;
        for layer in &section.layers {
            height += layer.thickness.to_metres() / scale;
            faces.push(height);
            regions.push(number(layer.dielectric));
        }
        regions.push(section.mask_above.map_or(0, |mask| number(mask.dielectric)));
        Self { faces, regions, dielectrics }
    }

    /// The uppermost face.
    pub fn height(&self) -> f64 {
        self.faces.last().copied().unwrap_or(0.0)
    }

    /// The face at a height, or the height.
    pub fn snap(&self, y: f64) -> f64 {
        self.faces.iter().copied().find(|face| (face - y).abs() < SNAP).unwrap_or(y)
    }

    /// The dielectric at a height, outside copper.
    pub fn at(&self, y: f64) -> usize {
        let below = self.faces.iter().take_while(|&&face| face < y).count();
        self.regions.get(below).copied().unwrap_or(0)
    }

    /// The dielectric just above a height.
    pub fn above(&self, y: f64) -> usize {
        self.at(y + 0.1 * SNAP)
    }

    /// The dielectric just below a height.
    pub fn below(&self, y: f64) -> usize {
        self.at(y - 0.1 * SNAP)
    }
}
