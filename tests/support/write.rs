//! A drawn board as the text of a board file of any generation.

use super::Point;
use super::board::Board;
use super::layers::{Generation, Sheet};
use super::node::{Node, list, name, number, value, word, xy};
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

pub(super) struct Writer<'b> {
    pub(super) board: &'b Board,
    pub(super) generation: Generation,
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
    pub(super) fn old(&self) -> bool {
        self.generation <= V5
    }

    /// An identifier made from what the item is, so that it stays when others change.
    pub(super) fn id(&self, seed: &str) -> Node {
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
    pub(super) fn layer_name(&self, layer: &str) -> String {
        let count = self.board.stack.layers.len();
        match layer.strip_prefix("In").and_then(|rest| rest.strip_suffix(".Cu")) {
            Some(index) if self.generation == V3 => {
                format!("Inner{}.Cu", count - 1 - index.parse::<usize>().expect("an inner layer has a number"))
            }
            _ => layer.to_owned(),
        }
    }

    pub(super) fn layer(&self, layer: &str) -> Node {
        list("layer", [name(&self.layer_name(layer))])
    }

    pub(super) fn layers(&self, layers: &[String]) -> Node {
        list("layers", layers.iter().map(|layer| name(&self.layer_name(layer))))
    }

    pub(super) fn net_number(&self, net: &str) -> usize {
        let number = || *self.numbers.get(net).unwrap_or_else(|| panic!("net {net} was not made known"));
        if net.is_empty() { 0 } else { number() }
    }

    /// The net of a track, via or zone.
    pub(super) fn net(&self, net: &str) -> Node {
        let own = if self.generation >= V10 { name(net) } else { word(&self.net_number(net).to_string()) };
        list("net", [own])
    }

    pub(super) fn flag(&self, head: &str) -> Node {
        if self.generation >= V8 { list(head, [word("yes")]) } else { list(head, []) }
    }

    pub(super) fn stroke(&self, width: f64) -> Node {
        if self.generation >= V7 {
            list("stroke", [value("width", width), list("type", [word("default")])])
        } else {
            value("width", width)
        }
    }

    pub(super) fn board(&self) -> Node {
        let generation = self.generation;
        let mut root = list("kicad_pcb", [list("version", [word(&generation.version().to_string())])]);
        match generation {
            V3 => root.push(list("host", [word("throughline-drawing"), name("(2013-01-01 BZR 1)-stable")])),
            V4 | V5 => root.push(list("host", [word("throughline-drawing"), word("1.0")])),
            V6 | V7 => root.push(list("generator", [word("throughline-drawing")])),
            _ => {
                root.push(list("generator", [name("throughline-drawing")]));
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

    pub(super) fn general(&self) -> Node {
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

    pub(super) fn layer_table(&self) -> Node {
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

    pub(super) fn setup(&self) -> Node {
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

    pub(super) fn stackup(&self) -> Node {
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

    pub(super) fn classes(&self) -> Vec<Node> {
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
}

pub(super) fn at(point: Point, angle: f64) -> Node {
    let angle = (angle != 0.0).then(|| number(angle));
    list("at", [number(point.0), number(point.1)].into_iter().chain(angle))
}

pub(super) fn pts(points: &[Point]) -> Node {
    list("pts", points.iter().map(|&point| xy("xy", point)))
}

pub(super) fn outline(points: &[Point]) -> Node {
    list("polygon", [pts(points)])
}
