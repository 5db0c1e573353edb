//! Which files make up a rule set: each extended set once, before what extends it.

use super::sheet::{did_you_mean, fault_at, list};
use super::shipped::{SHIPPED, shipped};
use super::statement::{self, Statements};
use super::{At, CheckSchema};
use crate::source::{Fault, SourceFile};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// Sets that extend sets that extend sets: a chain longer than this is taken for a mistake.
const MAX_CHAIN: usize = 16;
/// A rule set of more files than this is taken for a mistake.
const MAX_FILES: usize = 256;

/// The files of a rule set, in the order in which their keys count: later ones win.
pub(super) struct Files {
    /// Outermost last.
    pub statements: Vec<Statements>,
    /// Faults of `extends` itself.
    pub faults: Vec<Fault>,
    /// Files in the order in which they were first named: outermost first.
    pub named: Vec<Arc<SourceFile>>,
    /// A file is missing, so that what the set lacks says nothing.
    pub partial: bool,
}

/// A file whose extended sets are still being read.
struct Open {
    name: String,
    statements: Statements,
    next: usize,
}

/// Reads `source` and all that it extends.
pub(super) fn read(
    source: &Arc<SourceFile>,
    schemas: &[CheckSchema],
    load: &mut dyn FnMut(&str) -> Result<Arc<SourceFile>, String>,
) -> Files {
    let mut files =
        Files { statements: Vec::new(), faults: Vec::new(), named: vec![Arc::clone(source)], partial: false };
    let first = plain(Path::new(source.name()));
    let mut done = vec![first.clone()];
    let mut open = vec![Open { name: first, statements: statement::read(source, schemas), next: 0 }];
    // A stack of our own: the chain of files is the user's to make long.
    while let Some(top) = open.last_mut() {
        let Some(wanted) = top.statements.extends.get(top.next).cloned() else {
            if let Some(finished) = open.pop() {
                files.partial |= finished.statements.partial;
                files.statements.push(finished.statements);
            }
            continue;
        };
        top.next += 1;
        let (name, known) = resolve(&top.name, &wanted.value);
        if let Some(cycle) = open.iter().position(|file| file.name == name) {
            files.partial = true;
            let chain: Vec<&str> =
                open.iter().skip(cycle).map(|file| file.name.as_str()).chain([name.as_str()]).collect();
            let message = format!("`{name}` extends itself");
            files.faults.push(fault_at(&wanted.origin, message, chain.join(" → "), None));
            continue;
        }
        if done.contains(&name) {
            continue;
        }
        if open.len() >= MAX_CHAIN || done.len() >= MAX_FILES {
            files.partial = true;
            let message =
                format!("more than {MAX_CHAIN} sets extend each other, or more than {MAX_FILES} make one set");
            files.faults.push(fault_at(&wanted.origin, message, "expected fewer", None));
            continue;
        }
        let file = match known {
            Known::Shipped(file) => file,
            Known::Unknown => {
                files.partial = true;
                files.faults.push(unknown(&wanted));
                continue;
            }
            Known::File => match load(&name) {
                Ok(file) => file,
                Err(reason) => {
                    files.partial = true;
                    let message = format!("can't read `{name}`");
                    files.faults.push(fault_at(&wanted.origin, message, reason, None));
                    continue;
                }
            },
        };
        done.push(name.clone());
        files.named.push(Arc::clone(&file));
        let statements = statement::read(&file, schemas);
        open.push(Open { name, statements, next: 0 });
    }
    files
}

/// What a name in `extends` stands for.
enum Known {
    Shipped(Arc<SourceFile>),
    File,
    Unknown,
}

/// A name with a `/` or an ending is a file, relative to the file that names it; any other is a shipped set.
fn resolve(from: &str, name: &str) -> (String, Known) {
    if !name.contains(['/', '\\']) && !name.ends_with(".toml") {
        return shipped(name)
            .map_or((name.to_owned(), Known::Unknown), |file| (format!("shipped {name}"), Known::Shipped(file)));
    }
    let folder = Path::new(from).parent().unwrap_or_else(|| Path::new(""));
    (plain(&folder.join(name)), Known::File)
}

/// A path without `.` and without `..` that follows a folder, so that one file has one name.
pub(super) fn plain(path: &Path) -> String {
    let mut parts = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(parts.components().next_back(), Some(Component::Normal(_))) => {
                parts.pop();
            }
            other => parts.push(other),
        }
    }
    parts.to_string_lossy().into_owned()
}

fn unknown(wanted: &At<String>) -> Fault {
    let names: Vec<&str> = SHIPPED.iter().map(|(name, _)| *name).collect();
    let help = did_you_mean(&wanted.value, names.iter().copied()).unwrap_or_else(|| {
        format!("shipped sets are {}; a file is named with its ending: `{}.toml`", list(&names), wanted.value)
    });
    fault_at(&wanted.origin, format!("unknown rule set `{}`", wanted.value), "not a shipped set", Some(help))
}
