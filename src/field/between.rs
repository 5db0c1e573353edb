//! The kernel between two planes, at y = 0 and y = b.
//!
//! Its Green's function is `ln |sinh u| - ln |sinh u*|`, u = π(z - z')/2b, u* the same of the image. About a panel's
//! centre, with τ = π·half/2b and s = coth u:
//! `ln sinh(u - τt) = ln sinh u + ln cosh τt + ln(1 - s tanh τt)`, so the far series of `panel` returns with s in the
//! place of 1/ζ and powers of tanh τt in the place of powers of t. Even and odd Legendre polynomials still take
//! only even and odd powers. And coth u = (w + w')/(w - w') with w = exp(πz/b): no function but a product is needed
//! for each pair.

use super::complex::Complex;
use super::gauss;
use super::kernel::{Kernel, Node, Source};
use super::lanes::{Lanes, WIDTH};
use super::panel::{self, Lanes2, NEAR, Panel};
use std::f64::consts::{FRAC_PI_2, PI};

/// Between planes this far apart.
#[derive(Debug, Clone, Copy)]
pub struct Between {
    height: f64,
}

/// Four panels.
#[derive(Debug)]
pub struct Block {
    /// exp(πz/b) of the centres.
    centre: Lanes2,
    /// Squared bound on |tanh τt|.
    bound: Lanes,
    /// Series coefficients, for k up to 3.
    series: [[Lanes2; 4]; 4],
}

/// exp(πz/b) of a target.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    re: Lanes,
    im: Lanes,
}

/// A panel's series about its centre.
#[derive(Debug, Clone, Copy)]
pub struct Expansion {
    /// `∫ P_k tanh^m(τt) / m`, for the four m that serve each k.
    series: [[Complex; 4]; 4],
    /// `∫ P_k ln cosh τt`.
    constant: [Complex; 4],
    /// Squared bound on |tanh τt|.
    bound: f64,
}

/// Gauss points of the expansion: the half-interval suffices, for every integrand is even.
const POINTS: usize = 6;

impl Between {
    /// Between planes at y = 0 and at `height`.
    pub fn new(height: f64) -> Self {
        Self { height }
    }

    fn expand<const P: usize>(&self, panel: &Panel) -> Expansion {
        let tau = panel.half * (FRAC_PI_2 / self.height);
        let mut result = Expansion { series: [[Complex::ZERO; 4]; 4], constant: [Complex::ZERO; 4], bound: 0.0 };
        for &(t, weight) in gauss::rule(POINTS).iter().filter(|(t, _)| *t > 0.0) {
            let power = (tau * t).tanh();
            let square = power * power;
            // 1/cosh² = 1 - tanh².
            let log_cosh = (Complex::ONE - square).ln() * -0.5;
            for (k, (row, constant)) in result.series.iter_mut().zip(&mut result.constant).take(P).enumerate() {
                let factor = 2.0 * weight * gauss::legendre(k, t);
                let (mut term, mut m) = if k % 2 == 0 { (square, 2.0) } else { (power, 1.0) };
                for value in row {
                    *value += term * (factor / m);
                    term = term * square;
                    m += 2.0;
                }
                if k % 2 == 0 {
                    *constant += log_cosh * factor;
                }
            }
        }
        result.bound = tau.tanh().norm_sqr();
        result
    }

    fn wave(&self, z: Complex) -> Complex {
        (z * (PI / self.height)).exp()
    }

    /// `∫ P_k g(u)`, and 2 g at the centre, of the smooth part `g = ln(sinh u / u)`.
    fn smooth<const P: usize>(&self, z: Complex, panel: &Panel) -> ([Complex; P], Complex) {
        let length = 2.0 * panel.size / self.height;
        let points = [0.03, 0.15, 0.4].iter().filter(|&&step| length > step).count() + 1;
        let scale = FRAC_PI_2 / self.height;
        let mut sums = [Complex::ZERO; P];
        for &(t, weight) in gauss::rule(points.max(P.div_ceil(2) + usize::from(P > 2))) {
            let value = log_sinhc((z - panel.at(t)) * scale);
            for (k, sum) in sums.iter_mut().enumerate() {
                *sum += value * (weight * gauss::legendre(k, t));
            }
        }
        (sums, log_sinhc((z - panel.centre) * scale) * 2.0)
    }

    /// The image of the target that is nearer to the panel: in the lower plane, or in the upper one.
    fn image(&self, z: Complex, panel: &Panel) -> Complex {
        let upper = Complex::new(z.re, 2.0 * self.height - z.im);
        if (upper - panel.centre).norm_sqr() < (z.conj() - panel.centre).norm_sqr() { upper } else { z.conj() }
    }

    /// coth u at the panel's centre, if the series serves rather than the closed form.
    fn far_coth(&self, z: Complex, panel: &Panel, zeta: Complex, expansion: &Expansion) -> Option<Complex> {
        if zeta.norm_sqr() < 2.0 * NEAR {
            return None;
        }
        let (target, centre) = (self.wave(z), self.wave(panel.centre));
        let s = (target + centre) / (target - centre);
        (s.norm_sqr() * expansion.bound < 1.0 / NEAR).then_some(s)
    }

    /// The series' part, with its constant: what `ln sinh u` at the centre leaves.
    fn far<const P: usize>(s: Complex, expansion: &Expansion) -> [Complex; P] {
        let w = s * s;
        let mut rows = expansion.series.iter().zip(&expansion.constant);
        std::array::from_fn(|k| {
            let Some((row, constant)) = rows.next() else { return Complex::ZERO };
            let sum = row.iter().rev().fold(Complex::ZERO, |sum, &a| sum * w + a);
            *constant - sum * if k % 2 == 0 { w } else { s }
        })
    }

    /// Real parts of `∫ P_k ln sinh u`, up to a constant that panel and image share.
    fn real_part<const P: usize>(&self, z: Complex, panel: &Panel, expansion: &Expansion) -> [f64; P] {
        let zeta = panel.frame(z);
        let Some(s) = self.far_coth(z, panel, zeta, expansion) else {
            let (smooth, _) = self.smooth::<P>(z, panel);
            let mut whole = panel::near_potential::<P>(zeta);
            for (k, (value, smooth)) in whole.iter_mut().zip(smooth).enumerate() {
                *value += smooth.re;
                if k == 0 {
                    *value += 2.0 * (panel.size * FRAC_PI_2 / self.height).ln();
                }
            }
            return whole;
        };
        let sinh = ((z - panel.centre) * (FRAC_PI_2 / self.height)).sinh();
        let mut whole = Self::far::<P>(s, expansion).map(|value| value.re);
        if let Some(first) = whole.first_mut() {
            *first += sinh.norm_sqr().ln();
        }
        whole
    }

    /// Imaginary parts, less twice the angle of `sinh u` at the centre and less the series' constants.
    fn rest<const P: usize>(&self, z: Complex, panel: &Panel, expansion: &Expansion) -> [f64; P] {
        let zeta = panel.frame(z);
        let mut constants = expansion.constant.iter();
        let Some(s) = self.far_coth(z, panel, zeta, expansion) else {
            let (smooth, centre) = self.smooth::<P>(z, panel);
            let mut own = panel::near_rest::<P>(zeta).into_iter().zip(smooth);
            return std::array::from_fn(|k| {
                let (own, smooth) = own.next().unwrap_or((0.0, Complex::ZERO));
                let constant = constants.next().map_or(0.0, |constant| constant.im);
                own + smooth.im - constant - if k == 0 { centre.im } else { 0.0 }
            });
        };
        Self::far::<P>(s, expansion).map(|value| value.im - constants.next().map_or(0.0, |constant| constant.im))
    }
}

/// ln(sinh u / u), for |Im u| < π.
fn log_sinhc(u: Complex) -> Complex {
    let square = u * u;
    if u.norm_sqr() < 0.5 {
        // Bernoulli numbers: the next term is below 1e-9 here.
        return [1.0 / 467_775.0, -1.0 / 37_800.0, 1.0 / 2_835.0, -1.0 / 180.0, 1.0 / 6.0]
            .iter()
            .fold(Complex::ZERO, |sum, &term| sum * square + Complex::real(term))
            * square;
    }
    (u.sinh() / u).ln()
}

/// What the series needs of a target and four panels.
#[derive(Clone, Copy)]
struct Seen {
    direct: Lanes2,
    image: Lanes2,
    direct_square: Lanes,
    image_square: Lanes,
    direct_s: Lanes2,
    image_s: Lanes2,
    reach: Lanes,
}

impl Seen {
    #[inline(always)]
    fn new(target: Target, block: &Block) -> Self {
        let (x, y) = (block.centre.re, block.centre.im);
        let zero = Lanes::all(0.0);
        let (minus, plus) = (target.re - x, target.re + x);
        let direct = Lanes2 { re: minus, im: target.im - y };
        let image = Lanes2 { re: minus, im: zero - target.im - y };
        let direct_plus = Lanes2 { re: plus, im: target.im + y };
        let image_plus = Lanes2 { re: plus, im: y - target.im };
        let (near, far) = (direct.norm_sqr(), image.norm_sqr());
        // On a panel's own centre this is infinite, and what follows not a number, which counts as near.
        let inverse = (near * far).inv();
        let (direct_scale, image_scale) = (far * inverse, near * inverse);
        let scaled = |value: Lanes2, scale: Lanes| Lanes2 { re: value.re * scale, im: value.im * scale };
        let direct_s = scaled(direct_plus.times_conj(direct), direct_scale);
        let image_s = scaled(image_plus.times_conj(image), image_scale);
        // In this order, for `min` keeps its second argument if that is not a number.
        let most = (zero - image_s.norm_sqr()).min(zero - direct_s.norm_sqr()) * block.bound;
        // Falls as |s tanh τ| grows, and is NEAR where the series' limit is.
        let reach = Lanes::all(2.0 * NEAR) + most * Lanes::all(NEAR * NEAR);
        Self { direct, image, direct_square: near, image_square: far, direct_s, image_s, reach }
    }
}

/// A complex polynomial by Horner's rule, times the odd factor or the square.
#[inline(always)]
fn series(k: usize, s: Lanes2, w: Lanes2, row: &[Lanes2; 4]) -> Lanes2 {
    let [a, b, c, d] = *row;
    let step = |sum: Lanes2, next: Lanes2| {
        let product = sum.times(w);
        Lanes2 { re: product.re + next.re, im: product.im + next.im }
    };
    let sum = step(step(step(d, c), b), a);
    if k.is_multiple_of(2) { sum.times(w) } else { sum.times(s) }
}

impl Kernel for Between {
    type Block = Block;
    type Target = Target;
    type Detail = Expansion;

    fn target(&self, z: Complex) -> Target {
        let wave = self.wave(z);
        Target { re: Lanes::all(wave.re), im: Lanes::all(wave.im) }
    }

    fn detail<const P: usize>(&self, panel: &Panel) -> Expansion {
        self.expand::<P>(panel)
    }

    fn block<const P: usize>(&self, panels: &[Source<Self>]) -> Block {
        // Lanes without a panel hold one without size, off the strip.
        let empty = Expansion { series: [[Complex::ZERO; 4]; 4], constant: [Complex::ZERO; 4], bound: 0.0 };
        let mut four = [(Complex::new(-1.0, -1.0), empty); WIDTH];
        for (slot, source) in four.iter_mut().zip(panels) {
            *slot = (self.wave(source.panel.centre), source.detail);
        }
        let pick = |part: &dyn Fn(&(Complex, Expansion)) -> Complex| {
            let values = four.each_ref().map(part);
            Lanes2 { re: Lanes(values.map(|v| v.re)), im: Lanes(values.map(|v| v.im)) }
        };
        let cell = |k: usize, m: usize| {
            pick(&|panel| panel.1.series.get(k).and_then(|row| row.get(m)).copied().unwrap_or(Complex::ZERO))
        };
        Block {
            centre: pick(&|panel| panel.0),
            bound: Lanes(four.map(|panel| panel.1.bound)),
            series: std::array::from_fn(|k| std::array::from_fn(|m| cell(k, m))),
        }
    }

    #[inline(always)]
    fn potential<const P: usize>(&self, target: Target, block: &Block) -> ([Lanes; P], Lanes) {
        let seen = Seen::new(target, block);
        let log = (seen.direct_square * seen.image_square.inv()).ln();
        let (direct_w, image_w) = (seen.direct_s.times(seen.direct_s), seen.image_s.times(seen.image_s));
        let mut rows = block.series.iter();
        let values = std::array::from_fn(|k| {
            let Some(row) = rows.next() else { return log };
            let direct = series(k, seen.direct_s, direct_w, row).re;
            let image = series(k, seen.image_s, image_w, row).re;
            if k == 0 { image - direct + log } else { image - direct }
        });
        (values, seen.reach)
    }

    #[inline(always)]
    fn node<const P: usize>(&self, target: Target, block: &Block) -> Node<P> {
        let seen = Seen::new(target, block);
        let (direct_w, image_w) = (seen.direct_s.times(seen.direct_s), seen.image_s.times(seen.image_s));
        let mut rows = block.series.iter();
        let rest = std::array::from_fn(|k| {
            let zero = Lanes::all(0.0);
            let Some(row) = rows.next() else { return zero };
            let direct = series(k, seen.direct_s, direct_w, row).im;
            let image = series(k, seen.image_s, image_w, row).im;
            zero - direct - image
        });
        Node { direct: seen.direct, image: seen.image, rest, reach: seen.reach }
    }

    fn exact_potential<const P: usize>(&self, z: Complex, source: &Source<Self>) -> [f64; P] {
        let Source { panel, detail } = source;
        let mut own = self.real_part::<P>(z, panel, detail);
        let image = self.real_part::<P>(self.image(z, panel), panel, detail);
        for (own, image) in own.iter_mut().zip(image) {
            *own -= image;
        }
        own
    }

    fn exact_rest<const P: usize>(&self, z: Complex, source: &Source<Self>) -> ([f64; P], [f64; P]) {
        let Source { panel, detail } = source;
        (self.rest(z, panel, detail), self.rest(self.image(z, panel), panel, detail))
    }
}
