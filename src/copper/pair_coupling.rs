//! How much of a pair runs coupled, at which gap, and where not.

use super::coupling::{Beside, Reach, advancing, around_bends, beside};
use super::pair::{Legs, mean_width, strands, walked};
use crate::units::Length;

/// The coupling of a pair's legs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Coupling {
    /// Where the legs run side by side, in order along P; positions are those of the routes, in nanometres.
    pub stretches: Vec<Beside>,
    /// Leg P.
    pub p: LegCoupling,
    /// Leg N.
    pub n: LegCoupling,
    /// Gaps, edge to edge; `None` if the legs never run side by side.
    pub gap: Option<Gaps>,
}

/// One leg's share.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LegCoupling {
    /// Length of the leg's centre lines, barrels left out.
    pub length: Length,
    /// Length that runs beside the mate.
    pub coupled: Length,
    /// Stretches that don't, from and to, in order.
    pub uncoupled: Vec<(Length, Length)>,
}

impl LegCoupling {
    /// Coupled share, 0 to 1; 0 for a leg without length.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.length.to_nm() > 0.0 { self.coupled.to_nm() / self.length.to_nm() } else { 0.0 }
    }
}

/// Gaps of the straight coupled stretches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gaps {
    /// The narrowest.
    pub least: Length,
    /// The one with half of the length below it.
    pub typical: Length,
    /// The widest.
    pub most: Length,
}

/// The typical gap is looked for within this many track widths, or [`NEAR`] nanometres if that is more. Common
/// practice, no source: farther apart, legs hardly couple.
const WIDTHS: f64 = 4.0;
const NEAR: f64 = 400_000.0;
/// Legs are coupled where the gap is at most this many times the typical one. Common practice, no source; bumps
/// that make up length open the gap by less.
const COUPLED: f64 = 2.0;
/// Uncoupled stretches shorter than this, in nanometres, are rounding.
const SPECK: f64 = 1_000.0;

/// Measures the coupling of two legs.
#[must_use]
pub fn coupling(legs: &Legs) -> Coupling {
    let width = f64::midpoint(mean_width(&legs.p), mean_width(&legs.n));
    let (p, n) = (strands(&legs.p), strands(&legs.n));
    let search = Reach { gap: (WIDTHS * width).max(NEAR), either_way: false };
    let mut stretches = advancing(beside(&p, &n, search));
    if let Some(gaps) = gaps(&stretches) {
        let reach = Reach { gap: (COUPLED * gaps.typical.to_nm()).min(search.gap), ..search };
        stretches = advancing(beside(&p, &n, reach));
    }
    let gap = gaps(&stretches);
    let stretches = around_bends(stretches, width);
    let p = leg(walked(&legs.p), stretches.iter().map(|found| found.leg));
    let n = leg(walked(&legs.n), stretches.iter().map(|found| found.mate));
    Coupling { stretches, p, n, gap }
}

/// Least, length-weighted median and greatest gap.
fn gaps(stretches: &[Beside]) -> Option<Gaps> {
    let mut weighted: Vec<(f64, f64)> =
        stretches.iter().map(|found| (f64::midpoint(found.gap[0], found.gap[1]), found.length())).collect();
    weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half: f64 = weighted.iter().map(|(_, length)| length).sum::<f64>() / 2.0;
    let mut passed = 0.0;
    let median = weighted.iter().find(|(_, length)| {
        passed += length;
        passed >= half
    })?;
    let ends = || stretches.iter().flat_map(|found| found.gap);
    Some(Gaps {
        least: Length::nm(ends().fold(f64::INFINITY, f64::min)),
        typical: Length::nm(median.0),
        most: Length::nm(ends().fold(f64::NEG_INFINITY, f64::max)),
    })
}

fn leg(length: Length, coupled: impl Iterator<Item = [f64; 2]>) -> LegCoupling {
    let mut out = LegCoupling { length, ..LegCoupling::default() };
    let mut reached = 0.0;
    for [from, to] in coupled {
        if from - reached > SPECK {
            out.uncoupled.push((Length::nm(reached), Length::nm(from)));
        }
        out.coupled += Length::nm((to - from.max(reached)).max(0.0));
        reached = f64::max(reached, to);
    }
    if length.to_nm() - reached > SPECK {
        out.uncoupled.push((Length::nm(reached), length));
    }
    out
}
