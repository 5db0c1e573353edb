//! Widths and gaps that meet a target.

use super::root::{Root, root};
use super::section::{Shift, Trace, draw};
use super::spread::Spread;
use super::{LEAST, MOST, Wanted};
use crate::board::LayerId;
use crate::field::{Attenuation, Impedance, Mode, Options, Slowness, Solution, Undetermined, solve};
use crate::signal::{Basis, Doubt};
use crate::units::Length;
use rayon::prelude::*;

/// What the designer has settled.
#[derive(Debug, Clone, PartialEq)]
pub enum Fixed {
    /// A single line; its width is looked for.
    Single,
    /// A single line of this width: what is it?
    SingleWidth(Length),
    /// A pair with each of these gaps; the width is looked for.
    Gaps(Vec<Length>),
    /// A pair of this width; the gap is looked for.
    Width(Length),
    /// Pairs of this width and each of these gaps: what are they?
    Both(Length, Vec<Length>),
}

/// One way to draw it.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The gap it was looked for with; `None` for a single line, or where the gap was looked for.
    pub gap: Option<Length>,
    /// The line, or why there is none.
    pub line: Result<Drawn, Unmet>,
}

/// A line that can be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Width and gap, whole micrometres.
    pub trace: Trace,
    /// Its impedance: differential for a pair.
    pub impedance: Impedance,
    /// Impedance of one leg of a pair for equal voltages; `None` for a single line and without planes.
    pub even: Option<Impedance>,
    /// Delay of the wave it is meant for.
    pub delay: Slowness,
    /// Loss of that wave; `None` if no frequency was asked for.
    pub loss: Option<Result<Attenuation, Doubt>>,
    /// Estimated relative error of the impedance.
    pub error: f64,
    /// What the fab's tolerances make of it.
    pub spread: Vec<Spread>,
}

/// Why no line meets the target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unmet {
    /// It takes a width below the fab's limit.
    TooNarrow(Length),
    /// It takes a gap below the fab's limit.
    GapTooNarrow(Length),
    /// The impedance nearest to the target that this gap, or this width, can have.
    OutOfReach(Impedance),
    /// The solver's refusal.
    Unsolved(Undetermined),
}

/// Impedances are wanted to this share at most; a mesh that is worse is refined, and refused if that does not help.
const ACCURACY: f64 = 0.005;
/// Legs this many heights apart are two single lines.
const APART: f64 = 10.0;
/// Where the search begins without planes.
const GUESS: Length = Length::mm(0.2);
/// Widths and gaps are drawn in whole micrometres.
const GRID: f64 = 1_000.0;

/// All choices, in the order of the gaps.
#[must_use]
pub fn choices(basis: &Basis, wanted: &Wanted) -> Vec<Choice> {
    let one = |gap, line: Result<Trace, Unmet>| {
        let line = line.and_then(|trace| drawn(basis, wanted, trace).map_err(Unmet::Unsolved));
        Choice { gap, line }
    };
    match &wanted.fixed {
        Fixed::Single => vec![one(None, width(basis, wanted, None))],
        Fixed::SingleWidth(width) => vec![one(None, Ok(Trace { width: *width, gap: None }))],
        Fixed::Gaps(gaps) => gaps.par_iter().map(|&gap| one(Some(gap), width(basis, wanted, Some(gap)))).collect(),
        Fixed::Width(width) => vec![one(None, gap(basis, wanted, *width))],
        Fixed::Both(width, gaps) => {
            gaps.par_iter().map(|&gap| one(Some(gap), Ok(Trace { width: *width, gap: Some(gap) }))).collect()
        }
    }
}

/// The width that meets the target with a gap.
fn width(basis: &Basis, wanted: &Wanted, gap: Option<Length>) -> Result<Trace, Unmet> {
    let found = root(height(basis, wanted), &(LEAST..MOST), false, |width| off(basis, wanted, Trace { width, gap }));
    match found.map_err(Unmet::Unsolved)? {
        Root::At(width) if below(snapped(width), wanted.least_width) => Err(Unmet::TooNarrow(snapped(width))),
        Root::At(width) => Ok(Trace { width: snapped(width), gap }),
        Root::None(off) => Err(Unmet::OutOfReach(wanted.target * off.exp())),
    }
}

/// The gap that meets the target with a width.
fn gap(basis: &Basis, wanted: &Wanted, width: Length) -> Result<Trace, Unmet> {
    let height = height(basis, wanted);
    // Farther apart the legs hardly see each other, and the impedance stands still.
    let most = height * APART;
    let range = LEAST..if most < MOST { most } else { MOST };
    let found = root(height, &range, true, |gap| off(basis, wanted, Trace { width, gap: Some(gap) }));
    match found.map_err(Unmet::Unsolved)? {
        Root::At(gap) if below(snapped(gap), wanted.least_gap) => Err(Unmet::GapTooNarrow(snapped(gap))),
        Root::At(gap) => Ok(Trace { width, gap: Some(snapped(gap)) }),
        Root::None(off) => Err(Unmet::OutOfReach(wanted.target * off.exp())),
    }
}

/// The distance to the nearer plane.
fn height(basis: &Basis, wanted: &Wanted) -> Length {
    let clear = |plane: Option<LayerId>| plane.map(|plane| basis.clear(wanted.layer, plane));
    let nearer = clear(wanted.planes.above).into_iter().chain(clear(wanted.planes.below)).min_by(Length::total_cmp);
    nearer.unwrap_or(GUESS)
}

fn below(length: Length, limit: Length) -> bool {
    !limit.within(length)
}

fn snapped(length: Length) -> Length {
    Length::nm((length.to_nm() / GRID).round() * GRID)
}

/// How far a trace is off the target, as a logarithm.
fn off(basis: &Basis, wanted: &Wanted, trace: Trace) -> Result<f64, Undetermined> {
    let found = impedance(basis, wanted, trace, Shift::NONE)?;
    Ok((found.to_ohms() / wanted.target.to_ohms()).ln())
}

/// The impedance of a trace.
pub(super) fn impedance(basis: &Basis, wanted: &Wanted, trace: Trace, shift: Shift) -> Result<Impedance, Undetermined> {
    let section = draw(basis, wanted, trace, shift).section;
    of(&solve(&section, &Options { accuracy: ACCURACY, resistance: false, symmetry: true })?, trace)
}

/// The impedance that a target is meant for.
fn of(solution: &Solution, trace: Trace) -> Result<Impedance, Undetermined> {
    if trace.gap.is_some() { Ok(solution.pair(0, 1)?.differential()) } else { Ok(solution.line(0)?.impedance) }
}

/// All that is told of a trace.
fn drawn(basis: &Basis, wanted: &Wanted, trace: Trace) -> Result<Drawn, Undetermined> {
    let drawing = draw(basis, wanted, trace, Shift::NONE);
    let resistance = wanted.frequency.is_some() && drawing.lossy;
    let solution = solve(&drawing.section, &Options { accuracy: ACCURACY, resistance, symmetry: true })?;
    let (even, delay, mode) = if trace.gap.is_some() {
        let pair = solution.pair(0, 1)?;
        (pair.even.map(|even| even.impedance), pair.odd.delay(), Mode::Odd(0, 1))
    } else {
        (None, solution.line(0)?.delay(), Mode::Line(0))
    };
    let loss = wanted.frequency.map(|frequency| {
        if !drawing.lossy {
            return Err(Doubt::NoLossTangent);
        }
        Ok(solution.constants(mode, frequency, &basis.metal(), basis.dispersion())?.loss())
    });
    Ok(Drawn {
        trace,
        impedance: of(&solution, trace)?,
        even,
        delay,
        loss,
        error: solution.error(),
        spread: Spread::all(basis, wanted, trace),
    })
}
