//! Drawn boards through the reader of the crate under test.

use super::{Board, Generation};
use std::sync::Arc;
use throughline::source::SourceFile;

/// A drawn board as the crate reads it from its text.
pub fn read(board: &Board, generation: Generation) -> throughline::board::Board {
    let source = SourceFile::new(format!("{}.kicad_pcb", board.name), board.text(generation));
    match throughline::board::read(&board.name, Arc::new(source)) {
        Ok(board) => board,
        Err(fault) => panic!("{generation:?}: {} ({:?})", fault.message, fault.span),
    }
}
