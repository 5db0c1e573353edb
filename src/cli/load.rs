//! Loading files: the only place that opens one. Whatever can't be read says so clearly.

use super::trouble::{Trouble, Troubles};

use crate::board::{Board, Note, read, read_project};
use crate::source::{Fault, Limits, SourceFile, Span};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How board files end.
const BOARD: &str = "kicad_pcb";
/// How the project files beside them end.
const PROJECT: &str = "kicad_pro";

/// Board files named by inputs: files as they are, folders by their boards in order of name. No input is the current
/// folder.
pub fn board_paths(inputs: &[PathBuf]) -> Result<Vec<PathBuf>, Troubles> {
    let here = [PathBuf::from(".")];
    let inputs = if inputs.is_empty() { &here } else { inputs };
    let mut paths = Vec::new();
    let mut troubles = Vec::new();
    for input in inputs {
        if !input.is_dir() {
            paths.push(input.clone());
            continue;
        }
        match boards_in(input) {
            Ok(found) if found.is_empty() => troubles.push(Trouble::Plain(
                format!("no board in the folder `{}`", input.display()),
                Some(format!("expected a file that ends in `.{BOARD}`")),
            )),
            Ok(found) => paths.extend(found),
            Err(error) => troubles.push(unreadable(input, &error)),
        }
    }
    // A file that is named twice, or beside its folder, is one board.
    let mut seen = Vec::new();
    paths.retain(|path| {
        let known = path.canonicalize().is_ok_and(|whole| {
            let known = seen.contains(&whole);
            seen.push(whole);
            known
        });
        !known
    });
    if troubles.is_empty() { Ok(paths) } else { Err(Troubles(troubles)) }
}

fn boards_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name();
        let path = folder.join(&name);
        // Files that an editor keeps beside an unsaved board are not boards of the folder.
        let autosave = name.to_str().is_some_and(|name| name.starts_with("_autosave-") || name.starts_with('.'));
        if !autosave && path.extension().is_some_and(|end| end == BOARD) && !path.is_dir() {
            found.push(path.strip_prefix(".").map_or_else(|_| path.clone(), Path::to_path_buf));
        }
    }
    found.sort();
    Ok(found)
}

/// Reads the boards of some files; every file that can't be read is told.
pub fn boards(paths: &[PathBuf]) -> Result<Vec<Board>, Troubles> {
    let mut boards = Vec::new();
    let mut troubles = Vec::new();
    for path in paths {
        match board(path) {
            Ok(board) => boards.push(board),
            Err(trouble) => troubles.push(trouble),
        }
    }
    if troubles.is_empty() { Ok(boards) } else { Err(Troubles(troubles)) }
}

fn board(path: &Path) -> Result<Board, Trouble> {
    if path.extension().is_some_and(|end| end == "toml") {
        return Err(Trouble::Plain(
            format!("`{}` is a rule file, not a board", path.display()),
            Some("name it with `--rules`".to_owned()),
        ));
    }
    let source = Arc::new(file(path)?);
    let name = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let fault = |fault: Fault| Trouble::Fault(Box::new(fault));
    let mut board = read(&name, source).map_err(fault)?;
    // Net classes live beside the board since generation 6; a board without that file has none. They never change
    // copper, so a project file that can't be read is remarked, not refused.
    let project = path.with_extension(PROJECT);
    if project.is_file()
        && let Err(why) = classes(&mut board, &project)
    {
        let message = format!("net classes are not known: {why}");
        board.notes.insert(0, Note { message, span: Span::new(0, 1) });
    }
    Ok(board)
}

/// Adds the net classes of a project file, or says why not.
fn classes(board: &mut Board, project: &Path) -> Result<(), String> {
    let source = Arc::new(file(project).map_err(|trouble| trouble.fact())?);
    read_project(board, &source).map_err(|fault| {
        let at = fault.place();
        format!("{}:{}:{}: {}, {}", fault.file.name(), at.line, at.column, fault.message, fault.label)
    })
}

/// Reads a text file.
pub fn file(path: &Path) -> Result<SourceFile, Trouble> {
    let limit = Limits::default().file_bytes;
    let metadata = fs::metadata(path).map_err(|error| unreadable(path, &error))?;
    if metadata.is_dir() {
        return Err(Trouble::Plain(format!("`{}` is a folder, not a file", path.display()), None));
    }
    if metadata.len() > u64::try_from(limit).unwrap_or(u64::MAX) {
        return Err(too_large(path, limit));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(metadata.len()).unwrap_or(0));
    // One byte more than allowed, in case the file grows or says nothing of its size.
    let most = u64::try_from(limit).unwrap_or(u64::MAX).saturating_add(1);
    File::open(path)
        .and_then(|file| file.take(most).read_to_end(&mut bytes))
        .map_err(|error| unreadable(path, &error))?;
    if bytes.len() > limit {
        return Err(too_large(path, limit));
    }
    text(path, bytes)
}

fn text(path: &Path, bytes: Vec<u8>) -> Result<SourceFile, Trouble> {
    let name = path.display().to_string();
    if bytes.is_empty() {
        return Err(Trouble::Plain(format!("`{name}` is empty"), None));
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Trouble::Plain(format!("`{name}` is UTF-16 text"), Some("save it as UTF-8".to_owned())));
    }
    if let Some(at) = memchr::memchr(0, &bytes) {
        return Err(Trouble::Plain(format!("`{name}` is no text file: byte {at} is zero"), None));
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(SourceFile::new(name, text)),
        Err(error) => Err(not_utf8(name, &error)),
    }
}

/// A fault that shows the line up to the bad byte. What follows is left out: offsets would no longer hold there.
fn not_utf8(name: String, error: &std::string::FromUtf8Error) -> Trouble {
    let at = error.utf8_error().valid_up_to();
    let byte = error.as_bytes().get(at).copied().unwrap_or_default();
    let good = error.as_bytes().get(..at).unwrap_or_default();
    let shown = String::from_utf8_lossy(good).into_owned() + "\u{FFFD}";
    let start = u32::try_from(at).unwrap_or(u32::MAX);
    Trouble::Fault(Box::new(Fault {
        message: format!("not UTF-8 text: byte {at} is 0x{byte:02x}"),
        file: Arc::new(SourceFile::new(name, shown)),
        span: Span::new(start, start.saturating_add(1)),
        label: "expected UTF-8 from here on".to_owned(),
        help: Some("save the file as UTF-8, or restore it from a sound copy".to_owned()),
    }))
}

fn too_large(path: &Path, limit: usize) -> Trouble {
    Trouble::Plain(format!("`{}` is larger than {} MiB, the most that is read", path.display(), limit >> 20), None)
}

fn unreadable(path: &Path, error: &io::Error) -> Trouble {
    let fact = match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "no permission to read it".to_owned(),
        _ => error.to_string(),
    };
    Trouble::Plain(format!("can't read `{}`: {fact}", path.display()), None)
}
