//! A frame with two axes: grid, ticks, numbers, names and units.

use super::{Anchor, Scale, Svg, Ticks};

/// An axis's name and unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Label<'t> {
    /// What it is.
    pub name: &'t str,
    /// In what.
    pub unit: &'t str,
}

/// A frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// From left to right.
    pub x: Scale,
    /// From below to above.
    pub y: Scale,
    x_ticks: Ticks,
    y_ticks: Ticks,
}

/// Pixels for a number on an axis.
const X_SPACE: f64 = 75.0;
const Y_SPACE: f64 = 34.0;

impl Frame {
    /// A frame over `left` to `right` and `top` to `bottom` pixels. The range upward is widened to ticks.
    #[must_use]
    pub fn new(x: [f64; 2], y: [f64; 2], [left, right]: [f64; 2], [top, bottom]: [f64; 2]) -> Self {
        let y_most = count((bottom - top) / Y_SPACE);
        let y = Ticks::round(y, y_most);
        Self {
            x: Scale::new(x, [left, right]),
            y: Scale::new(y, [bottom, top]),
            x_ticks: Ticks::new(x, count((right - left) / X_SPACE)),
            y_ticks: Ticks::new(y, y_most + 1),
        }
    }

    /// The grid, to stand behind curves.
    pub fn grid(&self, svg: &mut Svg) {
        let ([left, right], [bottom, top]) = (self.x.pixels, self.y.pixels);
        for x in self.x_ticks.values.iter().map(|tick| self.x.at(*tick)) {
            svg.line("grid", [x, top], [x, bottom]);
        }
        for y in self.y_ticks.values.iter().map(|tick| self.y.at(*tick)) {
            svg.line("grid", [left, y], [right, y]);
        }
    }

    /// Frame, ticks, numbers and names, to stand before curves.
    pub fn axes(&self, svg: &mut Svg, x: Label<'_>, y: Label<'_>) {
        let ([left, right], [bottom, top]) = (self.x.pixels, self.y.pixels);
        svg.rect("frame", [left, top], [right, bottom], None);
        for tick in &self.x_ticks.values {
            let at = self.x.at(*tick);
            svg.line("frame", [at, bottom], [at, bottom + 4.0]);
            svg.text("small", Anchor::Middle, [at, bottom + 16.0], &self.x_ticks.label(*tick));
        }
        for tick in &self.y_ticks.values {
            let at = self.y.at(*tick);
            svg.line("frame", [left - 4.0, at], [left, at]);
            svg.text("small", Anchor::End, [left - 7.0, at + 4.0], &self.y_ticks.label(*tick));
        }
        let named = |label: Label<'_>| format!("{}, {}", label.name, label.unit);
        svg.text("", Anchor::Middle, [f64::midpoint(left, right), bottom + 32.0], &named(x));
        svg.upright("", [left - 52.0, f64::midpoint(top, bottom)], &named(y));
    }

    /// A stretch of the whole height between two values of x, cut to the frame.
    #[must_use]
    pub fn column(&self, [from, to]: [f64; 2]) -> [[f64; 2]; 2] {
        let [bottom, top] = self.y.pixels;
        [[self.x.within(from), top], [self.x.within(to), bottom]]
    }
}

/// How many ticks there is room for.
fn count(room: f64) -> u16 {
    [16_u16, 14, 12, 10, 8, 7, 6, 5, 4].into_iter().find(|most| f64::from(*most) <= room).unwrap_or(3)
}
