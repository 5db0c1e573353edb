//! Conductors in the solver's units.

use super::complex::Complex;
use super::section::{Conductor, Net};
use super::stack::Stack;
use crate::units::Length;

/// A conductor in the solver's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trapezoid {
    /// Whether it is grounded.
    pub ground: bool,
    /// y of the lower face.
    pub foot: f64,
    /// y of the upper face.
    pub top: f64,
    /// Left and right x of the lower face.
    pub foot_span: (f64, f64),
    /// Left and right x of the upper face.
    pub top_span: (f64, f64),
}

impl Trapezoid {
    /// From a section's conductor, its heights snapped to faces.
    pub fn new(conductor: &Conductor, scale: f64, stack: &Stack) -> Self {
        let metres = |length: Length| length.to_metres() / scale;
        let (centre, foot) = (metres(conductor.centre), metres(conductor.foot));
        let half = |width| (centre - 0.5 * metres(width), centre + 0.5 * metres(width));
        let snapped = stack.snap(foot);
        let top =
            if conductor.thickness.to_nm() > 0.0 { stack.snap(foot + metres(conductor.thickness)) } else { snapped };
        Self {
            ground: conductor.net == Net::Ground,
            foot: snapped,
            top,
            foot_span: half(conductor.foot_width),
            top_span: half(conductor.top_width),
        }
    }

    /// Left and right x at a height.
    pub fn span(&self, y: f64) -> (f64, f64) {
        let height = self.top - self.foot;
        let part = if height > 0.0 { ((y - self.foot) / height).clamp(0.0, 1.0) } else { 0.0 };
        let mix = |foot: f64, top: f64| foot + (top - foot) * part;
        (mix(self.foot_span.0, self.top_span.0), mix(self.foot_span.1, self.top_span.1))
    }

    /// Leftmost and rightmost x.
    pub fn reach(&self) -> (f64, f64) {
        (self.foot_span.0.min(self.top_span.0), self.foot_span.1.max(self.top_span.1))
    }

    /// Foot left and right, top right and left.
    pub fn corners(&self) -> [Complex; 4] {
        [
            Complex::new(self.foot_span.0, self.foot),
            Complex::new(self.foot_span.1, self.foot),
            Complex::new(self.top_span.1, self.top),
            Complex::new(self.top_span.0, self.top),
        ]
    }

    /// The inner angles at the corners.
    pub fn angles(&self) -> [f64; 4] {
        let [foot_left, foot_right, top_right, top_left] = self.corners();
        let angle = |corner: Complex, one: Complex, two: Complex| ((one - corner) / (two - corner)).arg().abs();
        [
            angle(foot_left, foot_right, top_left),
            angle(foot_right, foot_left, top_right),
            angle(top_right, foot_right, top_left),
            angle(top_left, top_right, foot_left),
        ]
    }

    /// Moved across.
    pub fn shifted(mut self, by: f64) -> Self {
        for x in [&mut self.foot_span.0, &mut self.foot_span.1, &mut self.top_span.0, &mut self.top_span.1] {
            *x += by;
        }
        self
    }

    /// Mirrored about x = 0.
    pub fn mirrored(&self) -> Self {
        Self {
            foot_span: (-self.foot_span.1, -self.foot_span.0),
            top_span: (-self.top_span.1, -self.top_span.0),
            ..*self
        }
    }

    /// Whether two are one, within a distance.
    pub fn is_close(&self, other: &Self, slack: f64) -> bool {
        self.ground == other.ground
            && self.corners().iter().zip(other.corners()).all(|(&one, two)| (one - two).norm() < slack)
    }

    /// Whether two touch or overlap.
    pub fn touches(&self, other: &Self) -> bool {
        let (low, high) = (self.foot.max(other.foot), self.top.min(other.top));
        low <= high
            && [low, high].iter().any(|&y| {
                let (one, two) = (self.span(y), other.span(y));
                one.0 <= two.1 && two.0 <= one.1
            })
    }
}
