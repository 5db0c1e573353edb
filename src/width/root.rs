//! Where a smooth, monotone function of a length crosses zero.

use crate::units::Length;
use std::ops::Range;

/// Lengths this near to each other, as a share, are one: below it the mesh of a section decides, not its shape.
const NEAR: f64 = 1e-4;
/// Values this near to zero are zero.
const ZERO: f64 = 2e-5;
/// Halving alone would need 16 from 20 um to 5 mm.
const STEPS: usize = 60;
/// Each step away from the first guess is this many times as long as the one before.
const STRIDE: f64 = 2.0;

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Root {
    /// The length.
    At(Length),
    /// No crossing: the value at the end of the range that is nearest to one.
    None(f64),
}

/// Finds where `f` crosses zero within a range of lengths, from a guess on. `f` rises or falls over the whole range;
/// lengths are divided by their logarithm, in which impedances are nearly straight. Strides from the guess enclose the
/// root, secants that keep it between them (the Illinois rule) close in on it, and every third step halves, so that no
/// shape makes it slow. Lengths beyond the root by more than a stride are never tried: they may have no answer.
///
/// # Errors
/// The first error of `f`.
pub fn root<E>(
    guess: Length,
    range: &Range<Length>,
    rises: bool,
    mut f: impl FnMut(Length) -> Result<f64, E>,
) -> Result<Root, E> {
    let mut at = |log: f64| f(Length::nm(log.exp()));
    let (least, most) = (range.start.to_nm().ln(), range.end.to_nm().ln());
    let mut here = guess.to_nm().ln().clamp(least, most);
    let mut value = at(here)?;
    let upward = (value < 0.0) == rises;
    let (mut low, mut f_low, mut high, mut f_high);
    loop {
        let next = if upward { (here + STRIDE.ln()).min(most) } else { (here - STRIDE.ln()).max(least) };
        if (next - here).abs() < NEAR {
            return Ok(Root::None(value));
        }
        let further = at(next)?;
        if (further > 0.0) != (value > 0.0) {
            (low, f_low, high, f_high) =
                if upward { (here, value, next, further) } else { (next, further, here, value) };
            break;
        }
        (here, value) = (next, further);
    }
    let mut last_kept_low: Option<bool> = None;
    for step in 1..=STEPS {
        let secant = (low * f_high - high * f_low) / (f_high - f_low);
        let middle = f64::midpoint(low, high);
        let next = if step % 3 == 0 || !secant.is_finite() { middle } else { secant };
        let value = at(next)?;
        if value.abs() < ZERO || (high - low) < NEAR {
            return Ok(Root::At(Length::nm(next.exp())));
        }
        let keeps_low = (value > 0.0) != (f_low > 0.0);
        if keeps_low {
            (high, f_high) = (next, value);
        } else {
            (low, f_low) = (next, value);
        }
        // An end that stays twice pulls the secant to its side; half its value lets it go.
        if last_kept_low == Some(keeps_low) {
            if keeps_low { f_low *= 0.5 } else { f_high *= 0.5 }
        }
        last_kept_low = Some(keeps_low);
    }
    Ok(Root::At(Length::nm(f64::midpoint(low, high).exp())))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]

    use super::{Root, root};
    use crate::units::Length;
    use std::convert::Infallible;

    fn find(guess: f64, rises: bool, f: impl Fn(f64) -> f64) -> (Root, usize) {
        let mut calls = 0;
        let range = Length::mm(0.02)..Length::mm(5.0);
        let found = root::<Infallible>(Length::mm(guess), &range, rises, |length| {
            calls += 1;
            Ok(f(length.to_mm()))
        });
        (found.unwrap(), calls)
    }

    #[test]
    fn crossings_are_found_from_any_guess() {
        for guess in [0.001, 0.05, 0.2, 1.0, 50.0] {
            for (wanted, sign) in [(0.021, 1.0), (0.137, -1.0), (4.9, 1.0)] {
                let curves: [fn(f64) -> f64; 4] =
                    [|r| r.ln(), |r| r - 1.0, |r| 1.0 - 1.0 / r, |r| r.ln() + r.ln().powi(3)];
                for curve in curves {
                    let (found, calls) = find(guess, sign > 0.0, |x| sign * curve(x / wanted));
                    let Root::At(length) = found else { panic!("{found:?}") };
                    assert!((length.to_mm() / wanted - 1.0).abs() < 2e-4, "{wanted}: {length:?}");
                    assert!(calls < 40, "{calls}");
                }
            }
        }
    }

    /// Impedances are known to about 1e-4: steps of that size must not keep the search from ending near the root.
    #[test]
    fn steps_in_the_function_do_no_harm() {
        let (found, calls) = find(0.1, false, |x| ((0.3 / x).ln() * 1e4).round() / 1e4);
        let Root::At(length) = found else { panic!("{found:?}") };
        assert!((length.to_mm() / 0.3 - 1.0).abs() < 2e-4 && calls < 30, "{length:?} {calls}");
    }

    #[test]
    fn no_crossing_gives_the_nearest_value() {
        for (rises, f, nearest) in [(true, 1.0, 1.02), (true, -6.0, -1.0)] {
            let Root::None(value) = find(0.1, rises, |x| x + f).0 else { panic!() };
            assert!((value - nearest).abs() < 1e-9, "{value}");
        }
        let Root::None(value) = find(0.1, false, |x| 1.0 / x).0 else { panic!() };
        assert!((value - 0.2).abs() < 1e-9, "{value}");
    }
}
