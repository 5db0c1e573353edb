//! The kernel over one plane at y = 0, or over none.

use super::complex::Complex;
use super::kernel::{Kernel, Node, Source};
use super::lanes::{Lanes, WIDTH};
use super::panel::{self, Lanes2, NEAR, Panel, SERIES};

/// Over a plane at y = 0 (`PLANE`), or in the open.
#[derive(Debug, Clone, Copy)]
pub struct Flat<const PLANE: bool>;

/// Four panels: centres, reciprocals of the half-lengths, squared sizes.
#[derive(Debug)]
pub struct Block {
    centre: Lanes2,
    unit: Lanes2,
    size: Lanes,
}

/// A target as lanes.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    x: Lanes,
    y: Lanes,
}

/// ζ of four panels, and ζ of their images (that is, of the target's mirror image).
fn frames(target: Target, block: &Block) -> (Lanes2, Lanes2) {
    let zero = Lanes::all(0.0);
    let dx = target.x - block.centre.re;
    let place = |dy: Lanes| Lanes2 { re: dx, im: dy }.times(block.unit);
    (place(target.y - block.centre.im), place(zero - target.y - block.centre.im))
}

/// The series' two factors for one ζ: `1/ζ` and its square.
#[derive(Clone, Copy)]
struct Powers {
    s: Lanes2,
    w: Lanes2,
    double: Lanes,
    square: Lanes,
}

impl Powers {
    #[inline(always)]
    fn new(zeta: Lanes2, scale: Lanes) -> Self {
        let s = Lanes2 { re: zeta.re * scale, im: Lanes::all(0.0) - zeta.im * scale };
        let w = s.times(s);
        Self { s, w, double: w.re + w.re, square: w.norm_sqr() }
    }

    /// A real polynomial of w, as two real numbers: its value is `first + w * second`.
    #[inline(always)]
    fn polynomial(self, [a, b, c, d]: [f64; 4]) -> (Lanes, Lanes) {
        let [a, b, c, d] = [a, b, c, d].map(Lanes::all);
        let third = c + self.double * d;
        let second = b + self.double * third - self.square * d;
        (a - self.square * third, second)
    }

    /// Real part of the series of `I_k`.
    #[inline(always)]
    fn real(self, k: usize, row: [f64; 4]) -> Lanes {
        let (first, second) = self.polynomial(row);
        if k.is_multiple_of(2) {
            self.w.re * first + (self.double * self.w.re - self.square) * second
        } else {
            self.s.re * (first + self.w.re * second) - self.s.im * self.w.im * second
        }
    }

    /// Imaginary part of the series of `I_k`.
    #[inline(always)]
    fn imaginary(self, k: usize, row: [f64; 4]) -> Lanes {
        let (first, second) = self.polynomial(row);
        if k.is_multiple_of(2) {
            self.w.im * (first + self.double * second)
        } else {
            self.s.im * (first + self.w.re * second) + self.s.re * self.w.im * second
        }
    }
}

fn coefficients(k: usize) -> [f64; 4] {
    let [zero, one, two, three] = SERIES;
    match k {
        0 => zero,
        1 => one,
        2 => two,
        _ => three,
    }
}

impl<const PLANE: bool> Kernel for Flat<PLANE> {
    type Block = Block;
    type Target = Target;
    type Detail = ();

    fn target(&self, z: Complex) -> Target {
        Target { x: Lanes::all(z.re), y: Lanes::all(z.im) }
    }

    fn detail<const P: usize>(&self, _: &Panel) {}

    fn block<const P: usize>(&self, panels: &[Source<Self>]) -> Block {
        // Lanes without a panel hold one that is far from everything.
        let mut four = [(Complex::new(1e6, 1e6), Complex::ONE, 1.0); WIDTH];
        for (slot, Source { panel, .. }) in four.iter_mut().zip(panels) {
            *slot = (panel.centre, panel.half.inv(), panel.size * panel.size);
        }
        Block {
            centre: Lanes2 { re: Lanes(four.map(|f| f.0.re)), im: Lanes(four.map(|f| f.0.im)) },
            unit: Lanes2 { re: Lanes(four.map(|f| f.1.re)), im: Lanes(four.map(|f| f.1.im)) },
            size: Lanes(four.map(|f| f.2)),
        }
    }

    #[inline(always)]
    fn potential<const P: usize>(&self, target: Target, block: &Block) -> ([Lanes; P], Lanes) {
        let (direct, image) = frames(target, block);
        let near = direct.norm_sqr();
        if PLANE {
            let far = image.norm_sqr();
            let inverse = (near * far).inv();
            let log = (near * near * inverse).ln();
            let (own, mirrored) = (Powers::new(direct, far * inverse), Powers::new(image, near * inverse));
            let values = std::array::from_fn(|k| {
                let series = mirrored.real(k, coefficients(k)) - own.real(k, coefficients(k));
                if k == 0 { series + log } else { series }
            });
            (values, near.min(far))
        } else {
            let log = (near * block.size).ln();
            let own = Powers::new(direct, near.inv());
            let values = std::array::from_fn(|k| {
                let series = own.real(k, coefficients(k));
                if k == 0 { log - series } else { Lanes::all(0.0) - series }
            });
            (values, near)
        }
    }

    #[inline(always)]
    fn node<const P: usize>(&self, target: Target, block: &Block) -> Node<P> {
        let (direct, image) = frames(target, block);
        let near = direct.norm_sqr();
        let zero = Lanes::all(0.0);
        if PLANE {
            let far = image.norm_sqr();
            // At a panel's own centre the distance is nought: the value is put right later, but must not be infinite.
            let inverse = (near * far + Lanes::all(f64::MIN_POSITIVE)).inv();
            let (own, mirrored) = (Powers::new(direct, far * inverse), Powers::new(image, near * inverse));
            let rest = std::array::from_fn(|k| {
                zero - own.imaginary(k, coefficients(k)) - mirrored.imaginary(k, coefficients(k))
            });
            Node { direct, image, rest, reach: near.min(far) }
        } else {
            let own = Powers::new(direct, (near + Lanes::all(f64::MIN_POSITIVE)).inv());
            let rest = std::array::from_fn(|k| zero - own.imaginary(k, coefficients(k)));
            Node { direct, image: Lanes2 { re: Lanes::all(1.0), im: zero }, rest, reach: near }
        }
    }

    fn exact_potential<const P: usize>(&self, z: Complex, Source { panel, .. }: &Source<Self>) -> [f64; P] {
        let mut own = real_part::<P>(panel.frame(z));
        if PLANE {
            for (own, image) in own.iter_mut().zip(real_part::<P>(panel.frame(z.conj()))) {
                *own -= image;
            }
        } else if let Some(first) = own.first_mut() {
            *first += 2.0 * panel.size.ln();
        }
        own
    }

    fn exact_rest<const P: usize>(&self, z: Complex, Source { panel, .. }: &Source<Self>) -> ([f64; P], [f64; P]) {
        let own = panel::rest(panel.frame(z));
        (own, if PLANE { panel::rest(panel.frame(z.conj())) } else { [0.0; P] })
    }
}

/// The real parts of `I_k` at ζ, near or far.
fn real_part<const P: usize>(zeta: Complex) -> [f64; P] {
    if zeta.norm_sqr() < NEAR {
        return panel::near_potential(zeta);
    }
    let s = zeta.inv();
    let w = s * s;
    std::array::from_fn(|k| {
        let sum = coefficients(k).iter().rev().fold(Complex::ZERO, |sum, &a| sum * w + Complex::real(a));
        let series = (sum * if k % 2 == 0 { w } else { s }).re;
        if k == 0 { zeta.norm_sqr().ln() - series } else { -series }
    })
}
