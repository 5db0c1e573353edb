//! Panels small where the charge is steep: near corners they shrink in proportion to the distance from the corner.

use super::complex::Complex;
use super::corner::{Corner, Sharp};
use super::outline::{Kind, Outline, Piece, Planes};
use super::panel::Panel;

/// How fine a mesh is. Near a corner that belongs to length `l`, a panel at distance `d` is
/// `corner · l + slope · d` long at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grading {
    /// At a conductor's corner.
    pub corner: f64,
    /// At a coating's corner.
    pub soft: f64,
    /// How fast panels grow with the distance.
    pub slope: f64,
}

/// A panel and what it is part of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// The panel.
    pub panel: Panel,
    /// What it is part of.
    pub kind: Kind,
    /// The metal corner at the nearer end of its piece, if there is one.
    pub corner: Option<Flank>,
}

/// Where a panel lies beside a metal corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flank {
    /// The metal's inner angle.
    pub angle: f64,
    /// From the corner to the panel's nearer end: nought if they touch.
    pub gap: f64,
    /// Whether that is the panel's start.
    pub at_start: bool,
}

/// The panels of a section.
#[derive(Debug)]
pub struct Mesh {
    /// On conductors.
    pub metal: Vec<Placed>,
    /// On faces between dielectrics; those that follow one another stand in order.
    pub film: Vec<Placed>,
}

/// A conductor's panel is no longer than this part of its distance to a plane, so that its image stays far.
const PLANE: f64 = 0.6;
/// No panel is longer than this part of the distance between two planes, which the series of the kernel needs.
const SPAN: f64 = 0.5;
/// At most this many panels.
const MOST: usize = 1000;

/// The law at one corner: the size allowed at the corner itself, and how fast it grows.
struct Rule {
    at: Complex,
    size: f64,
    slope: f64,
}

/// A rule as a piece sees it: how far along the piece the corner is, and its squared distance across.
struct Near {
    along: f64,
    across: f64,
    size: f64,
    slope: f64,
}

impl Near {
    /// The size allowed at this distance along the piece.
    fn at(&self, along: f64) -> f64 {
        self.size + self.slope * ((self.along - along) * (self.along - along) + self.across).sqrt()
    }
}

impl Mesh {
    /// Cuts an outline's pieces; `None` if there would be too many panels.
    pub fn new(outline: &Outline, grading: Grading) -> Option<Self> {
        let rules: Vec<Rule> = outline.corners.iter().map(|corner| rule(corner, grading)).collect();
        let mut mesh = Self { metal: Vec::new(), film: Vec::new() };
        let mut near = Vec::new();
        for piece in &outline.pieces {
            let is_film = matches!(piece.kind, Kind::Film { .. });
            relevant(&rules, piece, &mut near);
            let panels = if is_film { &mut mesh.film } else { &mut mesh.metal };
            let least = if piece.start_angle.is_some() && piece.end_angle.is_some() { 2 } else { 1 };
            let cuts = march(piece, least, |at| {
                let law = near.iter().fold(f64::INFINITY, |size: f64, rule| size.min(rule.at(at)));
                let y = piece.start.im + (piece.end.im - piece.start.im) * at / (piece.end - piece.start).norm();
                match outline.planes {
                    Planes::Two(height) if is_film => law.min(SPAN * height),
                    Planes::Two(height) => law.min(SPAN * height).min(PLANE * y.min(height - y)),
                    Planes::One if !is_film => law.min(PLANE * y),
                    _ => law,
                }
            })?;
            for two in cuts.windows(2) {
                if let [from, to] = two {
                    panels.push(Placed {
                        panel: Panel::new(*from, *to),
                        kind: piece.kind,
                        corner: flank(piece, *from, *to),
                    });
                }
            }
            if mesh.metal.len() + mesh.film.len() > MOST {
                return None;
            }
        }
        Some(mesh)
    }
}

/// The corner that a panel is nearest to, of those at its piece's ends.
fn flank(piece: &Piece, from: Complex, to: Complex) -> Option<Flank> {
    let before = piece.start_angle.map(|angle| Flank { angle, gap: (from - piece.start).norm(), at_start: true });
    let after = piece.end_angle.map(|angle| Flank { angle, gap: (piece.end - to).norm(), at_start: false });
    match (before, after) {
        (Some(before), Some(after)) => Some(if before.gap <= after.gap { before } else { after }),
        (before, after) => before.or(after),
    }
}

fn rule(corner: &Corner, grading: Grading) -> Rule {
    // At a right corner in one dielectric the power is 2/3. Where it is less, the same error needs smaller panels, and
    // more of them.
    let (part, slope) = match corner.sharp {
        Sharp::Metal(power) => {
            let sharper = (1.5 * power).min(1.0);
            (grading.corner.powf(2.0 / 3.0 / power), grading.slope * sharper * sharper)
        }
        Sharp::Edge => (grading.corner.powf(1.6), 0.6 * grading.slope),
        Sharp::Soft => (grading.soft, grading.slope),
    };
    Rule { at: corner.at, size: part * corner.length, slope }
}

/// The corners that can matter on a piece: those whose law is somewhere below what another allows at most.
fn relevant(rules: &[Rule], piece: &Piece, near: &mut Vec<Near>) {
    let length = (piece.end - piece.start).norm();
    let unit = (piece.end - piece.start) * (1.0 / length);
    near.clear();
    near.extend(rules.iter().map(|rule| {
        let place = (rule.at - piece.start) * unit.conj();
        Near { along: place.re, across: place.im * place.im, size: rule.size, slope: rule.slope }
    }));
    let most = near.iter().fold(f64::INFINITY, |most: f64, rule| most.min(rule.at(0.0).max(rule.at(length))));
    near.retain(|rule| rule.at(rule.along.clamp(0.0, length)) <= most);
}

/// Cuts a piece by a size law: walks it in quarter steps, then shares the steps out evenly over whole panels.
fn march(piece: &Piece, least: usize, size: impl Fn(f64) -> f64) -> Option<Vec<Complex>> {
    let way = piece.end - piece.start;
    let length = way.norm();
    let mut stops = vec![0.0];
    let mut at = 0.0;
    while at < length {
        at += 0.25 * size(at).max(1e-9 * length);
        stops.push(at);
        if stops.len() > 4 * MOST {
            return None;
        }
    }
    let whole = stops.len() - 1;
    let before = stops.get(whole.saturating_sub(1)).copied().unwrap_or(0.0);
    let spare = (at - length) / (at - before);
    let steps = count(whole) - spare;
    let panels = (1..=MOST).find(|&panels| panels >= least && 4.0 * count(panels) >= steps - 0.4)?;
    let cuts = (0..=panels).map(|number| {
        if number == panels {
            return piece.end;
        }
        let place = steps * count(number) / count(panels);
        let mut pairs = stops.windows(2).enumerate();
        let found = pairs.find_map(|(index, two)| match two {
            [from, to] if place < count(index + 1) => Some(from + (to - from) * (place - count(index))),
            _ => None,
        });
        piece.start + way * (found.unwrap_or(length) / length)
    });
    Some(cuts.collect())
}

/// A small count as a number.
fn count(number: usize) -> f64 {
    f64::from(u32::try_from(number).unwrap_or(u32::MAX))
}
