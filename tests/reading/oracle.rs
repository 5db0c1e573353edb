//! What a board file holds, counted by a foreign S-expression parser and a second, deliberately naive reading of its tree.

use std::collections::BTreeMap;
use symbolic_expressions::Sexp;

/// A node of the foreign tree.
#[derive(Clone, Copy)]
pub struct Node<'t>(pub &'t Sexp);

impl<'t> Node<'t> {
    fn items(self) -> &'t [Sexp] {
        match self.0 {
            Sexp::List(items) => items,
            _ => &[],
        }
    }

    pub fn head(self) -> &'t str {
        match self.items().first() {
            Some(Sexp::String(head)) => head,
            _ => "",
        }
    }

    pub fn nodes(self) -> impl Iterator<Item = Node<'t>> {
        self.items().iter().filter(|item| item.is_list()).map(Node)
    }

    pub fn all(self, head: &'static str) -> impl Iterator<Item = Node<'t>> {
        self.nodes().filter(move |node| node.head() == head)
    }

    pub fn child(self, head: &'static str) -> Option<Node<'t>> {
        self.all(head).last()
    }

    /// Words behind the head.
    pub fn words(self) -> Vec<&'t str> {
        let words = self.items().iter().skip(1).filter_map(|item| match item {
            Sexp::String(word) => Some(word.as_str()),
            _ => None,
        });
        words.collect()
    }

    pub fn has_word(self, word: &str) -> bool {
        self.words().contains(&word)
    }

    /// The `n`th word of a child, as nanometres by way of `f64`.
    pub fn nm(self, head: &'static str, n: usize) -> Option<i64> {
        self.child(head)?.words().get(n).map(|word| nm(word))
    }

    pub fn point(self, head: &'static str) -> (i64, i64) {
        (self.nm(head, 0).unwrap(), self.nm(head, 1).unwrap())
    }

    pub fn number(self, head: &'static str, n: usize) -> f64 {
        self.child(head).and_then(|node| node.words().get(n).map(|word| word.parse().unwrap())).unwrap_or(0.0)
    }

    /// Names in `layer` and `layers`.
    pub fn layer_names(self) -> Vec<&'t str> {
        self.nodes().filter(|node| matches!(node.head(), "layer" | "layers")).flat_map(Node::words).collect()
    }
}

pub fn nm(text: &str) -> i64 {
    (text.parse::<f64>().unwrap() * 1e6).round() as i64
}

#[derive(Debug, PartialEq)]
pub struct Track {
    pub points: Vec<(i64, i64)>,
    pub width: i64,
    pub layer: String,
    pub net: String,
}

#[derive(Debug, PartialEq)]
pub struct Via {
    pub at: (i64, i64),
    pub size: i64,
    pub drill: Option<i64>,
    pub ends: (String, String),
    pub net: String,
    pub micro: bool,
}

#[derive(Debug, PartialEq)]
pub struct Pad {
    pub number: String,
    pub at: (i64, i64),
    pub angle: f64,
    pub size: (i64, i64),
    pub net: String,
    pub layers: Vec<String>,
    pub drill: Option<(i64, i64)>,
}

#[derive(Debug, PartialEq)]
pub struct Fill {
    pub layer: String,
    pub net: String,
    pub points: Vec<(i64, i64)>,
    pub island: bool,
    /// Half the pen, if it is drawn with one.
    pub radius: i64,
}

/// Everything that is counted and compared.
#[derive(Debug, Default)]
pub struct Expected {
    pub version: u64,
    pub copper: Vec<String>,
    pub nets: Vec<String>,
    pub footprints: Vec<String>,
    pub tracks: Vec<Track>,
    pub vias: Vec<Via>,
    pub pads: Vec<Pad>,
    pub zones: Vec<(String, Vec<String>)>,
    pub fills: Vec<Fill>,
    pub figures: usize,
    pub texts: usize,
    /// Edge figures by kind: lines, arcs, others.
    pub edges: BTreeMap<String, usize>,
}

struct Context {
    copper: Vec<String>,
    nets: BTreeMap<String, String>,
    version: u64,
}

impl Context {
    fn copper_of(&self, names: &[&str]) -> Vec<String> {
        let named = |layer: &String| {
            names.contains(&layer.as_str())
                || names.contains(&"*.Cu")
                || names.contains(&"F&B.Cu")
                    && (Some(layer) == self.copper.first() || Some(layer) == self.copper.last())
        };
        self.copper.iter().filter(|layer| named(layer)).cloned().collect()
    }

    fn net(&self, node: Node) -> String {
        match node.child("net").map(Node::words).as_deref() {
            None | Some([]) => String::new(),
            Some([name]) if self.nets.is_empty() => (*name).to_owned(),
            Some([number]) => self.nets.get(*number).cloned().unwrap_or_else(|| panic!("net {number}")),
            Some([_, name, ..]) => (*name).to_owned(),
        }
    }
}

/// Reads the tree of a whole board.
pub fn expected(root: Node) -> Expected {
    let mut out =
        Expected { version: root.child("version").unwrap().words()[0].parse().unwrap(), ..Expected::default() };
    let mut context = Context { copper: Vec::new(), nets: BTreeMap::new(), version: out.version };
    for row in root.child("layers").into_iter().flat_map(Node::nodes) {
        if matches!(row.words()[1], "signal" | "power" | "mixed" | "jumper") {
            context.copper.push(row.words()[0].to_owned());
        }
    }
    for row in root.all("net") {
        context.nets.insert(row.words()[0].to_owned(), row.words()[1].to_owned());
        out.nets.push(row.words()[1].to_owned());
    }
    out.copper.clone_from(&context.copper);
    for node in root.nodes() {
        match node.head() {
            "segment" | "arc" => track(node, &context, &mut out),
            "via" => out.vias.push(via(node, &context)),
            "zone" => zone(node, &context, &mut out),
            "footprint" | "module" => footprint(node, &context, &mut out),
            head if head.starts_with("gr_") => figure(node, &context, &mut out),
            _ => {}
        }
    }
    out
}

fn track(node: Node, context: &Context, out: &mut Expected) {
    let copper = context.copper_of(&node.layer_names());
    assert_eq!(copper.len(), 1, "a track on one copper layer");
    let mut points = vec![node.point("start")];
    points.extend(node.child("mid").map(|_| node.point("mid")));
    points.push(node.point("end"));
    let width = node.nm("width", 0).unwrap();
    out.tracks.push(Track { points, width, layer: copper[0].clone(), net: context.net(node) });
}

fn via(node: Node, context: &Context) -> Via {
    let copper = context.copper_of(&node.layer_names());
    Via {
        at: node.point("at"),
        size: node.nm("size", 0).unwrap(),
        drill: node.nm("drill", 0),
        ends: (copper[0].clone(), copper[copper.len() - 1].clone()),
        net: context.net(node),
        micro: node.has_word("micro"),
    }
}

fn ring(node: Node) -> Vec<(i64, i64)> {
    node.all("xy").map(|xy| (nm(xy.words()[0]), nm(xy.words()[1]))).collect()
}

fn zone(node: Node, context: &Context, out: &mut Expected) {
    let copper = context.copper_of(&node.layer_names());
    let net = context.net(node);
    let thickness = node.nm("min_thickness", 0).unwrap_or(0);
    let exact = node.child("filled_areas_thickness").is_some() || context.version > 20_241_229;
    let radius = if exact { 0 } else { thickness / 2 };
    for polygon in node.all("filled_polygon") {
        let own = polygon.child("layer").map(|layer| context.copper_of(&layer.words()));
        let layers = own.unwrap_or_else(|| copper.clone());
        let Some(layer) = layers.first() else { continue };
        let mut points = ring(polygon.child("pts").unwrap());
        if points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        let island = polygon.child("island").is_some();
        out.fills.push(Fill { layer: layer.clone(), net: net.clone(), points, island, radius });
    }
    for stroke in node.all("fill_segments").flat_map(|list| list.all("pts")) {
        let (layer, radius) = (copper[0].clone(), thickness / 2);
        out.fills.push(Fill { layer, net: net.clone(), points: ring(stroke), island: false, radius });
    }
    out.zones.push((net, copper));
}

fn footprint(node: Node, context: &Context, out: &mut Expected) {
    let property = |key: &str| node.all("property").find(|p| p.words()[0] == key).map(|p| p.words()[1]);
    let text = node.all("fp_text").find(|text| text.words()[0] == "reference").map(|text| text.words()[1]);
    out.footprints.push(text.or_else(|| property("Reference")).unwrap_or("").to_owned());
    let (x, y) = node.point("at");
    let angle = node.number("at", 2);
    for child in node.nodes() {
        match child.head() {
            "pad" => out.pads.push(pad(child, (x, y), angle, context)),
            "zone" => zone(child, context, out),
            "property" if child.child("layer").is_some() => figure(child, context, out),
            head if head.starts_with("fp_") => figure(child, context, out),
            _ => {}
        }
    }
}

fn pad(node: Node, (fx, fy): (i64, i64), turn: f64, context: &Context) -> Pad {
    let (px, py) = node.point("at");
    let (sin, cos) = turn.to_radians().sin_cos();
    let (px, py) = (px as f64, py as f64);
    let at = (fx + (px * cos + py * sin).round() as i64, fy + (py * cos - px * sin).round() as i64);
    let size = (node.nm("size", 0).unwrap(), node.nm("size", 1).unwrap());
    let drill = node.child("drill").and_then(|drill| {
        let numbers: Vec<i64> = drill.words().iter().filter(|word| **word != "oval").map(|word| nm(word)).collect();
        let width = numbers.first().copied().filter(|&width| width > 0)?;
        Some((width, numbers.get(1).copied().unwrap_or(width)))
    });
    let mut layers = context.copper_of(&node.layer_names());
    if node.words()[1] == "np_thru_hole" && drill.is_some_and(|(width, height)| size.0 <= width && size.1 <= height) {
        layers.clear();
    }
    let number = node.words()[0].to_owned();
    Pad { number, at, angle: node.number("at", 2), size, net: context.net(node), layers, drill }
}

/// Figures and texts of the board or of a footprint.
fn figure(node: Node, context: &Context, out: &mut Expected) {
    let names = node.layer_names();
    let copper = context.copper_of(&names);
    let text = node.head().contains("text") || node.head() == "property";
    if text {
        let hidden = node.has_word("hide")
            || node.child("hide").is_some_and(|hide| !hide.has_word("no"))
            || node.child("effects").is_some_and(|effects| effects.has_word("hide") || effects.child("hide").is_some());
        out.texts += if hidden { 0 } else { copper.len() };
    } else {
        out.figures += copper.len();
    }
    if names.contains(&"Edge.Cuts") && !text {
        *out.edges.entry(node.head()[3..].to_owned()).or_default() += 1;
    }
}
