//! Items of generations 3 to 2017 against the typed reader of a foreign library, item by item.

use crate::oracle::Node;
use crate::support::{corpus, label};
use kicad_parse_gen::{footprint, layout};
use rayon::prelude::*;
use std::collections::BTreeMap;
use symbolic_expressions::from_sexp;
use symbolic_expressions::iteratom::FromSexp;
use throughline::board::{Board, PadKind};
use throughline::geometry::{Path, Point, to_f64};

/// How many items the foreign library understood, of how many.
#[derive(Debug, Default, Clone, Copy)]
struct Share {
    compared: usize,
    all: usize,
}

fn grid(mm: f64) -> i64 {
    (mm * 1e6).round() as i64
}

#[test]
fn legacy_items_equal_those_of_a_foreign_typed_reader() {
    let shares: Vec<BTreeMap<&str, Share>> = corpus()
        .par_iter()
        .filter_map(|board| (board.version? <= 20_171_130).then(|| compare(board, &label(board))))
        .collect();
    let mut total: BTreeMap<&str, Share> = BTreeMap::new();
    for (kind, share) in shares.into_iter().flatten() {
        let sum = total.entry(kind).or_default();
        sum.compared += share.compared;
        sum.all += share.all;
    }
    for kind in ["segment", "via", "zone", "pad", "net", "net_class"] {
        let share = total.get(kind).copied().unwrap_or_default();
        assert!(share.compared > 0, "no {kind} was compared: {total:?}");
        // The foreign library refuses renamed layers and newer pad shapes, never most of a kind.
        assert!(share.compared * 2 > share.all, "most of {kind} must be compared: {total:?}");
    }
}

/// The item as the foreign library types it, if it understands it.
fn typed<T: FromSexp>(node: Node, kind: &'static str, shares: &mut BTreeMap<&str, Share>) -> Option<T> {
    let item = from_sexp::<T>(node.0).ok();
    let share = shares.entry(kind).or_default();
    share.all += 1;
    share.compared += usize::from(item.is_some());
    item
}

fn compare<'k>(board: &Board, file: &str) -> BTreeMap<&'k str, Share> {
    let tree = symbolic_expressions::parser::parse_str(board.source.text()).unwrap();
    let root = Node(&tree);
    let mut shares = BTreeMap::new();
    let numbers: BTreeMap<i64, String> = root
        .all("net")
        .filter_map(|node| typed::<layout::Net>(node, "net", &mut shares))
        .map(|net| (net.num, net.name.0))
        .collect();
    let net = |number: i64| numbers.get(&number).cloned().unwrap_or_default();
    for (node, got) in root.all("segment").zip(board.tracks.values()) {
        let Some(want) = typed::<layout::Segment>(node, "segment", &mut shares) else { continue };
        let start = Point::new(grid(want.start.x), grid(want.start.y));
        let end = Point::new(grid(want.end.x), grid(want.end.y));
        assert_eq!(got.path, Path::Line(start, end), "{file}");
        assert_eq!(got.width, grid(want.width), "{file}");
        assert_eq!(board.nets.name(got.net), net(want.net), "{file}");
    }
    for (node, got) in root.all("via").zip(board.vias.values()) {
        let Some(want) = typed::<layout::Via>(node, "via", &mut shares) else { continue };
        assert_eq!(got.at, Point::new(grid(want.at.x), grid(want.at.y)), "{file}");
        assert_eq!(got.size, grid(want.size), "{file}");
        assert_eq!(got.micro, want.micro, "{file}");
        assert_eq!(board.nets.name(got.net), net(want.net), "{file}");
        if want.drill > 0.0 {
            assert_eq!(got.drill, Some(grid(want.drill)), "{file}");
        }
    }
    for (node, (id, got)) in root.all("zone").zip(board.zones.iter()) {
        let Some(want) = typed::<layout::Zone>(node, "zone", &mut shares) else { continue };
        assert_eq!(board.nets.name(got.net), want.net_name.0, "{file}");
        assert_eq!(got.min_thickness, grid(want.min_thickness), "{file}");
        assert_eq!(got.clearance, grid(want.connect_pads.clearance), "{file}");
        let fills = board.fills.values().filter(|fill| fill.zone == id).count();
        let strokes = node.all("fill_segments").flat_map(Node::nodes).count();
        // Zones on mask or silk have polygons too; they are no copper.
        let drawn = if got.layers.is_empty() { 0 } else { want.filled_polygons.len() + strokes };
        assert_eq!(fills, drawn, "{file}");
        let outline: Vec<usize> = want.polygons.iter().map(|ring| ring.elements.len()).collect();
        assert_eq!(got.outline.iter().map(Vec::len).collect::<Vec<_>>(), outline, "{file}");
    }
    for (node, got) in root.all("net_class").zip(&board.classes) {
        let Some(want) = typed::<layout::NetClass>(node, "net_class", &mut shares) else { continue };
        assert_eq!(got.name, want.name, "{file}");
        assert_eq!(got.track_width.unwrap().to_nm(), to_f64(grid(want.trace_width)), "{file}");
        assert_eq!(got.via_drill.unwrap().to_nm(), to_f64(grid(want.via_drill)), "{file}");
        assert_eq!(got.microvia_drill.unwrap().to_nm(), to_f64(grid(want.uvia_drill)), "{file}");
        let mut names: Vec<&str> =
            want.nets.iter().map(|name| name.0.as_str()).filter(|name| !name.is_empty()).collect();
        let mut own: Vec<&str> = got.nets.iter().map(|&net| board.nets.name(net)).collect();
        names.sort_unstable();
        own.sort_unstable();
        assert_eq!(own, names, "{file}");
    }
    let pads = root.all("module").flat_map(|module| module.all("pad"));
    for (node, got) in pads.zip(board.pads.values()) {
        let Some(want) = typed::<footprint::Pad>(node, "pad", &mut shares) else { continue };
        assert_eq!(got.number, want.name, "{file}");
        assert_eq!(got.size, (grid(want.size.x), grid(want.size.y)), "{file}");
        assert!((got.angle - want.at.rot).abs() < 1e-12, "{file}");
        let kind = match want.t {
            footprint::PadType::Smd => PadKind::Surface,
            footprint::PadType::Pth => PadKind::Plated,
            footprint::PadType::NpPth => PadKind::Unplated,
        };
        assert_eq!(got.kind, kind, "{file}");
        assert_eq!(board.nets.name(got.net), want.net.map(|net| net.name.0).unwrap_or_default(), "{file}");
        if let Some(drill) = want.drill.filter(|drill| drill.width > 0.0) {
            assert_eq!(got.drill.unwrap().width, grid(drill.width), "{file}");
        }
    }
    shares
}
