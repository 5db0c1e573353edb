//! Every board of the corpus reads.

use crate::support::boards;
use std::sync::Arc;
use throughline::board;
use throughline::source::SourceFile;

#[test]
fn every_board_reads() {
    for path in boards() {
        let text = std::fs::read_to_string(&path).unwrap();
        let source = Arc::new(SourceFile::new(path.display().to_string(), text));
        if let Err(fault) = board::read("board", Arc::clone(&source)) {
            let at = source.line_column(fault.span.start);
            panic!("{}:{}:{}: {}; {}", path.display(), at.line, at.column, fault.message, fault.label);
        }
    }
}
