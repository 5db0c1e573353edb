//! Four numbers at a time, with a logarithm and an arctangent that have no branches, so that the compiler can use the
//! machine's vector registers. Everything here is plain safe arithmetic; on one lane it gives the same bits as on four.

use std::array::from_fn;
use std::ops::{Add, Mul, Sub};

/// How many numbers go together.
pub const WIDTH: usize = 4;

/// Four numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lanes(pub [f64; WIDTH]);

#[allow(clippy::indexing_slicing)] // `from_fn` counts up to the array's own length.
impl Lanes {
    /// The same number in every lane.
    #[inline(always)]
    pub fn all(value: f64) -> Self {
        Self([value; WIDTH])
    }

    /// Each with the other sign.
    #[inline(always)]
    pub fn negated(self) -> Self {
        Self(self.0.map(|value| -value))
    }

    /// One over each.
    #[inline(always)]
    pub fn inv(self) -> Self {
        Self(from_fn(|i| 1.0 / self.0[i]))
    }

    /// The smaller of each two.
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        Self(from_fn(|i| if self.0[i] < other.0[i] { self.0[i] } else { other.0[i] }))
    }

    /// The natural logarithm of positive normal numbers, to 1e-13 of 1 or of the result.
    #[inline(always)]
    pub fn ln(self) -> Self {
        /// The bits of √½: adding the gap to 1 moves the exponent's step there.
        const ROOT: u64 = 0x3fe6_a09e_667f_3bcd;
        const ONE: u64 = 0x3ff0_0000_0000_0000;
        const FRACTION: u64 = 0x000f_ffff_ffff_ffff;
        /// 2^52 as bits: an integer below 2^52 put into its fraction reads as 2^52 plus that integer.
        const MAGIC: u64 = 0x4330_0000_0000_0000;
        const MAGIC_BIAS: f64 = 4_503_599_627_370_496.0 + 1023.0;
        let shifted: [u64; WIDTH] = from_fn(|i| self.0[i].to_bits().wrapping_add(ONE - ROOT));
        let power = Self(from_fn(|i| f64::from_bits((shifted[i] >> 52) | MAGIC) - MAGIC_BIAS));
        let part = Self(from_fn(|i| f64::from_bits((shifted[i] & FRACTION).wrapping_add(ROOT))));
        let one = Self::all(1.0);
        let s = (part - one) * (part + one).inv();
        let z = s * s;
        let mut sum = Self::all(2.0 / 15.0);
        for term in [13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0] {
            sum = sum * z + Self::all(2.0 / term);
        }
        s * sum + power * Self::all(std::f64::consts::LN_2)
    }

    /// The angle of the point (`x`, `self`), -π to π, to 1e-13.
    #[inline(always)]
    pub fn atan2(self, x: Self) -> Self {
        use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
        /// Minimax polynomial of atan(√r)/√r on 0..tan²(π/8), own fit, error 3e-14.
        const FIT: [f64; 8] = [
            -0.058_745_056_213_763_93,
            0.075_637_035_519_338_85,
            -0.090_783_920_729_460_1,
            0.111_103_850_461_482_01,
            -0.142_856_904_238_392_94,
            0.199_999_996_048_919_78,
            -0.333_333_333_308_034_46,
            0.999_999_999_999_973_2,
        ];
        const TURN: f64 = 0.414_213_562_373_095_03;
        let (ax, ay) = (Self(from_fn(|i| x.0[i].abs())), Self(from_fn(|i| self.0[i].abs())));
        let low = ax.min(ay);
        let high = Self(from_fn(|i| if ax.0[i] < ay.0[i] { ay.0[i] } else { ax.0[i] }));
        // Past π/8 the angle is π/4 more than that of (low - high)/(low + high).
        let past: [bool; WIDTH] = from_fn(|i| low.0[i] > TURN * high.0[i]);
        let top = Self(from_fn(|i| if past[i] { low.0[i] - high.0[i] } else { low.0[i] }));
        let bottom = Self(from_fn(|i| if past[i] { low.0[i] + high.0[i] } else { high.0[i] }));
        // The least positive number keeps 0/0 from making a NaN of the origin.
        let q = top * (bottom + Self::all(f64::MIN_POSITIVE)).inv();
        let r = q * q;
        let mut sum = Self::all(0.030_662_440_371_431_51);
        for term in FIT {
            sum = sum * r + Self::all(term);
        }
        let small = q * sum;
        Self(from_fn(|i| {
            let octant = if past[i] { small.0[i] + FRAC_PI_4 } else { small.0[i] };
            let quadrant = if ax.0[i] < ay.0[i] { FRAC_PI_2 - octant } else { octant };
            let half = if x.0[i] < 0.0 { PI - quadrant } else { quadrant };
            half.copysign(self.0[i])
        }))
    }
}

#[allow(clippy::indexing_slicing)] // `from_fn` counts up to the array's own length.
impl Add for Lanes {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self(from_fn(|i| self.0[i] + other.0[i]))
    }
}
#[allow(clippy::indexing_slicing)] // As above.
impl Sub for Lanes {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self(from_fn(|i| self.0[i] - other.0[i]))
    }
}
#[allow(clippy::indexing_slicing)] // As above.
impl Mul for Lanes {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self(from_fn(|i| self.0[i] * other.0[i]))
    }
}
