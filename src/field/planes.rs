//! How unevenly current crowds on solid planes: the square of the field along each.

use super::fill::Parity;
use super::gauss;
use super::matrix::dot;
use super::square::Square;
use super::system::Answer;
use super::trapezoid::Trapezoid;
use std::f64::consts::PI;

/// Charge on the conductors as points, for the planes are never nearer than a panel's length.
pub struct Points {
    x: Vec<f64>,
    y: Vec<f64>,
    /// For each signal.
    amounts: Vec<Vec<f64>>,
}

impl Points {
    /// Three points for each panel, from the unknown of a signal, a panel and an order.
    pub fn new(answer: &Answer, signals: usize, unknown: &dyn Fn(usize, usize, usize) -> f64) -> Self {
        let mut points = Self { x: Vec::new(), y: Vec::new(), amounts: vec![Vec::new(); signals] };
        for (panel, placed) in answer.mesh.metal.iter().enumerate() {
            for &(t, weight) in gauss::rule(3) {
                let at = placed.panel.at(t);
                points.x.push(at.re);
                points.y.push(at.im);
                for (signal, amounts) in points.amounts.iter_mut().enumerate() {
                    let share = |k| weight * gauss::legendre(k, t) * unknown(signal, panel, k);
                    amounts.push((0..answer.layout.degree).map(share).sum());
                }
            }
        }
        points
    }
}

/// The sign of the mirror image's charge.
fn sign(parity: Parity) -> f64 {
    match parity {
        Parity::Whole => 0.0,
        Parity::Even => 1.0,
        Parity::Odd => -1.0,
    }
}

/// Adds the products of some numbers of each signal.
fn add_products(sum: &mut Square, weight: f64, left: &[f64], right: &[f64]) {
    for (row, one) in left.iter().enumerate() {
        for (column, two) in right.iter().enumerate() {
            sum.set(row, column, sum.get(row, column) + weight * one * two);
        }
    }
}

/// Over one plane the integral along it is known: two Poisson kernels make another, of the heights' sum. Half of the
/// plane belongs to the right half, and with both images' halves that makes the whole integral once.
pub fn one(points: &Points, parity: Parity) -> Square {
    let sign = sign(parity);
    let mut sum = Square::zero(points.amounts.len());
    let mut kernel = vec![0.0; points.x.len()];
    for (at, (&x, &y)) in points.x.iter().zip(&points.y).enumerate() {
        for ((kernel, &other), &depth) in kernel.iter_mut().zip(&points.x).zip(&points.y) {
            let height = y + depth;
            let (direct, mirrored) = (x - other, x + other);
            *kernel = height / PI
                * (1.0 / (direct * direct + height * height) + sign / (mirrored * mirrored + height * height));
        }
        let fields: Vec<f64> = points.amounts.iter().map(|amounts| dot(&kernel, amounts)).collect();
        let here: Vec<f64> = points.amounts.iter().map(|a| a.get(at).copied().unwrap_or(0.0)).collect();
        add_products(&mut sum, 1.0, &here, &fields);
    }
    sum
}

/// Between two planes the field on each is summed along it, in cells as long as the metal is near.
pub fn two(points: &Points, parity: Parity, conductors: &[Trapezoid], height: f64) -> Square {
    let sign = sign(parity);
    let scale = PI / height;
    let half_width = conductors.iter().fold(0.0, |most: f64, shape| most.max(shape.reach().1));
    let end = half_width + 4.0 * height;
    let start = if parity == Parity::Whole { -end } else { 0.0 };
    // The field at x over a charge at x0, y0 goes with sin/(cosh π(x - x0)/b ∓ cos): sum and difference of x and x0 come
    // from products of these.
    let rising: Vec<f64> = points.x.iter().map(|x| (scale * x).exp()).collect();
    let sines: Vec<f64> = points.y.iter().map(|y| (scale * y).sin() / height).collect();
    let cosines: Vec<f64> = points.y.iter().map(|y| 2.0 * (scale * y).cos()).collect();
    let mut sum = Square::zero(points.amounts.len());
    let mut kernel = vec![0.0; points.x.len()];
    for (upper, side) in [(false, 1.0), (true, -1.0)] {
        let mut from = start;
        while from < end {
            let near = conductors.iter().fold(f64::INFINITY, |near: f64, shape| {
                let (left, right) = shape.reach();
                let across = (left - from).max(from - right).max(0.0);
                near.min(across.hypot(if upper { height - shape.top } else { shape.foot }))
            });
            let cell = (0.7 * near).min(0.5 * height).max(1e-3 * height);
            for &(t, weight) in gauss::rule(3) {
                let here = (scale * (from + 0.5 * cell * (1.0 + t))).exp();
                let parts = rising.iter().zip(&sines).zip(&cosines);
                for (kernel, ((&there, &sine), &cosine)) in kernel.iter_mut().zip(parts) {
                    let (ratio, product) = (here / there, here * there);
                    let (direct, mirrored) = (ratio + 1.0 / ratio, product + 1.0 / product);
                    *kernel = sine * (1.0 / (direct - side * cosine) + sign / (mirrored - side * cosine));
                }
                let fields: Vec<f64> = points.amounts.iter().map(|amounts| dot(&kernel, amounts)).collect();
                add_products(&mut sum, 0.5 * cell * weight, &fields, &fields);
            }
            from += cell;
        }
    }
    sum
}
