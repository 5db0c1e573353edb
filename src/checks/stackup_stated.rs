//! The stackup that a rule set states for a board: its layers found on the board, its values at one frequency.

use crate::board::stackup::DielectricKind;
use crate::board::{Board, CopperLayers, LayerId, Stackup, StackupEntry};
use crate::copper::Copper;
use crate::field::{Dielectric, Frequency, WidebandDebye};
use crate::nearest::nearest;
use crate::rules::{self, At, Origin, RuleSet, StackupKind, StackupLayer};
use crate::signal::Assumptions;
use crate::source::Fault;
use std::sync::Arc;

/// Where the values of dielectrics hold if nobody says otherwise; common practice of laminate data sheets.
const FREQUENCY: Frequency = Frequency::ghz(1.0);

/// The stackup that a rule set states for one board. It wins over the board file's, whatever that says: who types a
/// fab's sheet means it.
#[derive(Debug, Clone)]
pub struct Stated<'r> {
    /// As the rule set has it.
    pub rules: &'r rules::Stackup,
    /// For this board; without entries if it does not fit. Its spans lie in the rule file.
    pub stackup: Stackup,
    /// Frequency at which its values hold.
    pub frequency: Frequency,
    /// Why it does not fit the board, at its place in the rule file. Then the board has no stackup at all: the file's
    /// own is not what the rule set's author counts on.
    pub unfit: Option<Fault>,
}

impl<'r> Stated<'r> {
    /// The stackup for a board; `None` if the rule set states none for it.
    #[must_use]
    pub fn of(set: &'r RuleSet, board: &Board) -> Option<Self> {
        let stackups = set.stackups_of(&board.name);
        let (first, others) = stackups.split_first()?;
        let unfit = match others.first() {
            Some(other) => Some(ambiguous(&board.name, first, other)),
            None => misfit(&board.name, &board.layers, first),
        };
        Some(Self::new(first, unfit))
    }

    /// A stackup on its own, without a board.
    #[must_use]
    pub fn alone(stackup: &'r rules::Stackup) -> Self {
        Self::new(stackup, None)
    }

    fn new(stated: &'r rules::Stackup, unfit: Option<Fault>) -> Self {
        let reference = stated.layers.iter().find_map(|layer| layer.frequency.as_ref());
        let frequency = reference.map_or(FREQUENCY, |at| Frequency::hertz(at.value.base()));
        let entries = if unfit.is_none() { entries(stated, frequency) } else { Vec::new() };
        let span = stated.origin.span;
        Self { rules: stated, stackup: Stackup { entries, span }, frequency, unfit }
    }

    /// The copper of a board with its heights.
    #[must_use]
    pub fn copper<'b>(&self, board: &'b Board) -> Copper<'b> {
        Copper::with_stackup(board, Some(self.stackup.clone()))
    }

    /// What signals rest on.
    #[must_use]
    pub fn assumptions(&self) -> Assumptions {
        Assumptions {
            stackup: Some(self.stackup.clone()),
            frequency: self.frequency,
            roughness: self.rules.roughness.as_ref().map(|roughness| roughness.value),
        }
    }
}

/// The entries of a stackup that fits.
fn entries(stackup: &rules::Stackup, reference: Frequency) -> Vec<StackupEntry> {
    let mut coppers = (0u8..).map(LayerId);
    let entry = |layer: &StackupLayer| {
        let thickness = layer.thickness.as_ref().map(|thickness| thickness.value);
        let span = layer.origin.span;
        let kind = match layer.kind {
            StackupKind::Copper => {
                return coppers.next().map(|layer| StackupEntry::Copper { layer, thickness, span });
            }
            StackupKind::Core => DielectricKind::Core,
            StackupKind::Prepreg => DielectricKind::Prepreg,
            StackupKind::Mask => DielectricKind::Mask,
        };
        let (permittivity, loss_tangent) = values(layer, reference);
        Some(StackupEntry::Dielectric {
            name: layer.name.value.clone(),
            kind,
            thickness,
            permittivity,
            loss_tangent,
            material: layer.name.value.clone(),
            span,
        })
    };
    stackup.layers.iter().filter_map(entry).collect()
}

/// Permittivity and loss tangent at the reference frequency. Without a loss tangent the permittivity is taken as it is:
/// how it falls with frequency is then not known.
fn values(layer: &StackupLayer, reference: Frequency) -> (Option<f64>, Option<f64>) {
    let number = |at: &Option<At<f64>>| at.as_ref().map(|at| at.value);
    let (permittivity, loss_tangent) = (number(&layer.permittivity), number(&layer.loss_tangent));
    let stated = layer.frequency.as_ref().map_or(FREQUENCY, |at| Frequency::hertz(at.value.base()));
    match (permittivity, loss_tangent) {
        (Some(permittivity), Some(loss_tangent)) if stated != reference => {
            let there = WidebandDebye::fit(Dielectric::new(permittivity, loss_tangent), stated).at(reference);
            (Some(there.permittivity), Some(there.loss_tangent))
        }
        values => values,
    }
}

/// Why a stackup is not one of this board.
fn misfit(board: &str, layers: &CopperLayers, stackup: &rules::Stackup) -> Option<Fault> {
    let coppers: Vec<&StackupLayer> = stackup.coppers().collect();
    if coppers.len() != layers.len() {
        let message = format!("the stackup has {} copper layers and the board {}", coppers.len(), layers.len());
        let names: Vec<String> = layers.ids().map(|id| format!("`{}`", layers.name(id))).collect();
        let help = match names.as_slice() {
            [] => "the board has none".to_owned(),
            names => format!("the board has {}", names.join(", ")),
        };
        return Some(fault(board, &stackup.origin, message, help));
    }
    layers.ids().zip(coppers).find_map(|(layer, copper)| misnamed(board, layers, layer, copper))
}

/// What is wrong with the name of a copper layer in its place.
fn misnamed(board: &str, layers: &CopperLayers, layer: LayerId, copper: &StackupLayer) -> Option<Fault> {
    let name = copper.name.value.trim();
    let own = layers.name(layer);
    match find(layers, name) {
        Some(found) if found == layer => None,
        Some(found) => {
            let message = format!("`{name}` is copper layer {} of the board", u16::from(found.0) + 1);
            let help = format!("here `{own}` is expected, its copper layer {}", u16::from(layer.0) + 1);
            Some(fault(board, &copper.name.origin, message, help))
        }
        None => {
            let names = layers.ids().map(|id| layers.name(id));
            let near = nearest(name, names).filter(|near| *near == own);
            let help = near.map_or_else(
                || format!("here `{own}` or `L{}` is expected", u16::from(layer.0) + 1),
                |near| format!("did you mean `{near}`?"),
            );
            Some(fault(board, &copper.name.origin, format!("the board has no copper layer `{name}`"), help))
        }
    }
}

/// A copper layer by its name, its display name, or its number from the top.
#[must_use]
pub fn find(layers: &CopperLayers, name: &str) -> Option<LayerId> {
    let shown = |id: &LayerId| layers.get(*id).is_some_and(|layer| layer.alias.as_deref() == Some(name));
    let numbered = || {
        let number: usize = name.strip_prefix(['L', 'l'])?.parse().ok()?;
        layers.ids().nth(number.checked_sub(1)?)
    };
    layers.find(name).or_else(|| layers.ids().find(shown)).or_else(numbered)
}

fn ambiguous(board: &str, first: &rules::Stackup, other: &rules::Stackup) -> Fault {
    let message = format!("two stackups are for the board `{board}`");
    let help = format!("the other is stated at {}; narrow `boards`", first.origin);
    fault(board, &other.origin, message, help)
}

fn fault(board: &str, at: &Origin, message: String, help: String) -> Fault {
    Fault { message, file: Arc::clone(&at.file), span: at.span, label: format!("on board `{board}`"), help: Some(help) }
}
