//! Circular arcs through three points.

use super::{Envelope, Point, Vector, to_f64};
use std::f64::consts::TAU;

/// An arc from `start` through `mid` to `end`. If `mid` lies on the chord it is a straight line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Arc {
    /// First end.
    pub start: Point,
    /// Any point of the arc between its ends.
    pub mid: Point,
    /// Second end.
    pub end: Point,
}

/// A mid point this near to the chord (nanometres) is there by rounding to the grid: the arc is a straight line.
const STRAIGHT: f64 = 1.0;

/// An arc by centre, radius and angles. Angles are in radians from +x towards +y: clockwise on screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArcFrame {
    /// First end.
    pub from: Vector,
    /// Second end.
    pub to: Vector,
    /// Centre of the circle.
    pub centre: Vector,
    /// Radius in nanometres.
    pub radius: f64,
    /// Angle of the first end about the centre.
    pub start: f64,
    /// Signed angle from the first end to the second.
    pub sweep: f64,
}

impl Arc {
    /// Centre, radius and sweep; `None` if the arc is a straight line.
    ///
    /// The centre is a quotient of exact integers. Half the sweep is the turn at `mid` from one chord to the other
    /// (inscribed angle), which stays exact where the centre is far away. Equal ends mean a full circle whose diameter
    /// ends at `mid`.
    #[must_use]
    pub fn frame(&self) -> Option<ArcFrame> {
        let (from, mid, to) = (Vector::from(self.start), Vector::from(self.mid), Vector::from(self.end));
        if self.start == self.end {
            let radius = from.distance(mid) / 2.0;
            let centre = (from + mid) * 0.5;
            return (radius > STRAIGHT).then(|| ArcFrame {
                from,
                to,
                centre,
                radius,
                start: (from - centre).angle(),
                sweep: TAU,
            });
        }
        let (m, e) = (self.mid - self.start, self.end - self.start);
        let (mx, my, ex, ey) = (i128::from(m.x), i128::from(m.y), i128::from(e.x), i128::from(e.y));
        let cross = mx * ey - my * ex;
        let chord = from.distance(to);
        if wide(cross).abs() <= STRAIGHT * chord {
            return None;
        }
        let (m2, e2) = (mx * mx + my * my, ex * ex + ey * ey);
        let centre =
            Vector::new(wide(m2 * ey - e2 * my) / (2.0 * wide(cross)), wide(e2 * mx - m2 * ex) / (2.0 * wide(cross)));
        let (before, after) = (mid - from, to - mid);
        Some(ArcFrame {
            from,
            to,
            centre: from + centre,
            radius: centre.length(),
            start: (centre * -1.0).angle(),
            sweep: 2.0 * before.cross(after).atan2(before.dot(after)),
        })
    }

    /// Exact length along the centre line, in nanometres.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.frame().map_or_else(|| self.start.distance(self.end), |frame| frame.length())
    }
}

/// An exact integer as `f64`, rounded once.
#[allow(clippy::cast_precision_loss)] // one rounding of an exact product, which is what is wanted here
fn wide(value: i128) -> f64 {
    i64::try_from(value).map_or(value as f64, to_f64)
}

impl ArcFrame {
    /// Length along the arc in nanometres.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.radius * self.sweep.abs()
    }

    /// The position after a turn (0 to |sweep|) from the first end; exact at the ends.
    #[must_use]
    pub fn at_turn(&self, turn: f64) -> Vector {
        if turn <= 0.0 {
            self.from
        } else if turn >= self.sweep.abs() {
            self.to
        } else {
            self.centre + Vector::at_angle(self.start + turn * self.sweep.signum()) * self.radius
        }
    }

    /// The turn (0 to |sweep|) at which the arc faces a position, `None` if the arc does not face it.
    /// `slack` radians beyond either end still count and are clamped.
    #[must_use]
    pub fn turn_to(&self, position: Vector, slack: f64) -> Option<f64> {
        let sweep = self.sweep.abs();
        let turn = (((position - self.centre).angle() - self.start) * self.sweep.signum()).rem_euclid(TAU);
        if turn <= sweep + slack {
            Some(turn.min(sweep))
        } else if turn >= TAU - slack {
            Some(0.0)
        } else {
            None
        }
    }

    /// Unit vector in walking direction after a turn from the first end.
    #[must_use]
    pub fn tangent(&self, turn: f64) -> Vector {
        Vector::at_angle(self.start + turn * self.sweep.signum()).turned() * self.sweep.signum()
    }

    /// The same arc walked from its second end.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self { from: self.to, to: self.from, start: self.start + self.sweep, sweep: -self.sweep, ..*self }
    }

    /// The least grid box that holds the arc.
    #[must_use]
    pub fn envelope(&self) -> Envelope {
        let extremes = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
            .map(|(x, y)| self.centre + Vector::new(x, y) * self.radius)
            .into_iter()
            .filter(|&at| self.turn_to(at, 0.0).is_some());
        Envelope::of([self.from, self.to].into_iter().chain(extremes))
            .unwrap_or(Envelope::of_point(self.from.to_point()))
    }
}
