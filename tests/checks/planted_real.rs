//! Faults planted in the text of real boards: a track taken out, a track laid between two nets. Exactly one new
//! finding, whatever else the board has. Runs on the boards of the folder that `THROUGHLINE_BOARDS` names.

#![allow(
    clippy::string_slice,
    clippy::indexing_slicing,
    clippy::expect_used,
    clippy::panic,
    reason = "helpers of tests may stop them"
)]

use crate::support::from_nm;
use crate::support::judge::{Said, judge_text};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use throughline::board::{self, Board, NetId, TrackId};
use throughline::copper::{Copper, StepKind};
use throughline::geometry;
use throughline::source::SourceFile;

/// Boards above this size take too long in an unoptimised build.
const LARGEST: u64 = 2_000_000;
/// Boards looked at, the smallest first.
const BOARDS: usize = 24;

fn boards() -> Vec<PathBuf> {
    let Some(root) = std::env::var_os("THROUGHLINE_BOARDS") else { return Vec::new() };
    let (mut folders, mut found) = (vec![PathBuf::from(root)], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("the folder of boards can be read").flatten() {
            let path = entry.path();
            let size = entry.metadata().map_or(0, |data| data.len());
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "kicad_pcb") && (20_000..LARGEST).contains(&size) {
                found.push((size, path));
            }
        }
    }
    found.sort();
    found.into_iter().map(|(_, path)| path).collect()
}

fn read(text: &str) -> Board {
    let source = Arc::new(SourceFile::new("real.kicad_pcb", text));
    board::read("real", source).unwrap_or_else(|fault| panic!("{}", fault.message))
}

/// From the parenthesis before an object's first word to the one that closes it.
fn node(text: &str, start: u32) -> std::ops::Range<usize> {
    let bytes = text.as_bytes();
    let open = text[..start as usize].rfind('(').expect("an object stands in parentheses");
    let (mut depth, mut at) = (0, open);
    loop {
        match bytes[at] {
            b'(' => depth += 1,
            b')' if depth == 1 => return open..at + 1,
            b')' => depth -= 1,
            // A quote opens a string only where a word starts.
            b'"' if matches!(bytes[at - 1], b' ' | b'(' | b'\t' | b'\n') => {
                at += 1;
                while bytes[at] != b'"' {
                    at += if bytes[at] == b'\\' { 2 } else { 1 };
                }
            }
            _ => {}
        }
        at += 1;
    }
}

/// The board without one track, and the net that falls apart by it.
fn cut(text: &str, board: &Board) -> Option<(String, String)> {
    let copper = Copper::new(board);
    for (net, _) in board.nets.iter().skip(1) {
        let routes = copper.routes(net);
        let [route] = routes.routes.as_slice() else { continue };
        if route.looped || routes.pads.len() != 2 {
            continue;
        }
        let whole = |step: &&throughline::copper::Step| match step.kind {
            StepKind::Track(track) => board.tracks.get(track).is_some_and(|track| {
                let ends = |path: &geometry::Path| [path.start(), path.end()];
                ends(&track.path).iter().all(|end| ends(&step.path).contains(end)) && step.length.to_mm() > 0.5
            }),
            _ => false,
        };
        let Some(step) = route.steps.iter().filter(whole).max_by(|a, b| a.length.total_cmp(&b.length)) else {
            continue;
        };
        let StepKind::Track(track) = step.kind else { continue };
        let range = node(text, board.tracks.get(track)?.span.start);
        return Some((format!("{}{}", &text[..range.start], &text[range.end..]), board.nets.name(net).to_owned()));
    }
    None
}

/// The board with a track between the two nearest track ends of different nets, and the nets.
fn bridge(text: &str, board: &Board) -> Option<(String, [String; 2])> {
    let ends: Vec<(TrackId, NetId, geometry::Point)> = board
        .tracks
        .iter()
        .filter(|(_, track)| track.net.is_some())
        .flat_map(|(id, track)| [track.path.start(), track.path.end()].map(|end| (id, track.net, end)))
        .collect();
    let mut best: Option<(f64, usize, usize)> = None;
    for (at, one) in ends.iter().enumerate() {
        for (other_at, other) in ends.iter().enumerate().skip(at + 1) {
            let (a, b) = (board.tracks.get(one.0)?, board.tracks.get(other.0)?);
            let distance = one.2.distance(other.2);
            let near = best.is_none_or(|(known, _, _)| distance < known);
            if one.1 != other.1 && a.layer == b.layer && near && distance > 1.0 {
                best = Some((distance, at, other_at));
            }
        }
    }
    let (distance, one, other) = best?;
    if distance > 400_000.0 {
        return None;
    }
    // The new track is a copy of the first one's node with other ends.
    let track = board.tracks.get(ends[one].0)?;
    let mut copy = text[node(text, track.span.start)].to_owned();
    if !copy.starts_with("(segment") {
        return None;
    }
    for (head, point) in [("(start ", ends[one].2), ("(end ", ends[other].2)] {
        let from = copy.find(head)? + head.len();
        let to = from + copy[from..].find(')')?;
        copy.replace_range(from..to, &format!("{} {}", from_nm(point.x), from_nm(point.y)));
    }
    let place = node(text, track.span.start).end;
    let nets = [one, other].map(|at| board.nets.name(ends[at].1).to_owned());
    Some((format!("{}\n{copy}{}", &text[..place], &text[place..]), nets))
}

fn new<'s>(before: &[Said], after: &'s [Said]) -> Vec<&'s Said> {
    let known: BTreeSet<_> = before.iter().map(Said::key).collect();
    after.iter().filter(|said| said.outcome != "pass" && !known.contains(&said.key())).collect()
}

#[test]
fn a_cut_opens_one_net_and_a_bridge_shorts_two() {
    let (mut cuts, mut bridges, mut faults) = (0, 0, String::new());
    let paths = boards();
    for path in paths.iter().take(BOARDS) {
        let text = std::fs::read_to_string(path).expect("a board is text");
        let name = path.file_stem().expect("a board has a name").to_string_lossy().into_owned();
        let board = read(&text);
        let (_, before) = judge_text(&name, &text, Path::new("base"));
        if let Some((text, net)) = cut(&text, &board) {
            let (_, after) = judge_text(&name, &text, Path::new("base"));
            let new = new(&before, &after);
            let right = new.len() == 1 && new[0].check == "net-open" && new[0].subject == format!("net {net}");
            cuts += 1;
            if !right {
                faults += &format!("\n{name}: cut {net}: {new:#?}");
            }
        }
        if let Some((text, nets)) = bridge(&text, &board) {
            let (_, after) = judge_text(&name, &text, Path::new("base"));
            let new = new(&before, &after);
            let right = new.len() == 1
                && new[0].check == "net-short"
                && nets.iter().all(|net| new[0].subject.contains(net.as_str()));
            bridges += 1;
            if !right {
                faults += &format!("\n{name}: bridge {nets:?}: {new:#?}");
            }
        }
    }
    println!("{cuts} cuts and {bridges} bridges on {} boards", paths.len().min(BOARDS));
    assert!(faults.is_empty(), "{faults}");
    assert!(paths.is_empty() || cuts + bridges > 0, "no board could take a fault");
}
