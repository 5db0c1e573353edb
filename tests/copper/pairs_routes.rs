//! Routes drawn by hand, without a board file: corners in micrometres, tracks 0.1 mm wide.

use std::sync::Arc;
use throughline::board::layer::CopperLayer;
use throughline::board::{Board, CopperLayers, LayerId, NetId, Nets, PadId, TrackId, ViaId};
use throughline::copper::pair::Legs;
use throughline::copper::{Contributions, Route, Step, StepKind};
use throughline::geometry::{Path, Point};
use throughline::source::{SourceFile, Span};
use throughline::table::Id;
use throughline::units::Length;

/// A way under construction.
#[derive(Debug, Clone)]
pub struct Walk {
    at: Point,
    layer: LayerId,
    start: f64,
    steps: Vec<Step>,
}

impl Walk {
    /// Starts on the top layer.
    pub fn at(x: i64, y: i64) -> Self {
        Self { at: Point::new(x * 1000, y * 1000), layer: LayerId(0), start: 0.0, steps: Vec::new() }
    }

    /// A straight track.
    pub fn to(mut self, x: i64, y: i64) -> Self {
        let end = Point::new(x * 1000, y * 1000);
        let path = Path::Line(self.at, end);
        self.push(StepKind::Track(TrackId::from_row(0)), self.layer, path);
        self.at = end;
        self
    }

    /// A via to another layer.
    pub fn through(mut self, layer: u8) -> Self {
        self.push(StepKind::Via(ViaId::from_row(0)), LayerId(layer), Path::dot(self.at));
        self.layer = LayerId(layer);
        self
    }

    fn push(&mut self, kind: StepKind, to_layer: LayerId, path: Path) {
        let length = path.length();
        let (layer, start) = (self.layer, Length::nm(self.start));
        self.steps.push(Step { kind, layer, to_layer, path, width: 100_000, start, length: Length::nm(length) });
        self.start += length;
    }

    /// The finished route.
    pub fn route(self) -> Route {
        Route {
            net: NetId::from_row(1),
            from: PadId::from_row(0),
            to: PadId::from_row(1),
            steps: self.steps,
            length: Contributions::default(),
            looped: false,
        }
    }
}

/// Two walks as the legs of a pair.
pub fn legs(p: Walk, n: Walk) -> Legs {
    Legs { p: p.route(), n: n.route() }
}

/// A board of four layers with nothing on it.
pub fn blank_board() -> Board {
    let layers = ["F.Cu", "In1.Cu", "In2.Cu", "B.Cu"];
    let layers = layers.map(|name| CopperLayer { name: name.into(), alias: None, span: Span::default() });
    Board {
        name: "blank".into(),
        source: Arc::new(SourceFile::new("blank", "")),
        version: None,
        revision: String::new(),
        layers: CopperLayers::new(layers.into()),
        thickness: None,
        stackup: None,
        nets: Nets::new(),
        classes: Vec::new(),
        footprints: [].into_iter().collect(),
        pads: [].into_iter().collect(),
        tracks: [].into_iter().collect(),
        vias: [].into_iter().collect(),
        zones: [].into_iter().collect(),
        fills: [].into_iter().collect(),
        graphics: [].into_iter().collect(),
        outline: Vec::new(),
        notes: Vec::new(),
        doubts: Vec::new(),
    }
}
