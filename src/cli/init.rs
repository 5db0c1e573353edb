//! `throughline init`: draft a rule file from a board's own names and copper.

use super::load;
use super::outcome::Exit;
use super::output;
use super::rule_set::FILE;
use super::trouble::Troubles;
use crate::copper::Copper;
use crate::report;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Runs the command. An existing file is never written over.
pub fn run(board: &Path, to: Option<&Path>) -> Result<Exit, Troubles> {
    let paths = load::board_paths(&[board.to_path_buf()])?;
    let [path] = paths.as_slice() else {
        let names: Vec<String> = paths.iter().map(|path| format!("`{}`", path.display())).collect();
        let fact = format!("{} has {} boards: {}", board.display(), paths.len(), names.join(", "));
        return Err(Troubles::plain(fact, Some("name one of them".to_owned())));
    };
    let boards = load::boards(&paths)?;
    let Some(read) = boards.first() else { return Ok(Exit::NotJudged) };
    let copper = Copper::new(read);
    let text = report::draft(read, copper.pairs());
    if to == Some(Path::new("-")) {
        return said(&text);
    }
    let target: PathBuf = to.map_or_else(|| path.with_file_name(FILE), Path::to_path_buf);
    let written = OpenOptions::new().write(true).create_new(true).open(&target);
    written.and_then(|mut file| file.write_all(text.as_bytes())).map_err(|error| {
        let (fact, help) = match error.kind() {
            ErrorKind::AlreadyExists => (
                "it is there already".to_owned(),
                Some("`--to -` prints the draft instead, `--to FILE` writes it elsewhere"),
            ),
            _ => (error.to_string(), None),
        };
        Troubles::plain(format!("can't write `{}`: {fact}", target.display()), help.map(str::to_owned))
    })?;
    let pairs = copper.pairs().pairs.len();
    let pairs = if pairs == 1 { "1 pair".to_owned() } else { format!("{pairs} pairs") };
    said(&format!(
        "wrote {}: {pairs} proposed; read it, then run `throughline check {}`\n",
        target.display(),
        path.display()
    ))
}

fn said(text: &str) -> Result<Exit, Troubles> {
    output::print(text).map_err(|error| Troubles::plain(format!("can't write to standard output: {error}"), None))?;
    Ok(Exit::Clean)
}
