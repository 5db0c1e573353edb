//! The drawn board.

use super::{Part, Point, Stack, rectangle};

/// A centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Path {
    /// Straight.
    Line(Point, Point),
    /// Through three points: start, any point between, end.
    Arc(Point, Point, Point),
}

impl Path {
    /// First end.
    pub fn start(&self) -> Point {
        match *self {
            Self::Line(start, _) | Self::Arc(start, _, _) => start,
        }
    }

    /// Second end.
    pub fn end(&self) -> Point {
        match *self {
            Self::Line(_, end) | Self::Arc(_, _, end) => end,
        }
    }
}

/// A straight or arc track.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Centre line.
    pub path: Path,
    /// Width.
    pub width: f64,
    /// Layer.
    pub layer: String,
    /// Net.
    pub net: String,
}

/// A via.
#[derive(Debug, Clone, PartialEq)]
pub struct Via {
    /// Centre.
    pub at: Point,
    /// Pad diameter.
    pub size: f64,
    /// Hole; `None` leaves it to the net class (v5 and before).
    pub drill: Option<f64>,
    /// Upper end.
    pub top: String,
    /// Lower end.
    pub bottom: String,
    /// Laser via.
    pub micro: bool,
    /// Annulus only where something connects; ends kept.
    pub remove_unused: bool,
    /// Back-drill: diameter, outer layer, layer it reaches (v10 alone writes it).
    pub back_drill: Option<(f64, String, String)>,
    /// Net.
    pub net: String,
}

impl Via {
    /// Sets pad and hole.
    pub fn sized(&mut self, size: f64, drill: f64) -> &mut Self {
        self.size = size;
        self.drill = Some(drill);
        self
    }

    /// Sets its span.
    pub fn span(&mut self, top: &str, bottom: &str) -> &mut Self {
        self.top = top.into();
        self.bottom = bottom.into();
        self
    }

    /// Adds a back-drill from an outer layer to the layer it reaches.
    pub fn back_drilled(&mut self, diameter: f64, from: &str, to: &str) -> &mut Self {
        self.back_drill = Some((diameter, from.into(), to.into()));
        self
    }
}

/// A polygon without holes: corners in order.
pub type Polygon = Vec<Point>;

/// A layer and a keyholed ring of copper on it, nanometres.
pub type FillRing = (String, Vec<(i64, i64)>);

/// A zone with its fills.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Net; empty for copper of no net.
    pub net: String,
    /// Layers.
    pub layers: Vec<String>,
    /// Outline as drawn.
    pub outline: Polygon,
    /// Clearance to foreign copper.
    pub clearance: f64,
    /// Minimum thickness: narrower copper is left out of the fill.
    pub min_thickness: f64,
    /// Filled later if lower: a zone of higher priority cuts one of lower.
    pub priority: u32,
    /// Openings cut on purpose, per layer.
    pub cutouts: Vec<(String, Polygon)>,
    /// A teardrop of this kind (`padvia`).
    pub teardrop: Option<&'static str>,
    /// Name.
    pub name: String,
    /// Keyholed rings of copper per layer, clockwise on screen; `None` until filled.
    pub fills: Option<Vec<FillRing>>,
}

/// A region where something is forbidden: no copper.
#[derive(Debug, Clone, PartialEq)]
pub struct Keepout {
    /// Layers.
    pub layers: Vec<String>,
    /// Outline.
    pub outline: Polygon,
    /// Tracks forbidden.
    pub tracks: bool,
    /// Vias forbidden.
    pub vias: bool,
    /// Pours forbidden.
    pub pours: bool,
}

/// A net class of older files (and of the project file later).
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// Name.
    pub name: String,
    /// Track width.
    pub width: f64,
    /// Clearance.
    pub clearance: f64,
    /// Via pad and hole.
    pub via: Point,
    /// Pair width and gap.
    pub pair: Option<Point>,
    /// Member nets.
    pub nets: Vec<String>,
}

/// A board.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Name; seeds the identifiers, so that two boards never share one.
    pub name: String,
    /// `title_block/rev`.
    pub revision: String,
    /// Layers and stackup.
    pub stack: Stack,
    /// Nets in numbering order, from 1; grows on first use.
    pub nets: Vec<String>,
    /// Net classes.
    pub classes: Vec<Class>,
    /// Parts.
    pub parts: Vec<Part>,
    /// Tracks.
    pub tracks: Vec<Track>,
    /// Vias.
    pub vias: Vec<Via>,
    /// Zones.
    pub zones: Vec<Zone>,
    /// Rule areas.
    pub keepouts: Vec<Keepout>,
    /// Board edge.
    pub edges: Vec<Path>,
    /// Copper graphics: layer, line, width.
    pub graphics: Vec<(String, Path, f64)>,
    /// Texts on a silk layer: layer, place, size, text.
    pub texts: Vec<(String, Point, f64, String)>,
}

impl Board {
    /// An empty board.
    pub fn new(name: &str, stack: Stack) -> Self {
        Self {
            name: name.into(),
            revision: String::new(),
            stack,
            nets: Vec::new(),
            classes: Vec::new(),
            parts: Vec::new(),
            tracks: Vec::new(),
            vias: Vec::new(),
            zones: Vec::new(),
            keepouts: Vec::new(),
            edges: Vec::new(),
            graphics: Vec::new(),
            texts: Vec::new(),
        }
    }

    /// Makes a net known (its number follows the order of first use).
    pub fn net(&mut self, net: &str) {
        if !net.is_empty() && !self.nets.iter().any(|known| known == net) {
            self.nets.push(net.into());
        }
    }

    /// A rectangular board edge.
    pub fn outline(&mut self, min: Point, max: Point) {
        let corners = rectangle(min, max);
        for (index, &corner) in corners.iter().enumerate() {
            self.edges.push(Path::Line(corner, corners[(index + 1) % 4]));
        }
    }

    /// A rectangular board edge with round corners.
    pub fn rounded_outline(&mut self, (x0, y0): Point, (x1, y1): Point, radius: f64) {
        let (r, k) = (radius, radius * (1.0 - std::f64::consts::FRAC_1_SQRT_2));
        self.edges.extend([
            Path::Line((x0 + r, y0), (x1 - r, y0)),
            Path::Arc((x1 - r, y0), (x1 - k, y0 + k), (x1, y0 + r)),
            Path::Line((x1, y0 + r), (x1, y1 - r)),
            Path::Arc((x1, y1 - r), (x1 - k, y1 - k), (x1 - r, y1)),
            Path::Line((x1 - r, y1), (x0 + r, y1)),
            Path::Arc((x0 + r, y1), (x0 + k, y1 - k), (x0, y1 - r)),
            Path::Line((x0, y1 - r), (x0, y0 + r)),
            Path::Arc((x0, y0 + r), (x0 + k, y0 + k), (x0 + r, y0)),
        ]);
    }

    /// Adds a part.
    pub fn part(&mut self, part: Part) {
        for pad in &part.pads {
            self.net(&pad.net);
        }
        self.parts.push(part);
    }

    /// A part by reference.
    pub fn find(&self, reference: &str) -> &Part {
        self.parts.iter().find(|part| part.reference == reference).unwrap_or_else(|| panic!("no part {reference}"))
    }

    /// Where a pad is: `"U1.A3"`.
    pub fn pad_at(&self, name: &str) -> Point {
        let (reference, number) = name.split_once('.').expect("a pad is named REFERENCE.NUMBER");
        self.find(reference).pad_at(number)
    }

    /// Straight tracks through points.
    pub fn track(&mut self, net: &str, layer: &str, width: f64, points: &[Point]) {
        for leg in points.windows(2) {
            self.path(net, layer, width, Path::Line(leg[0], leg[1]));
        }
    }

    /// An arc track: start, any point between, end.
    pub fn arc(&mut self, net: &str, layer: &str, width: f64, start: Point, mid: Point, end: Point) {
        self.path(net, layer, width, Path::Arc(start, mid, end));
    }

    /// A track of any kind.
    pub fn path(&mut self, net: &str, layer: &str, width: f64, path: Path) {
        self.stack.index(layer);
        self.net(net);
        self.tracks.push(Track { path, width, layer: layer.into(), net: net.into() });
    }

    /// A through via, 0.45 mm pad, 0.2 mm hole; the result can be changed.
    pub fn via(&mut self, net: &str, at: Point) -> &mut Via {
        self.net(net);
        self.vias.push(Via {
            at,
            size: 0.45,
            drill: Some(0.2),
            top: self.stack.layers.first().expect("a board has layers").clone(),
            bottom: self.stack.layers.last().expect("a board has layers").clone(),
            micro: false,
            remove_unused: false,
            back_drill: None,
            net: net.into(),
        });
        self.vias.last_mut().expect("one was just added")
    }

    /// A zone with 0.2 mm clearance, not filled yet; the result can be changed.
    pub fn zone(&mut self, net: &str, layers: &[&str], outline: &[Point]) -> &mut Zone {
        self.net(net);
        self.zones.push(Zone {
            net: net.into(),
            layers: layers.iter().map(ToString::to_string).collect(),
            outline: outline.to_vec(),
            clearance: 0.2,
            min_thickness: 0.1,
            priority: 0,
            cutouts: Vec::new(),
            teardrop: None,
            name: String::new(),
            fills: None,
        });
        self.zones.last_mut().expect("one was just added")
    }

    /// A teardrop: copper of its zone exactly as drawn, corners clockwise on screen.
    pub fn teardrop(&mut self, net: &str, layer: &str, outline: &[Point]) {
        let ring = outline.iter().map(|&(x, y)| (super::nm(x), super::nm(y))).collect();
        let zone = self.zone(net, &[layer], outline);
        zone.teardrop = Some("padvia");
        zone.fills = Some(vec![(layer.into(), ring)]);
    }

    /// A region where tracks, vias and pours are forbidden.
    pub fn keepout(&mut self, layers: &[&str], outline: &[Point]) {
        self.keepouts.push(Keepout {
            layers: layers.iter().map(ToString::to_string).collect(),
            outline: outline.to_vec(),
            tracks: true,
            vias: true,
            pours: true,
        });
    }
}
