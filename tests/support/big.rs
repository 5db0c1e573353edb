//! Large boards for benchmarks: a drawn board repeated on a grid, each copy with nets of its own.

use super::board::{Board, Path, Polygon};
use super::{Point, nm};

/// Copies of a board in columns and rows, `gap` mm apart. Net `X` of copy 3 becomes `/copy3/X`, part `U1` `U1-3`.
pub fn tiled(board: &Board, columns: usize, rows: usize, gap: f64) -> Board {
    let ((x0, y0), (x1, y1)) = board.frame();
    let (width, height) = (x1 - x0 + gap, y1 - y0 + gap);
    let mut all = Board::new(&format!("{}-{columns}x{rows}", board.name), board.stack.clone());
    for copy in 0..columns * rows {
        let by = ((copy % columns) as f64 * width, (copy / columns) as f64 * height);
        add(&mut all, board, copy, by);
    }
    all
}

fn add(all: &mut Board, board: &Board, copy: usize, by: Point) {
    let point = |(x, y): Point| (x + by.0, y + by.1);
    let polygon = |ring: &Polygon| ring.iter().map(|&corner| point(corner)).collect::<Polygon>();
    let path = |path: Path| match path {
        Path::Line(a, b) => Path::Line(point(a), point(b)),
        Path::Arc(a, m, b) => Path::Arc(point(a), point(m), point(b)),
    };
    let name = |net: &String| if net.is_empty() { String::new() } else { format!("/copy{copy}/{net}") };
    all.nets.extend(board.nets.iter().map(name));
    all.parts.extend(board.parts.iter().cloned().map(|mut part| {
        part.at = point(part.at);
        part.reference = format!("{}-{copy}", part.reference);
        part.pads.iter_mut().for_each(|pad| pad.net = name(&pad.net));
        part
    }));
    all.tracks.extend(board.tracks.iter().cloned().map(|mut track| {
        track.path = path(track.path);
        track.net = name(&track.net);
        track
    }));
    all.vias.extend(board.vias.iter().cloned().map(|mut via| {
        via.at = point(via.at);
        via.net = name(&via.net);
        via
    }));
    let (dx, dy) = (nm(by.0), nm(by.1));
    all.zones.extend(board.zones.iter().cloned().map(|mut zone| {
        zone.net = name(&zone.net);
        zone.outline = polygon(&zone.outline);
        for (_, ring) in zone.fills.iter_mut().flatten() {
            ring.iter_mut().for_each(|(x, y)| (*x, *y) = (*x + dx, *y + dy));
        }
        zone
    }));
    all.edges.extend(board.edges.iter().map(|&edge| path(edge)));
}
