//! Spans of the model against the line and column that another S-expression parser gives, for files since 2024.

use crate::support::corpus;
use lexpr::datum::Ref;
use rayon::prelude::*;
use throughline::board::Board;
use throughline::source::{SourceFile, Span};

/// Line and column in bytes, both from 1, of the `(` before a head.
fn place(source: &SourceFile, span: Span) -> (usize, usize) {
    let line = source.line_column(span.start).line as usize;
    let start = source.line_starts()[line - 1];
    (line, (span.start - start) as usize)
}

fn head<'a>(item: Ref<'a>) -> Option<(&'a str, (usize, usize))> {
    let first = item.list_iter()?.next()?;
    let start = item.span().start();
    Some((first.value().as_symbol()?, (start.line(), start.column())))
}

fn compare(board: &Board, root: Ref<'_>) -> usize {
    let source = &board.source;
    let mut tracks = board.tracks.values().map(|track| track.span);
    let mut vias = board.vias.values().map(|via| via.span);
    let mut footprints = board.footprints.values().map(|footprint| footprint.span);
    let mut pads = board.pads.values().map(|pad| pad.span);
    let mut compared = 0;
    for item in root.list_iter().unwrap() {
        let Some((name, at)) = head(item) else { continue };
        let span = match name {
            "segment" | "arc" => tracks.next(),
            "via" => vias.next(),
            "footprint" => footprints.next(),
            _ => continue,
        };
        assert_eq!(place(source, span.unwrap()), at, "{}: {name}", source.name());
        assert_eq!(source.slice(span.unwrap()), name);
        compared += 1;
        if name == "footprint" {
            for child in item.list_iter().unwrap() {
                if let Some(("pad", at)) = head(child) {
                    assert_eq!(place(source, pads.next().unwrap()), at, "{}: pad", source.name());
                    compared += 1;
                }
            }
        }
    }
    assert!(tracks.chain(vias).chain(footprints).chain(pads).next().is_none(), "spans are left over");
    compared
}

/// The other parser splits the two plot masks `0x…_…`; letters of the same length keep all places.
fn without_masks(text: &str) -> String {
    text.replace(" 0x", " xx")
}

#[test]
fn spans_equal_those_of_another_parser() {
    let compared: usize = corpus()
        .par_iter()
        .map(|board| {
            if board.version.is_none_or(|version| version < 20_240_108) {
                return 0;
            }
            // Its values are dropped recursively, so the stack must be large.
            let work = move || {
                let text = without_masks(board.source.text());
                // Files with bare ids or embedded data are beyond it.
                lexpr::datum::from_reader(text.as_bytes()).map_or(0, |datum| compare(board, datum.as_ref()))
            };
            std::thread::Builder::new().stack_size(1 << 28).spawn(work).unwrap().join().unwrap()
        })
        .sum();
    assert!(compared > 0, "nothing was compared");
}
