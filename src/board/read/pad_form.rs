//! The copper of a pad from its shape, size and the many things that bend them.

use super::Reading;
use super::drawing::Drawing;
use super::fields::Unknown;
use super::frame::Frame;
use crate::board::LayerSet;
use crate::geometry::{Path, Point, Shape, from_f64, to_f64};
use crate::source::{Item, Read, Word};

/// Corner radius of a rounded rectangle that states none, as a share of its shorter side (from memory, no source).
const DEFAULT_ROUNDING: f64 = 0.25;

/// Corners in the order top left, top right, bottom right, bottom left; `top` is −y.
const CORNERS: [(&str, i64, i64); 4] =
    [("top_left", -1, -1), ("top_right", 1, -1), ("bottom_right", 1, 1), ("bottom_left", -1, 1)];

/// Shape and size of a pad on some layers, in the pad's frame.
#[derive(Debug)]
pub(super) struct PadForm<'a> {
    pub(super) shape: Word<'a>,
    pub(super) size: Option<(i64, i64)>,
    pub(super) offset: Point,
    delta: (i64, i64),
    rounding: Option<f64>,
    chamfer: f64,
    chamfered: [bool; 4],
    anchor_rect: bool,
    primitives: std::rc::Rc<Vec<Drawing<'a>>>,
}

impl<'a> PadForm<'a> {
    pub(super) fn new(shape: Word<'a>) -> Self {
        Self {
            shape,
            size: None,
            offset: Point::default(),
            delta: (0, 0),
            rounding: None,
            chamfer: 0.0,
            chamfered: [false; 4],
            anchor_rect: false,
            primitives: std::rc::Rc::default(),
        }
    }

    /// A copy for a layer of a pad stack, to be changed by what the stack says there.
    fn for_layer(&self) -> Self {
        Self { primitives: std::rc::Rc::clone(&self.primitives), ..*self }
    }
}

impl<'a> Reading<'a> {
    /// A child that bends the form; `false` if it is none, in which case it is not left.
    pub(super) fn form_field(
        &mut self,
        child: Word<'a>,
        form: &mut PadForm<'a>,
        unknown: &mut Vec<Unknown<'a>>,
    ) -> Read<bool> {
        match child.text {
            "size" => {
                let width = self.open_width("a pad width in mm")?;
                let mut height = width;
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Word(word) => {
                            height = self.width_of(word, "a pad height in mm")?;
                            self.cursor.end()?;
                            break;
                        }
                        Item::Node(_) => self.cursor.leave()?,
                    }
                }
                form.size = Some((width, height));
            }
            "rect_delta" => {
                let tilt = self.cursor.length("a length in mm")?;
                form.delta = (tilt, self.cursor.only_length("a length in mm")?);
            }
            "roundrect_rratio" => {
                form.rounding = Some(self.corner_ratio(unknown)?);
            }
            "chamfer_ratio" => {
                form.chamfer = self.corner_ratio(unknown)?;
            }
            "chamfer" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Word(word) => {
                            let corner = CORNERS.iter().position(|&(name, ..)| name == word.text);
                            match corner.and_then(|at| form.chamfered.get_mut(at)) {
                                Some(flag) => *flag = true,
                                None => unknown.push(Unknown::word(word)),
                            }
                        }
                        Item::Node(child) => self.unknown_child(unknown, child)?,
                    }
                }
            }
            "options" => {
                while let Some(item) = self.cursor.next()? {
                    let Item::Node(child) = item else { continue };
                    match child.text {
                        "anchor" => form.anchor_rect = self.cursor.only_word("`rect` or `circle`")?.text == "rect",
                        "clearance" => self.cursor.leave()?,
                        _ => self.unknown_child(unknown, child)?,
                    }
                }
            }
            "primitives" => {
                let mut primitives = Vec::new();
                while let Some(item) = self.cursor.next()? {
                    let Item::Node(child) = item else { continue };
                    match child.text {
                        "gr_line" | "gr_arc" | "gr_circle" | "gr_rect" | "gr_poly" | "gr_curve" => {
                            let mut primitive = self.drawing(child)?;
                            unknown.append(&mut primitive.unknown);
                            primitives.push(primitive);
                        }
                        // Helper figures of an editor; the width alone is a setting.
                        "gr_bbox" | "gr_vector" | "width" => self.cursor.leave()?,
                        _ => self.unknown_child(unknown, child)?,
                    }
                }
                form.primitives = std::rc::Rc::new(primitives);
            }
            _ => return Ok(false),
        }
        Ok(true)
    }

    /// A share of the shorter side, from 0 to 0.5; anything else is held to that and put in doubt.
    fn corner_ratio(&mut self, unknown: &mut Vec<Unknown<'a>>) -> Read<f64> {
        let word = self.cursor.only_word("a ratio from 0 to 0.5")?;
        let ratio = self.cursor.number_of(word, "a ratio from 0 to 0.5")?;
        if !(0.0..=0.5).contains(&ratio) {
            unknown.push(Unknown::word(word));
        }
        Ok(ratio.clamp(0.0, 0.5))
    }

    /// One layer of a pad stack: a copy of the pad's own form, changed by what stands here.
    pub(super) fn stack_form(&mut self, base: &PadForm<'a>, unknown: &mut Vec<Unknown<'a>>) -> Read<PadForm<'a>> {
        let mut form = base.for_layer();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "shape" => form.shape = self.cursor.only_word("a pad shape")?,
                "offset" => form.offset = self.point()?,
                "thermal_bridge_width" | "thermal_gap" | "thermal_bridge_angle" | "clearance" | "zone_connect" => {
                    self.cursor.leave()?;
                }
                _ => {
                    if !self.form_field(child, &mut form, unknown)? {
                        self.unknown_child(unknown, child)?;
                    }
                }
            }
        }
        Ok(form)
    }

    /// The copper of a form, for a pad at `at` turned by `angle` degrees. `layers`: where a doubt would lie.
    pub(super) fn pad_copper(
        &mut self,
        form: &PadForm<'a>,
        at: Point,
        angle: f64,
        layers: LayerSet,
    ) -> Read<Vec<Shape>> {
        let (width, height) = form.size.unwrap_or_default();
        let frame = Frame::new(Frame::new(at, angle).place(form.offset), angle);
        let half = Point::new(width / 2, height / 2);
        let shorter = width.min(height);
        let share = |ratio: f64| from_f64(ratio.clamp(0.0, 0.5) * to_f64(shorter));
        Ok(match form.shape.text {
            "circle" => vec![disc(&frame, Point::default(), width / 2)],
            "rect" => vec![area(&frame, &corners(half), 0)],
            "oval" => vec![rounded(&frame, half, shorter / 2)],
            "roundrect" => {
                let radius = share(form.rounding.unwrap_or(DEFAULT_ROUNDING));
                let cut = if form.chamfer > 0.0 { share(form.chamfer) } else { 0 };
                if cut > 0 && form.chamfered.contains(&true) {
                    chamfered(&frame, half, radius, cut, form.chamfered)
                } else {
                    vec![rounded(&frame, half, radius)]
                }
            }
            "trapezoid" => {
                let (tilt, spread) = form.delta;
                if tilt.abs() > height || spread.abs() > width {
                    self.remarks.doubt(
                        form.shape.span(),
                        layers,
                        "a trapezoid that crosses itself; a rectangle stands in",
                    );
                    return Ok(vec![area(&frame, &corners(half), 0)]);
                }
                let corner = |(_, right, low): (&str, i64, i64)| {
                    Point::new(right * (half.x + low * spread / 2), low * (half.y - right * tilt / 2))
                };
                vec![area(&frame, &CORNERS.map(corner), 0)]
            }
            "custom" => {
                let mut shapes = Vec::with_capacity(1 + form.primitives.len());
                if form.anchor_rect {
                    shapes.push(area(&frame, &corners(half), 0));
                } else {
                    shapes.push(disc(&frame, Point::default(), width / 2));
                }
                for primitive in form.primitives.iter() {
                    if primitive.hatched {
                        self.remarks.doubt(
                            primitive.head.span(),
                            layers,
                            "a hatched figure of a pad; it is taken as solid",
                        );
                    }
                    shapes.append(&mut self.covered(primitive, &frame, true)?);
                }
                shapes
            }
            other => {
                let message = format!("pad shape `{other}` is not known; its bounding box stands in");
                self.remarks.doubt(form.shape.span(), layers, message);
                vec![area(&frame, &corners(half), 0)]
            }
        })
    }
}

fn corners(half: Point) -> [Point; 4] {
    CORNERS.map(|(_, right, low)| Point::new(right * half.x, low * half.y))
}

fn area(frame: &Frame, ring: &[Point], radius: i64) -> Shape {
    Shape::Area { ring: ring.iter().map(|&corner| frame.place(corner)).collect(), radius }
}

fn disc(frame: &Frame, center: Point, radius: i64) -> Shape {
    let at = frame.place(center);
    Shape::Stroke { path: Path::Line(at, at), radius }
}

/// A rectangle with round corners; a stadium or disc if the corners meet.
fn rounded(frame: &Frame, half: Point, radius: i64) -> Shape {
    let inner = Point::new((half.x - radius).max(0), (half.y - radius).max(0));
    if inner.x == 0 || inner.y == 0 {
        let path = Path::Line(frame.place(Point::default() - inner), frame.place(inner));
        return Shape::Stroke { path, radius };
    }
    area(frame, &corners(inner), radius)
}

/// Some corners cut at 45°, the others round. Exact: a polygon that cuts the round corners short, and a disc in each.
fn chamfered(frame: &Frame, half: Point, radius: i64, cut: i64, chamfered: [bool; 4]) -> Vec<Shape> {
    let mut ring = Vec::with_capacity(8);
    let mut shapes = Vec::new();
    for ((_, right, low), chamfered) in CORNERS.into_iter().zip(chamfered) {
        let by = if chamfered { cut } else { radius };
        let corner = Point::new(right * half.x, low * half.y);
        let along_x = corner - Point::new(right * by, 0);
        let along_y = corner - Point::new(0, low * by);
        // Keeps the ring's sense: top left is entered from below, top right from the left.
        let (first, second) = if right == low { (along_y, along_x) } else { (along_x, along_y) };
        ring.push(frame.place(first));
        if by > 0 {
            ring.push(frame.place(second));
        }
        if !chamfered && radius > 0 {
            shapes.push(disc(frame, corner - Point::new(right * radius, low * radius), radius));
        }
    }
    shapes.insert(0, Shape::Area { ring, radius: 0 });
    shapes
}
