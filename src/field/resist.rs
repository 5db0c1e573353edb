//! The geometry's part of the series resistance: how unevenly current crowds on each surface.
//!
//! At high frequency current keeps to the surface and spreads as charge does in the section without dielectrics.
//! With s_i the charge density of the air problem for unit charge on signal i, R_ij = Rs ∮ s_i s_j over all metal.
//! It is the derivative of the inductance by a shift of the metal's surface (Wheeler, Proc. IRE 30 (1942) 412).

use super::complex::Complex;
use super::fill::Parity;
use super::gauss;
use super::outline::{Face, Kind, Outline, Planes};
use super::square::Square;
use super::steep;
use super::system::{Answer, Part};
use super::trapezoid::Trapezoid;
use std::f64::consts::PI;

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

/// Charge at a point, for each signal.
struct Charge {
    at: Complex,
    amount: Vec<f64>,
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
    let points = charges_at_points(answer, count, &coefficient);
    let planes = match outline.planes {
        Planes::None => Square::zero(count),
        Planes::One => one_plane(&points, count, part.parity),
        Planes::Two(height) => two_planes(&points, count, part.parity, &outline.conductors, height),
    };
    result.reference = result.reference.plus(&planes, 1.0);
    Some(result)
}

/// Charge on the conductors as points: smooth kernels need no more.
fn charges_at_points(answer: &Answer, count: usize, coefficient: &dyn Fn(usize, usize, usize) -> f64) -> Vec<Charge> {
    let mut points = Vec::new();
    for (panel, placed) in answer.mesh.metal.iter().enumerate() {
        for &(t, weight) in gauss::rule(3) {
            let amount = (0..count)
                .map(|signal| {
                    (0..answer.layout.degree)
                        .map(|k| weight * gauss::legendre(k, t) * coefficient(signal, panel, k))
                        .sum()
                })
                .collect();
            points.push(Charge { at: placed.panel.at(t), amount });
        }
    }
    points
}

/// Over one plane the integral along it is known: two Poisson kernels make another, of the heights' sum.
fn one_plane(points: &[Charge], count: usize, parity: Parity) -> Square {
    let mut sum = Square::zero(count);
    for one in points {
        let mut field = vec![0.0; count];
        for two in points {
            let height = one.at.im + two.at.im;
            let kernel = |across: f64| height / (PI * (across * across + height * height));
            let direct = kernel(one.at.re - two.at.re);
            // Half the plane belongs to the right half: with both images' halves that makes the whole integral once.
            let value = match parity {
                Parity::Whole => direct,
                Parity::Even => direct + kernel(one.at.re + two.at.re),
                Parity::Odd => direct - kernel(one.at.re + two.at.re),
            };
            for (field, amount) in field.iter_mut().zip(&two.amount) {
                *field += value * amount;
            }
        }
        for (row, amount) in one.amount.iter().enumerate() {
            for (column, field) in field.iter().enumerate() {
                sum.set(row, column, sum.get(row, column) + amount * field);
            }
        }
    }
    sum
}

/// Between two planes the field on each is summed along it, in cells as long as the metal is near.
fn two_planes(points: &[Charge], count: usize, parity: Parity, conductors: &[Trapezoid], height: f64) -> Square {
    let half_width = conductors.iter().fold(0.0, |most: f64, shape| most.max(shape.reach().1));
    let end = half_width + 4.0 * height;
    let start = if parity == Parity::Whole { -end } else { 0.0 };
    let mut sum = Square::zero(count);
    let scale = PI / height;
    for (upper, lift) in [(false, 0.0), (true, height)] {
        let mut from = start;
        while from < end {
            let near = conductors.iter().fold(f64::INFINITY, |near: f64, shape| {
                let (left, right) = shape.reach();
                let across = (left - from).max(from - right).max(0.0);
                near.min(across.hypot(if upper { lift - shape.top } else { shape.foot }))
            });
            let cell = (0.7 * near).min(0.5 * height).max(1e-3 * height);
            for &(t, weight) in gauss::rule(3) {
                let x = from + 0.5 * cell * (1.0 + t);
                let mut field = vec![0.0; count];
                for point in points {
                    let (sin, cos) = (scale * point.at.im).sin_cos();
                    let cos = if upper { -cos } else { cos };
                    let kernel = |across: f64| 0.5 / height * sin / ((scale * across).cosh() - cos);
                    let direct = kernel(x - point.at.re);
                    let value = match parity {
                        Parity::Whole => direct,
                        Parity::Even => direct + kernel(x + point.at.re),
                        Parity::Odd => direct - kernel(x + point.at.re),
                    };
                    for (field, amount) in field.iter_mut().zip(&point.amount) {
                        *field += value * amount;
                    }
                }
                for (row, one) in field.iter().enumerate() {
                    for (column, two) in field.iter().enumerate() {
                        sum.set(row, column, sum.get(row, column) + 0.5 * cell * weight * one * two);
                    }
                }
            }
            from += cell;
        }
    }
    sum
}
