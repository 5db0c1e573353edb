//! The stretches of a route near its pads and barrels, where gap, width and impedance are not what they are elsewhere.

use super::Facts;
use crate::copper::pair::walked;
use crate::copper::{Route, StepKind};
use crate::units::Length;

/// Length at each end that is not judged unless a rule says otherwise: where a pair opens towards its pads. Common
/// practice, no source.
pub(super) const ENDS: Length = Length::mm(2.5);
/// Length before and behind each barrel that is not judged unless a rule says otherwise. Common practice, no source.
pub(super) const VIAS: Length = Length::mm(1.0);
/// A neck that goes on for more than this part of the leg is no neck any more. Common practice, no source.
const NECK: f64 = 1.0 / 3.0;
/// Stretches shorter than this, in nanometres, are rounding.
const SPECK: f64 = 2.0;

/// The stretches of a route that are not judged: its ends with the necks that start there, and both sides of its
/// barrels. From and to, in nanometres along the route.
pub(super) fn zones(facts: &Facts<'_>, route: &Route, ends: Length, vias: Length) -> Vec<[f64; 2]> {
    let necks = facts.copper.necks(route).ends;
    let length = walked(route).to_nm();
    let end = |end: usize, pad| {
        let inside = route.steps.iter().filter(|step| step.kind == StepKind::Pad(pad)).map(|step| step.length.to_nm());
        let neck = necks.get(end).and_then(Option::as_ref);
        let neck = neck.map_or(0.0, |neck| inside.sum::<f64>() + neck.length.to_nm());
        ends.to_nm().max(neck.min(NECK * length))
    };
    let barrels = route.steps.iter().filter(|step| step.layer != step.to_layer).map(|step| step.start.to_nm());
    let near = barrels.map(|at| [at - vias.to_nm(), at + vias.to_nm()]);
    [[0.0, end(0, route.from)], [length - end(1, route.to), length]].into_iter().chain(near).collect()
}

/// Zones of one leg as positions along the other, where a stretch of one lies beside a stretch of the other.
pub(super) fn across(zones: &[[f64; 2]], here: [f64; 2], there: [f64; 2]) -> Vec<[f64; 2]> {
    let length = there[1] - there[0];
    if length.abs() <= SPECK {
        return Vec::new();
    }
    let turned = |at: f64| here[0] + (here[1] - here[0]) * (at - there[0]) / length;
    let turn = |zone: &[f64; 2]| {
        let [one, other] = zone.map(turned);
        [one.min(other), one.max(other)]
    };
    zones.iter().map(turn).collect()
}

/// What is left of a stretch without the zones, in order.
pub(super) fn free([from, to]: [f64; 2], zones: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut left = vec![[from, to]];
    for zone in zones {
        let cut = |[from, to]: [f64; 2]| [[from, to.min(zone[0])], [from.max(zone[1]), to]];
        left = left.into_iter().flat_map(cut).filter(|[from, to]| to - from > SPECK).collect();
    }
    left.sort_by(|a, b| a[0].total_cmp(&b[0]));
    left
}
