//! Ticks on round numbers.

use crate::geometry::{from_f64, to_f64};

/// Ticks of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// Their values, ascending.
    pub values: Vec<f64>,
    /// Decimals that tell one from the next.
    pub decimals: usize,
}

impl Ticks {
    /// Ticks from one value to another, at most `most` of them: 1, 2 or 5 of a power of ten apart.
    #[must_use]
    pub fn new([from, to]: [f64; 2], most: u16) -> Self {
        let (step, decimals) = step(to - from, most);
        let (first, last) = (from_f64((from / step - SLACK).ceil()), from_f64((to / step + SLACK).floor()));
        let values = (first..=last).map(|tick| to_f64(tick) * step).collect();
        Self { values, decimals }
    }

    /// A range that begins and ends on a tick and holds `from` and `to`.
    #[must_use]
    pub fn round([from, to]: [f64; 2], most: u16) -> [f64; 2] {
        let (step, _) = step(to - from, most);
        [(from / step + SLACK).floor() * step, (to / step - SLACK).ceil() * step]
    }

    /// A tick's number.
    #[must_use]
    pub fn label(&self, value: f64) -> String {
        let text = format!("{value:.*}", self.decimals);
        // A rounded zero has no sign.
        if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    }
}

/// A value this near to a tick, in steps, is on it.
const SLACK: f64 = 1e-6;

/// The least round step of which `most` ticks, one at either end, span a range, and its decimals.
fn step(range: f64, most: u16) -> (f64, usize) {
    let wanted = if range > 0.0 && range.is_finite() { range / f64::from(most.max(2) - 1) } else { 1.0 };
    let power = from_f64(wanted.log10().floor()).clamp(-12, 12);
    let ten = |power: i64| 10f64.powi(i32::try_from(power).unwrap_or(0));
    let size = ten(power);
    let (times, power) = [1.0, 2.0, 5.0]
        .into_iter()
        .find(|times| times * size >= wanted * (1.0 - SLACK))
        .map_or((1.0, power + 1), |times| (times, power));
    (times * ten(power), usize::try_from(-power).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::Ticks;

    fn labels(range: [f64; 2], most: u16) -> Vec<String> {
        let ticks = Ticks::new(range, most);
        ticks.values.iter().map(|value| ticks.label(*value)).collect()
    }

    #[test]
    fn round_numbers() {
        assert_eq!(labels([0.0, 14.2], 9), ["0", "2", "4", "6", "8", "10", "12", "14"]);
        assert_eq!(labels([-0.31, 0.42], 5), ["-0.2", "0.0", "0.2", "0.4"]);
        assert_eq!(labels([83.2, 101.4], 6), ["85", "90", "95", "100"]);
        assert_eq!(labels([0.0, 0.004], 6), ["0.000", "0.001", "0.002", "0.003", "0.004"]);
        assert_eq!(labels([0.0, 1.0], 11).len(), 11);
    }

    #[test]
    fn a_range_on_ticks() {
        let round = |range, most| Ticks::round(range, most).map(|end| format!("{end:.3}"));
        assert_eq!(round([83.2, 101.4], 6), ["80.000", "105.000"]);
        assert_eq!(round([80.0, 100.0], 6), ["80.000", "100.000"]);
        assert_eq!(round([-0.3, 7.0], 5), ["-2.000", "8.000"]);
    }

    #[test]
    fn never_more_than_asked_for() {
        for range in [1e-9, 0.37, 1.0, 9.99, 10.0, 123.4, 5e6] {
            for most in [2, 3, 5, 9] {
                let ticks = Ticks::new([0.0, range], most);
                assert!(!ticks.values.is_empty() && ticks.values.len() <= usize::from(most), "{range} {most}");
            }
        }
    }

    #[test]
    fn what_is_no_range_has_ticks_too() {
        assert_eq!(labels([1.0, 1.0], 5), ["1"]);
        assert!(Ticks::new([0.0, f64::NAN], 5).values.len() < 3);
    }
}
