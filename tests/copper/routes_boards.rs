//! Routes on real boards. Needs the folder named by `THROUGHLINE_BOARDS`; without it there is nothing to hold.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};
use throughline::board::{Board, PadId, read};
use throughline::copper::{Copper, IslandId, Route, pad_name};
use throughline::source::SourceFile;

/// The readable boards of the folder, read once for all tests.
pub fn boards() -> &'static [Board] {
    static BOARDS: OnceLock<Vec<Board>> = OnceLock::new();
    BOARDS.get_or_init(read_all)
}

fn read_all() -> Vec<Board> {
    let Some(folder) = std::env::var_os("THROUGHLINE_BOARDS") else { return Vec::new() };
    let (mut files, mut folders) = (Vec::new(), vec![PathBuf::from(folder)]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "kicad_pcb") {
                files.push(path);
            }
        }
    }
    files.sort();
    let board = |file: &PathBuf| {
        let name = file.file_stem()?.to_string_lossy().into_owned();
        read(&name, Arc::new(SourceFile::new(name.clone(), std::fs::read_to_string(file).ok()?))).ok()
    };
    files.iter().filter_map(board).collect()
}

#[test]
fn every_route_runs_unbroken_from_anchor_to_anchor() {
    for board in boards() {
        let copper = Copper::new(board);
        for (net, row) in board.nets.iter().skip(1) {
            for route in &copper.routes(net).routes {
                let name = format!("{} {} {}", board.name, row.name, pad_name(board, route.from));
                hold(board, route, &name);
            }
        }
    }
}

/// The graph of a net and the islands of the board are worked out by different code: both must say the same of every
/// two pads.
#[test]
fn routes_join_what_islands_join() {
    let mut held = 0;
    let boards = boards();
    for board in boards {
        let copper = Copper::new(board);
        let islands = copper.islands();
        let mut of_pad: BTreeMap<PadId, BTreeSet<IslandId>> = BTreeMap::new();
        for (id, island) in islands.iter() {
            for &pad in &island.pads {
                of_pad.entry(pad).or_default().insert(id);
            }
        }
        for (net, row) in board.nets.iter().skip(1) {
            let routes = copper.routes(net);
            let Some(first) = routes.pads.first().and_then(|pad| of_pad.get(pad)) else { continue };
            for pad in routes.pads.iter().skip(1) {
                let joined = of_pad.get(pad).is_some_and(|own| !own.is_disjoint(first));
                let routed = !routes.open.contains(pad);
                assert_eq!(routed, joined, "{} {} {}", board.name, row.name, pad_name(board, *pad));
                held += 1;
            }
        }
    }
    assert!(held >= boards.len(), "{held} pads on {} boards", boards.len());
    println!("{held} pads on {} boards", boards.len());
}

fn hold(board: &Board, route: &Route, name: &str) {
    let (from, to) = (&board.pads[route.from], &board.pads[route.to]);
    let straight = from.at.distance(to.at);
    let planar = route.length.planar().to_nm() - route.length.package.to_nm();
    // Ends that miss by up to a micrometre count as one.
    let slack = 2000.0 + 1000.0 * route.steps.len() as f64;
    assert!(planar >= straight - slack, "{name}: {planar} nm is shorter than straight ({straight} nm)");
    let (Some(first), Some(last)) = (route.steps.first(), route.steps.last()) else {
        assert!(straight < 1500.0, "{name}: no steps");
        return;
    };
    assert!(first.path.start().distance(from.at) <= 1500.0, "{name}: starts off its pad");
    assert!(last.path.end().distance(to.at) <= 1500.0, "{name}: ends off its pad");
    for pair in route.steps.windows(2) {
        let gap = pair[0].path.end().distance(pair[1].path.start());
        assert!(gap <= 2500.0, "{name}: {gap} nm between {:?} and {:?}", pair[0].kind, pair[1].kind);
        assert_eq!(pair[0].to_layer, pair[1].layer, "{name}");
    }
}
