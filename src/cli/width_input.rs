//! What a width is looked for on: a board with its rule set, or a rule file with a stackup alone.

use super::arguments::Global;
use super::load;
use super::rule_set::{self, Chosen};
use super::trouble::{Trouble, Troubles};
use crate::board::layer::CopperLayer;
use crate::board::{Board, CopperLayers, LayerId};
use crate::checks::Stated;
use crate::copper::Copper;
use crate::report::StackupOf;
use crate::rules::{At, RuleSet, Stackup};
use crate::signal::{Basis, BasisOrigin, NoBasis};
use crate::source::{Fault, Span};
use crate::units::Quantity;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a width is looked for on.
pub struct Source {
    /// A line that says what it is.
    pub line: String,
    /// The rule set and how it was chosen.
    pub rules: String,
    /// Whose stackup it is.
    pub stackup: StackupOf,
    /// The copper layers.
    pub layers: CopperLayers,
    /// The stackup, complete.
    pub basis: Basis,
    /// How much of each layer is poured, if there is a board.
    pub copper: Option<Box<dyn Fn(LayerId) -> f64>>,
    /// Rates that groups of the rule set state.
    pub rates: Vec<At<Quantity>>,
}

/// Opens a board, a rule file, or a folder: its board if it has one, else its rule file.
pub fn open(input: &Path, global: &Global) -> Result<Source, Troubles> {
    if input.extension().is_some_and(|end| end == "toml") {
        return rule_file(input, global);
    }
    let file = input.join(rule_set::FILE);
    match load::board_paths(&[input.to_path_buf()]) {
        Err(_) if input.is_dir() && file.is_file() => rule_file(&file, global),
        Err(troubles) => Err(troubles),
        Ok(paths) => match paths.as_slice() {
            [path] => board(path, global),
            paths => {
                let names: Vec<_> = paths.iter().map(|path| format!("`{}`", path.display())).collect();
                let help = Some(format!("name one of {}", names.join(", ")));
                Err(Troubles::plain(format!("`{}` holds {} boards", input.display(), paths.len()), help))
            }
        },
    }
}

fn board(path: &PathBuf, global: &Global) -> Result<Source, Troubles> {
    let chosen = rule_set::choose(global, std::slice::from_ref(path))?;
    let mut boards = load::boards(std::slice::from_ref(path))?;
    let Some(board) = boards.pop() else { return Err(Troubles(Vec::new())) };
    let stated = Stated::of(&chosen.rules, &board);
    if let Some(fault) = stated.as_ref().and_then(|stated| stated.unfit.clone()) {
        return Err(fault.into());
    }
    let assumptions = stated.as_ref().map(Stated::assumptions).unwrap_or_default();
    let basis = Basis::new(&board, &assumptions).map_err(|lacking| no_basis(&board, lacking))?;
    let copper = Copper::new(&board);
    let poured: Vec<f64> = board.layers.ids().map(|layer| copper.poured(layer)).collect();
    Ok(Source {
        line: crate::report::board_line(&board),
        rules: rules_line(&chosen),
        stackup: StackupOf::of(&board, stated.as_ref()),
        basis,
        copper: Some(Box::new(move |layer| poured.get(usize::from(layer.0)).copied().unwrap_or(0.0))),
        rates: rates(&chosen.rules),
        layers: board.layers.clone(),
    })
}

fn rule_file(path: &Path, global: &Global) -> Result<Source, Troubles> {
    if global.rules.is_some() {
        let help = "a rule file is its own rule set; leave out `--rules`, or name a board".to_owned();
        return Err(Troubles::plain(format!("`{}` is a rule file", path.display()), Some(help)));
    }
    let chosen = rule_set::choose_file(path, global)?;
    let stackup = only_stackup(&chosen.rules)?;
    let stated = Stated::alone(stackup);
    let layer = |copper: &crate::rules::StackupLayer| CopperLayer {
        name: copper.name.value.clone(),
        alias: None,
        span: copper.origin.span,
    };
    let layers = CopperLayers::new(stackup.coppers().map(layer).collect());
    let basis = Basis::of(&layers, &stated.stackup, BasisOrigin::RuleSet, &stated.assumptions());
    let lacking = |lacking: NoBasis| {
        let span = match lacking {
            NoBasis::Incomplete { span, .. } => span,
            NoBasis::Missing => stackup.origin.span,
        };
        Troubles::from(Fault {
            message: lacking.to_string(),
            file: Arc::clone(&stackup.origin.file),
            span,
            label: "here".to_owned(),
            help: None,
        })
    };
    Ok(Source {
        line: String::new(),
        rules: rules_line(&chosen),
        stackup: StackupOf::Rules(stackup.origin.clone()),
        basis: basis.map_err(lacking)?,
        copper: None,
        rates: rates(&chosen.rules),
        layers,
    })
}

/// The stackup of a rule set that is asked without a board.
fn only_stackup(rules: &RuleSet) -> Result<&Stackup, Troubles> {
    match rules.stackups.as_slice() {
        [stackup] => Ok(stackup),
        [] => Err(Troubles::plain(
            format!("`{}` states no stackup", rules.name),
            Some("add `[stackup]`, or name a board".to_owned()),
        )),
        several => {
            let places: Vec<String> = several.iter().map(|stackup| stackup.origin.to_string()).collect();
            let fact = format!("`{}` states {} stackups: {}", rules.name, several.len(), places.join(", "));
            Err(Troubles::plain(fact, Some("name the board that is meant".to_owned())))
        }
    }
}

fn rules_line(chosen: &Chosen) -> String {
    format!("{}, {}", chosen.rules.name, chosen.how)
}

fn rates(rules: &RuleSet) -> Vec<At<Quantity>> {
    rules.groups.iter().filter_map(|group| group.rate.clone()).collect()
}

/// Why there is nothing to solve, at its place in the board.
fn no_basis(board: &Board, lacking: NoBasis) -> Troubles {
    let help = "state what the fab will build in the rule file (`[stackup]`), or in the board setup";
    let (span, label) = match lacking {
        NoBasis::Incomplete { span, .. } => (span, "in the board's stackup"),
        NoBasis::Missing => {
            let first = board.layers.get(LayerId(0)).map_or(Span::default(), |layer| layer.span);
            (first, "the layers are named here, a stackup is not")
        }
    };
    Troubles(vec![Trouble::Fault(Box::new(Fault {
        message: lacking.to_string(),
        file: Arc::clone(&board.source),
        span,
        label: label.to_owned(),
        help: Some(help.to_owned()),
    }))])
}
