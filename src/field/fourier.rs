//! The inverse discrete Fourier transform, for lengths that are powers of two.

use super::complex::Complex;

/// Replaces a spectrum by its samples in time: `x_n = Σ X_m e^(2πj mn/N)`, without a factor. The length must be a power of
/// two; any other is left as it is.
pub fn inverse(values: &mut [Complex]) {
    let size = values.len();
    if !size.is_power_of_two() || size < 2 {
        return;
    }
    let shift = usize::BITS - size.trailing_zeros();
    for at in 0..size {
        let other = at.reverse_bits() >> shift;
        if other > at {
            values.swap(at, other);
        }
    }
    let mut half = 1;
    while half < size {
        let angle = std::f64::consts::PI / f64::from(u32::try_from(half).unwrap_or(u32::MAX));
        let twiddles: Vec<Complex> = (0..half)
            .map(|at| Complex::new(0.0, angle * f64::from(u32::try_from(at).unwrap_or(u32::MAX))).exp())
            .collect();
        for block in values.chunks_exact_mut(2 * half) {
            let (low, high) = block.split_at_mut(half);
            for ((low, high), twiddle) in low.iter_mut().zip(high).zip(&twiddles) {
                let product = *high * *twiddle;
                *high = *low - product;
                *low += product;
            }
        }
        half *= 2;
    }
}
