//! Stackups of several files laid over each other. The layers are one thing: a file that states them replaces those of
//! another for the same boards, with all that was said beside them.

use super::extend::Files;
use super::sheet::fault_at;
use super::stackup_statement::{StackupStatement, misplaced};
use super::{At, Stackup, StackupKind, StackupLayer};
use crate::source::Fault;
use crate::units::Quantity;
use std::sync::Arc;

/// Stackups by the boards they are for, later keys over earlier ones.
pub(super) fn lay_stackups(files: &Files, faults: &mut Vec<Fault>) -> Vec<StackupStatement> {
    let mut laid: Vec<StackupStatement> = Vec::new();
    for stackup in files.statements.iter().flat_map(|statements| &statements.stackups) {
        let Some(under) = laid.iter_mut().find(|under| names(under) == names(stackup)) else {
            laid.push(stackup.clone());
            continue;
        };
        if Arc::ptr_eq(&under.origin.file, &stackup.origin.file) {
            let first = under.origin.file.line_column(under.origin.span.start).line;
            let help = "name the boards that each is for: `boards = [\"base\"]`".to_owned();
            let label = format!("first stated in line {first}");
            faults.push(fault_at(&stackup.origin, "two stackups for the same boards".to_owned(), label, Some(help)));
            continue;
        }
        lay(under, stackup.clone());
    }
    laid
}

/// The patterns of a stackup's boards, sorted.
fn names(stackup: &StackupStatement) -> Vec<&str> {
    let mut names: Vec<&str> = stackup.boards.iter().map(|pattern| pattern.value.as_str()).collect();
    names.sort_unstable();
    names
}

fn lay(under: &mut StackupStatement, over: StackupStatement) {
    if over.layers.is_some() {
        *under = over;
        return;
    }
    under.frequency = over.frequency.or(under.frequency.take());
    under.roughness = over.roughness.or(under.roughness.take());
    under.source = over.source.or(under.source.take());
    under.faulty |= over.faulty;
    under.origin = over.origin;
}

/// Faults of whole stackups. `partial`: not all could be read, so that what is lacking says nothing.
pub(super) fn judge_stackups(stackups: &[StackupStatement], partial: bool, faults: &mut Vec<Fault>) {
    for stackup in stackups.iter().filter(|stackup| !stackup.faulty) {
        let layers = stackup.layers.as_deref().unwrap_or(&[]);
        if layers.iter().all(|layer| layer.kind != StackupKind::Copper) {
            if !partial || stackup.layers.is_some() {
                let label = "expected `[[stackup.layer]]` from top to bottom";
                let what = if layers.is_empty() { "layers" } else { "copper" };
                faults.push(fault_at(&stackup.origin, format!("the stackup has no {what}"), label, None));
            }
            continue;
        }
        for (layer, message, label) in misplaced(layers) {
            faults.push(fault_at(&layer.name.origin, message, label, None));
        }
    }
}

/// Stackups with what holds for all layers given to each.
pub(super) fn flatten(stackups: Vec<StackupStatement>) -> Vec<Stackup> {
    let flat = |stackup: StackupStatement| Stackup {
        boards: stackup.boards,
        layers: stackup
            .layers
            .unwrap_or_default()
            .into_iter()
            .map(|layer| complete(layer, stackup.frequency.as_ref()))
            .collect(),
        roughness: stackup.roughness,
        source: stackup.source,
        origin: stackup.origin,
    };
    stackups.into_iter().map(flat).collect()
}

fn complete(mut layer: StackupLayer, frequency: Option<&At<Quantity>>) -> StackupLayer {
    if layer.kind != StackupKind::Copper {
        layer.frequency = layer.frequency.or_else(|| frequency.cloned());
    }
    layer
}
