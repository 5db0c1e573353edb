//! Parts and pads as text.

use super::layers::Generation::{self, V3, V5, V6, V7, V8, V10};
use super::node::{Node, list, name, number, value, word, xy};
use super::part::{Anchor, Hole, Pad, PadKind, PadShape, Part, Primitive};
use super::write::{Writer, at, pts};
use super::{Path, Point};

impl Writer<'_> {
    pub(super) fn part(&self, part: &Part) -> Node {
        let side = if part.bottom { "B" } else { "F" };
        let mut node = list(if self.old() { "module" } else { "footprint" }, [name(&part.library)]);
        node.push(self.layer(&format!("{side}.Cu")));
        if self.old() {
            node.push(list("tedit", [word("5F000000")]));
        }
        let seed = format!("part {}", part.reference);
        node.push(self.id(&seed));
        node.push(at(part.at, part.angle));
        let mut words = vec![word("smd")];
        if part.unfitted && self.generation >= V8 {
            words.push(word("dnp"));
        }
        for (kind, text, layer, y) in
            [("Reference", &part.reference, "SilkS", -1.0), ("Value", &part.value, "Fab", 1.0)]
        {
            let mut effects = list("effects", [list("font", [xy("size", (0.6, 0.6)), value("thickness", 0.1)])]);
            if part.bottom {
                effects.push(list("justify", [word("mirror")]));
            }
            let mut label = match (self.generation >= V8, self.generation >= V6) {
                (true, _) => list("property", [name(kind), name(text)]),
                (_, true) => list("fp_text", [word(&kind.to_lowercase()), name(text)]),
                _ => list("fp_text", [word(&kind.to_lowercase()), name(text)]),
            };
            label.push(at(part.stored((0.0, y)), part.angle));
            let layer = if layer == "Fab" && self.generation == V3 { "SilkS" } else { layer };
            label.push(list("layer", [name(&format!("{side}.{layer}"))]));
            if !self.old() && self.generation >= V8 {
                label.push(self.id(&format!("{seed} {kind}")));
            }
            label.push(effects);
            if !self.old() && self.generation < V8 {
                label.push(self.id(&format!("{seed} {kind}")));
            }
            node.push(label);
        }
        node.push(Node::List(std::iter::once(word("attr")).chain(words).collect()));
        if !part.net_ties.is_empty() && self.generation >= V7 {
            node.push(list("net_tie_pad_groups", part.net_ties.iter().map(|group| name(group))));
        }
        for index in 0..part.body.len() {
            let (from, to) = (part.body[index], part.body[(index + 1) % part.body.len()]);
            let line = Path::Line(part.stored(from), part.stored(to));
            node.push(self.graphic("fp", &line, 0.1, &format!("{side}.SilkS")));
        }
        for (layer, from, to, width) in &part.strokes {
            let line = Path::Line(part.stored(*from), part.stored(*to));
            node.push(self.graphic("fp", &line, *width, layer));
        }
        part.pads.iter().enumerate().for_each(|(index, pad)| node.push(self.pad(part, pad, index)));
        node
    }

    pub(super) fn pad(&self, part: &Part, pad: &Pad, index: usize) -> Node {
        let kind = match pad.kind {
            PadKind::Smd => "smd",
            PadKind::Hole => "thru_hole",
            PadKind::Bare => "np_thru_hole",
            PadKind::Contact => "connect",
        };
        let generation = self.generation;
        let needs = |first: Generation, what: &str| {
            assert!(generation >= first, "{what} pads need {first:?} or later, not {generation:?}");
        };
        let shape = match &pad.shape {
            PadShape::Circle => "circle",
            PadShape::Rect => "rect",
            PadShape::Oval => "oval",
            PadShape::RoundRect(_) | PadShape::Chamfer { .. } => {
                needs(V5, "rounded");
                "roundrect"
            }
            PadShape::Trapezoid(..) => "trapezoid",
            PadShape::Custom(..) => {
                needs(V5, "custom");
                "custom"
            }
        };
        let mut node = list("pad", [name(&pad.number), word(kind), word(shape)]);
        node.push(at(part.stored(pad.at), part.pad_angle(pad)));
        node.push(xy("size", pad.size));
        if let PadShape::Trapezoid(p, q) = pad.shape {
            node.push(xy("rect_delta", (p, if part.bottom { -q } else { q })));
        }
        self.drill(part, pad).into_iter().for_each(|drill| node.push(drill));
        if pad.ball && generation >= V6 {
            node.push(list("property", [word("pad_prop_bga")]));
        }
        node.push(self.pad_layers(part, pad));
        if pad.remove_unused && generation >= V6 {
            node.push(self.flag("remove_unused_layers"));
            node.push(self.flag("keep_end_layers"));
        }
        match &pad.shape {
            PadShape::RoundRect(share) => node.push(value("roundrect_rratio", *share)),
            PadShape::Chamfer { round, cut, corners } => {
                node.push(value("roundrect_rratio", *round));
                node.push(value("chamfer_ratio", *cut));
                let flipped = |corner: &&'static str| match (part.bottom, *corner) {
                    (true, "top_left") => "bottom_left",
                    (true, "top_right") => "bottom_right",
                    (true, "bottom_left") => "top_left",
                    (true, "bottom_right") => "top_right",
                    (_, same) => same,
                };
                node.push(list("chamfer", corners.iter().map(|corner| word(flipped(corner)))));
            }
            _ => {}
        }
        if !pad.net.is_empty() {
            let number = word(&self.net_number(&pad.net).to_string());
            let named = [Some(number).filter(|_| generation < V10), Some(name(&pad.net))];
            node.push(list("net", named.into_iter().flatten()));
        }
        if !pad.function.is_empty() && generation >= V6 {
            node.push(list("pinfunction", [name(&pad.function)]));
            node.push(list("pintype", [name("passive")]));
        }
        if let Some(length) = pad.package_length {
            node.push(value("die_length", length));
        }
        if let PadShape::Custom(anchor, primitives) = &pad.shape {
            self.custom(part, *anchor, primitives).into_iter().for_each(|child| node.push(child));
        }
        if !self.old() {
            node.push(self.id(&format!("pad {}.{} {index}", part.reference, pad.number)));
        }
        node
    }

    pub(super) fn drill(&self, part: &Part, pad: &Pad) -> Option<Node> {
        let mut drill = match pad.hole {
            Some(Hole::Round(diameter)) => list("drill", [number(diameter)]),
            Some(Hole::Slot(width, height)) => list("drill", [word("oval"), number(width), number(height)]),
            None if pad.offset == (0.0, 0.0) => return None,
            None => list("drill", []),
        };
        if pad.offset != (0.0, 0.0) {
            drill.push(xy("offset", part.stored(pad.offset)));
        }
        Some(drill)
    }

    pub(super) fn pad_layers(&self, part: &Part, pad: &Pad) -> Node {
        let side = if part.bottom { "B" } else { "F" };
        let wild = |text: &str| if self.old() { word(text) } else { name(text) };
        let kinds: &[&str] = match pad.kind {
            PadKind::Hole | PadKind::Bare if pad.layers.is_none() => {
                return list("layers", [wild("*.Cu"), wild("*.Mask")]);
            }
            PadKind::Smd => &["Paste", "Mask"],
            _ => &["Mask"],
        };
        let flip = |layer: &String| match (part.bottom, layer.as_str()) {
            (true, "F.Cu") => "B.Cu".to_owned(),
            (true, "B.Cu") => "F.Cu".to_owned(),
            (_, same) => self.layer_name(same),
        };
        let copper: Vec<String> =
            pad.layers.as_ref().map_or_else(|| vec![format!("{side}.Cu")], |own| own.iter().map(flip).collect());
        let rest = kinds.iter().map(|kind| format!("{side}.{kind}"));
        list("layers", copper.into_iter().chain(rest).map(|layer| name(&layer)))
    }

    pub(super) fn custom(&self, part: &Part, anchor: Anchor, primitives: &[Primitive]) -> [Node; 2] {
        let anchor = word(if anchor == Anchor::Circle { "circle" } else { "rect" });
        let options = list("options", [list("clearance", [word("outline")]), list("anchor", [anchor])]);
        let fill = || {
            let filled = (self.generation >= V6).then(|| list("fill", [word("yes")]));
            filled.into_iter()
        };
        let nodes = primitives.iter().map(|primitive| match primitive {
            Primitive::Polygon { points, width } => {
                let points: Vec<Point> = points.iter().map(|&point| part.stored(point)).collect();
                list("gr_poly", [pts(&points), value("width", *width)].into_iter().chain(fill()))
            }
            Primitive::Line { from, to, width } => {
                let ends = [xy("start", part.stored(*from)), xy("end", part.stored(*to)), value("width", *width)];
                list("gr_line", ends)
            }
            Primitive::Disc { centre, radius } => {
                let centre = part.stored(*centre);
                let ends = [xy("center", centre), xy("end", (centre.0 + radius, centre.1)), value("width", 0.0)];
                list("gr_circle", ends.into_iter().chain(fill()))
            }
        });
        [options, list("primitives", nodes)]
    }
}
