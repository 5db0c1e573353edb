//! From a section to the straight pieces that carry charge: sides of conductors, and faces between dielectrics.

use super::complex::Complex;
use super::corner::{Corner, Sharp, metal_corners};
use super::doubt::Undetermined;
use super::mask::{Coat, Step, surface};
use super::material::Dielectric;
use super::section::{Mask, Section};
use super::stack::{SNAP, Stack};
use super::trapezoid::Trapezoid;

/// At most this many conductors in all.
const MOST_CONDUCTORS: usize = 40;
/// How far faces reach beyond the outermost conductor: in heights of the metal without an upper plane, and in
/// distances between two planes.
const REACH_OPEN: f64 = 20.0;
const REACH_CLOSED: f64 = 1.5;
/// Half-width over height beyond which the two-plane kernel would overflow.
const WIDEST: f64 = 50.0;

/// Which planes are solid and infinite. One plane is always below: a section with only an upper plane is turned over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Planes {
    /// None.
    None,
    /// At y = 0.
    One,
    /// At y = 0 and at this y.
    Two(f64),
}

/// Which side of a conductor, for roughness.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// The lower face.
    Foot,
    /// The upper face and the flanks.
    Rest,
}

/// What a piece is. Dielectrics are places in `Outline::dielectrics`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A conductor's side; the dielectric lies to its right.
    Side {
        /// Place in the section's list.
        conductor: usize,
        /// The dielectric.
        outside: usize,
        /// Which side.
        face: Face,
    },
    /// A conductor without thickness.
    Strip {
        /// Place in the section's list.
        conductor: usize,
        /// The dielectric above (left).
        left: usize,
        /// The dielectric below (right).
        right: usize,
    },
    /// A face between dielectrics.
    Film {
        /// The dielectric to the left.
        left: usize,
        /// The dielectric to the right.
        right: usize,
    },
}

/// A straight piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Where it starts.
    pub start: Complex,
    /// Where it ends.
    pub end: Complex,
    /// What it is.
    pub kind: Kind,
    /// The metal's inner angle where the piece starts, if that is a metal corner.
    pub start_angle: Option<f64>,
    /// The same where it ends.
    pub end_angle: Option<f64>,
}

/// A section as pieces, in units of `scale`.
#[derive(Debug)]
pub struct Outline {
    /// Metres per unit.
    pub scale: f64,
    /// The solid planes.
    pub planes: Planes,
    /// All conductors.
    pub conductors: Vec<Trapezoid>,
    /// If the section is its own mirror image: each conductor's image. Pieces are then of the right half (x ≥ 0) only.
    pub mirror: Option<Vec<usize>>,
    /// All distinct dielectrics; the first is air.
    pub dielectrics: Vec<Dielectric>,
    /// Sides, strips and faces; those that follow one another stand in order.
    pub pieces: Vec<Piece>,
    /// Points that need small panels.
    pub corners: Vec<Corner>,
}

fn placed(section: &Section, stack: &Stack, conductors: &[Trapezoid]) -> Result<(), Undetermined> {
    for (which, conductor) in conductors.iter().enumerate() {
        if conductor.top < conductor.foot || (conductor.top - conductor.foot < SNAP && conductor.top > conductor.foot) {
            return Err(Undetermined::BadValue("a conductor's thickness"));
        }
        if (section.plane_below && conductor.foot < SNAP)
            || (section.plane_above && conductor.top > stack.height() - SNAP)
        {
            return Err(Undetermined::BeyondPlane(which));
        }
        let hangs_above = section.mask_above.is_some() && conductor.foot > stack.height();
        let hangs_below = section.mask_below.is_some() && conductor.top < 0.0;
        if hangs_above || hangs_below {
            return Err(Undetermined::OffSurface(which));
        }
        for (other, against) in conductors.iter().enumerate().skip(which + 1) {
            if conductor.touches(against) {
                return Err(Undetermined::Overlap(which, other));
            }
        }
    }
    Ok(())
}

/// Each conductor's mirror image about x = 0, if all have one.
fn mirror(conductors: &[Trapezoid]) -> Option<Vec<usize>> {
    conductors
        .iter()
        .map(|conductor| {
            let image = conductor.mirrored();
            conductors.iter().position(|other| image.is_close(other, 0.1 * SNAP))
        })
        .collect()
}

impl Outline {
    /// Draws a section's outline; `whole` draws both halves even of a symmetric one.
    pub fn new(section: &Section, whole: bool) -> Result<Self, Undetermined> {
        section.check()?;
        let upright = if section.plane_above && !section.plane_below { &section.turned() } else { section };
        if upright.conductors.len() > MOST_CONDUCTORS || upright.layers.len() > MOST_CONDUCTORS {
            return Err(Undetermined::TooIntricate);
        }
        let height: f64 = upright.layers.iter().map(|layer| layer.thickness.to_metres()).sum();
        let widest =
            upright.conductors.iter().fold(0.0, |most: f64, conductor| most.max(conductor.foot_width.to_metres()));
        let scale = if height > 0.0 { height } else { widest };
        let stack = Stack::new(upright, scale);
        let conductors: Vec<Trapezoid> =
            upright.conductors.iter().map(|conductor| Trapezoid::new(conductor, scale, &stack)).collect();
        placed(upright, &stack, &conductors)?;
        let planes = match (upright.plane_below, upright.plane_above) {
            (true, true) => Planes::Two(stack.height()),
            (true, false) => Planes::One,
            _ => Planes::None,
        };
        let (left, right) = conductors.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(left, right), conductor| {
            let reach = conductor.reach();
            (left.min(reach.0), right.max(reach.1))
        });
        let conductors: Vec<Trapezoid> =
            conductors.into_iter().map(|conductor| conductor.shifted(-0.5 * (left + right))).collect();
        let half_width = 0.5 * (right - left);
        let metal =
            conductors.iter().fold(0.0, |most: f64, conductor| most.max(conductor.top.abs()).max(conductor.foot.abs()));
        let far = half_width
            + match planes {
                Planes::Two(height) => REACH_CLOSED * height,
                Planes::One => REACH_OPEN * metal,
                Planes::None => REACH_OPEN * (2.0 * half_width).max(stack.height()),
            };
        if let Planes::Two(height) = planes
            && half_width > WIDEST * height
        {
            return Err(Undetermined::TooWide);
        }
        let mirror = if whole { None } else { mirror(&conductors) };
        let mut outline = Self {
            scale,
            planes,
            mirror,
            dielectrics: stack.dielectrics.clone(),
            pieces: Vec::new(),
            corners: metal_corners(&conductors, &stack),
            conductors,
        };
        if outline.is_floating() && section.signals() < 2 {
            return Err(Undetermined::NoReturn);
        }
        outline.draw_metal(&stack);
        outline.draw_faces(upright, &stack, far);
        outline.draw_masks(upright, &stack, far);
        Ok(outline)
    }

    /// Whether there is neither plane nor ground.
    pub fn is_floating(&self) -> bool {
        self.planes == Planes::None && self.conductors.iter().all(|conductor| !conductor.ground)
    }

    /// Left end of what is drawn.
    fn left(&self, far: f64) -> f64 {
        if self.mirror.is_some() { 0.0 } else { -far }
    }

    /// Adds a piece, or its right half.
    fn draw(&mut self, piece: Piece) {
        let Piece { start, end, .. } = piece;
        if self.mirror.is_none() || (start.re >= 0.0 && end.re >= 0.0) {
            self.pieces.push(piece);
            return;
        }
        if start.re <= 0.0 && end.re <= 0.0 {
            return;
        }
        let part = start.re / (start.re - end.re);
        let cut = Complex::new(0.0, start.im + (end.im - start.im) * part);
        self.pieces.push(if start.re < 0.0 {
            Piece { start: cut, start_angle: None, ..piece }
        } else {
            Piece { end: cut, end_angle: None, ..piece }
        });
    }

    fn draw_metal(&mut self, stack: &Stack) {
        for (conductor, shape) in self.conductors.clone().iter().enumerate() {
            let [foot_left, foot_right, top_right, top_left] = shape.corners();
            if shape.top <= shape.foot {
                let kind = Kind::Strip { conductor, left: stack.above(shape.foot), right: stack.below(shape.foot) };
                let angle = Some(0.0);
                self.draw(Piece { start: foot_left, end: foot_right, kind, start_angle: angle, end_angle: angle });
                continue;
            }
            let angles = shape.angles().map(Some);
            let [at_foot_left, at_foot_right, at_top_right, at_top_left] = angles;
            let side = |outside, face| Kind::Side { conductor, outside, face };
            let foot = side(stack.below(shape.foot), Face::Foot);
            let top = side(stack.above(shape.top), Face::Rest);
            self.draw(Piece {
                start: foot_left,
                end: foot_right,
                kind: foot,
                start_angle: at_foot_left,
                end_angle: at_foot_right,
            });
            let cuts: Vec<f64> =
                stack.faces.iter().copied().filter(|&face| face > shape.foot && face < shape.top).collect();
            let flank = |cuts: &mut dyn Iterator<Item = f64>, right: bool| -> Vec<Complex> {
                cuts.map(|y| {
                    let span = shape.span(y);
                    Complex::new(if right { span.1 } else { span.0 }, y)
                })
                .collect()
            };
            let up = flank(&mut cuts.iter().copied(), true);
            let down = flank(&mut cuts.iter().rev().copied(), false);
            self.draw_flank(foot_right, &up, top_right, (at_foot_right, at_top_right), |y| {
                side(stack.at(y), Face::Rest)
            });
            self.draw(Piece {
                start: top_right,
                end: top_left,
                kind: top,
                start_angle: at_top_right,
                end_angle: at_top_left,
            });
            self.draw_flank(top_left, &down, foot_left, (at_top_left, at_foot_left), |y| side(stack.at(y), Face::Rest));
        }
    }

    /// Draws a flank that faces between dielectrics cut into parts.
    fn draw_flank(
        &mut self,
        start: Complex,
        cuts: &[Complex],
        end: Complex,
        angles: (Option<f64>, Option<f64>),
        kind: impl Fn(f64) -> Kind,
    ) {
        let mut from = start;
        let mut length = 0.0;
        for (number, &to) in cuts.iter().chain(std::iter::once(&end)).enumerate() {
            let first = number == 0;
            let last = number == cuts.len();
            if !first {
                self.corners.push(Corner { at: from, length: (to - from).norm().min(length), sharp: Sharp::Soft });
            }
            length = (to - from).norm();
            self.draw(Piece {
                start: from,
                end: to,
                kind: kind(0.5 * (from.im + to.im)),
                start_angle: if first { angles.0 } else { None },
                end_angle: if last { angles.1 } else { None },
            });
            from = to;
        }
    }

    /// Draws level faces between layers, and between the outer layers and what covers them.
    fn draw_faces(&mut self, section: &Section, stack: &Stack, far: f64) {
        let count = stack.faces.len();
        for (number, &y) in stack.faces.iter().enumerate() {
            let covered = (number == 0 && section.plane_below) || (number + 1 == count && section.plane_above);
            let (left, right) = (stack.above(y), stack.below(y));
            if covered || left == right {
                continue;
            }
            let mut spans: Vec<(f64, f64)> = self
                .conductors
                .iter()
                .filter(|conductor| conductor.foot <= y && y <= conductor.top)
                .map(|conductor| conductor.span(y))
                .collect();
            spans.sort_by(|one, two| one.0.total_cmp(&two.0));
            let mut from = -far;
            for (start, end) in spans.into_iter().chain(std::iter::once((far, far))) {
                self.draw_film(Complex::new(from, y), Complex::new(start, y), left, right);
                from = end;
            }
        }
    }

    fn draw_film(&mut self, start: Complex, end: Complex, left: usize, right: usize) {
        if left != right && (end - start).norm() > 0.0 {
            self.draw(Piece { start, end, kind: Kind::Film { left, right }, start_angle: None, end_angle: None });
        }
    }

    fn draw_masks(&mut self, section: &Section, stack: &Stack, far: f64) {
        let height = stack.height();
        let coat = |mask: &Mask| Coat {
            flat: mask.on_board.to_metres() / self.scale,
            over: mask.over_copper.to_metres() / self.scale,
            beside: mask.beside_copper.to_metres() / self.scale,
        };
        let upper = section.mask_above.as_ref().map(coat);
        let lower = section.mask_below.as_ref().map(coat);
        if let Some(coat) = upper {
            let steps = self
                .conductors
                .iter()
                .filter(|conductor| conductor.top > height)
                .map(|conductor| Step {
                    foot: conductor.span(height),
                    top: conductor.top_span,
                    height: conductor.top - height,
                })
                .chain(self.strips_at(height))
                .collect();
            let line = surface(steps, coat, (-far, far));
            self.draw_line(line.into_iter().map(|(x, y)| Complex::new(x, height + y)), 0, stack.above(height));
        }
        if let Some(coat) = lower {
            let steps = self
                .conductors
                .iter()
                .filter(|conductor| conductor.foot < 0.0)
                .map(|conductor| Step { foot: conductor.span(0.0), top: conductor.foot_span, height: -conductor.foot })
                .chain(self.strips_at(0.0))
                .collect();
            let line = surface(steps, coat, (-far, far));
            self.draw_line(line.into_iter().map(|(x, y)| Complex::new(x, -y)), stack.below(0.0), 0);
        }
    }

    fn strips_at(&self, height: f64) -> impl Iterator<Item = Step> + '_ {
        let is_here = move |y: f64| (y - height).abs() < SNAP;
        self.conductors
            .iter()
            .filter(move |conductor| conductor.top <= conductor.foot && is_here(conductor.foot))
            .map(|conductor| Step { foot: conductor.foot_span, top: conductor.foot_span, height: 0.0 })
    }

    /// Draws a coating's surface and notes its corners.
    fn draw_line(&mut self, points: impl Iterator<Item = Complex>, left: usize, right: usize) {
        let points: Vec<Complex> = points.collect();
        for three in points.windows(3) {
            if let [before, at, after] = three {
                let length = (*at - *before).norm().min((*after - *at).norm());
                if at.re >= self.left(f64::INFINITY) {
                    self.corners.push(Corner { at: *at, length, sharp: Sharp::Soft });
                }
            }
        }
        for two in points.windows(2) {
            if let [from, to] = two {
                self.draw_film(*from, *to, left, right);
            }
        }
    }
}
