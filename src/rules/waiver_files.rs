//! The waivers of a rule set: those that its files state, and those of the waiver files that they name.

use super::extend::{Files, plain};
use super::sheet::fault_at;
use super::waiver_statement;
use super::{CheckSchema, Waiver};
use crate::source::{Fault, SourceFile};
use std::path::Path;
use std::sync::Arc;

/// The waivers of a rule set.
#[derive(Debug, Default)]
pub(super) struct Waived {
    pub waivers: Vec<Waiver>,
    /// Files that hold nothing but waivers.
    pub files: Vec<Arc<SourceFile>>,
}

/// Takes the waivers of all files and reads the waiver files that they name, each once. Those files join `files.named`,
/// so that their faults have a place in the order of faults.
pub(super) fn read(
    files: &mut Files,
    schemas: &[CheckSchema],
    load: &mut dyn FnMut(&str) -> Result<Arc<SourceFile>, String>,
    faults: &mut Vec<Fault>,
) -> Waived {
    let mut waived = Waived::default();
    for statements in &mut files.statements {
        waived.waivers.append(&mut statements.waivers);
        for wanted in &statements.waiver_files {
            let folder = Path::new(statements.file.name()).parent().unwrap_or_else(|| Path::new(""));
            let name = plain(&folder.join(&wanted.value));
            if waived.files.iter().any(|file| file.name() == name) {
                continue;
            }
            match load(&name) {
                Ok(file) => {
                    let (mut waivers, mut wrong) = waiver_statement::read(&file, schemas);
                    waived.waivers.append(&mut waivers);
                    faults.append(&mut wrong);
                    files.named.push(Arc::clone(&file));
                    waived.files.push(file);
                }
                Err(reason) => {
                    let help = "a file without waivers may hold a comment alone".to_owned();
                    let message = format!("can't read `{name}`");
                    faults.push(fault_at(&wanted.origin, message, reason, Some(help)));
                }
            }
        }
    }
    waiver_statement::judge(&waived.waivers, faults);
    waived
}
