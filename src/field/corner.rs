//! Points that need small panels, and how steep the field is there.

use super::complex::Complex;
use super::stack::Stack;
use super::trapezoid::Trapezoid;
use std::f64::consts::PI;

/// Why a point needs small panels near it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sharp {
    /// A conductor's corner, where the potential goes with this power of the distance.
    Metal(f64),
    /// A strip's edge, where it goes with the root, and both faces are one.
    Edge,
    /// A corner of a coating, or a face that meets a conductor's flank.
    Soft,
}

/// A point that needs small panels near it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where.
    pub at: Complex,
    /// The smallest length it belongs to.
    pub length: f64,
    /// Why.
    pub sharp: Sharp,
}

/// The conductors' corners, each with the length that rules the panels there: its shorter side, or the way to the
/// nearest corner of another conductor.
pub fn metal_corners(conductors: &[Trapezoid], stack: &Stack) -> Vec<Corner> {
    let permittivity = |number: usize| stack.dielectrics.get(number).map_or(1.0, |dielectric| dielectric.permittivity);
    let mut corners = Vec::new();
    for (which, conductor) in conductors.iter().enumerate() {
        let points = conductor.corners();
        let [foot_left, foot_right, top_right, top_left] = points;
        let strip = conductor.top <= conductor.foot;
        let (left, right) = ((top_left - foot_left).norm(), (top_right - foot_right).norm());
        let (foot, top) = ((foot_right - foot_left).norm(), (top_right - top_left).norm());
        let own = if strip { [foot; 4] } else { [foot.min(left), foot.min(right), top.min(right), top.min(left)] };
        let angles = conductor.angles();
        for (number, ((at, own), angle)) in points.into_iter().zip(own).zip(angles).enumerate() {
            if strip && number > 1 {
                break;
            }
            let is_foot = number < 2;
            let others = conductors.iter().enumerate().filter(|(other, _)| *other != which);
            let length =
                others.flat_map(|(_, other)| other.corners()).fold(own, |least, other| least.min((other - at).norm()));
            let (below, above) = (permittivity(stack.below(at.im)), permittivity(stack.above(at.im)));
            let power = if is_foot { wedge(angle, below, above) } else { wedge(angle, above, below) };
            corners.push(Corner { at, length, sharp: if strip { Sharp::Edge } else { Sharp::Metal(power) } });
        }
    }
    corners
}

/// The least power of the distance with which the potential goes at a metal corner of an inner `angle`, outside which
/// a dielectric fills the half circle along one side (`half`) and another the rest: with both walls at one potential
/// `sin(power · angle)` on either side must join, `half · cot(power π) = -rest · cot(power (π - angle))`.
fn wedge(angle: f64, half: f64, rest: f64) -> f64 {
    let other = (PI - angle).max(1e-3);
    let (mut low, mut high): (f64, f64) = (0.5, 1.0);
    for _ in 0..16 {
        let middle = 0.5 * (low + high);
        let balance = half / (middle * PI).tan() + rest / (middle * other).tan();
        if balance > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}
