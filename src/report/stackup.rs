//! Whose stackup a board's heights and materials rest on.

use super::Paint;
use super::json::origin_value;
use super::table::{Side, Table};
use crate::board::Board;
use crate::checks::Stated;
use crate::rules::{At, Origin, Stackup, StackupKind, StackupLayer};
use crate::source::printable_name;
use crate::units::{Quantity, decimal};
use serde_json::{Value, json};
use std::fmt::Write;

/// Whose stackup a board's heights and materials rest on.
#[derive(Debug, Clone)]
pub enum StackupOf {
    /// Nobody's: there is none.
    Nobody,
    /// The board file's.
    Board,
    /// The board file's, which looks as if nobody had entered it.
    Placeholder,
    /// The rule set's.
    Rules(Origin),
    /// Nobody's: the rule set's does not fit the board.
    Unfit(Origin),
}

impl StackupOf {
    /// Whose it is for a board for which the rule set states a stackup, or none.
    #[must_use]
    pub fn of(board: &Board, stated: Option<&Stated<'_>>) -> Self {
        match (stated, &board.stackup) {
            (Some(stated), _) if stated.unfit.is_some() => Self::Unfit(stated.rules.origin.clone()),
            (Some(stated), _) => Self::Rules(stated.rules.origin.clone()),
            (None, None) => Self::Nobody,
            (None, Some(own)) if own.looks_like_placeholder() => Self::Placeholder,
            (None, Some(_)) => Self::Board,
        }
    }

    /// A line for people, if the stackup is not simply the board file's.
    pub fn line(&self) -> Option<String> {
        match self {
            Self::Nobody | Self::Board | Self::Placeholder => None,
            Self::Rules(origin) => Some(format!("stackup  from the rule set, {origin}\n")),
            Self::Unfit(origin) => {
                Some(format!("stackup  the rule set's at {origin} does not fit this board; no height is known\n"))
            }
        }
    }

    /// For programs.
    pub fn value(&self) -> Value {
        let (from, origin) = match self {
            Self::Nobody => ("none", None),
            Self::Board => ("board", None),
            Self::Placeholder => ("placeholder", None),
            Self::Rules(origin) => ("rules", Some(origin)),
            Self::Unfit(origin) => ("unfit", Some(origin)),
        };
        json!({ "from": from, "origin": origin.map(origin_value) })
    }
}

/// One line on a stackup of a rule set.
pub fn summary(stackup: &Stackup) -> String {
    let boards: Vec<_> = stackup.boards.iter().map(|pattern| format!("`{}`", printable_name(&pattern.value))).collect();
    let boards = if boards.is_empty() { "every board".to_owned() } else { boards.join(", ") };
    format!("{} copper layers, {} in all, for {boards}", stackup.coppers().count(), stackup.total())
}

/// Every value of a stackup, as a table.
pub fn table(stackup: &Stackup, paint: Paint) -> String {
    let mut table = Table::new(&[
        ("layer", Side::Left),
        ("", Side::Left),
        ("thickness", Side::Right),
        ("permittivity", Side::Right),
        ("loss tangent", Side::Right),
        ("at", Side::Right),
        ("stated at", Side::Left),
    ]);
    for layer in &stackup.layers {
        table.row(cells(layer));
    }
    let mut text = table.render(paint);
    if let Some(roughness) = &stackup.roughness {
        let height = Quantity::Length(roughness.value);
        let _ = writeln!(text, "roughness of the foils (Rz) {height}  {}", paint.faint(&roughness.origin.to_string()));
    }
    if let Some(source) = &stackup.source {
        let _ = writeln!(text, "source: {}", printable_name(&source.value));
    }
    text
}

fn cells(layer: &StackupLayer) -> Vec<String> {
    let number = |at: &Option<At<f64>>| at.as_ref().map_or_else(String::new, |at| decimal(at.value, 5));
    let dielectric = layer.kind != StackupKind::Copper;
    vec![
        layer.kind.word().to_owned(),
        printable_name(&layer.name.value).into_owned(),
        layer.thickness.as_ref().map_or_else(String::new, |at| format!("{:.4}", at.value)),
        number(&layer.permittivity),
        number(&layer.loss_tangent),
        layer.frequency.as_ref().filter(|_| dielectric).map_or_else(String::new, |at| at.value.to_string()),
        layer.origin.to_string(),
    ]
}
