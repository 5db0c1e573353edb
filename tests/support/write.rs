//! A drawn board as the text of a board file of any generation.

use super::board::{Board, Path, Track, Via, Zone};
use super::copper::{chords, circle};
use super::layers::{Generation, Sheet};
use super::node::{Node, decimal, list, millimetres, name, number, value, word, xy};
use super::part::{Anchor, Hole, Pad, PadKind, PadShape, Part, Primitive};
use super::{Point, nm};
use std::cell::RefCell;
use std::collections::HashMap;

use Generation::{V3, V4, V5, V6, V7, V8, V9, V10};

impl Board {
    /// The board file's text.
    pub fn text(&self, generation: Generation) -> String {
        self.node(generation).text(generation)
    }

    /// The board file as a tree.
    pub fn node(&self, generation: Generation) -> Node {
        let numbers = self.nets.iter().zip(1..).map(|(net, number)| (net.as_str(), number)).collect();
        Writer { board: self, generation, numbers, seen: RefCell::default() }.board()
    }

    /// The sibling project file that holds the net classes from v6 on.
    pub fn project(&self) -> String {
        let classes = self.classes.iter().map(|class| {
            let mut entry = serde_json::json!({
                "name": class.name, "clearance": class.clearance, "track_width": class.width,
                "via_diameter": class.via.0, "via_drill": class.via.1,
            });
            if let Some((width, gap)) = class.pair {
                entry["diff_pair_width"] = width.into();
                entry["diff_pair_gap"] = gap.into();
            }
            entry
        });
        let patterns = self.classes.iter().flat_map(|class| {
            class.nets.iter().map(|net| serde_json::json!({ "netclass": class.name, "pattern": net }))
        });
        let all = serde_json::json!({ "net_settings": {
            "classes": classes.collect::<Vec<_>>(), "meta": { "version": 3 },
            "netclass_patterns": patterns.collect::<Vec<_>>(),
        }});
        serde_json::to_string_pretty(&all).expect("plain JSON") + "\n"
    }
}

struct Writer<'b> {
    board: &'b Board,
    generation: Generation,
    /// Numbers of the nets.
    numbers: HashMap<&'b str, usize>,
    /// How often a seed was used: equal items still get identifiers of their own.
    seen: RefCell<HashMap<String, u32>>,
}

/// FNV-1a, 64 bits.
fn hash(seed: u64, text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325 ^ seed, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

impl Writer<'_> {
    fn old(&self) -> bool {
        self.generation <= V5
    }

    /// An identifier made from what the item is, so that it stays when others change.
    fn id(&self, seed: &str) -> Node {
        let mut seen = self.seen.borrow_mut();
        let count = seen.entry(seed.to_owned()).or_default();
        *count += 1;
        let seed = format!("{}/{seed}/{count}", self.board.name);
        let (high, low) = (hash(1, &seed), hash(2, &seed));
        if self.old() {
            return list("tstamp", [word(&format!("{:08X}", high >> 32))]);
        }
        // Version 8 (own scheme) and variant bits of RFC 9562.
        let (high, low) = ((high & !0xf000) | 0x8000, (low & !(3 << 62)) | (2 << 62));
        let text = format!(
            "{:08x}-{:04x}-{:04x}-{:04x}-{:012x}",
            high >> 32,
            (high >> 16) & 0xffff,
            high & 0xffff,
            low >> 48,
            low & 0xffff_ffff_ffff
        );
        if self.generation >= V8 { list("uuid", [name(&text)]) } else { list("tstamp", [word(&text)]) }
    }

    /// A layer's name in this generation.
    fn layer_name(&self, layer: &str) -> String {
        let count = self.board.stack.layers.len();
        match layer.strip_prefix("In").and_then(|rest| rest.strip_suffix(".Cu")) {
            Some(index) if self.generation == V3 => {
                format!("Inner{}.Cu", count - 1 - index.parse::<usize>().expect("an inner layer has a number"))
            }
            _ => layer.to_owned(),
        }
    }

    fn layer(&self, layer: &str) -> Node {
        list("layer", [name(&self.layer_name(layer))])
    }

    fn layers(&self, layers: &[String]) -> Node {
        list("layers", layers.iter().map(|layer| name(&self.layer_name(layer))))
    }

    fn net_number(&self, net: &str) -> usize {
        let number = || *self.numbers.get(net).unwrap_or_else(|| panic!("net {net} was not made known"));
        if net.is_empty() { 0 } else { number() }
    }

    /// The net of a track, via or zone.
    fn net(&self, net: &str) -> Node {
        let own = if self.generation >= V10 { name(net) } else { word(&self.net_number(net).to_string()) };
        list("net", [own])
    }

    fn flag(&self, head: &str) -> Node {
        if self.generation >= V8 { list(head, [word("yes")]) } else { list(head, []) }
    }

    fn stroke(&self, width: f64) -> Node {
        if self.generation >= V7 {
            list("stroke", [value("width", width), list("type", [word("default")])])
        } else {
            value("width", width)
        }
    }

    fn board(&self) -> Node {
        let generation = self.generation;
        let mut root = list("kicad_pcb", [list("version", [word(&generation.version().to_string())])]);
        match generation {
            V3 => root.push(list("host", [word("fixture-writer"), name("(2013-01-01 BZR 1)-stable")])),
            V4 | V5 => root.push(list("host", [word("fixture-writer"), word("1.0")])),
            V6 | V7 => root.push(list("generator", [word("fixture-writer")])),
            _ => {
                root.push(list("generator", [name("fixture-writer")]));
                let text = match generation {
                    V8 => "8.0",
                    V9 => "9.0",
                    _ => "10.0",
                };
                root.push(list("generator_version", [name(text)]));
            }
        }
        root.push(self.general());
        root.push(list(if self.old() { "page" } else { "paper" }, [name("A4")]));
        if !self.board.revision.is_empty() {
            let children = [list("title", [name(&self.board.name)]), list("rev", [name(&self.board.revision)])];
            root.push(list("title_block", children));
        }
        root.push(self.layer_table());
        root.push(self.setup());
        if generation < V10 {
            root.push(list("net", [word("0"), name("")]));
            for (index, net) in self.board.nets.iter().enumerate() {
                root.push(list("net", [word(&(index + 1).to_string()), name(net)]));
            }
        }
        if self.old() {
            self.classes().into_iter().for_each(|class| root.push(class));
        }
        self.board.parts.iter().for_each(|part| root.push(self.part(part)));
        for edge in &self.board.edges {
            root.push(self.graphic("gr", edge, 0.1, "Edge.Cuts"));
        }
        for (layer, path, width) in &self.board.graphics {
            root.push(self.graphic("gr", path, *width, layer));
        }
        for (layer, at, size, text) in &self.board.texts {
            root.push(self.text(layer, *at, *size, text));
        }
        self.board.tracks.iter().flat_map(|track| self.track(track)).for_each(|track| root.push(track));
        self.board.vias.iter().for_each(|via| root.push(self.via(via)));
        self.board.zones.iter().for_each(|zone| root.push(self.zone(zone)));
        for area in &self.board.keepouts {
            let allowed = |forbidden: bool| word(if forbidden { "not_allowed" } else { "allowed" });
            let mut node = self.zone_head("", &area.layers);
            node.push(list("connect_pads", [value("clearance", 0.0)]));
            node.push(value("min_thickness", 0.25));
            let mut rules =
                list("keepout", [list("tracks", [allowed(area.tracks)]), list("vias", [allowed(area.vias)])]);
            if !self.old() {
                rules.push(list("pads", [word("allowed")]));
            }
            rules.push(list("copperpour", [allowed(area.pours)]));
            if !self.old() {
                rules.push(list("footprints", [word("allowed")]));
            }
            node.push(rules);
            node.push(list("fill", [value("thermal_gap", 0.2), value("thermal_bridge_width", 0.25)]));
            node.push(outline(&area.outline));
            root.push(node);
        }
        root
    }

    fn general(&self) -> Node {
        let mut general = list("general", [value("thickness", self.board.stack.thickness)]);
        if self.old() {
            let count = |head: &str, count: usize| list(head, [word(&count.to_string())]);
            general.push(count("drawings", self.board.edges.len()));
            general.push(count("tracks", self.board.tracks.len() + self.board.vias.len()));
            general.push(count("zones", 0));
            general.push(count("modules", self.board.parts.len()));
            general.push(count("nets", self.board.nets.len() + 1));
        } else if self.generation >= V8 {
            general.push(list("legacy_teardrops", [word("no")]));
        }
        general
    }

    fn layer_table(&self) -> Node {
        let count = self.board.stack.layers.len();
        let id = |index: usize| match self.generation {
            V3 if index == 0 => 15,
            V3 => count - 1 - index,
            V9 | V10 if index == 0 => 0,
            V9 | V10 if index == count - 1 => 2,
            V9 | V10 => 2 * index + 2,
            _ if index == count - 1 => 31,
            _ => index,
        };
        let mut table = list("layers", []);
        for (index, layer) in self.board.stack.layers.iter().enumerate() {
            let mut entry =
                Node::List(vec![word(&id(index).to_string()), name(&self.layer_name(layer)), word("signal")]);
            if let Some((_, shown)) = self.board.stack.aliases.iter().find(|(of, _)| of == layer)
                && !self.old()
            {
                entry.push(name(shown));
            }
            table.push(entry);
        }
        let rest: &[(u32, &str)] = match self.generation {
            V3 => &[
                (18, "B.Paste"),
                (19, "F.Paste"),
                (20, "B.SilkS"),
                (21, "F.SilkS"),
                (22, "B.Mask"),
                (23, "F.Mask"),
                (28, "Edge.Cuts"),
            ],
            V9 | V10 => &[
                (13, "F.Paste"),
                (15, "B.Paste"),
                (5, "F.SilkS"),
                (7, "B.SilkS"),
                (1, "F.Mask"),
                (3, "B.Mask"),
                (25, "Edge.Cuts"),
                (27, "Margin"),
                (31, "F.CrtYd"),
                (29, "B.CrtYd"),
                (35, "F.Fab"),
                (33, "B.Fab"),
            ],
            _ => &[
                (34, "B.Paste"),
                (35, "F.Paste"),
                (36, "B.SilkS"),
                (37, "F.SilkS"),
                (38, "B.Mask"),
                (39, "F.Mask"),
                (44, "Edge.Cuts"),
                (45, "Margin"),
                (46, "B.CrtYd"),
                (47, "F.CrtYd"),
                (48, "B.Fab"),
                (49, "F.Fab"),
            ],
        };
        for (id, layer) in rest {
            table.push(Node::List(vec![word(&id.to_string()), name(layer), word("user")]));
        }
        table
    }

    fn setup(&self) -> Node {
        let mut setup = list("setup", []);
        if self.old() {
            setup.push(value("trace_clearance", 0.1));
            setup.push(value("zone_clearance", 0.2));
            setup.push(value("trace_min", 0.1));
            setup.push(value("via_size", 0.45));
            setup.push(value("via_drill", 0.2));
        }
        if self.generation.stackup() && !self.board.stack.sheets.is_empty() {
            setup.push(self.stackup());
        }
        setup.push(value("pad_to_mask_clearance", 0.05));
        setup
    }

    fn stackup(&self) -> Node {
        let plain = |layer: &str, kind: &str| list("layer", [name(layer), list("type", [name(kind)])]);
        let mut stackup = list("stackup", [plain("F.SilkS", "Top Silk Screen"), plain("F.Paste", "Top Solder Paste")]);
        let mut dielectrics = 0;
        let sheets = &self.board.stack.sheets;
        let material = |entry: &mut Node, sheet: &Sheet| {
            entry.push(value("thickness", sheet.thickness));
            if !sheet.material.is_empty() {
                entry.push(list("material", [name(sheet.material)]));
                entry.push(value("epsilon_r", sheet.permittivity));
                entry.push(value("loss_tangent", sheet.loss));
            }
        };
        let mut at = 0;
        while let Some(sheet) = sheets.get(at) {
            let (layer, kind) = match sheet.kind {
                "mask" if at == 0 => ("F.Mask".to_owned(), "Top Solder Mask"),
                "mask" => ("B.Mask".to_owned(), "Bottom Solder Mask"),
                "copper" => (sheet.layer.clone(), "copper"),
                kind => {
                    dielectrics += 1;
                    (format!("dielectric {dielectrics}"), kind)
                }
            };
            let mut entry = plain(&layer, kind);
            material(&mut entry, sheet);
            at += 1;
            while let Some(more) = sheets.get(at).filter(|more| more.joined) {
                entry.push(word("addsublayer"));
                material(&mut entry, more);
                at += 1;
            }
            stackup.push(entry);
        }
        stackup.push(plain("B.Paste", "Bottom Solder Paste"));
        stackup.push(plain("B.SilkS", "Bottom Silk Screen"));
        stackup.push(list("copper_finish", [name("ENIG")]));
        stackup.push(list("dielectric_constraints", [word("yes")]));
        stackup
    }

    fn classes(&self) -> Vec<Node> {
        let classed = |net: &String| self.board.classes.iter().any(|class| class.nets.contains(net));
        let default = super::Class {
            name: "Default".into(),
            width: 0.15,
            clearance: 0.1,
            via: (0.45, 0.2),
            pair: None,
            nets: self.board.nets.iter().filter(|net| !classed(net)).cloned().collect(),
        };
        let write = |class: &super::Class| {
            let mut node = list(
                "net_class",
                [
                    name(&class.name),
                    name(""),
                    value("clearance", class.clearance),
                    value("trace_width", class.width),
                    value("via_dia", class.via.0),
                    value("via_drill", class.via.1),
                    value("uvia_dia", 0.3),
                    value("uvia_drill", 0.1),
                ],
            );
            if let Some((width, gap)) = class.pair.filter(|_| self.generation >= V5) {
                node.push(value("diff_pair_width", width));
                node.push(value("diff_pair_gap", gap));
            }
            class.nets.iter().for_each(|net| node.push(list("add_net", [name(net)])));
            node
        };
        let given = self.board.classes.iter().any(|class| class.name == "Default");
        let default = (!given).then(|| write(&default));
        default.into_iter().chain(self.board.classes.iter().map(write)).collect()
    }

    fn part(&self, part: &Part) -> Node {
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

    fn pad(&self, part: &Part, pad: &Pad, index: usize) -> Node {
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

    fn drill(&self, part: &Part, pad: &Pad) -> Option<Node> {
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

    fn pad_layers(&self, part: &Part, pad: &Pad) -> Node {
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

    fn custom(&self, part: &Part, anchor: Anchor, primitives: &[Primitive]) -> [Node; 2] {
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

    fn graphic(&self, frame: &str, path: &Path, width: f64, layer: &str) -> Node {
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

    fn text(&self, layer: &str, place: Point, size: f64, text: &str) -> Node {
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

    fn track(&self, track: &Track) -> Vec<Node> {
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

    fn via(&self, via: &Via) -> Node {
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
    fn zone_head(&self, net: &str, layers: &[String]) -> Node {
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

    fn zone(&self, zone: &Zone) -> Node {
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

fn at(point: Point, angle: f64) -> Node {
    let angle = (angle != 0.0).then(|| number(angle));
    list("at", [number(point.0), number(point.1)].into_iter().chain(angle))
}

fn pts(points: &[Point]) -> Node {
    list("pts", points.iter().map(|&point| xy("xy", point)))
}

fn outline(points: &[Point]) -> Node {
    list("polygon", [pts(points)])
}
