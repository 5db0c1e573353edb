//! Drawn figures: lines, arcs, circles, rectangles, polygons and curves, wherever they stand.

use super::Reading;
use super::fields::Unknown;
use super::frame::Frame;
use super::layers::Placed;
use crate::board::NetId;
use crate::geometry::{Arc, Path, Point, Shape, from_f64, to_f64};
use crate::source::{Item, Read, Word};

/// Largest distance in nanometres between a curve and the straight pieces that stand in for it, where no exact form
/// exists: cubic curves, and arcs inside polygons.
const FLATNESS: f64 = 500.0;

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Figure {
    Line,
    Arc,
    Circle,
    Rectangle,
    Polygon,
    Curve,
}

impl Figure {
    /// By the node's head without its `gr_` or `fp_`.
    fn of(head: &str) -> Option<Self> {
        Some(match head.get(3..)? {
            "line" => Self::Line,
            "arc" => Self::Arc,
            "circle" => Self::Circle,
            "rect" => Self::Rectangle,
            "poly" => Self::Polygon,
            "curve" => Self::Curve,
            _ => return None,
        })
    }
}

/// One figure in its own frame.
#[derive(Debug)]
pub(super) struct Drawing<'a> {
    pub(super) head: Word<'a>,
    figure: Figure,
    start: Option<Point>,
    mid: Option<Point>,
    end: Option<Point>,
    center: Option<Point>,
    angle: Option<f64>,
    points: Vec<Point>,
    width: i64,
    fill: Option<bool>,
    /// Filled with a hatch: meshed copper, whose holes are not worked out.
    pub(super) hatched: bool,
    pub(super) placed: Placed,
    pub(super) net: Option<NetId>,
    pub(super) unknown: Vec<Unknown<'a>>,
}

impl<'a> Reading<'a> {
    /// The figure whose head was just read.
    pub(super) fn drawing(&mut self, head: Word<'a>) -> Read<Drawing<'a>> {
        let Some(figure) = Figure::of(head.text) else {
            return Err(self.cursor.fault(head.span(), "not a figure", "expected `gr_line` or the like"));
        };
        let mut drawing = Drawing {
            head,
            figure,
            start: None,
            mid: None,
            end: None,
            center: None,
            angle: None,
            points: Vec::new(),
            width: 0,
            fill: None,
            hatched: false,
            placed: Placed::default(),
            net: None,
            unknown: Vec::new(),
        };
        while let Some(item) = self.cursor.next()? {
            if let Item::Node(child) = item {
                self.drawing_field(child, &mut drawing)?;
            }
        }
        Ok(drawing)
    }

    fn drawing_field(&mut self, child: Word<'a>, drawing: &mut Drawing<'a>) -> Read<()> {
        match child.text {
            "start" => drawing.start = Some(self.point()?),
            "mid" => drawing.mid = Some(self.point()?),
            "end" => drawing.end = Some(self.point()?),
            "center" => drawing.center = Some(self.point()?),
            "angle" => {
                drawing.angle = Some(self.cursor.number("an angle in degrees")?);
                self.cursor.leave()?;
            }
            "pts" => {
                let mut points = std::mem::take(&mut drawing.points);
                self.points(&mut points)?;
                drawing.points = points;
            }
            "width" => drawing.width = self.stroke_width()?,
            "stroke" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Node(child) if child.text == "width" => drawing.width = self.stroke_width()?,
                        Item::Node(_) => self.cursor.leave()?,
                        Item::Word(_) => {}
                    }
                }
            }
            "fill" => self.fill_of(drawing)?,
            "layer" | "layers" => self.layer_names(child, &mut drawing.placed)?,
            "net" => drawing.net = Some(self.net(child)?),
            "tstamp" | "uuid" | "id" | "status" | "locked" | "solder_mask_margin" => self.cursor.leave()?,
            _ => self.unknown_child(&mut drawing.unknown, child)?,
        }
        Ok(())
    }

    /// A stroke width. Some writers store −1 for "standard width"; no copper is drawn with it.
    fn stroke_width(&mut self) -> Read<i64> {
        Ok(self.cursor.only_length("a stroke width in mm")?.max(0))
    }

    /// `(fill yes)`, `(fill solid)`, `(fill none)`, or `(fill (type solid))`.
    fn fill_of(&mut self, drawing: &mut Drawing<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            let word = match item {
                Item::Word(word) => word,
                Item::Node(child) if child.text == "type" => self.cursor.only_word("a fill type")?,
                Item::Node(child) => {
                    self.unknown_child(&mut drawing.unknown, child)?;
                    continue;
                }
            };
            match word.text {
                "yes" | "solid" | "true" => drawing.fill = Some(true),
                "no" | "none" | "false" => drawing.fill = Some(false),
                "hatch" | "reverse_hatch" | "cross_hatch" => (drawing.fill, drawing.hatched) = (Some(true), true),
                _ => drawing.unknown.push(Unknown::word(word)),
            }
        }
        Ok(())
    }

    /// `(pts (xy X Y) (arc (start …) (mid …) (end …)) …)`, added to `points`; leaves the node.
    pub(super) fn points(&mut self, points: &mut Vec<Point>) -> Read<()> {
        loop {
            while let Some([x, y]) = self.cursor.usual_point() {
                points.push(Point { x, y });
            }
            if !self.any_point(points)? {
                return Ok(());
            }
        }
    }

    /// The next child of a `pts` node, of whatever form; false at the node's end.
    fn any_point(&mut self, points: &mut Vec<Point>) -> Read<bool> {
        let Some(item) = self.cursor.next()? else { return Ok(false) };
        let Item::Node(head) = item else { return Ok(true) };
        match head.text {
            "xy" => points.push(self.point()?),
            "arc" => {
                let (mut start, mut mid, mut end) = (None, None, None);
                while let Some(item) = self.cursor.next()? {
                    let Item::Node(child) = item else { continue };
                    match child.text {
                        "start" => start = Some(self.point()?),
                        "mid" => mid = Some(self.point()?),
                        "end" => end = Some(self.point()?),
                        _ => self.unknown_node("arc", child)?,
                    }
                }
                let (Some(start), Some(mid), Some(end)) = (start, mid, end) else {
                    return Err(self.lacks(head, "start, mid and end", "(start X Y) (mid X Y) (end X Y)"));
                };
                if points.last() != Some(&start) {
                    points.push(start);
                }
                self.charge(flatten_arc(Arc { start, mid, end }, points), head)?;
            }
            _ => {
                let message = format!("unknown point form `{}`", head.text);
                return Err(self.cursor.fault(head.span(), message, "expected `(xy X Y)` or `(arc …)`"));
            }
        }
        Ok(true)
    }

    /// Counts points that the file does not spell out, so that a small file cannot fill the memory.
    fn charge(&mut self, points: u32, head: Word<'a>) -> Read<()> {
        self.made_points = self.made_points.saturating_add(points);
        if self.made_points > self.limits.tokens {
            return Err(self.cursor.fault(head.span(), "more curve points than the limit allows", "reached here"));
        }
        Ok(())
    }

    /// Centre lines of a figure in the board's frame.
    pub(super) fn centre_lines(&mut self, drawing: &Drawing<'a>, frame: &Frame) -> Read<Vec<Path>> {
        let head = drawing.head;
        let line = |from: Point, to: Point| Path::Line(frame.place(from), frame.place(to));
        let need =
            |point: Option<Point>, name: &str| point.ok_or_else(|| self.lacks(head, name, &format!("({name} X Y)")));
        Ok(match drawing.figure {
            Figure::Line => vec![line(need(drawing.start, "start")?, need(drawing.end, "end")?)],
            Figure::Arc => {
                let (start, end) = (need(drawing.start, "start")?, need(drawing.end, "end")?);
                match (drawing.mid, drawing.angle) {
                    (Some(mid), _) => vec![placed_arc(frame, Arc { start, mid, end })],
                    (None, Some(angle)) => turned_arcs(start, end, angle, frame),
                    (None, None) => return Err(self.lacks(head, "mid", "(mid X Y)")),
                }
            }
            Figure::Circle => {
                let center = need(drawing.center, "center")?;
                let radius = from_f64(center.distance(need(drawing.end, "end")?));
                circle(frame.place(center), radius)
            }
            Figure::Rectangle => {
                let corners = rectangle(need(drawing.start, "start")?, need(drawing.end, "end")?);
                closed(&corners, line)
            }
            Figure::Polygon => {
                if drawing.points.is_empty() {
                    return Err(self.lacks(head, "pts", "(pts (xy X Y) …)"));
                }
                closed(&drawing.points, line)
            }
            Figure::Curve => {
                let &[a, b, c, d] = drawing.points.as_slice() else {
                    return Err(self.lacks(head, "four points", "(pts (xy X Y) (xy X Y) (xy X Y) (xy X Y))"));
                };
                let mut points = vec![a];
                self.charge(flatten_cubic([a, b, c, d], &mut points), head)?;
                points.iter().zip(points.iter().skip(1)).map(|(&from, &to)| line(from, to)).collect()
            }
        })
    }

    /// The area a figure covers in the board's frame. `primitive`: it belongs to a custom pad, where a circle without
    /// a stroke is a disc.
    pub(super) fn covered(&mut self, drawing: &Drawing<'a>, frame: &Frame, primitive: bool) -> Read<Vec<Shape>> {
        let radius = drawing.width / 2;
        let lines = self.centre_lines(drawing, frame)?;
        let filled = drawing.fill.unwrap_or(match drawing.figure {
            Figure::Polygon => true,
            Figure::Circle => primitive && drawing.width == 0,
            _ => false,
        });
        if filled {
            match drawing.figure {
                Figure::Circle => {
                    if let (Some(center), Some(end)) = (drawing.center, drawing.end) {
                        let at = frame.place(center);
                        let radius = from_f64(center.distance(end)) + radius;
                        return Ok(vec![Shape::Stroke { path: Path::Line(at, at), radius }]);
                    }
                }
                Figure::Rectangle | Figure::Polygon | Figure::Curve if lines.len() > 2 => {
                    let ring = lines.iter().filter_map(|path| match *path {
                        Path::Line(from, _) => Some(from),
                        Path::Arc(_) => None,
                    });
                    return Ok(vec![Shape::Area { ring: ring.collect(), radius }]);
                }
                _ => {}
            }
        }
        Ok(lines.into_iter().map(|path| Shape::Stroke { path, radius }).collect())
    }
}

fn placed_arc(frame: &Frame, arc: Arc) -> Path {
    Path::Arc(Arc { start: frame.place(arc.start), mid: frame.place(arc.mid), end: frame.place(arc.end) })
}

fn closed(points: &[Point], line: impl Fn(Point, Point) -> Path) -> Vec<Path> {
    let points = match points {
        [first, rest @ .., last] if first == last && !rest.is_empty() => {
            points.get(..points.len() - 1).unwrap_or(points)
        }
        _ => points,
    };
    points.iter().zip(points.iter().cycle().skip(1)).map(|(&from, &to)| line(from, to)).collect()
}

fn rectangle(one: Point, other: Point) -> [Point; 4] {
    [one, Point::new(other.x, one.y), other, Point::new(one.x, other.y)]
}

/// A full circle as two half arcs; a dot if its radius is zero.
fn circle(center: Point, radius: i64) -> Vec<Path> {
    if radius == 0 {
        return vec![Path::Line(center, center)];
    }
    let (right, left) = (center + Point::new(radius, 0), center - Point::new(radius, 0));
    let (low, high) = (center + Point::new(0, radius), center - Point::new(0, radius));
    vec![Path::Arc(Arc { start: right, mid: low, end: left }), Path::Arc(Arc { start: left, mid: high, end: right })]
}

/// The old form of an arc: centre, first point, and an angle that is positive clockwise on screen.
fn turned_arcs(center: Point, first: Point, degrees: f64, frame: &Frame) -> Vec<Path> {
    let spoke = first - center;
    if degrees.abs() >= 360.0 {
        return circle(frame.place(center), from_f64(center.distance(first)));
    }
    let at = |degrees: f64| center + Frame::new(Point::default(), -degrees).place(spoke);
    vec![placed_arc(frame, Arc { start: first, mid: at(degrees / 2.0), end: at(degrees) })]
}

/// Adds points along an arc, without its start, at most [`FLATNESS`] off; returns how many.
fn flatten_arc(arc: Arc, points: &mut Vec<Point>) -> u32 {
    let (mx, my) = (arc.mid - arc.start).to_f64();
    let (ex, ey) = (arc.end - arc.start).to_f64();
    let cross = 2.0 * (mx * ey - my * ex);
    let (m2, e2) = (mx * mx + my * my, ex * ex + ey * ey);
    let (cx, cy) = ((m2 * ey - e2 * my) / cross, (e2 * mx - m2 * ex) / cross);
    let radius = cx.hypot(cy);
    // A chord that is nearly straight: its rise is far below the flatness.
    if cross.abs() < 1.0 || !radius.is_finite() || radius < 1.0 {
        points.push(arc.end);
        return 1;
    }
    let angle = |x: f64, y: f64| (y - cy).atan2(x - cx);
    let (from, mid, to) = (angle(0.0, 0.0), angle(mx, my), angle(ex, ey));
    let turn = std::f64::consts::TAU;
    let (to_mid, to_end) = ((mid - from).rem_euclid(turn), (to - from).rem_euclid(turn));
    let sweep = if to_mid <= to_end { to_end } else { to_end - turn };
    let step = 2.0 * (1.0 - (FLATNESS / radius).min(1.0)).acos();
    let count = steps(sweep.abs() / step);
    for at in 1..count {
        let angle = from + sweep * f64::from(at) / f64::from(count);
        let (x, y) = (cx + radius * angle.cos(), cy + radius * angle.sin());
        points.push(arc.start + Point::new(from_f64(x), from_f64(y)));
    }
    points.push(arc.end);
    count
}

/// Adds points along a cubic Bézier curve, without its start, at most [`FLATNESS`] off; returns how many.
///
/// The chord error of n equal steps is at most M·6/(8 n²), with M the larger second difference of the control points.
fn flatten_cubic(control: [Point; 4], points: &mut Vec<Point>) -> u32 {
    let [a, b, c, d] = control;
    let bend = |p: Point, q: Point, r: Point| to_f64(p.x - 2 * q.x + r.x).hypot(to_f64(p.y - 2 * q.y + r.y));
    let count = steps((0.75 * bend(a, b, c).max(bend(b, c, d)) / FLATNESS).sqrt());
    let along = |t: f64, a: i64, b: i64, c: i64, d: i64| {
        let s = 1.0 - t;
        s * s * s * to_f64(a) + 3.0 * s * s * t * to_f64(b) + 3.0 * s * t * t * to_f64(c) + t * t * t * to_f64(d)
    };
    for at in 1..count {
        let t = f64::from(at) / f64::from(count);
        points.push(Point::new(from_f64(along(t, a.x, b.x, c.x, d.x)), from_f64(along(t, a.y, b.y, c.y, d.y))));
    }
    points.push(d);
    count
}

/// A count of steps, at least 1. Bounded: the largest circle that fits the coordinates needs about 20 000.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Clamped before the cast.
fn steps(exact: f64) -> u32 {
    exact.ceil().clamp(1.0, 1e6) as u32
}
