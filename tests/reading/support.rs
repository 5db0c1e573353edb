//! Where boards come from.

use rayon::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use throughline::board::{self, Board};
use throughline::source::SourceFile;

/// All board files of the folder named by `THROUGHLINE_BOARDS` and of `fixtures/`, sorted.
fn boards() -> Vec<PathBuf> {
    let mut files = Vec::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let named = std::env::var_os("THROUGHLINE_BOARDS").map(PathBuf::from);
    for folder in named.into_iter().chain([root.join("fixtures")]) {
        collect(&folder, &mut files);
    }
    files.sort();
    files
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() && path.file_name().is_none_or(|name| name != "broken") {
            collect(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "kicad_pcb") {
            files.push(path);
        }
    }
}

/// All those boards, read once for all tests.
pub fn corpus() -> &'static [Board] {
    static BOARDS: OnceLock<Vec<Board>> = OnceLock::new();
    BOARDS.get_or_init(|| {
        let boards: Vec<Board> =
            boards().par_iter().map(|path| read(path).unwrap_or_else(|report| panic!("{report}"))).collect();
        assert!(!boards.is_empty(), "no boards to test with");
        boards
    })
}

/// A short name for messages.
pub fn label(board: &Board) -> String {
    Path::new(board.source.name()).file_stem().unwrap().to_string_lossy().into_owned()
}

/// Reads a board file; a fault comes back as `file:line:col: message; label`.
pub fn read(path: &Path) -> Result<Board, String> {
    let text = std::fs::read_to_string(path).unwrap();
    read_text(&path.display().to_string(), &text)
}

/// Reads a board from its text.
pub fn read_text(name: &str, text: &str) -> Result<Board, String> {
    let source = Arc::new(SourceFile::new(name, text));
    board::read(name, Arc::clone(&source)).map_err(|fault| {
        let at = source.line_column(fault.span.start);
        format!("{name}:{}:{}: {}; {}", at.line, at.column, fault.message, fault.label)
    })
}

/// Names and texts of the boards in `fixtures/generations`.
pub fn fixtures() -> Vec<(String, String)> {
    let mut files = Vec::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/generations"), &mut files);
    files.sort();
    assert!(!files.is_empty(), "no fixtures");
    files.iter().map(|path| (path.display().to_string(), std::fs::read_to_string(path).unwrap())).collect()
}
