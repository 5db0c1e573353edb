//! Parts and pads, as a library draws them.

use super::{Point, rotate};

/// What a pad is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PadKind {
    /// Surface land.
    Smd,
    /// Plated hole.
    Hole,
    /// Unplated hole.
    Bare,
    /// Contact without paste.
    Contact,
}

/// The anchor of a custom pad.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// A disc of the pad's width.
    Circle,
    /// A rectangle of the pad's size.
    Rect,
}

/// A piece of a custom pad, in the pad's frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Primitive {
    /// A filled polygon drawn with a pen.
    Polygon {
        /// Corners.
        points: Vec<Point>,
        /// Pen width.
        width: f64,
    },
    /// A straight stroke.
    Line {
        /// First end.
        from: Point,
        /// Second end.
        to: Point,
        /// Pen width.
        width: f64,
    },
    /// A filled disc.
    Disc {
        /// Centre.
        centre: Point,
        /// Radius.
        radius: f64,
    },
}

/// Outline of a pad's copper.
#[derive(Debug, Clone, PartialEq)]
pub enum PadShape {
    /// A disc of the pad's width.
    Circle,
    /// A rectangle.
    Rect,
    /// A stadium.
    Oval,
    /// Rounded corners of this share of the shorter side.
    RoundRect(f64),
    /// Rounded corners, some of them cut.
    Chamfer {
        /// Round share.
        round: f64,
        /// Cut share.
        cut: f64,
        /// Cut corners: `top_left` …
        corners: Vec<&'static str>,
    },
    /// `rect_delta` as the format has it.
    Trapezoid(f64, f64),
    /// Anchor and primitives.
    Custom(Anchor, Vec<Primitive>),
}

/// A drilled hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hole {
    /// Round, diameter.
    Round(f64),
    /// Slot, width and height.
    Slot(f64, f64),
}

/// One pad in its part's library frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Pad {
    /// Number.
    pub number: String,
    /// Kind.
    pub kind: PadKind,
    /// Shape.
    pub shape: PadShape,
    /// Position in the part.
    pub at: Point,
    /// Size before rotation.
    pub size: Point,
    /// Rotation within the part.
    pub angle: f64,
    /// Offset of the copper from the anchor.
    pub offset: Point,
    /// Hole.
    pub hole: Option<Hole>,
    /// Copper layers as seen from a top part; `None`: the part's side for lands, all for holes.
    pub layers: Option<Vec<String>>,
    /// Net; empty for none.
    pub net: String,
    /// Pin name.
    pub function: String,
    /// Length inside the package, mm.
    pub package_length: Option<f64>,
    /// Inner copper only where something connects.
    pub remove_unused: bool,
    /// Marked as a ball.
    pub ball: bool,
}

impl Pad {
    fn new(number: &str, kind: PadKind, shape: PadShape, at: Point, size: Point) -> Self {
        Self {
            number: number.into(),
            kind,
            shape,
            at,
            size,
            angle: 0.0,
            offset: (0.0, 0.0),
            hole: None,
            layers: None,
            net: String::new(),
            function: String::new(),
            package_length: None,
            remove_unused: false,
            ball: false,
        }
    }

    /// A rectangular land.
    pub fn rect(number: &str, at: Point, size: Point) -> Self {
        Self::new(number, PadKind::Smd, PadShape::Rect, at, size)
    }

    /// A round land.
    pub fn circle(number: &str, at: Point, diameter: f64) -> Self {
        Self::new(number, PadKind::Smd, PadShape::Circle, at, (diameter, diameter))
    }

    /// A land of any shape.
    pub fn land(number: &str, shape: PadShape, at: Point, size: Point) -> Self {
        Self::new(number, PadKind::Smd, shape, at, size)
    }

    /// A contact without paste (card edge).
    pub fn contact(number: &str, at: Point, size: Point) -> Self {
        Self::new(number, PadKind::Contact, PadShape::Rect, at, size)
    }

    /// A plated hole with a pad of any shape.
    pub fn hole(number: &str, shape: PadShape, at: Point, size: Point, hole: Hole) -> Self {
        let mut pad = Self::new(number, PadKind::Hole, shape, at, size);
        pad.hole = Some(hole);
        pad
    }

    /// An unplated hole.
    pub fn bare_hole(at: Point, diameter: f64) -> Self {
        let mut pad = Self::new("", PadKind::Bare, PadShape::Circle, at, (diameter, diameter));
        pad.hole = Some(Hole::Round(diameter));
        pad
    }

    /// Puts it on a net.
    #[must_use]
    pub fn net(mut self, net: &str) -> Self {
        self.net = net.into();
        self
    }

    /// Turns it within the part.
    #[must_use]
    pub fn rotated(mut self, degrees: f64) -> Self {
        self.angle = degrees;
        self
    }

    /// Moves its copper off the anchor.
    #[must_use]
    pub fn offset(mut self, offset: Point) -> Self {
        self.offset = offset;
        self
    }

    /// Declares a length inside the package.
    #[must_use]
    pub fn package_length(mut self, mm: f64) -> Self {
        self.package_length = Some(mm);
        self
    }

    /// Marks it as a ball.
    #[must_use]
    pub fn ball(mut self) -> Self {
        self.ball = true;
        self
    }

    /// Puts its copper on these layers.
    #[must_use]
    pub fn layers(mut self, layers: &[&str]) -> Self {
        self.layers = Some(layers.iter().map(ToString::to_string).collect());
        self
    }
}

/// One placed part.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Reference.
    pub reference: String,
    /// Land pattern's name.
    pub library: String,
    /// Value text.
    pub value: String,
    /// Position on the board.
    pub at: Point,
    /// Rotation.
    pub angle: f64,
    /// Sits on the bottom.
    pub bottom: bool,
    /// Not fitted.
    pub unfitted: bool,
    /// Pads in the library frame.
    pub pads: Vec<Pad>,
    /// Groups of pad numbers joined by the part's own copper.
    pub net_ties: Vec<String>,
    /// Copper strokes of the part in its library frame: layer, from, to, width.
    pub strokes: Vec<(String, Point, Point, f64)>,
    /// Outline of the body for drawings, library frame.
    pub body: Vec<Point>,
}

impl Part {
    /// A part without pads.
    pub fn new(reference: &str, at: Point) -> Self {
        Self {
            reference: reference.into(),
            library: "Fixture:PART".into(),
            value: "PART".into(),
            at,
            angle: 0.0,
            bottom: false,
            unfitted: false,
            pads: Vec::new(),
            net_ties: Vec::new(),
            strokes: Vec::new(),
            body: Vec::new(),
        }
    }

    /// Turns it.
    #[must_use]
    pub fn rotated(mut self, degrees: f64) -> Self {
        self.angle = degrees;
        self
    }

    /// Puts it on the bottom.
    #[must_use]
    pub fn bottom(mut self) -> Self {
        self.bottom = true;
        self
    }

    /// Names its land pattern and value.
    #[must_use]
    pub fn named(mut self, library: &str, value: &str) -> Self {
        self.library = library.into();
        self.value = value.into();
        self
    }

    /// Adds a pad.
    #[must_use]
    pub fn pad(mut self, pad: Pad) -> Self {
        self.pads.push(pad);
        self
    }

    /// Adds pads.
    #[must_use]
    pub fn pads(mut self, pads: impl IntoIterator<Item = Pad>) -> Self {
        self.pads.extend(pads);
        self
    }

    /// A vector of the library frame as the file stores it: mirrored for a part on the bottom.
    pub fn stored(&self, (x, y): Point) -> Point {
        if self.bottom { (x, -y) } else { (x, y) }
    }

    /// A point of the library frame on the board.
    pub fn place(&self, point: Point) -> Point {
        let (x, y) = rotate(self.stored(point), self.angle);
        (self.at.0 + x, self.at.1 + y)
    }

    /// A pad's angle as the file stores it: absolute.
    pub fn pad_angle(&self, pad: &Pad) -> f64 {
        (if self.bottom { self.angle - pad.angle } else { self.angle + pad.angle }).rem_euclid(360.0)
    }

    /// Where a pad's anchor is on the board.
    pub fn pad_at(&self, number: &str) -> Point {
        let pad = self.pads.iter().find(|pad| pad.number == number);
        self.place(pad.unwrap_or_else(|| panic!("{} has no pad {number}", self.reference)).at)
    }
}
