//! A straight panel and the closed-form potentials of the charge on it.
//!
//! The charge per unit length of a panel is a sum of Legendre polynomials `P_k(t)`, `t` from -1 at its start to 1 at its
//! end. With ζ = (z - centre)/half, a target's place in the panel's own frame, everything follows from
//! `I_k(ζ) = ∫ P_k(t) ln(ζ - t) dt`, which integration by parts and Neumann's integral turn into Legendre functions of
//! the second kind. Written out here for k up to 3, so that no recurrence loses digits.

use super::complex::Complex;
use super::lanes::Lanes;

/// Where the closed form hands over to the series: |ζ|² of the nearest target that the series may serve.
pub const NEAR: f64 = 6.25;

/// The series of `I_k` in 1/ζ: `I_k = [2 ln ζ if k = 0] - Σ a ζ^-m`, m = 2, 4, 6, 8 for even k and 1, 3, 5, 7 for odd.
/// At |ζ| = 2.5 the first term left out is below 6e-6 of the leading one.
pub const SERIES: [[f64; 4]; 4] = [
    [2.0 / 6.0, 2.0 / 20.0, 2.0 / 42.0, 2.0 / 72.0],
    [2.0 / 3.0, 2.0 / 15.0, 2.0 / 35.0, 2.0 / 63.0],
    [2.0 / 15.0, 2.0 / 35.0, 2.0 / 63.0, 2.0 / 99.0],
    [0.0, 4.0 / 105.0, 8.0 / 315.0, 12.0 / 693.0],
];

/// A straight panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// Where it starts.
    pub start: Complex,
    /// Where it ends.
    pub end: Complex,
    /// Its middle.
    pub centre: Complex,
    /// From its middle to its end.
    pub half: Complex,
    /// The length of `half`.
    pub size: f64,
}

impl Panel {
    /// From end to end.
    pub fn new(start: Complex, end: Complex) -> Self {
        let half = (end - start) * 0.5;
        Self { start, end, centre: (start + end) * 0.5, half, size: half.norm() }
    }

    /// The point at `t`, -1 to 1.
    pub fn at(&self, t: f64) -> Complex {
        self.centre + self.half * t
    }

    /// A point in the panel's own frame.
    pub fn frame(&self, z: Complex) -> Complex {
        (z - self.centre) / self.half
    }
}

/// `ln((ζ+1)/(ζ-1))`, whose cut is the panel itself; `None` at its ends.
fn log_ratio(zeta: Complex) -> Option<Complex> {
    const TOUCH: f64 = 1e-20;
    let (plus, minus) = (zeta + Complex::ONE, zeta - Complex::ONE);
    (plus.norm_sqr() > TOUCH && minus.norm_sqr() > TOUCH).then(|| (plus / minus).ln())
}

/// `I_k` for k ≥ 1 at ζ, given `log_ratio`.
fn higher(k: usize, zeta: Complex, log: Complex) -> Complex {
    let square = zeta * zeta;
    let edge = (square - Complex::ONE) * log;
    match k {
        1 => edge * 0.5 - zeta,
        2 => zeta * edge * 0.5 - square + Complex::real(2.0 / 3.0),
        _ => (square * 5.0 - Complex::ONE) * edge * 0.125 - square * zeta * (5.0 / 4.0) + zeta * (13.0 / 12.0),
    }
}

/// The real parts of `I_k`, for targets near or on the panel (not at its ends).
pub fn near_potential<const P: usize>(zeta: Complex) -> [f64; P] {
    let log = log_ratio(zeta).unwrap_or(Complex::ZERO);
    let both = (zeta + Complex::ONE).norm_sqr() * (zeta - Complex::ONE).norm_sqr();
    let first = (zeta * log).re + 0.5 * both.max(f64::MIN_POSITIVE).ln() - 2.0;
    std::array::from_fn(|k| if k == 0 { first } else { higher(k, zeta, log).re })
}

/// The imaginary parts of `I_k`, less `2 arg ζ` for k = 0, for targets near the panel. What is left has no cut
/// outside the panel and is zero at its ends, where the angles of the two logarithms can't be told.
pub fn near_rest<const P: usize>(zeta: Complex) -> [f64; P] {
    let Some(log) = log_ratio(zeta) else { return [0.0; P] };
    let first = (zeta * log).im + (Complex::ONE - (zeta * zeta).inv()).arg();
    std::array::from_fn(|k| if k == 0 { first } else { higher(k, zeta, log).im })
}

/// Either near form or series, whichever serves: the imaginary parts of `I_k` less `2 arg ζ`.
pub fn rest<const P: usize>(zeta: Complex) -> [f64; P] {
    if zeta.norm_sqr() < NEAR {
        return near_rest(zeta);
    }
    let s = zeta.inv();
    let w = s * s;
    let mut terms = SERIES.iter();
    std::array::from_fn(|k| {
        let sum = terms
            .next()
            .map_or(Complex::ZERO, |row| row.iter().rev().fold(Complex::ZERO, |sum, &a| sum * w + Complex::real(a)));
        -(sum * if k % 2 == 0 { w } else { s }).im
    })
}

/// A pair of lanes as complex numbers.
#[derive(Debug, Clone, Copy)]
pub struct Lanes2 {
    /// Real parts.
    pub re: Lanes,
    /// Imaginary parts.
    pub im: Lanes,
}

impl Lanes2 {
    /// The squared magnitudes.
    #[inline(always)]
    pub fn norm_sqr(self) -> Lanes {
        self.re * self.re + self.im * self.im
    }

    /// The product with another number's conjugate.
    #[inline(always)]
    pub fn times_conj(self, other: Self) -> Self {
        Self { re: self.re * other.re + self.im * other.im, im: self.im * other.re - self.re * other.im }
    }

    /// The product.
    #[inline(always)]
    pub fn times(self, other: Self) -> Self {
        Self { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }

    /// One lane.
    pub fn lane(self, lane: usize) -> Complex {
        let pick = |lanes: Lanes| lanes.0.get(lane).copied().unwrap_or(0.0);
        Complex::new(pick(self.re), pick(self.im))
    }
}
