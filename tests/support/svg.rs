//! A drawn board as a picture, for developers: one colour per layer, the layers one above the other.

use super::Point;
use super::board::Board;
use super::copper::{chords, pieces};
use std::fmt::Write as _;

const COLOURS: [&str; 6] = ["#c83434", "#7fc87f", "#ce7d2c", "#4fcbcb", "#b85fb8", "#4d7fc4"];

impl Board {
    /// A picture of some layers (all if none is named), 1 mm = 40 px.
    pub fn svg(&self, layers: &[&str]) -> String {
        let frame = self.frame();
        let ((x0, y0), (x1, y1)) = frame;
        let (width, height) = (x1 - x0 + 1.0, y1 - y0 + 1.0);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{} {} {width} {height}\" width=\"{}\" height=\"{}\">\n\
             <rect x=\"{}\" y=\"{}\" width=\"{width}\" height=\"{height}\" fill=\"#181818\"/>\n",
            x0 - 0.5,
            y0 - 0.5,
            width * 40.0,
            height * 40.0,
            x0 - 0.5,
            y0 - 0.5
        );
        let shown = |name: &String| layers.is_empty() || layers.contains(&name.as_str());
        let pieces = pieces(self);
        // Bottom first, so that the top layer is seen.
        for (index, layer) in self.stack.layers.iter().enumerate().rev().filter(|(_, name)| shown(name)) {
            let colour = COLOURS[index % COLOURS.len()];
            let _ = writeln!(out, "<g fill=\"{colour}\" fill-opacity=\"0.28\">");
            for (on, ring) in self.zones.iter().flat_map(|zone| zone.fills.iter().flatten()) {
                if on == layer {
                    let ring: Vec<Point> = ring.iter().map(|&(x, y)| (x as f64 / 1e6, y as f64 / 1e6)).collect();
                    let _ = writeln!(out, "<path d=\"{}\"/>", outline(&ring));
                }
            }
            let _ = writeln!(out, "</g><g fill=\"{colour}\" fill-opacity=\"0.9\">");
            for piece in pieces.iter().filter(|piece| piece.layers.contains(&index)) {
                for shape in piece.cores.iter().flat_map(|core| core.grown(0.0)) {
                    let ring: Vec<Point> = shape.exterior().coords().map(|at| (at.x, at.y)).collect();
                    let _ = writeln!(out, "<path d=\"{}\"><title>{}</title></path>", outline(&ring), piece.net);
                }
            }
            let _ = writeln!(out, "</g>");
        }
        let spans = |via: &&super::Via| {
            let ends = (self.stack.index(&via.top), self.stack.index(&via.bottom));
            layers.is_empty() || layers.iter().any(|on| (ends.0..=ends.1).contains(&self.stack.index(on)))
        };
        for via in self.vias.iter().filter(spans) {
            let radius = via.drill.unwrap_or(0.2) / 2.0;
            let _ = writeln!(out, "<circle cx=\"{}\" cy=\"{}\" r=\"{radius}\" fill=\"#181818\"/>", via.at.0, via.at.1);
        }
        for edge in &self.edges {
            let points: Vec<String> = chords(edge, 0.01).iter().map(|(x, y)| format!("{x},{y}")).collect();
            let points = points.join(" ");
            let _ =
                writeln!(out, "<polyline points=\"{points}\" fill=\"none\" stroke=\"#e8e858\" stroke-width=\"0.06\"/>");
        }
        out.push_str("</svg>\n");
        out
    }

    /// The box about the board edge.
    pub fn frame(&self) -> (Point, Point) {
        let points = self.edges.iter().flat_map(|edge| chords(edge, 0.01));
        points.fold(((f64::MAX, f64::MAX), (f64::MIN, f64::MIN)), |(min, max), (x, y)| {
            ((min.0.min(x), min.1.min(y)), (max.0.max(x), max.1.max(y)))
        })
    }
}

fn outline(ring: &[Point]) -> String {
    let mut path = String::new();
    for (index, (x, y)) in ring.iter().enumerate() {
        let _ = write!(path, "{}{x:.5} {y:.5}", if index == 0 { 'M' } else { 'L' });
    }
    path + "Z"
}
