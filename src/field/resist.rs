//! The geometry's part of the series resistance: how unevenly current crowds on each surface.
//!
//! At high frequency current keeps to the surface and spreads as charge does in the section without dielectrics.
//! With s_i the charge density of the air problem for unit charge on signal i, R_ij = Rs ∮ s_i s_j over all metal.
//! It is the derivative of the inductance by a shift of the metal's surface (Wheeler, Proc. IRE 30 (1942) 412).

use super::fill::Parity;
use super::outline::{Face, Kind, Outline, Planes};
use super::planes::{self, Points};
use super::square::Square;
use super::steep;
use super::system::{Answer, Part};

/// `∮ s_i s_j` by surface, per unit of length of the section's scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Crowding {
    /// Lower faces of the signals.
    pub foot: Square,
    /// Upper faces and flanks of the signals.
    pub rest: Square,
    /// Grounds and planes.
    pub reference: Square,
}

/// The crowding integrals of one symmetry; halves count the right half only. `None` if a strip makes them infinite, or
/// if the air capacitances have no inverse.
pub fn crowding(outline: &Outline, answer: &Answer, part: &Part) -> Option<Crowding> {
    let count = part.signals.len();
    let air = part.air.symmetric();
    // Without reference the matrix is singular, for equal voltages carry no charge. Filling it up by a constant gives
    // the right charges for what adds to nothing, which is all that such a section is asked.
    let fill = if outline.is_floating() && part.parity != Parity::Odd { air.get(0, 0) } else { 0.0 };
    let unit = Square::from_fn(count, |row, column| air.get(row, column) + fill).inverse()?;
    // Unknowns for unit charge on each signal in turn.
    let densities: Vec<Vec<f64>> = (0..count)
        .map(|signal| {
            let length = part.charges.first().map_or(0, Vec::len);
            let mut sum = vec![0.0; length];
            for (source, charges) in part.charges.iter().enumerate() {
                let weight = unit.get(source, signal);
                for (sum, charge) in sum.iter_mut().zip(charges) {
                    *sum += weight * charge;
                }
            }
            sum
        })
        .collect();
    let mut result = Crowding { foot: Square::zero(count), rest: Square::zero(count), reference: Square::zero(count) };
    let layout = answer.layout;
    let coefficient = |signal: usize, panel: usize, k: usize| {
        densities.get(signal).and_then(|x| x.get(layout.metal(panel, k))).copied().unwrap_or(0.0)
    };
    let mut rest = answer.mesh.metal.as_slice();
    let mut panel = 0;
    while let Some((placed, after)) = rest.split_first() {
        let Kind::Side { conductor, face, .. } = placed.kind else { return None };
        let grounded = outline.conductors.get(conductor).is_none_or(|shape| shape.ground);
        let sum = match (grounded, face) {
            (true, _) => &mut result.reference,
            (false, Face::Foot) => &mut result.foot,
            (false, Face::Rest) => &mut result.rest,
        };
        let (terms, taken) = steep::terms(placed, after.first(), layout.degree);
        for term in terms {
            let values: Vec<f64> = (0..count)
                .map(|signal| {
                    term.iter().map(|part| part.factor * coefficient(signal, panel + part.panel, part.order)).sum()
                })
                .collect();
            for (row, one) in values.iter().enumerate() {
                for (column, two) in values.iter().enumerate() {
                    sum.set(row, column, sum.get(row, column) + one * two);
                }
            }
        }
        panel += taken;
        rest = rest.get(taken..).unwrap_or(&[]);
    }
    let points = Points::new(answer, count, &coefficient);
    let planes = match outline.planes {
        Planes::None => Square::zero(count),
        Planes::One => planes::one(&points, part.parity),
        Planes::Two(height) => planes::two(&points, part.parity, &outline.conductors, height),
    };
    result.reference = result.reference.plus(&planes, 1.0);
    Some(result)
}
