//! Tracks, vias, zones and graphics as text.

use super::Point;
use super::board::{Path, Track, Via, Zone};
use super::copper::{chords, circle};
use super::layers::Generation::{V3, V6, V7, V10};
use super::node::{Node, list, millimetres, name, number, value, word, xy};
use super::write::{Writer, outline};

impl Writer<'_> {
    pub(super) fn graphic(&self, frame: &str, path: &Path, width: f64, layer: &str) -> Node {
        let seed = format!("graphic {layer} {path:?}");
        let (kind, ends) = match *path {
            Path::Line(start, end) => ("line", vec![xy("start", start), xy("end", end)]),
            Path::Arc(start, mid, end) if !self.old() => {
                ("arc", vec![xy("start", start), xy("mid", mid), xy("end", end)])
            }
            Path::Arc(start, mid, end) => {
                let (centre, _) = circle(start, mid, end).expect("an arc of the outline is round");
                let angle = |p: Point| (p.1 - centre.1).atan2(p.0 - centre.0).to_degrees();
                let past = |p: Point| (angle(p) - angle(start)).rem_euclid(360.0);
                // With y down, growing atan2 angles run clockwise on screen: the old format's positive sense.
                let sweep = if past(mid) <= past(end) { past(end) } else { past(end) - 360.0 };
                ("arc", vec![xy("start", centre), xy("end", start), value("angle", sweep)])
            }
        };
        let mut node = list(&format!("{frame}_{kind}"), ends);
        if self.generation >= V7 {
            node.push(self.stroke(width));
            node.push(self.layer(layer));
        } else {
            node.push(self.layer(layer));
            node.push(self.stroke(width));
        }
        if !(self.old() && frame == "fp") {
            node.push(self.id(&seed));
        }
        node
    }

    pub(super) fn text(&self, layer: &str, place: Point, size: f64, text: &str) -> Node {
        let mut node = list("gr_text", [name(text), xy("at", place), list("layer", [name(layer)])]);
        if !self.old() {
            node.push(self.id(&format!("text {text}")));
        }
        let mut effects = list("effects", [list("font", [xy("size", (size, size)), value("thickness", size * 0.15)])]);
        if layer.starts_with("B.") {
            effects.push(list("justify", [word("mirror")]));
        }
        node.push(effects);
        node
    }

    pub(super) fn track(&self, track: &Track) -> Vec<Node> {
        let rest = |node: &mut Node, path: &Path| {
            node.push(value("width", track.width));
            node.push(self.layer(&track.layer));
            node.push(self.net(&track.net));
            node.push(self.id(&format!("track {} {} {path:?}", track.layer, track.net)));
        };
        match track.path {
            Path::Arc(start, mid, end) if self.generation.arcs() => {
                let mut node = list("arc", [xy("start", start), xy("mid", mid), xy("end", end)]);
                rest(&mut node, &track.path);
                vec![node]
            }
            _ => {
                // Files that have no arc tracks hold their chords.
                let points = chords(&track.path, 0.001);
                let legs = points.windows(2).map(|leg| {
                    let mut node = list("segment", [xy("start", leg[0]), xy("end", leg[1])]);
                    rest(&mut node, &Path::Line(leg[0], leg[1]));
                    node
                });
                legs.collect()
            }
        }
    }

    pub(super) fn via(&self, via: &Via) -> Node {
        let stack = &self.board.stack;
        let outer = |layer: &str| stack.index(layer) == 0 || stack.index(layer) == stack.layers.len() - 1;
        let kind = match (via.micro, outer(&via.top), outer(&via.bottom)) {
            (true, _, _) => Some("micro"),
            (_, true, true) => None,
            (_, false, false) if self.generation >= V10 => Some("buried"),
            _ => Some("blind"),
        };
        let mut node = list("via", kind.into_iter().map(word));
        node.push(xy("at", via.at));
        node.push(value("size", via.size));
        match via.drill {
            Some(drill) => node.push(value("drill", drill)),
            None => assert!(self.old(), "a via without a drill needs V5 or before"),
        }
        node.push(self.layers(&[via.top.clone(), via.bottom.clone()]));
        if via.remove_unused && self.generation >= V6 {
            node.push(self.flag("remove_unused_layers"));
            node.push(self.flag("keep_end_layers"));
        }
        if let Some((diameter, from, to)) = &via.back_drill {
            assert!(self.generation >= V10, "a back-drill needs V10");
            let layers = list("layers", [name(from), name(to)]);
            node.push(list("backdrill", [value("size", *diameter), layers]));
        }
        node.push(self.net(&via.net));
        node.push(self.id(&format!("via {} {:?}", via.net, via.at)));
        node
    }

    /// A zone's head up to its identifier.
    pub(super) fn zone_head(&self, net: &str, layers: &[String]) -> Node {
        let mut node = list("zone", []);
        if self.generation < V10 || !net.is_empty() {
            node.push(self.net(net));
        }
        if self.generation < V10 {
            node.push(list("net_name", [name(net)]));
        }
        match layers {
            [only] => node.push(self.layer(only)),
            many => {
                assert!(!self.old(), "a zone on several layers needs V6 or later");
                node.push(self.layers(many));
            }
        }
        node.push(self.id(&format!("zone {net} {layers:?}")));
        node
    }

    pub(super) fn zone(&self, zone: &Zone) -> Node {
        let mut node = self.zone_head(&zone.net, &zone.layers);
        if !zone.name.is_empty() && !self.old() {
            node.push(list("name", [name(&zone.name)]));
        }
        node.push(list("hatch", [word("edge"), number(0.5)]));
        if zone.priority > 0 {
            node.push(list("priority", [word(&zone.priority.to_string())]));
        }
        if let Some(kind) = zone.teardrop {
            assert!(self.generation >= V7, "teardrops need V7 or later");
            node.push(list("attr", [list("teardrop", [list("type", [word(kind)])])]));
        }
        node.push(list("connect_pads", [word("yes"), value("clearance", zone.clearance)]));
        node.push(value("min_thickness", zone.min_thickness));
        if (V6..V10).contains(&self.generation) {
            node.push(list("filled_areas_thickness", [word("no")]));
        }
        let mut fill = list("fill", []);
        if self.generation > V3 && zone.fills.is_some() {
            fill.push(word("yes"));
        }
        fill.push(value("thermal_gap", 0.2));
        fill.push(value("thermal_bridge_width", 0.25));
        node.push(fill);
        node.push(outline(&zone.outline));
        if let Some(fills) = &zone.fills {
            let pen = self.generation.pen() && zone.teardrop.is_none();
            let fills = if pen { self.board.pen_fills(zone) } else { fills.clone() };
            for (layer, ring) in &fills {
                let mut polygon = list("filled_polygon", []);
                if !self.old() {
                    polygon.push(self.layer(layer));
                }
                let corner = |&(x, y): &(i64, i64)| list("xy", [word(&millimetres(x)), word(&millimetres(y))]);
                polygon.push(list("pts", ring.iter().map(corner)));
                node.push(polygon);
            }
        }
        node
    }
}
