//! The greatest value that a curve along a route holds for some length: a peak that is over at once is none.

/// A part of the curve: straight between its two values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Part {
    /// Where it begins and ends, in nanometres along the route.
    pub along: [f64; 2],
    /// Its values there.
    pub value: [f64; 2],
}

/// A stretch in which the curve stays at or above a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Run {
    /// Where it begins and ends.
    pub along: [f64; 2],
    /// The greatest value in it.
    pub top: f64,
}

impl Run {
    pub fn length(&self) -> f64 {
        self.along[1] - self.along[0]
    }
}

/// Parts that are no farther apart than this, in nanometres, follow on from each other.
const JOINED: f64 = 2.0;
/// Lengths are compared with this tolerance, in nanometres.
const TOLERANCE: f64 = 0.5;

/// The stretches of at least `persist` nanometres at or above a level, in order.
pub(super) fn runs(curve: &[Part], level: f64, persist: f64) -> Vec<Run> {
    let mut found: Vec<Run> = Vec::new();
    for part in curve {
        let [from, to] = part.along;
        let [first, last] = part.value;
        let cross = || from + (to - from) * ((level - first) / (last - first)).clamp(0.0, 1.0);
        let along = match (first >= level, last >= level) {
            (true, true) => [from, to],
            (true, false) => [from, cross()],
            (false, true) => [cross(), to],
            (false, false) => continue,
        };
        match found.last_mut() {
            Some(run) if along[0] - run.along[1] <= JOINED => {
                run.along[1] = along[1];
                run.top = run.top.max(first).max(last);
            }
            _ => found.push(Run { along, top: first.max(last) }),
        }
    }
    found.retain(|run| run.length() >= persist - TOLERANCE);
    found
}

/// The greatest value that the curve holds or exceeds for at least `persist` nanometres; 0 if there is none above.
pub(super) fn sustained(curve: &[Part], persist: f64) -> f64 {
    let holds = |level: f64| !runs(curve, level, persist).is_empty();
    let top = curve.iter().flat_map(|part| part.value).fold(0.0, f64::max);
    if holds(top) {
        return top;
    }
    // One of the values at the ends of parts, or between two of them where a slope is cut.
    let mut values: Vec<f64> = curve.iter().flat_map(|part| part.value).filter(|value| *value > 0.0).collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    let held = values.partition_point(|&value| holds(value));
    let mut low = held.checked_sub(1).and_then(|at| values.get(at)).copied().unwrap_or(0.0);
    let mut high = values.get(held).copied().unwrap_or(top);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if holds(middle) { low = middle } else { high = middle }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(along: [f64; 2], value: [f64; 2]) -> Part {
        Part { along, value }
    }

    #[test]
    #[allow(clippy::float_cmp, reason = "plateaus are told exactly")]
    fn a_plateau_counts_if_it_lasts_and_a_slope_where_it_is_cut() {
        let plateau = [part([0.0, 900.0], [0.2, 0.2]), part([900.0, 1000.0], [0.9, 0.9])];
        assert_eq!(sustained(&plateau, 100.0), 0.9);
        assert_eq!(sustained(&plateau, 101.0), 0.2);
        let slope = [part([0.0, 1000.0], [0.0, 1.0])];
        assert!((sustained(&slope, 250.0) - 0.75).abs() < 1e-3);
        assert_eq!(sustained(&[], 1.0), 0.0);
    }

    #[test]
    fn a_hole_ends_a_run() {
        let curve = [part([0.0, 500.0], [1.0, 1.0]), part([600.0, 1100.0], [1.0, 1.0])];
        assert_eq!(runs(&curve, 1.0, 400.0).len(), 2);
        assert!(runs(&curve, 1.0, 600.0).is_empty());
        assert!(sustained(&curve, 600.0) < 1e-9);
    }
}
